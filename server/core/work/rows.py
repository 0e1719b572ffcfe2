"""What is stored about the work of a build, as values, and how it is put together."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from server.core.again import Again
from server.core.work.tasks import After, TaskPlan


@dataclass(frozen=True, slots=True)
class AfterRow:
    id: int
    task_id: int
    after_task_id: int
    least_wait: int


@dataclass(frozen=True, slots=True)
class NeedRow:
    id: int
    task_id: int
    part_id: int
    quantity: int


@dataclass(frozen=True, slots=True)
class WaitRow:
    id: int
    task_id: int
    kind: str
    port_id: int | None
    dimension: str
    subsystem_id: int | None


@dataclass(frozen=True, slots=True)
class HoldRow:
    id: int
    task_id: int
    kind: str
    reason: str
    until: date | None
    cleared: bool


@dataclass(frozen=True, slots=True)
class SetbackRow:
    """What may go wrong with a task, with a chance between 0 and 1, and the work it would bring [min].

    set_aside: it no longer counts and can be put back.
    """

    id: int
    version: int
    task_id: int
    title: str
    chance: float
    minutes_low: int
    minutes_likely: int
    minutes_high: int
    carry: str
    caution: str
    note: str
    happened_at: datetime | None
    brought_task_id: int | None
    set_aside: bool


@dataclass(frozen=True, slots=True)
class AsideRow:
    """A task that was set aside by itself."""

    id: int
    title: str


class TaskRow(NamedTuple):
    """A task as stored: the plan (without holds), and what only pages need."""

    plan: TaskPlan
    version: int
    note: str
    started: bool
    worked: int | None = 0
    """Minutes in hand so far, the go that goes on left out; none where that is not known."""
    begun_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class WorkRows:
    """All that is stored about the work of a build.

    Tasks that are set aside, and those of a subsystem that is, are left out with all they are tied to:
    what comes after such a task does not wait for it.
    """

    tasks: tuple[TaskRow, ...]
    afters: tuple[AfterRow, ...]
    needs: tuple[NeedRow, ...]
    waits: tuple[WaitRow, ...]
    holds: tuple[HoldRow, ...]
    setbacks: tuple[SetbackRow, ...] = ()
    aside: tuple[AsideRow, ...] = ()


@dataclass(frozen=True, slots=True)
class TaskRead:
    """A task as it was read, without what comes before it. aside: it was set aside by itself."""

    row: TaskRow
    aside: bool


Span = tuple[int, int]
"""The lowest and the highest number of the tasks of a build."""


def span_of(every: Iterable[TaskRead]) -> Span:
    """Zeros where there is no task."""
    numbers = [read.row.plan.id for read in every]
    return min(numbers, default=0), max(numbers, default=0)


class Tables(NamedTuple):
    """What was read of the tables beside that of the tasks."""

    afters: tuple[AfterRow, ...]
    needs: tuple[NeedRow, ...]
    waits: tuple[WaitRow, ...]
    holds: tuple[HoldRow, ...]
    setbacks: tuple[SetbackRow, ...]


@dataclass(frozen=True, slots=True)
class _Tied:
    """The rows of the tasks that stand, and what comes before each task that something comes before."""

    tables: Tables
    before: Mapping[int, tuple[After, ...]]


def work_rows(
    every: Sequence[TaskRead], tables: Tables, subsystems: Collection[int], again: Again | None = None
) -> WorkRows:
    """What was read of each table, put together; rows of tasks that are left out, or not in `every`, are too.

    subsystems: the numbers of those that stand; again: what the last making left.
    """
    again = again or Again()
    there = {None, *subsystems}
    standing = {
        read.row.plan.id: read.row for read in every if not read.aside and read.row.plan.subsystem_id in there
    }
    tied = again.once("rows tied", (tuple(standing), tables), _tied)
    rows = {task_id: (row, tied.before.get(task_id, ())) for task_id, row in standing.items()}
    return WorkRows(
        tuple(again.each("rows after others", rows, _after_others).values()),
        *tied.tables,
        tuple(AsideRow(read.row.plan.id, read.row.plan.title) for read in every if read.aside),
    )


def _tied(given: tuple[tuple[int, ...], Tables]) -> _Tied:
    ids, tables = frozenset(given[0]), given[1]
    afters = tuple(row for row in tables.afters if row.task_id in ids and row.after_task_id in ids)
    before: dict[int, tuple[After, ...]] = {}
    for row in afters:
        earlier = After(row.after_task_id, row.least_wait)
        before[row.task_id] = (*before.get(row.task_id, ()), earlier)
    return _Tied(
        Tables(
            afters,
            tuple(row for row in tables.needs if row.task_id in ids),
            tuple(row for row in tables.waits if row.task_id in ids),
            tuple(row for row in tables.holds if row.task_id in ids),
            tuple(row for row in tables.setbacks if row.task_id in ids),
        ),
        before,
    )


def _after_others(given: tuple[TaskRow, tuple[After, ...]]) -> TaskRow:
    row, after = given
    return row._replace(plan=row.plan._replace(after=after)) if after else row
