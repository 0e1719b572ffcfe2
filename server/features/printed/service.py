"""The shopping list as a page to print, as PDF and as a table for a spreadsheet."""

import re
import unicodedata
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from server.core.units import System
from server.features.builds.service import build_face
from server.features.printed import page
from server.features.shopping.service import listed
from server.web.paper import sheet_pdf
from server.web.spreadsheet import csv_file


@dataclass(frozen=True, slots=True)
class File:
    """A file to hand out under a plain name."""

    name: str
    content: bytes


def print_page(session: Session, build_id: int, now: datetime) -> page.PrintPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    return page.print_page(build, listed(session, build, now), now.date())


def shopping_pdf(session: Session, build_id: int, now: datetime) -> File:
    """A4, or letter paper for a build in inches. Raises NotFound."""
    build = build_face(session, build_id)
    shown = page.print_page(build, listed(session, build, now), now.date())
    sheet = page.sheet(shown, letter=build.system is System.inch)
    return File(file_name(build.name, now, "pdf"), sheet_pdf(sheet))


def shopping_csv(session: Session, build_id: int, now: datetime) -> File:
    """Raises NotFound."""
    build = build_face(session, build_id)
    found = listed(session, build, now)
    content = csv_file(page.csv_header(build.currency), page.csv_rows(found, build.system))
    return File(file_name(build.name, now, "csv"), content)


def file_name(build: str, now: datetime, ending: str) -> str:
    """E.g. "shopping-the-saloon-2026-11-25.pdf": plain letters, figures and dashes only."""
    ascii_only = unicodedata.normalize("NFKD", build).encode("ascii", "ignore").decode().lower()
    plain = re.sub(r"[^a-z0-9]+", "-", ascii_only).strip("-")[:40].strip("-")
    return "-".join(part for part in ("shopping", plain, now.date().isoformat()) if part) + f".{ending}"
