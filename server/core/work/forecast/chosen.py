"""The order that a plan has chosen, as what must be finished before what: by it the plan is replayed.

Besides what comes after what, whoever uses a resource waits for those who had that much of it before: a flow
of each resource from work to work (C. Artigues, P. Michelon and S. Reusser, Insertion techniques for static
and dynamic resource-constrained project scheduling, European Journal of Operational Research 149 (2003) 249).
So no resource is used beyond what there is, however long things take. Where the amount of a resource differs
from window to window, two that the plan keeps apart by that alone may meet in a draw.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from server.core.work.forecast.pushing import Calendar, calendar
from server.core.work.plan.calendar import open_times
from server.core.work.plan.problem import ANY, FOREVER, Car, Problem, Use
from server.core.work.plan.schedule import Schedule


@dataclass(frozen=True, slots=True)
class Step:
    """A piece of work, or a change of the car, in the chosen order.

    id: of the work, None for the car. start, minutes: as planned [min]. waits_for: places in the order, with
    the wait [min]. not_before: the earliest start [min]. floor: never earlier than this [min], where the plan
    has it later than all it waits for would ask, such as in a pause of other work.
    """

    id: int | None
    start: int
    minutes: int
    waits_for: tuple[tuple[int, int], ...]
    not_before: int
    floor: int
    calendar: Calendar


@dataclass(frozen=True, slots=True)
class Chosen:
    """A plan's order of work; each step waits for earlier ones only."""

    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class _Bare:
    """A step before it is known what it waits for."""

    id: int | None
    start: int
    finish: int
    uses: tuple[Use, ...]
    state: str
    splits: bool


def chosen(problem: Problem, schedule: Schedule) -> Chosen:
    """The order of a plan; with the planned times it gives exactly the plan again.

    Errors: KeyError where the schedule is of another problem. Source: the module's.
    """
    bare = _in_order(problem, schedule)
    place = {one.id: at for at, one in enumerate(bare) if one.id is not None}
    by_id = problem.by_id()
    waits: list[dict[int, int]] = [{} for _ in bare]
    for at, one in enumerate(bare):
        if one.id is not None:
            for link in by_id[one.id].after:
                waits[at][place[link.task_id]] = link.least_wait
    for earlier, later in (*_flows(problem, bare, waits), *_car_waits(bare)):
        waits[later].setdefault(earlier, 0)
    calendars: dict[tuple[tuple[Use, ...], bool], Calendar] = {}
    steps = []
    for at, one in enumerate(bare):
        key = (one.uses, one.splits)
        if key not in calendars:
            calendars[key] = calendar(open_times(problem.resources, one.uses), one.splits)
        minutes = _minutes(problem.car, one) if one.id is None else by_id[one.id].minutes
        release = 0 if one.id is None else by_id[one.id].not_before
        steps.append(Step(one.id, one.start, minutes, tuple(waits[at].items()), release, 0, calendars[key]))
    return Chosen(tuple(_floored(steps)))


def before(order: Chosen, goal: int | None) -> Chosen:
    """The steps alone that the goal waits for, and itself; all of them for no goal. Source: definition.

    Errors: KeyError where the goal is not in the order.
    """
    if goal is None:
        return order
    place = {step.id: at for at, step in enumerate(order.steps)}
    needed = {place[goal]}
    for at in range(len(order.steps) - 1, -1, -1):
        if at in needed:
            needed.update(earlier for earlier, _ in order.steps[at].waits_for)
    kept = sorted(needed)
    now = {at: turn for turn, at in enumerate(kept)}
    return Chosen(
        tuple(
            replace(step, waits_for=tuple((now[earlier], wait) for earlier, wait in step.waits_for))
            for step in (order.steps[at] for at in kept)
        )
    )


def _in_order(problem: Problem, schedule: Schedule) -> list[_Bare]:
    """All steps by planned start, those without minutes where several begin together first."""
    by_id = problem.by_id()
    works = [
        _Bare(one.id, one.start, one.finish, asked.uses, asked.car_state, asked.splits)
        for one in schedule.placed
        for asked in (by_id[one.id],)
    ]
    movers = problem.car.uses if problem.car else ()
    changes = [_Bare(None, one.start, one.finish, movers, one.to, False) for one in schedule.changes]
    rank = {at: turn for turn, at in enumerate(schedule.order)}
    return sorted(
        [*works, *changes],
        key=lambda one: (one.start, one.finish, rank.get(one.id, -1) if one.id is not None else -1),
    )


def _minutes(car: Car | None, change: _Bare) -> int:
    return car.minutes_to(change.state) if car else 0


def _flows(problem: Problem, bare: list[_Bare], waits: list[dict[int, int]]) -> Iterator[tuple[int, int]]:
    """Who has to be finished before whom, so that each amount used comes from somewhere."""
    for resource in problem.resources:
        free: list[list[int]] = [[-FOREVER, -1, resource.most]]
        """Amounts handed on: since when, by whom, how much."""
        for at, one in enumerate(bare):
            asked = sum(use.amount for use in one.uses if use.resource == resource.id)
            if not asked or one.start == one.finish:
                continue
            wanted = asked
            ready = [giver for giver in free if giver[0] <= one.start]
            ready.sort(key=lambda giver: (giver[1] in waits[at], giver[0], giver[1]), reverse=True)
            for giver in ready:
                taken = min(wanted, giver[2])
                giver[2] -= taken
                wanted -= taken
                if taken and giver[1] >= 0:
                    yield giver[1], at
                if not wanted:
                    break
            free = [giver for giver in free if giver[2]]
            free.append([one.finish, at, asked - wanted])


def _car_waits(bare: list[_Bare]) -> Iterator[tuple[int, int]]:
    """The car is moved once nobody needs it as it stands, and work that needs it so waits for that."""
    changed: int | None = None
    since: list[int] = []
    for at, one in enumerate(bare):
        if one.id is None:
            yield from ((earlier, at) for earlier in since)
            if changed is not None:
                yield changed, at
            changed, since = at, []
        elif one.state != ANY:
            if changed is not None:
                yield changed, at
            since.append(at)


def _floored(steps: list[Step]) -> Iterator[Step]:
    """Each step with its floor: where the order alone would have it earlier than the plan."""
    finishes: list[float] = []
    for step in steps:
        ready = max((step.not_before, *(finishes[at] + wait for at, wait in step.waits_for)))
        start, finish = step.calendar.push(np.array([float(ready)]), np.array([float(step.minutes)]))
        if start[0] < step.start:
            planned = np.array([float(step.start)])
            _, finish = step.calendar.push(planned, np.array([float(step.minutes)]))
            step = replace(step, floor=step.start)
        finishes.append(float(finish[0]))
        yield step
