"""Tasks as frozen values: how long each takes, what it comes after, and whether that goes round in a ring."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from graphlib import CycleError, TopologicalSorter
from typing import NamedTuple, Protocol

from server.core.work.holds import Hold
from server.core.work.plan.estimate import ThreePoint

ON_STANDS = "on stands"
ON_WHEELS = "on wheels"
"""How the car stands, or must stand for a task; a task may ask for neither."""


class TaskState(StrEnum):
    """What the builder set. *Ready* and *held* are worked out from it, never set."""

    OPEN = "open"
    IN_HAND = "in hand"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class After:
    """This task comes after another one, at least `least_wait` [min] of calendar time later."""

    task_id: int
    least_wait: int = 0


class Linked(Protocol):
    """What comes after other things of its kind: a task, or a piece of work in a plan."""

    @property
    def id(self) -> int: ...
    @property
    def after(self) -> tuple[After, ...]: ...


class TaskPlan(NamedTuple):
    """A piece of work.

    minutes_low, minutes_likely, minutes_high: three-point estimate of stint time [min]; done_at: when it was
    done (a task done at an unknown time counts as done long ago); holds: those set by hand; place: where the
    work is done; car_state: how the car must stand; hands: people needed; helper_skill: what a helper must be
    able to do, empty where none is needed; splits: may be spread over stints; carry: what to carry under;
    licensed: what of it is for a licensed person, one of `cautions.LICENSED`, empty for nothing.
    """

    id: int
    title: str
    state: TaskState = TaskState.OPEN
    minutes_low: int = 30
    minutes_likely: int = 30
    minutes_high: int = 30
    after: tuple[After, ...] = ()
    done_at: datetime | None = None
    holds: tuple[Hold, ...] = ()
    place: str = "bench"
    car_state: str = "any"
    hands: int = 1
    helper_skill: str = ""
    hot_work: bool = False
    splits: bool = True
    caution: str = ""
    carry: str = ""
    subsystem_id: int | None = None
    licensed: str = ""

    def __hash__(self) -> int:
        """Of a few fields: what is remembered by tasks is looked up by hundreds of them at once."""
        return hash((self.id, self.title, self.done_at))

    @property
    def done(self) -> bool:
        return self.state is TaskState.DONE


def expected_minutes(task: TaskPlan) -> float:
    """Expected duration [min] of a three-point estimate. Source: `ThreePoint.mean`.

    >>> expected_minutes(TaskPlan(1, "Bead the ends", minutes_low=10, minutes_likely=20, minutes_high=60))
    25.0
    """
    return ThreePoint(task.minutes_low, task.minutes_likely, task.minutes_high).mean


def is_first_start(title: str) -> bool:
    """Whether a task is the first start, whose date counts before all others.

    >>> is_first_start("First start, two minutes"), is_first_start("Start the fan")
    (True, False)
    """
    return title.casefold().startswith("first start")


NEAR = 10
"""With so many tasks left before it the first start is near. Source: common practice, no source."""


def start_is_near(tasks: Sequence[TaskPlan]) -> bool:
    """Whether a first start is planned and done, or few tasks are left before it, through others too.

    Source: definition; how few is common practice, no source.
    """
    plans = {task.id: task for task in tasks}
    starts = [task for task in tasks if is_first_start(task.title)]
    before: set[int] = set()
    waiting = [task.id for task in starts]
    while waiting and len(before) <= NEAR:
        for after in plans[waiting.pop()].after:
            if after.task_id not in before and after.task_id in plans and not plans[after.task_id].done:
                before.add(after.task_id)
                waiting.append(after.task_id)
    return bool(starts) and len(before) <= NEAR


def find_cycle(tasks: Iterable[Linked]) -> tuple[int, ...] | None:
    """One ring of tasks that wait for each other, or None where there is none.

    Each number in the ring comes before the next one and the last before the first; the ring begins with its
    lowest number. Errors: ValueError where a task comes after one that is not among those given.
    Source: depth-first search, standard library `graphlib`.
    """
    return in_order(tasks)[1]


def in_order(tasks: Iterable[Linked]) -> tuple[tuple[int, ...], tuple[int, ...] | None]:
    """The numbers of the tasks so that each stands behind all that it comes after, and a ring or None.

    Where there is a ring, the tasks in it and behind it are left out of the order.
    Errors: ValueError where a task comes after one that is not among those given.
    Source: A. B. Kahn, Topological sorting of large networks, Communications of the ACM 5 (1962) 558.
    """
    return in_order_of({task.id: tuple(after.task_id for after in task.after) for task in tasks})


def in_order_of(before: Mapping[int, Sequence[int]]) -> tuple[tuple[int, ...], tuple[int, ...] | None]:
    """The same of bare numbers; before: by the number of each task those of the tasks it comes after."""
    for task_id, earlier in before.items():
        unknown = [other for other in earlier if other not in before]
        if unknown:
            raise ValueError(f"task {task_id} comes after {unknown}, which are not among the tasks given")
    waiting = {task_id: len(earlier) for task_id, earlier in before.items()}
    behind: dict[int, list[int]] = {task_id: [] for task_id in before}
    for task_id, earlier in before.items():
        for other in earlier:
            behind[other].append(task_id)
    order: list[int] = []
    batch = sorted(task_id for task_id, left in waiting.items() if not left)
    while batch:
        order += batch
        ready = []
        for task_id in batch:
            for later in behind[task_id]:
                waiting[later] -= 1
                if not waiting[later]:
                    ready.append(later)
        batch = sorted(ready)
    return tuple(order), None if len(order) == len(before) else _ring(before)


def _ring(before: Mapping[int, Sequence[int]]) -> tuple[int, ...]:
    """A ring that is there, from its lowest number on. Source: standard library `graphlib`."""
    try:
        TopologicalSorter(before).prepare()
    except CycleError as error:
        ring: list[int] = error.args[1][:-1]  # it comes closed, with its first node again at the end
        start = ring.index(min(ring))
        return tuple(ring[start:] + ring[:start])
    raise AssertionError("only with a ring is something left out of the order")
