"""The work of a build as a problem to plan: tasks, readings, what arrives, stints, visits and the car."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, tzinfo
from functools import lru_cache
from itertools import islice

from server.core.work.causes import IN_THE_POST, NOT_COMING
from server.core.work.holds import Hold, HoldKind
from server.core.work.hours import (
    Block,
    Hours,
    blocks,
    minutes_between,
    moment_of,
    noise_blocks,
    skilled,
    windows,
)
from server.core.work.plan.problem import ANY, Activity, Car, Problem, Resource, Use, Window
from server.core.work.standing import Standing
from server.core.work.tasks import ON_STANDS, ON_WHEELS, After, TaskPlan

BUILDER, HELPERS, NOISE = "you", "people who help", "hours in which noise is allowed"
MANY = 9
DAYS = 200
"""How far ahead stints are laid out [days]."""
USABLE_FROM = 18 * 60
"""Minute of the day from which what comes by post can be used; common practice, no source."""
LATE_ALLOWED, UNKNOWN_LEAD = 3, 7
"""Days more that a late order is given, and that a part without day or offer takes; common practice, no
source."""


@dataclass(frozen=True, slots=True)
class Work:
    """All that is to be planned.

    tasks: those that are not done; minutes: what is left of each [min]; standings: how each stands;
    lead_days: days that a part not on order yet takes [days], by its number, where somebody offers it;
    car_state: how the car stands; raising, lowering, reading: what these take [min]; now: aware; zone: of the
    clocks in the garage.
    """

    tasks: tuple[TaskPlan, ...]
    minutes: Mapping[int, int]
    standings: Mapping[int, Standing]
    hours: Hours
    now: datetime
    zone: tzinfo
    car_state: str = ON_WHEELS
    raising: int = 0
    lowering: int = 0
    reading: int = 10
    lead_days: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Arrival:
    """A part that a task waits for until a day; late: it should have come before."""

    what: str
    part_id: int
    on: date
    late: bool = False


@dataclass(frozen=True, slots=True)
class ToPlan:
    """The problem, and what stands behind it.

    blocks: the stints; arrivals: what each task waits for, by its id; firm: until when it waits for what has
    its day for sure [min]; readings: what is to be read, by an id
    below zero; assumed: holds that the plan takes as solved in time; unoffered: parts that nobody offers.
    """

    problem: Problem
    blocks: tuple[Block, ...]
    arrivals: Mapping[int, tuple[Arrival, ...]]
    firm: Mapping[int, int]
    readings: Mapping[int, str]
    assumed: tuple[Hold, ...]
    unoffered: tuple[Hold, ...]


def to_plan(work: Work) -> ToPlan:
    """The problem in minutes from now [min]. Source: definition.

    A part in the post counts from its day on, a late one `LATE_ALLOWED` days from now, one that is not
    ordered yet as if it were ordered today. A hold by hand counts until its day.
    """
    stints = blocks(work.hours, work.zone, work.now.date(), DAYS)
    readings = _readings(work)
    arrivals = {task.id: tuple(_arrivals(work, work.standings[task.id].holds)) for task in work.tasks}
    ids = {task.id for task in work.tasks}
    firm = {task.id: _firm(work, task) for task in work.tasks}
    activities = [
        _activity(work, task, ids, readings, max(firm[task.id], _last(work, arrivals[task.id])))
        for task in work.tasks
    ]
    activities += [Activity(at, work.reading, uses=(Use(BUILDER),)) for at in readings]
    every = [hold for task in work.tasks for hold in work.standings[task.id].holds]
    stands = ON_STANDS if work.car_state == ON_STANDS else ON_WHEELS
    problem = Problem(
        tuple(activities),
        _resources(work, stints),
        Car(stands, work.raising, work.lowering, (Use(BUILDER),)),
    )
    return ToPlan(
        problem,
        stints,
        {at: some for at, some in arrivals.items() if some},
        {at: minute for at, minute in firm.items() if minute},
        readings,
        tuple(dict.fromkeys(hold for hold in every if _is_assumed(hold))),
        tuple(dict.fromkeys(hold for hold in every if _not_offered(work, hold))),
    )


def _readings(work: Work) -> dict[int, str]:
    """What tasks wait to have read, one piece of work a port."""
    asked: dict[int, dict[str, None]] = {}
    for task in work.tasks:
        for hold in work.standings[task.id].holds:
            if hold.kind is HoldKind.READING and hold.subject_id is not None:
                asked.setdefault(hold.subject_id, {})[hold.what] = None
    return {-port: f"Take {' and '.join(what)}" for port, what in asked.items()}


def _activity(
    work: Work,
    task: TaskPlan,
    ids: set[int],
    readings: Mapping[int, str],
    not_before: int,
) -> Activity:
    holds = work.standings[task.id].holds
    after = [link for link in task.after if link.task_id in ids]
    after += [After(-port) for port in _ports(holds) if -port in readings]
    return Activity(
        task.id,
        work.minutes[task.id],
        tuple(after),
        _uses(task.helper_skill, task.hands, task.hot_work),
        not_before,
        task.splits,
        task.car_state if task.car_state in (ON_STANDS, ON_WHEELS) else ANY,
    )


def _last(work: Work, arrivals: Iterable[Arrival]) -> int:
    """The minute from which all of it can be used [min]."""
    moments = (moment_of(one.on, USABLE_FROM, work.zone) for one in arrivals)
    return max((minutes_between(work.now, one) for one in moments), default=0)


def _firm(work: Work, task: TaskPlan) -> int:
    """The minute until which a cure or a hold by hand with a day keeps it [min]; 0 where none does."""
    holds = work.standings[task.id].holds
    moments = [hold.until for hold in holds if hold.kind is HoldKind.WAIT and hold.until is not None]
    moments += [
        moment_of(hold.due, 0, work.zone) for hold in holds if _is_by_hand(hold) and hold.due is not None
    ]
    return max((minutes_between(work.now, one) for one in moments), default=0)


def _ports(holds: Iterable[Hold]) -> tuple[int, ...]:
    found = (hold.subject_id for hold in holds if hold.kind is HoldKind.READING)
    return tuple(dict.fromkeys(port for port in found if port is not None))


@lru_cache(maxsize=256)
def _uses(skill: str, hands: int, hot_work: bool) -> tuple[Use, ...]:
    """The same value for all tasks that ask for the same."""
    helper = (Use(helper_who(skill)),) if skill else ()
    helping = (Use(HELPERS, max(hands - 1, 1)),) if skill or hands > 1 else ()
    return (Use(BUILDER), *helper, *helping, *((Use(NOISE),) if hot_work else ()))


def helper_who(skill: str) -> str:
    """The name of somebody who is able to do it, as a resource of the plan."""
    return f"a helper who {skill}"


def _resources(work: Work, stints: tuple[Block, ...]) -> tuple[Resource, ...]:
    def slots(skill: str = "") -> tuple[Window, ...]:
        some = (
            Block(
                moment_of(one.day, one.span.begins, work.zone), moment_of(one.day, one.span.ends, work.zone)
            )
            for one in work.hours.visits
            if skilled(one.skills, skill)
        )
        return windows(some, work.now)

    mine = windows(stints, work.now)
    loud = windows(noise_blocks(work.hours, work.zone, work.now.date(), DAYS), work.now)
    skills = dict.fromkeys(task.helper_skill for task in work.tasks if task.helper_skill)
    return (
        Resource(BUILDER, mine),
        Resource(NOISE, tuple(_both(mine, loud))),
        Resource(HELPERS, slots()),
        *(Resource(helper_who(skill), slots(skill)) for skill in skills),
    )


def _both(mine: Iterable[Window], loud: Sequence[Window]) -> Iterable[Window]:
    """When the builder is there and noise may be made; nothing loud is done at another time anyway.

    Both by start, each with none that overlap.
    """
    first = 0
    for one in mine:
        while first < len(loud) and loud[first].end <= one.start:
            first += 1
        for other in islice(loud, first, None):
            if other.start >= one.end:
                break
            if max(one.start, other.start) < min(one.end, other.end):
                yield Window(max(one.start, other.start), min(one.end, other.end), MANY)


def _arrivals(work: Work, holds: Iterable[Hold]) -> Iterable[Arrival]:
    today = work.now.date()
    for hold in holds:
        if not _arrives(hold):
            continue
        part = hold.subject_id or 0
        if hold.state != IN_THE_POST:
            yield Arrival(hold.what, part, today + timedelta(days=work.lead_days.get(part, UNKNOWN_LEAD)))
        elif hold.due is None:
            yield Arrival(hold.what, part, today + timedelta(days=UNKNOWN_LEAD))
        elif hold.due < today:
            yield Arrival(hold.what, part, today + timedelta(days=LATE_ALLOWED), late=True)
        else:
            yield Arrival(hold.what, part, hold.due)


def is_to_order(hold: Hold) -> bool:
    """A part that comes from a supplier and is not ordered yet."""
    return _is_part(hold) and hold.state == NOT_COMING["buy"]


def _arrives(hold: Hold) -> bool:
    """A part that comes from a supplier, ordered already or not."""
    return is_to_order(hold) or (_is_part(hold) and hold.state == IN_THE_POST)


def _is_part(hold: Hold) -> bool:
    """A part of the list."""
    return hold.kind is HoldKind.PART and hold.subject_id is not None


def _is_by_hand(hold: Hold) -> bool:
    return hold.kind in (HoldKind.HELPER, HoldKind.TOOL, HoldKind.OTHER)


def _is_assumed(hold: Hold) -> bool:
    """Nothing says when it will be solved: the plan takes it as solved in time, and says so."""
    decided = hold.kind in (HoldKind.DECISION, HoldKind.CHECK)
    made = hold.kind is HoldKind.PART and not _arrives(hold)
    return decided or made or (_is_by_hand(hold) and hold.due is None)


def _not_offered(work: Work, hold: Hold) -> bool:
    return is_to_order(hold) and hold.subject_id not in work.lead_days
