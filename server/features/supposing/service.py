"""The dates as they would be, beside those of now."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta

from sqlmodel import Session

from server.core.buying.order import OrderFace, late_first
from server.core.work.hours import Span
from server.core.work.moved import Outlook
from server.errors import BadInput
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.planning.service import PlanState, hour_of, known_outlook, outlook, plan_state, planned
from server.features.stints.service import Garage
from server.features.supposing import forms, page
from server.features.supposing.forms import WEEK
from server.features.work.service import derive

EXPRESS = timedelta(days=2)
"""Two days by express post: common practice, no source."""
MOST_LATE = 4
"""Late orders that a plan is made without, the latest first."""
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
        asked = forms.supposed(typed, [one.id for one in orders], {one.id: one.day for one in visits}, today)
    except BadInput as problem:
        refused = problem
    then = None
    if asked.anything and state.schedule is not None:
        faster = tuple(_by_express(one, today) if one.id == asked.order_id else one for one in book.orders)
        work = derive(replace(book, orders=faster), state.made_at) if asked.order_id else state.work
        hours = _with(state.garage, asked)
        better_than = state if asked.only_better else None
        then = outlook(planned(session, build, hours, work, state.made_at, asked.order_id, better_than))
    found = page.suppose_page(
        build,
        today,
        orders,
        visits,
        page.Asked(asked.day, asked.order_id, asked.earlier_id, asked.later_id),
        known_outlook(session, build, now),
        then,
        _by_express_on(today),
        refused,
    )
    return found, 200 if refused is None else 422


def late_page(session: Session, build_id: int, now: datetime) -> page.LatePage:
    """What each late order does to the dates: the plan as it stands against one in which it is here.

    Raises NotFound.
    """
    build = build_face(session, build_id)
    return kept(build, ("late orders", hour_of(now)), lambda: _late(session, build, now))


def _late(session: Session, build: BuildFace, now: datetime) -> page.LatePage:
    state = plan_state(session, build, now)
    today = state.made_at.date()
    late = sorted(
        (one for one in state.work.book.orders if one.is_open and one.late_days(today)), key=late_first
    )[:MOST_LATE]
    told = [(one, _were_it_here(session, build, state, one)) for one in late]
    return page.late_page(build, today, told, known_outlook(session, build, now), _goal(state))


def _goal(state: PlanState) -> str:
    """The task whose date counts."""
    return next((one.title for one in state.work.plan.tasks if one.id == state.target), "")


def _were_it_here(session: Session, build: BuildFace, state: PlanState, order: OrderFace) -> Outlook | None:
    """The dates with what is owed of an order here today."""
    if state.schedule is None:
        return None
    today = state.made_at.date()
    lines = tuple(replace(line, due_on=today) for line in order.lines)
    here = replace(order, due_on=today, lines=lines)
    book = state.work.book
    orders = tuple(here if one.id == order.id else one for one in book.orders)
    work = derive(replace(book, orders=orders), state.made_at)
    return outlook(planned(session, build, state.garage, work, state.made_at, order.id, state))


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
    moved = [replace(one, day=one.day + WEEK) if one.id == asked.later_id else one for one in hours.visits]
    # One more slot, by a number that no visit has: the day that was offered stays open.
    more = [
        replace(one, id=-one.id, day=one.day - WEEK) for one in hours.visits if one.id == asked.earlier_id
    ]
    return replace(garage, hours=replace(hours, visits=(*moved, *more)))
