"""Queries on tasks, what comes before them, what they need and wait for, and holds set by hand."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, datetime
from functools import lru_cache
from typing import Any, TypeVar

from sqlalchemy import select as select_columns
from sqlmodel import Session, SQLModel, col, func, select, update

from server.core.work.pace import worked_after
from server.core.work.tasks import After, TaskPlan, TaskState
from server.errors import NotFound
from server.features.builds.tables import Subsystem
from server.features.designs.tables import Design
from server.features.work.tables import Dependency, Hold, Need, Setback, Task, Wait

RowOfTask = TypeVar("RowOfTask", Dependency, Need, Wait, Hold, Setback)


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


@dataclass(frozen=True, slots=True)
class TaskRow:
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
    """A task as it was read, with all that comes before it still to be told. gone: it is not to be shown."""

    row: TaskRow
    aside: bool
    gone: bool


def load_rows(session: Session, build_id: int) -> WorkRows:
    """Everything about the work of a build, in six queries."""
    every = tasks(session, build_id)
    of = session, span_of(every)
    return work_rows(every, afters(*of), needs(*of), waits(*of), holds(*of), setbacks(*of))


Span = tuple[int, int]
"""The lowest and the highest number of the tasks of a build."""


def span_of(every: Iterable[TaskRead]) -> Span:
    numbers = [read.row.plan.id for read in every]
    return min(numbers, default=0), max(numbers, default=0)


def work_rows(
    every: Sequence[TaskRead],
    afters: Iterable[AfterRow],
    needs: Iterable[NeedRow],
    waits: Iterable[WaitRow],
    holds: Iterable[HoldRow],
    setbacks: Iterable[SetbackRow],
) -> WorkRows:
    """What was read of each table, put together; rows of tasks that are not in `every` are left out."""
    standing = [read.row for read in every if not read.gone]
    ids = {row.plan.id for row in standing}
    tied = tuple(row for row in afters if row.task_id in ids and row.after_task_id in ids)
    before: dict[int, list[After]] = {}
    for after in tied:
        before.setdefault(after.task_id, []).append(After(after.after_task_id, after.least_wait))
    return WorkRows(
        tuple(_after_others(row, tuple(before.get(row.plan.id, ()))) for row in standing),
        tied,
        tuple(row for row in needs if row.task_id in ids),
        tuple(row for row in waits if row.task_id in ids),
        tuple(row for row in holds if row.task_id in ids),
        tuple(row for row in setbacks if row.task_id in ids),
        tuple(AsideRow(read.row.plan.id, read.row.plan.title) for read in every if read.aside),
    )


@lru_cache(maxsize=8192)
def _after_others(row: TaskRow, after: tuple[After, ...]) -> TaskRow:
    return replace(row, plan=replace(row.plan, after=after)) if after else row


def tasks(session: Session, build_id: int) -> tuple[TaskRead, ...]:
    """Every task in its order; one is not to be shown either where its subsystem is set aside."""
    query = (
        select_columns(*TASK)
        .join(Subsystem, col(Subsystem.id) == Task.subsystem_id, isouter=True)
        .where(col(Task.build_id) == build_id)
        .order_by(col(Task.position), col(Task.id))
    )
    return tuple(_task_read(*values) for values in session.execute(query))


SAID = (
    *("id", "title", "state", "minutes_low", "minutes_likely", "minutes_high", "done_at", "place"),
    *("car_state", "hands", "helper_skill", "hot_work", "splits", "caution", "carry", "subsystem_id"),
    *("licensed", "version", "note", "worked_minutes", "begun_at"),
)
MARKED = Task.started_at, Task.removed_at, Subsystem.removed_at
TASK = (*(getattr(Task, name) for name in SAID), *(col(at).is_not(None) for at in MARKED))
"""Columns: rows of thousands are read as they come, a mapped object of each would take most of the time."""


@lru_cache(maxsize=8192)
def _task_read(*values: Any) -> TaskRead:
    """Most rows say what they said before: then it is the same value again, and what rests on it stands."""
    number, title, state, low, likely, high, done_at, *told = values[:-7]
    version, note, worked, begun_at, started, aside, subsystem_aside = values[-7:]
    plan = TaskPlan(number, title, STATES[state], low, likely, high, (), done_at, (), *told)
    return TaskRead(TaskRow(plan, version, note, started, worked, begun_at), aside, aside or subsystem_aside)


STATES = {state.value: state for state in TaskState}


def afters(session: Session, span: Span) -> tuple[AfterRow, ...]:
    return tuple(AfterRow(*row) for row in _of_tasks(session, span, Dependency, *_names(AfterRow)))


def needs(session: Session, span: Span) -> tuple[NeedRow, ...]:
    return tuple(NeedRow(*row) for row in _of_tasks(session, span, Need, *_names(NeedRow)))


def waits(session: Session, span: Span) -> tuple[WaitRow, ...]:
    return tuple(WaitRow(*row) for row in _of_tasks(session, span, Wait, *_names(WaitRow)))


def holds(session: Session, span: Span) -> tuple[HoldRow, ...]:
    rows = _of_tasks(session, span, Hold, "id", "task_id", "kind", "reason", "until", "cleared_at")
    return tuple(
        HoldRow(row.id, row.task_id, row.kind, row.reason, row.until, row.cleared_at is not None)
        for row in rows
    )


def setbacks(session: Session, span: Span) -> tuple[SetbackRow, ...]:
    rows = _of_tasks(session, span, Setback, *SETBACK, "removed_at")
    return tuple(
        SetbackRow(**{name: getattr(row, name) for name in SETBACK}, set_aside=row.removed_at is not None)
        for row in rows
    )


def _names(row: type[AfterRow | NeedRow | WaitRow | SetbackRow]) -> tuple[str, ...]:
    return tuple(one.name for one in fields(row))


SETBACK = _names(SetbackRow)[:-1]


def _of_tasks(session: Session, span: Span, table: type[RowOfTask], *columns: str) -> Iterable[Any]:
    """Columns of the rows of all tasks with such numbers, now and then one of another build among them: the
    tasks themselves are not asked about here, so that what is kept of these rows outlives a tick."""
    query = (
        select_columns(*(getattr(table, name) for name in columns))
        .where(col(table.task_id).between(*span))
        .order_by(col(table.id))
    )
    return session.execute(query)


def begun(session: Session, build_id: int) -> list[Task]:
    """The tasks that were started or done."""
    was_begun = col(Task.started_at).is_not(None) | col(Task.done_at).is_not(None)
    return list(session.exec(select(Task).where(Task.build_id == build_id, was_begun)))


def count_tasks(session: Session, build_id: int) -> int:
    return session.exec(select(func.count()).where(col(Task.build_id) == build_id)).one()


def load_task(session: Session, build_id: int, task_id: int) -> Task:
    """Raises NotFound."""
    row = session.get(Task, task_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such task in this build.")
    return row


def load_of_task(session: Session, table: type[RowOfTask], task_id: int, row_id: int) -> RowOfTask:
    """Raises NotFound."""
    row = session.get(table, row_id)
    if row is None or row.task_id != task_id:
        raise NotFound("That is not there any more.")
    return row


def add(session: Session, row: Task | Dependency | Need | Wait | Hold | Setback) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def remove(session: Session, row: SQLModel) -> None:
    session.delete(row)
    session.flush()


def edit_task(session: Session, task_id: int, version: int, values: Mapping[str, object]) -> bool:
    """Change a task made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Task)
        .where(col(Task.id) == task_id, col(Task.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def set_state(session: Session, task: Task, state: TaskState, now: datetime, actor: str) -> None:
    """One of three states; asking for the one that stands changes nothing."""
    if task.state == state.value:
        return
    if task.state == TaskState.IN_HAND.value:
        task.worked_minutes = worked_after(task.worked_minutes, task.begun_at, now)
    task.begun_at = now if state is TaskState.IN_HAND else None
    task.state = state.value
    task.done_at = now if state is TaskState.DONE else None
    if state is TaskState.DONE:
        task.done_by = actor
    if state is not TaskState.OPEN and task.started_at is None:
        task.started_at, task.started_by = now, actor
    session.add(task)
    session.flush()


def set_after(session: Session, task_id: int, after_task_id: int, least_wait: int) -> None:
    """This task after that one; where that is so already, the wait is set."""
    query = select(Dependency).where(Dependency.task_id == task_id, Dependency.after_task_id == after_task_id)
    row = session.exec(query).first() or Dependency(task_id=task_id, after_task_id=after_task_id)
    row.least_wait = least_wait
    session.add(row)
    session.flush()


def set_need(session: Session, task_id: int, part_id: int, quantity: int) -> None:
    """So many of the part for this task, whatever was set before."""
    query = select(Need).where(Need.task_id == task_id, Need.part_id == part_id)
    row = session.exec(query).first() or Need(task_id=task_id, part_id=part_id)
    row.quantity = quantity
    session.add(row)
    session.flush()


def set_removed(session: Session, task: Task, at: datetime | None) -> None:
    """Set a task aside at a moment, or with None put it back."""
    task.removed_at = at
    session.add(task)
    session.flush()


def edit_setback(session: Session, setback_id: int, version: int, values: Mapping[str, object]) -> bool:
    """Change a setback made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Setback)
        .where(col(Setback.id) == setback_id, col(Setback.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def set_setback_removed(session: Session, setback: Setback, at: datetime | None) -> None:
    """Set it aside (`at` says when), or let it count again (none)."""
    setback.removed_at = at
    session.add(setback)
    session.flush()


def let_wait_too(session: Session, task_id: int, brought_id: int) -> None:
    """Everything that comes after the one task comes after the brought one too, with the same waits."""
    query = select(Dependency).where(col(Dependency.after_task_id).in_((task_id, brought_id)))
    rows = list(session.exec(query))
    already = {row.task_id for row in rows if row.after_task_id == brought_id}
    for row in rows:
        if row.after_task_id == task_id and row.task_id not in already:
            session.add(Dependency(task_id=row.task_id, after_task_id=brought_id, least_wait=row.least_wait))
    session.flush()


def setbacks_happened(session: Session, build_id: int) -> list[tuple[Task, Setback]]:
    """The setbacks that happened, each with its task."""
    query = (
        select(Task, Setback)
        .join(Setback, col(Setback.task_id) == col(Task.id))
        .where(Task.build_id == build_id, col(Setback.happened_at).is_not(None))
    )
    return list(session.exec(query))


def resting_on_port(session: Session, build_id: int, port_id: int) -> tuple[str, ...]:
    """The runs that begin or end at a port and the tasks that wait for a reading of it, in words."""
    ends = (col(Design.start_port_id) == port_id) | (col(Design.end_port_id) == port_id)
    runs = select(Design.name).where(Design.build_id == build_id, col(Design.removed_at).is_(None), ends)
    waiting = (
        select(Task.title)
        .join(Wait, col(Wait.task_id) == col(Task.id))
        .where(
            Task.build_id == build_id,
            Wait.port_id == port_id,
            col(Task.removed_at).is_(None),
            Task.state != TaskState.DONE.value,
        )
        .distinct()
    )
    return (
        *(f"the run ‘{name}’ begins or ends on it" for name in session.exec(runs)),
        *(f"‘{title}’ waits for a reading of it" for title in session.exec(waiting)),
    )
