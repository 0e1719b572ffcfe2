"""The drawing of a build's line map."""

from datetime import datetime

from sqlmodel import Session

from server.core.lines.states import State
from server.features.builds import service as builds
from server.features.connecting.service import known
from server.features.ledger import store
from server.features.linemap import page


def line_map_page(session: Session, build_id: int, state: State, now: datetime) -> page.LineMapPage:
    """Raises NotFound."""
    build = builds.build_face(session, build_id)
    rows = store.rows_of(session, build_id)
    return page.line_map_page(build, rows, known(session, build), state, now.date())
