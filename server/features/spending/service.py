"""What a build costs by subsystem, from its orders and its shopping list."""

from datetime import datetime

from sqlmodel import Session

from server.core.buying.spending import by_subsystem, owners
from server.features.builds.service import build_face
from server.features.shopping.service import listed
from server.features.spending import page
from server.features.work.service import work_state


def spending_page(session: Session, build_id: int, now: datetime) -> page.SpendingPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    state = work_state(session, build, now)
    found = listed(session, build, now)
    rows = by_subsystem(owners(state.needs.calls()), state.book.orders, (*found.baskets, found.unoffered))
    return page.spending_page(build, rows, found.totals.unpriced, build.budget_minor, now.date())
