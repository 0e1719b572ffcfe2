"""Queries on tasks, what comes before them, what they need and wait for, and holds set by hand."""

from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import datetime
from operator import itemgetter
from typing import Any, TypeVar

from sqlalchemy import Executable, bindparam
from sqlalchemy import select as select_columns
from sqlmodel import Session, SQLModel, col, func, select, update

from server.core.again import Again
from server.core.work.pace import worked_after
from server.core.work.rows import (
    AfterRow,
    HoldRow,
    NeedRow,
    SetbackRow,
    Span,
    Tables,
    TaskRead,
    TaskRow,
    WaitRow,
    WorkRows,
    span_of,
    work_rows,
)
from server.core.work.tasks import TaskPlan, TaskState
from server.db import plain_rows
from server.errors import NotFound
from server.features.builds.tables import Subsystem
from server.features.designs.tables import Design
from server.features.work.tables import Dependency, Hold, Need, Setback, Task, Wait

RowOfTask = TypeVar("RowOfTask", Dependency, Need, Wait, Hold, Setback)


def load_rows(session: Session, build_id: int) -> WorkRows:
    """Everything about the work of a build, in seven queries."""
    every = tasks(session, build_id)
    of = session, span_of(every)
    tables = Tables(afters(*of), needs(*of), waits(*of), holds(*of), setbacks(*of))
    there = select(Subsystem.id).where(Subsystem.build_id == build_id, col(Subsystem.removed_at).is_(None))
    return work_rows(every, tables, [number for number in session.exec(there) if number is not None])


def tasks(session: Session, build_id: int, again: Again | None = None) -> tuple[TaskRead, ...]:
    """Every task in its order, those that are set aside too.

    again: what the last reading left of this build. A task is described by what only an edit changes, which
    gives it a new version: that is not read again while its version stands.
    """
    again = again or Again()
    all_new = not again.knows(DESCRIBED_STEP)
    # Put in order here: the database would carry every column along for it.
    rows = sorted(_told(session, WHOLE if all_new else ALL_TICKED, build=build_id), key=itemgetter(2, 0))
    ticked = {row[0]: row[: len(TICKED)] for row in rows}

    def describe(versions: Mapping[int, int]) -> dict[int, tuple[Any, ...]]:
        if all_new:
            return {row[0]: row[len(TICKED) :] for row in rows}
        if len(versions) < FEW:
            return {row[0]: row for row in _told(session, FEW_DESCRIBED, tasks=list(versions))}
        return {row[0]: row for row in _told(session, ALL_DESCRIBED, build=build_id)}

    described = again.together(DESCRIBED_STEP, {at: row[1] for at, row in ticked.items()}, describe)
    read = {at: (row, described[at]) for at, row in ticked.items()}
    return tuple(again.each("tasks read", read, _task_read).values())


def _told(session: Session, columns: Executable, **which: object) -> list[tuple[Any, ...]]:
    """Columns of tasks."""
    return [tuple(row) for row in plain_rows(session, columns, **which)]


DESCRIBED_STEP = "tasks described"
FEW = 100
"""Rows that are asked for by their numbers; of more, all of the build's."""
TICKED: tuple[Any, ...] = (
    *(Task.id, Task.version, Task.position, Task.state, Task.worked_minutes, Task.begun_at, Task.done_at),
    *(col(Task.started_at).is_not(None), col(Task.removed_at).is_not(None)),
)
"""Columns of what is changed without an edit. Rows of thousands are read as they come: a mapped object of
each would take most of the time."""
DESCRIBED: tuple[Any, ...] = (
    *(Task.id, Task.title, Task.minutes_low, Task.minutes_likely, Task.minutes_high, Task.place),
    *(Task.car_state, Task.hands, Task.helper_skill, Task.hot_work, Task.splits, Task.caution, Task.carry),
    *(Task.subsystem_id, Task.licensed, Task.note),
)
OF_BUILD = col(Task.build_id) == bindparam("build")
WHOLE = select_columns(*TICKED, *DESCRIBED).where(OF_BUILD)
ALL_TICKED, ALL_DESCRIBED = (select_columns(*columns).where(OF_BUILD) for columns in (TICKED, DESCRIBED))
FEW_DESCRIBED = select_columns(*DESCRIBED).where(col(Task.id).in_(bindparam("tasks", expanding=True)))


def _task_read(given: tuple[tuple[Any, ...], tuple[Any, ...]]) -> TaskRead:
    (number, version, _, state, worked, begun_at, done_at, started, aside), described = given
    _, title, low, likely, high, *told, note = described
    plan = TaskPlan(number, title, STATES[state], low, likely, high, (), done_at, (), *told)
    return TaskRead(TaskRow(plan, version, note, started, worked, begun_at), aside)


STATES = {state.value: state for state in TaskState}


def afters(session: Session, span: Span) -> tuple[AfterRow, ...]:
    return tuple(AfterRow(*row) for row in _of_tasks(session, AFTERS, span))


def needs(session: Session, span: Span) -> tuple[NeedRow, ...]:
    return tuple(NeedRow(*row) for row in _of_tasks(session, NEEDS, span))


def waits(session: Session, span: Span) -> tuple[WaitRow, ...]:
    return tuple(WaitRow(*row) for row in _of_tasks(session, WAITS, span))


def holds(session: Session, span: Span) -> tuple[HoldRow, ...]:
    return tuple(
        HoldRow(row.id, row.task_id, row.kind, row.reason, row.until, row.cleared_at is not None)
        for row in _of_tasks(session, HOLDS, span)
    )


def setbacks(session: Session, span: Span) -> tuple[SetbackRow, ...]:
    return tuple(
        SetbackRow(**{name: getattr(row, name) for name in SETBACK}, set_aside=row.removed_at is not None)
        for row in _of_tasks(session, SETBACKS, span)
    )


def _of_tasks(session: Session, rows: Executable, span: Span) -> Sequence[Any]:
    """The rows of all tasks with such numbers, now and then one of another build among them: the tasks
    themselves are not asked about here, so that what is kept of these rows outlives a tick."""
    first, last = span
    return plain_rows(session, rows, first=first, last=last)


def _rows_of_tasks(table: type[RowOfTask], *columns: str) -> Executable:
    """Columns of the rows of the tasks from number `first` to number `last`."""
    return (
        select_columns(*(getattr(table, name) for name in columns))
        .where(col(table.task_id).between(bindparam("first"), bindparam("last")))
        .order_by(col(table.id))
    )


def _names(row: type[AfterRow | NeedRow | WaitRow | SetbackRow]) -> tuple[str, ...]:
    return tuple(one.name for one in fields(row))


SETBACK = _names(SetbackRow)[:-1]
AFTERS = _rows_of_tasks(Dependency, *_names(AfterRow))
NEEDS = _rows_of_tasks(Need, *_names(NeedRow))
WAITS = _rows_of_tasks(Wait, *_names(WaitRow))
HOLDS = _rows_of_tasks(Hold, "id", "task_id", "kind", "reason", "until", "cleared_at")
SETBACKS = _rows_of_tasks(Setback, *SETBACK, "removed_at")


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
