"""The stages of the first start on paper."""

from datetime import datetime

from sqlmodel import Session

from server.core.units import System
from server.features.builds.service import build_face
from server.features.first_start.service import gate_of
from server.features.wall_sheet.page import sheet
from server.web.handout import File, file_name
from server.web.paper import sheet_pdf


def wall_sheet(session: Session, build_id: int, now: datetime) -> File:
    """A4, or letter paper for a build in inches. Raises NotFound."""
    build = build_face(session, build_id)
    made = sheet(build, gate_of(session, build).standings, now, letter=build.system is System.inch)
    return File(file_name("first-start", build.name, now.date(), "pdf"), sheet_pdf(made))
