"""Whether a visit is ready: the work that it is for, what comes before, and what stands against it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from enum import StrEnum

from server.core.work.causes import IN_THE_POST
from server.core.work.holds import Hold, HoldKind
from server.core.work.hours import Visit, moment_of, skilled
from server.core.work.standing import Standing
from server.core.work.tasks import TaskPlan
from server.core.work.to_plan import USABLE_FROM, is_to_order


class Stand(StrEnum):
    """How it stands with something that the visit needs; gravest first."""

    TOO_LATE = "comes too late"
    TO_DO = "to do before"
    IN_TIME = "comes in time"


@dataclass(frozen=True, slots=True)
class Against:
    """Something against the visit. on: the day on which it is expected; stops: tasks of the visit."""

    hold: Hold
    stand: Stand
    on: date | None
    stops: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Readiness:
    """A visit as it stands: ids of the tasks that it is for, those of the tasks to be done before, and what
    is against it, the gravest first.
    """

    work: tuple[int, ...]
    before: tuple[int, ...]
    against: tuple[Against, ...]

    @property
    def stand(self) -> Stand | None:
        """The gravest; none where nothing is against it."""
        return self.against[0].stand if self.against else None


def readiness(
    tasks: Sequence[TaskPlan],
    standings: Mapping[int, Standing],
    visit: Visit,
    zone: tzinfo,
    in_visit: frozenset[int],
    expected: Mapping[str, date],
) -> Readiness:
    """How a visit stands. Source: definition.

    The visit is for every open task that asks for what the helper is able to do, and for those of two pairs
    of hands that the plan puts into it (`in_visit`). expected: the day on which each part comes, by its
    words, as the plan counts it; what is not ordered counts as ordered today. Tasks that wait for another of
    the visit come in their turn.
    """
    open_ones = [task for task in tasks if not task.done]
    work = tuple(task.id for task in open_ones if _is_for(task, visit, in_visit))
    begins = moment_of(visit.day, visit.span.begins, zone)
    stops: dict[Hold, list[int]] = {}
    for task_id in work:
        for root in standings[task_id].roots:
            if not _is_the_visit(root, visit, work):
                stops.setdefault(root, []).append(task_id)
    against = (_against(root, begins, expected, tuple(some)) for root, some in stops.items())
    order = list(Stand)
    return Readiness(
        work,
        _before(open_ones, work),
        tuple(sorted(against, key=lambda one: (order.index(one.stand), -len(one.stops)))),
    )


def _is_for(task: TaskPlan, visit: Visit, in_visit: frozenset[int]) -> bool:
    if task.helper_skill:
        return skilled(visit.skills, task.helper_skill)
    return task.hands > 1 and task.id in in_visit


def _is_the_visit(root: Hold, visit: Visit, work: Sequence[int]) -> bool:
    """Nothing but the helper's coming, or another task of the visit that can be begun."""
    if root.kind is HoldKind.HELPER:
        return root.due is not None and root.due <= visit.day
    return root.kind is HoldKind.TASK and root.subject_id in work


def _before(open_ones: Iterable[TaskPlan], work: Sequence[int]) -> tuple[int, ...]:
    """What comes before the work, through other tasks too, in the order of the tasks."""
    plans = {task.id: task for task in open_ones}
    found: set[int] = set()
    waiting = list(work)
    while waiting:
        for link in plans[waiting.pop()].after:
            if link.task_id in plans and link.task_id not in found:
                found.add(link.task_id)
                waiting.append(link.task_id)
    return tuple(task_id for task_id in plans if task_id in found and task_id not in work)


def _against(hold: Hold, begins: datetime, expected: Mapping[str, date], stops: tuple[int, ...]) -> Against:
    on = _expected(hold, expected)
    if on is None or (hold.late_days and hold.kind is not HoldKind.PART):
        return Against(hold, Stand.TO_DO, on, stops)
    usable = on + timedelta(days=1) if hold.kind is HoldKind.PART and not _that_evening(begins) else on
    if usable > begins.date() or (hold.until is not None and hold.until > begins):
        return Against(hold, Stand.TOO_LATE, on, stops)
    return Against(hold, Stand.TO_DO if is_to_order(hold) else Stand.IN_TIME, on, stops)


def _expected(hold: Hold, expected: Mapping[str, date]) -> date | None:
    """The day on which it is there by itself, or once it is ordered; none where somebody has to do it."""
    if hold.kind is not HoldKind.PART:
        return hold.due
    return expected.get(hold.what, hold.due) if is_to_order(hold) or hold.state == IN_THE_POST else None


def _that_evening(begins: datetime) -> bool:
    """So late that what comes by post that day is there."""
    return begins.hour * 60 + begins.minute >= USABLE_FROM
