"""The plan of a build: worked out from its rows, kept while they stay, and its sheet."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import Engine
from sqlmodel import Session

from server.core.buying.order import OrderFace
from server.core.buying.stock import Condition
from server.core.work.driving import Link, driving
from server.core.work.forecast.foresee import Forecast, forecast
from server.core.work.forecast.lead_time import LeadTime, lead_time
from server.core.work.forecast.supposed import Supposed, supposed
from server.core.work.hours import later
from server.core.work.left_open import Coming, Mishap, left_open
from server.core.work.moved import SHARES, Outlook, Parcel, Piece, Slot
from server.core.work.order_by import OrderBy, order_days
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.schedule import Schedule
from server.core.work.plan.search import plan
from server.core.work.tasks import TaskPlan, in_order, is_first_start
from server.core.work.to_plan import BUILDER, UNKNOWN_LEAD, ToPlan, Work, to_plan
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.forecasts import service as forecasts
from server.features.forecasts.page import NOTHING, History
from server.features.parts.service import known_offers
from server.features.planning import page
from server.features.recutting.service import Recut, recuts
from server.features.stint_now.service import READING_MINUTES, minutes_left, pace_of
from server.features.stints.service import Garage, garage_of
from server.features.work.service import WorkState, work_state

HOURS_AHEAD = 56
"""Days for which the time in the garage is compared with what it was."""
PASSES, MUCH = 40, 100
"""Schedules tried, fewer where more than `MUCH` tasks are open: the plan must be there as fast as a page."""


@dataclass(frozen=True, slots=True)
class PlanState:
    """The plan as it stands; no problem and no schedule where there are no stints, or tasks go in a ring.

    target: the task whose date counts (the first start, else what is done last); chain: what sets it;
    foreseen: when it may really be, none where it has no place; order_by: the last day to order each part
    that nobody ordered; recuts: pieces that may have to be made again.
    """

    garage: Garage
    work: WorkState
    made_at: datetime
    to_plan: ToPlan | None = None
    schedule: Schedule | None = None
    target: int | None = None
    chain: tuple[Link, ...] = ()
    ring: tuple[int, ...] = ()
    foreseen: Forecast | None = None
    order_by: tuple[OrderBy, ...] = ()
    recuts: tuple[Recut, ...] = ()


def plan_state(session: Session, build: BuildFace, now: datetime) -> PlanState:
    """Worked out once an hour, and whenever something that it rests on was written."""
    return kept(build, ("plan", hour_of(now)), lambda: _make(session, build, now))


def hour_of(now: datetime) -> str:
    """What a plan is kept by."""
    return now.strftime("%Y-%m-%d %H %z")


def _make(session: Session, build: BuildFace, now: datetime) -> PlanState:
    return planned(session, build, garage_of(session, build), work_state(session, build, now), now)


def planned(
    session: Session,
    build: BuildFace,
    garage: Garage,
    state: WorkState,
    now: datetime,
    sure: int | None = None,
    better_than: PlanState | None = None,
) -> PlanState:
    """The plan of a build as it stands, or with other hours and orders as it would stand.

    sure: the order whose parcels are taken to come on their day. better_than: the plan as it stands, where
    nothing that is supposed can make it worse.
    """
    # The plan counts in whole minutes: from one that has just begun, a stint begins when its clock says so.
    here = now.astimezone(garage.tz(now)).replace(second=0, microsecond=0)
    rows = {row.plan.id: row for row in state.book.rows.tasks if not row.plan.done}
    tasks = tuple(_without_done(row.plan, rows) for row in rows.values())
    ring = in_order(tasks)[1]
    if ring or not garage.known or not tasks:
        return PlanState(garage, state, here, ring=ring or ())
    factor = pace_of(state.book.rows).factor
    lead_days: dict[int, int] = {}
    for offer in known_offers(session, build):
        if offer.lead_days is not None:
            lead_days[offer.part_id] = min(offer.lead_days, lead_days.get(offer.part_id, offer.lead_days))
    work = Work(
        tasks,
        {at: minutes_left(row, factor, now) for at, row in rows.items()},
        state.plan.standings,
        garage.hours,
        here,
        garage.tz(now),
        build.car_state,
        garage.raising,
        garage.lowering,
        READING_MINUTES,
        lead_days,
    )
    asked = to_plan(work)
    again = recuts(session, build, state, lead_days, factor)
    coming = _coming(state, lead_days, here.date(), sure)
    doubts = left_open(work, asked, coming, _mishaps(state), factor, (one.risk for one in again))
    passes = max(PASSES * MUCH // max(len(tasks), MUCH), 1)

    def foresee(one: Schedule) -> Forecast | None:
        goal = _target(tasks, one)
        return forecast(asked.problem, one, doubts, goal) if goal in one.by_id() else None

    if better_than is not None and better_than.schedule is not None:
        before = Supposed(better_than.schedule, better_than.foreseen)
        best = supposed(asked.problem, passes, before, foresee)
        if best is before:
            return better_than
        found, foreseen = best.schedule, best.foreseen
    else:
        found = plan(asked.problem, passes)
        foreseen = foresee(found)
    target = _target(tasks, found)
    chain = driving(asked.problem, found, target, BUILDER) if target is not None else ()
    by_when = order_days(work, found)
    return PlanState(
        garage, state, here, asked, found, target, chain, foreseen=foreseen, order_by=by_when, recuts=again
    )


def _coming(
    state: WorkState, lead_days: Mapping[int, int], today: date, sure: int | None
) -> Mapping[int, Coming]:
    """How long each part takes that is on order, or could be: by its supplier's word and its doings.

    sure: the order that comes on its day.
    """
    usual_of = {days: Coming(lead_time(max(days, 1), ())) for days in set(lead_days.values())}
    found = {part: usual_of[days] for part, days in lead_days.items()}
    history = _taken(state.book.orders)
    for order in state.book.orders:
        waited = max((today - order.ordered_on).days, 0)
        usual = UNKNOWN_LEAD if order.due_on is None else max((order.due_on - order.ordered_on).days, 1)
        lead: LeadTime = lead_time(usual, history[order.supplier])
        found |= {line.part_id: Coming(lead, waited) for line in order.lines if line.rest}
    certain = {line.part_id for order in state.book.orders if order.id == sure for line in order.lines}
    return {part: one for part, one in found.items() if part not in certain}


def _taken(orders: Iterable[OrderFace]) -> Mapping[str, list[float]]:
    """How long orders took that are here, by supplier [day]: until the last of what was right."""
    found: defaultdict[str, list[float]] = defaultdict(list)
    for order in orders:
        right = [
            one.arrived_on for line in order.lines for one in line.counted if one.condition is Condition.RIGHT
        ]
        if right and not order.is_open:
            found[order.supplier].append((max(right) - order.ordered_on).days)
    return found


def _mishaps(state: WorkState) -> tuple[Mishap, ...]:
    """What may still go wrong, such as a stud that snaps."""
    return tuple(
        Mishap(
            row.id,
            row.task_id,
            row.chance,
            ThreePoint(row.minutes_low, row.minutes_likely, row.minutes_high),
        )
        for row in state.book.rows.setbacks
        if row.happened_at is None and not row.set_aside
    )


def _without_done(task: TaskPlan, open_ones: Mapping[int, object]) -> TaskPlan:
    """The task as coming after those only that are still to be done; what still waits is told as a hold."""
    after = tuple(link for link in task.after if link.task_id in open_ones)
    return task if len(after) == len(task.after) else task._replace(after=after)


def _target(tasks: tuple[TaskPlan, ...], found: Schedule) -> int | None:
    """The first start where there is such a task, else the last piece of work of the plan."""
    named = [task.id for task in tasks if is_first_start(task.title)]
    if named:
        return named[0]
    last = max(found.placed, key=lambda one: (one.finish, one.id), default=None)
    return last.id if last else None


def shown_and_noted(engine: Engine, session: Session, build_id: int, now: datetime) -> page.PlanPage:
    """The sheet; what it foresees is kept for the history, where it is not written down yet.

    Raises NotFound.
    """
    build = build_face(session, build_id)
    found = _sheet(session, build, now)
    known = _history(session, build, now)
    if known.to_note is not None:
        state = plan_state(session, build, now)
        session.rollback()
        forecasts.note(engine, build_id, known.to_note, _done(state))
    return found


@dataclass(frozen=True, slots=True)
class _Known:
    """What the history tells, and the outlook that is not written down in it yet."""

    history: History = NOTHING
    to_note: Outlook | None = None


def _history(session: Session, build: BuildFace, now: datetime) -> _Known:
    def make() -> _Known:
        state, seen = plan_state(session, build, now), known_outlook(session, build, now)
        if seen is None:
            return _Known()
        history, written = forecasts.history(session, build.id, seen, _done(state))
        return _Known(history, None if written else seen)

    return kept(build, ("forecast history", hour_of(now)), make)


def _done(state: PlanState) -> frozenset[int]:
    return frozenset(row.plan.id for row in state.work.book.rows.tasks if row.plan.done)


def known_outlook(session: Session, build: BuildFace, now: datetime) -> Outlook | None:
    """The outlook of the plan as it stands; kept as long as that."""
    return kept(build, ("outlook", hour_of(now)), lambda: outlook(plan_state(session, build, now)))


def outlook(state: PlanState) -> Outlook | None:
    """What is foreseen, and what it rests on; none where there is no plan."""
    if state.to_plan is None or state.schedule is None:
        return None
    placed = state.schedule.by_id()

    def ends(at: int) -> datetime | None:
        return later(state.made_at, placed[at].finish) if at in placed else None

    def day(minute: int | None) -> date | None:
        return None if minute is None else later(state.made_at, minute).date()

    done_at = ends(state.target) if state.target is not None else None
    acts = {one.id: one.minutes for one in state.to_plan.problem.activities}
    parcels: dict[int, Parcel] = {}
    for task_id, some in state.to_plan.arrivals.items():
        for one in some:
            known = parcels.get(one.part_id)
            last = max((known.on, known.late), (one.on, one.late)) if known else (one.on, one.late)
            holds = (*known.holds, task_id) if known else (task_id,)
            parcels[one.part_id] = Parcel(one.what, *last, holds)
    hours: Counter[date] = Counter()
    for block in state.to_plan.blocks:
        if block.start.date() <= state.made_at.date() + timedelta(days=HOURS_AHEAD):
            hours[block.start.date()] += block.minutes
    titles = {one.id: one.title for one in state.work.plan.tasks} | dict(state.to_plan.readings)
    return Outlook(
        state.made_at,
        done_at.date() if done_at else None,
        tuple(day(state.foreseen.by(share)) for share in SHARES) if state.foreseen else (),
        tuple(link.id for link in state.chain),
        {at: Piece(titles[at], minutes, ends(at)) for at, minutes in acts.items()},
        parcels,
        {
            one.id: Slot(one.helper, one.day)
            for one in state.garage.hours.visits
            if one.day >= state.made_at.date()
        },
        dict(hours),
    )


def _sheet(session: Session, build: BuildFace, now: datetime) -> page.PlanPage:
    return kept(build, ("plan page", hour_of(now)), lambda: _page(session, build, now))


def _page(session: Session, build: BuildFace, now: datetime) -> page.PlanPage:
    state = plan_state(session, build, now)
    return page.plan_page(
        build=build,
        plan=state.work.plan,
        orders=state.work.book.orders,
        made_at=state.made_at,
        to_plan=state.to_plan,
        schedule=state.schedule,
        target=state.target,
        chain=state.chain,
        ring=state.ring,
        foreseen=state.foreseen,
        mishaps={row.id: (row.title, row.task_id) for row in state.work.book.rows.setbacks},
        again=[
            page.Again(one.risk, f"{one.subsystem}: {one.piece}", one.why, one.days, one.href)
            for one in state.recuts
        ],
        parts={part.id: part.name for part in state.work.book.parts},
        order_by=state.order_by,
        history=_history(session, build, now).history,
        pace=pace_of(state.work.book.rows),
    )
