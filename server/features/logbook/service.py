"""The whole log as a file."""

from datetime import datetime
from pathlib import Path

from sqlmodel import Session

from server.errors import NotFound
from server.features.builds.service import build_face
from server.features.log import service as log
from server.features.logbook import page
from server.features.photos import service as photos
from server.features.photos.page import picture
from server.web.handout import File, file_name
from server.web.paper import sheet_pdf
from server.web.paper_photos import Photo
from server.web.render import render_text


def _book(session: Session, folder: Path, build_id: int, now: datetime) -> page.Book:
    """Raises NotFound."""
    build = build_face(session, build_id)
    found: list[tuple[datetime, Photo]] = []
    missing = 0
    for row in photos.every_photo(session, build_id):
        small = picture(build_id, row, now)
        try:
            content, _ = photos.content(session, folder, build_id, row.key, small=True)
        except NotFound:
            missing += 1
            continue
        found.append((row.added_at, Photo(content, small.width, small.height, small.alt)))
    return page.book(build, log.everything(session, build), found, missing, now)


def log_html(session: Session, folder: Path, build_id: int, now: datetime) -> File:
    """Raises NotFound."""
    shown = _book(session, folder, build_id, now)
    text = render_text("logbook/logbook.html", book=shown, lost=page.lost_words(shown.missing))
    return File(file_name("log", shown.name, now.date(), "html"), text.encode())


def log_pdf(session: Session, folder: Path, build_id: int, now: datetime) -> File:
    """Raises NotFound."""
    shown = _book(session, folder, build_id, now)
    return File(file_name("log", shown.name, now.date(), "pdf"), sheet_pdf(page.sheet(shown)))
