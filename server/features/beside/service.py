"""Two photos side by side, and the photos of a design and its pieces."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from sqlmodel import Session

from server.errors import NotFound, Refused
from server.features.beside import forms, page, store
from server.features.builds.service import build_face
from server.features.designs import store as design_store
from server.features.photos import service as photos
from server.features.photos.page import DESIGN, PIECE
from server.features.photos.tables import Photo
from server.features.runs import store as run_store
from server.web.handout import File, file_name
from server.web.paper import sheet_pdf
from server.web.with_photo import WithPhoto


def two_page(session: Session, build_id: int, first: int, second: int, now: datetime) -> page.TwoPage:
    """first, second: numbers of photos, 0 for one that is still to be chosen. Raises NotFound."""
    build = build_face(session, build_id)
    rows = photos.every_photo(session, build_id)
    chosen = _chosen(rows, {first, second} - {0})
    told = chosen if len(chosen) == 2 else rows
    things = store.things(session, {(row.subject_kind, row.subject_id) for row in told})
    others = [row for row in rows if row not in chosen]
    return page.two_page(build, chosen, others, things, now)


def two_pdf(session: Session, folder: Path, build_id: int, first: int, second: int, now: datetime) -> File:
    """Raises NotFound."""
    build = build_face(session, build_id)
    chosen = _chosen(photos.every_photo(session, build_id), {first, second})
    if len(chosen) != 2:
        raise NotFound("Two photos stand side by side: choose two.")
    pair = [(row, photos.content(session, folder, build_id, row.key, small=False)[0]) for row in chosen]
    things = store.things(session, {(row.subject_kind, row.subject_id) for row in chosen})
    name = file_name("before-and-after", build.name, now.date(), "pdf")
    return File(name, sheet_pdf(page.sheet(build, pair, things, now)))


def _chosen(rows: Sequence[Photo], numbers: set[int]) -> list[Photo]:
    found = [row for row in rows if row.key in numbers]
    if len(found) != len(numbers):
        raise NotFound("There is no such photo in this build, or it is set aside.")
    return found


def to_design_of_piece(session: Session, build_id: int, piece_id: int) -> int:
    """The design that a piece is of. Raises NotFound."""
    return store.design_of_piece(session, build_id, piece_id)


def _pieces(session: Session, design_id: int) -> list[tuple[int, str]]:
    """Each piece of a run in order: its number, and words for it."""
    rows = run_store.pieces_in_order(session, design_id)
    return [(row.key, f"piece {number}, {row.name or row.kind}") for number, row in enumerate(rows, 1)]


def design_photos_page(
    session: Session, build_id: int, design_id: int, now: datetime, refused: Refused | None = None
) -> page.DesignPhotosPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    design = design_store.load_design(session, build_id, design_id)
    pieces = _pieces(session, design_id)
    whole = photos.photos_of_many(session, build_id, DESIGN, (design_id,), now)
    parts = photos.photos_of_many(session, build_id, PIECE, [number for number, _ in pieces], now)
    pictures = {0: whole.get(design_id, ()), **parts}
    return page.design_photos_page(build, (design_id, design.name), pieces, pictures, now, refused)


def add_photo(session: Session, ids: tuple[int, int], sent: WithPhoto) -> None:
    """A photo of a design, or of one of its pieces. ids: of build and design. Raises NotFound, BadInput."""
    build_id, design_id = ids
    design_store.load_design(session, build_id, design_id)
    piece_id = forms.shown_piece(sent.typed, [number for number, _ in _pieces(session, design_id)])
    subject = (DESIGN, design_id) if piece_id is None else (PIECE, piece_id)
    photos.attach_required(session, build_id, subject, sent)
