"""The shopping list as a page to print, as PDF and as a table for a spreadsheet."""

from datetime import datetime

from sqlmodel import Session

from server.core.units import System
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.printed import page
from server.features.shopping.service import listed
from server.web.handout import File, file_name
from server.web.paper import sheet_pdf
from server.web.spreadsheet import csv_file


def print_page(session: Session, build_id: int, now: datetime) -> page.PrintPage:
    """Raises NotFound."""
    return _shown(session, build_face(session, build_id), now)


def _shown(session: Session, build: BuildFace, now: datetime) -> page.PrintPage:
    """The whole list, whose length grows with the build: made once for each state of it and each day."""
    today = now.date()
    return kept(
        build, ("printed list", today), lambda: page.print_page(build, listed(session, build, now), today)
    )


def shopping_pdf(session: Session, build_id: int, now: datetime) -> File:
    """A4, or letter paper for a build in inches. Raises NotFound."""
    build = build_face(session, build_id)
    sheet = page.sheet(_shown(session, build, now), letter=build.system is System.inch)
    return File(file_name("shopping", build.name, now.date(), "pdf"), sheet_pdf(sheet))


def shopping_csv(session: Session, build_id: int, now: datetime) -> File:
    """Raises NotFound."""
    build = build_face(session, build_id)
    found = listed(session, build, now)
    content = csv_file(page.csv_header(build.currency), page.csv_rows(found, build.system))
    return File(file_name("shopping", build.name, now.date(), "csv"), content)
