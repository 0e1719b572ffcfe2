"""The dates as they would be, beside those of now."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from sqlmodel import Session

from server.core.buying.order import OrderFace
from server.core.work.hours import Span, Visit
from server.errors import BadInput
from server.features.builds.service import build_face
from server.features.planning.service import outlook, plan_state, planned
from server.features.stints.service import Garage
from server.features.supposing import forms, page
from server.features.work.service import derive

EXPRESS, WEEK = timedelta(days=2), timedelta(days=7)
"""Two days by express post: common practice, no source."""
ONE_DAY = Span(9 * 60, 17 * 60)


def suppose_page(
    session: Session, build_id: int, typed: Mapping[str, str], now: datetime
) -> tuple[page.SupposePage, int]:
    """The sheet and its status: 200, or 422 where what was supposed can't be used. Raises NotFound."""
    build = build_face(session, build_id)
    state = plan_state(session, build, now)
    today = state.made_at.date()
    book = state.work.book
    orders = [one for one in book.orders if one.is_open]
    visits = [one for one in state.garage.hours.visits if one.day >= today]
    asked, refused = forms.Supposed(), None
    try:
        asked = forms.supposed(typed, [one.id for one in orders], [one.id for one in visits], today)
    except BadInput as problem:
        refused = problem
    then = None
    if asked.anything and state.schedule is not None:
        faster = tuple(_by_express(one, today) if one.id == asked.order_id else one for one in book.orders)
        work = derive(replace(book, orders=faster), now) if asked.order_id is not None else state.work
        then = outlook(planned(session, build, _with(state.garage, asked), work, now))
    found = page.suppose_page(
        build,
        today,
        orders,
        visits,
        (asked.day, asked.order_id, asked.visit_id),
        outlook(state),
        then,
        _by_express_on(today),
        refused,
    )
    return found, 200 if refused is None else 422


def _by_express_on(today: date) -> date:
    return today + EXPRESS


def _by_express(order: OrderFace, today: date) -> OrderFace:
    """The order as coming within days, unless it comes sooner anyway."""
    on = _by_express_on(today)
    due = on if order.due_on is None or order.due_on < today else min(order.due_on, on)
    return replace(order, due_on=due, lines=tuple(replace(line, due_on=due) for line in order.lines))


def _with(garage: Garage, asked: forms.Supposed) -> Garage:
    """The same garage, with the day and the visit as supposed."""
    hours = garage.hours
    if asked.day is not None:
        hours = replace(hours, extra=(*hours.extra, (asked.day, ONE_DAY)))
    if asked.visit_id is not None:
        hours = replace(hours, visits=tuple(_later(one, asked.visit_id) for one in hours.visits))
    return replace(garage, hours=hours)


def _later(visit: Visit, visit_id: int) -> Visit:
    return replace(visit, day=visit.day + WEEK) if visit.id == visit_id else visit
