"""The plan of a build: worked out from its rows, kept while they stay, and its sheet."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import Session

from server.core.work.driving import Link, driving
from server.core.work.plan.schedule import Schedule
from server.core.work.plan.search import plan
from server.core.work.tasks import TaskPlan, in_order
from server.core.work.to_plan import BUILDER, ToPlan, Work, to_plan
from server.features.builds.service import build_face, kept
from server.features.builds.store import BuildFace
from server.features.parts.service import known_offers
from server.features.planning import page
from server.features.stint_now.service import READING_MINUTES, minutes_left, pace_of
from server.features.stints.service import Garage, garage_of
from server.features.work.service import WorkState, work_state

PASSES = 40
"""Schedules tried; the plan must be there as fast as a page."""
FIRST_START = "first start"


@dataclass(frozen=True, slots=True)
class PlanState:
    """The plan as it stands; no problem and no schedule where there are no stints, or tasks go in a ring.

    target: the task whose date counts (the first start, else what is done last); chain: what sets it.
    """

    garage: Garage
    work: WorkState
    made_at: datetime
    to_plan: ToPlan | None = None
    schedule: Schedule | None = None
    target: int | None = None
    chain: tuple[Link, ...] = ()
    ring: tuple[int, ...] = ()


def plan_state(session: Session, build: BuildFace, now: datetime) -> PlanState:
    """Worked out once an hour, and whenever something that it rests on was written."""
    return kept(build, ("plan", now.strftime("%Y-%m-%d %H %z")), lambda: _make(session, build, now))


def _make(session: Session, build: BuildFace, now: datetime) -> PlanState:
    garage = garage_of(session, build)
    here = now.astimezone(garage.tz(now))
    state = work_state(session, build, now)
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
    found = plan(asked.problem, PASSES)
    target = _target(tasks, found)
    chain = driving(asked.problem, found, target, BUILDER) if target is not None else ()
    return PlanState(garage, state, here, asked, found, target, chain)


def _without_done(task: TaskPlan, open_ones: Mapping[int, object]) -> TaskPlan:
    """The task as coming after those only that are still to be done; what still waits is told as a hold."""
    return replace(task, after=tuple(link for link in task.after if link.task_id in open_ones))


def _target(tasks: tuple[TaskPlan, ...], found: Schedule) -> int | None:
    """The first start where there is such a task, else the last piece of work of the plan."""
    named = [task.id for task in tasks if task.title.casefold().startswith(FIRST_START)]
    if named:
        return named[0]
    last = max(found.placed, key=lambda one: (one.finish, one.id), default=None)
    return last.id if last else None


def plan_page(session: Session, build_id: int, now: datetime) -> page.PlanPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    name = ("plan page", now.strftime("%Y-%m-%d %H %z"))
    return kept(build, name, lambda: _page(session, build, now))


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
    )
