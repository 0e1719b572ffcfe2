"""What a plan of a build leaves open, as a forecast draws it: how long tasks take, parcels, and mishaps."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from server.core.work.forecast.foresee import Delivery, Doubts, Risk
from server.core.work.forecast.lead_time import LeadTime
from server.core.work.hours import minutes_between, moment_of
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.problem import minutes_whole
from server.core.work.tasks import TaskPlan, expected_minutes
from server.core.work.to_plan import USABLE_FROM, ToPlan, Work

DAYS_OF_A_PART = 10
"""A part may be awaited on so many days, each a delivery of its own."""


@dataclass(frozen=True, slots=True)
class Coming:
    """How long a part takes that is awaited, and how long it is on its way already [day]."""

    lead: LeadTime
    waited: float = 0.0


@dataclass(frozen=True, slots=True)
class Mishap:
    """What may go wrong in a task, with its chance [-] and the work that it would bring [min]."""

    id: int
    task_id: int
    chance: float
    estimate: ThreePoint


def left_open(
    work: Work,
    asked: ToPlan,
    coming: Mapping[int, Coming],
    mishaps: Iterable[Mishap],
    factor: float,
    recuts: Iterable[Risk] = (),
) -> Doubts:
    """The doubts of a plan, by the numbers of tasks, parts and mishaps.

    coming: by the number of the part; one without is taken to come on its day. factor: of this builder's
    pace [-]. recuts: pieces that may have to be made again. A task's three times are drawn in to what is left
    of it, with the planned time as their mean; who waits for something else too, such as a hold with a day,
    waits for that at the least. Source: as `forecast`; common practice for what is left of a task, no source.
    """
    return Doubts(
        {task.id: _left_of(task, work.minutes[task.id]) for task in work.tasks},
        (*_deliveries(work, asked, coming), *_firm(asked)),
        (
            *(
                Risk(one.id, one.task_id, one.chance, minutes_whole(factor * one.estimate.mean))
                for one in mishaps
            ),
            *recuts,
        ),
    )


def _left_of(task: TaskPlan, minutes: int) -> ThreePoint:
    share = minutes / max(expected_minutes(task), 1.0)
    return ThreePoint(task.minutes_low * share, task.minutes_likely * share, task.minutes_high * share)


def _deliveries(work: Work, asked: ToPlan, coming: Mapping[int, Coming]) -> Iterable[Delivery]:
    """One for each part and day: what holds several tasks comes to all of them at once."""
    holds: defaultdict[tuple[int, date], list[int]] = defaultdict(list)
    for task_id, arrivals in asked.arrivals.items():
        for one in arrivals:
            holds[one.part_id, one.on].append(task_id)
    counted: defaultdict[int, int] = defaultdict(int)
    for (part_id, on), tasks in sorted(holds.items()):
        known = coming.get(part_id)
        yield Delivery(
            part_id * DAYS_OF_A_PART + counted[part_id],
            tuple(tasks),
            max(minutes_between(work.now, moment_of(on, USABLE_FROM, work.zone)), 0),
            known.lead if known else None,
            known.waited if known else 0.0,
        )
        counted[part_id] += 1


def part_awaited(delivery_id: int) -> int:
    """The number of the part that a delivery of these doubts brings. Source: definition."""
    return delivery_id // DAYS_OF_A_PART


def _firm(asked: ToPlan) -> Iterable[Delivery]:
    """A drawn parcel takes the place of a task's earliest start: what else holds it stays where it is."""
    for task_id, minute in sorted(asked.firm.items()):
        if task_id in asked.arrivals and minute > 0:
            yield Delivery(-task_id, (task_id,), minute)
