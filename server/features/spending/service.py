"""What a build costs by subsystem and by week, from its orders and its shopping list."""

from datetime import datetime

from sqlmodel import Session

from server.core.buying.spending import by_subsystem, owners
from server.core.buying.weekly import by_week
from server.features.builds.service import build_face
from server.features.planning.service import plan_state
from server.features.shopping.service import listed
from server.features.spending import page
from server.features.work.service import work_state


def spending_page(session: Session, build_id: int, now: datetime) -> page.SpendingPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    state = work_state(session, build, now)
    found = listed(session, build, now)
    rows = by_subsystem(owners(state.needs.calls()), state.book.orders, (*found.baskets, found.unoffered))
    baskets = (*found.baskets, found.unoffered)
    order_by = {one.part_id: one.day for one in plan_state(session, build, now).order_by}
    weeks = by_week(state.book.orders, baskets, order_by, now.date())
    return page.spending_page(build, rows, weeks, found.totals.unpriced, build.budget_minor, now.date())
