"""The cut sheet of a design, as a page and as PDF."""

from datetime import datetime

from sqlmodel import Session

from server.core.tube.centreline import lay_out
from server.core.tube.run import RunPlan
from server.core.units import System
from server.features.builds import service as builds
from server.features.builds.store import BuildFace
from server.features.cuts import page
from server.features.designs import store
from server.features.designs.service import case_of, surroundings
from server.features.isometric.service import drawing_of
from server.features.trimming import service as trimming
from server.web.handout import File, file_name
from server.web.paper import sheet_pdf


def cuts_page(session: Session, build_id: int, design_id: int, now: datetime) -> page.CutsPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    return _page(session, build, design_id, now)[0]


def cuts_and_plan(
    session: Session, build_id: int, design_id: int, now: datetime
) -> tuple[page.CutsPage, RunPlan]:
    """The sheet, and the run that it is of, for a page that shows more. Raises NotFound."""
    return _page(session, builds.build_face(session, build_id), design_id, now)


def _page(session: Session, build: BuildFace, design_id: int, now: datetime) -> tuple[page.CutsPage, RunPlan]:
    """The sheet, and the run that it is of. Raises NotFound."""
    design = store.load_design(session, build.id, design_id)
    around = surroundings(session, build)
    plan = case_of(store.rows_of(session, [design])[design_id], around).plan
    subsystem = around.every_subsystem[design.subsystem_id].name
    left_on = trimming.left_on(session, build, plan)
    shown = page.cuts_page(build, subsystem, design_id, design.name, lay_out(plan), left_on, now.date())
    return shown, plan


def cuts_pdf(session: Session, build_id: int, design_id: int, now: datetime, paper: str) -> File:
    """On A4 or letter paper as asked, else as suits the build's units. Raises NotFound."""
    build = builds.build_face(session, build_id)
    letter = paper == "letter" or (paper != "a4" and build.system is System.inch)
    shown, plan = _page(session, build, design_id, now)
    drawing = drawing_of(session, build, plan)
    content = sheet_pdf(page.sheet(shown, drawing, letter=letter))
    return File(file_name("cuts", shown.name, now.date(), "pdf"), content)
