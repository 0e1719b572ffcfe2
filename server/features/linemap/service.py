"""The drawing of a build's line map."""

from datetime import datetime

from sqlmodel import Session

from server.core.lines.states import State
from server.core.units import System
from server.features.builds import service as builds
from server.features.connecting.service import known
from server.features.ledger import store
from server.features.linemap import page
from server.web.handout import File, file_name
from server.web.paper import sheet_pdf


def line_map_pdf(session: Session, build_id: int, state: State, now: datetime) -> File:
    """On A4 or US Letter as suits the build's units. Raises NotFound."""
    build = builds.build_face(session, build_id)
    letter = build.system is System.inch
    rows = store.rows_of(session, build_id)
    made = page.sheet(build, rows, known(session, build), state, now.date(), letter=letter)
    return File(file_name("line-map", build.name, now.date(), "pdf"), sheet_pdf(made))


def line_map_page(
    session: Session, build_id: int, state: State, sheet: int, now: datetime
) -> page.LineMapPage:
    """sheet: which one of those that the drawing takes. Raises NotFound."""
    build = builds.build_face(session, build_id)

    def make() -> page.LineMapPage:
        rows = store.rows_of(session, build_id)
        return page.line_map_page(build, rows, known(session, build), state, sheet, now.date())

    return builds.kept(build, ("line map page", state, sheet, now.date().isoformat()), make)
