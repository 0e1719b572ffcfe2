"""The calendar of a build as a file."""

from datetime import datetime

from sqlmodel import Session

from server.features.builds.service import build_face
from server.features.builds.store import load_build
from server.features.calendar import page
from server.features.planning.service import plan_state
from server.web.calendar_file import calendar_file


def calendar(session: Session, build_id: int, now: datetime, origin: str) -> bytes:
    """origin: what the addresses of this server begin with. Raises NotFound."""
    build = build_face(session, build_id)
    state = plan_state(session, build, now)
    titles = {task.id: task.title for task in state.work.plan.tasks}
    placed = state.schedule.by_id().get(state.target or 0) if state.schedule is not None else None
    entries = page.entries(
        page.Naming(build.id, load_build(session, build.id).created_at, origin),
        state.made_at.date(),
        state.garage.tz(now),
        state.garage.hours.visits,
        state.work.book.orders,
        state.order_by,
        titles,
        None if placed is None else (titles[placed.id], state.made_at, placed),
    )
    return calendar_file(build.name, entries, state.made_at)
