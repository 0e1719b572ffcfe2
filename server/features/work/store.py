"""Queries on tasks, what comes before them, what they need and wait for, and holds set by hand."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar

from sqlmodel import Session, SQLModel, col, func, select, update

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


def load_rows(session: Session, build_id: int) -> WorkRows:
    """Everything about the work of a build, in six queries."""
    every = _tasks(session, build_id)
    standing = [row for row, gone in every if row.removed_at is None and not gone]
    ids = {row.key for row in standing}
    afters = tuple(
        AfterRow(row.key, row.task_id, row.after_task_id, row.least_wait)
        for row in _of_tasks(session, build_id, Dependency, ids)
        if row.after_task_id in ids
    )
    before: dict[int, tuple[After, ...]] = {}
    for after in afters:
        before[after.task_id] = (
            *before.get(after.task_id, ()),
            After(after.after_task_id, after.least_wait),
        )
    return WorkRows(
        tuple(_task_row(row, before.get(row.key, ())) for row in standing),
        afters,
        tuple(
            NeedRow(row.key, row.task_id, row.part_id, row.quantity)
            for row in _of_tasks(session, build_id, Need, ids)
        ),
        tuple(
            WaitRow(row.key, row.task_id, row.kind, row.port_id, row.dimension, row.subsystem_id)
            for row in _of_tasks(session, build_id, Wait, ids)
        ),
        tuple(
            HoldRow(row.key, row.task_id, row.kind, row.reason, row.until, row.cleared_at is not None)
            for row in _of_tasks(session, build_id, Hold, ids)
        ),
        tuple(setback_row(row) for row in _of_tasks(session, build_id, Setback, ids)),
        tuple(AsideRow(row.key, row.title) for row, _ in every if row.removed_at is not None),
    )


def _tasks(session: Session, build_id: int) -> list[tuple[Task, bool]]:
    """Every task in its order, and whether its subsystem is set aside."""
    query = (
        select(Task, Subsystem.removed_at)
        .join(Subsystem, col(Subsystem.id) == Task.subsystem_id, isouter=True)
        .where(Task.build_id == build_id)
        .order_by(col(Task.position), col(Task.id))
    )
    return [(row, removed_at is not None) for row, removed_at in session.exec(query)]


def setback_row(row: Setback) -> SetbackRow:
    return SetbackRow(
        id=row.key,
        version=row.version,
        task_id=row.task_id,
        title=row.title,
        chance=row.chance,
        minutes_low=row.minutes_low,
        minutes_likely=row.minutes_likely,
        minutes_high=row.minutes_high,
        carry=row.carry,
        caution=row.caution,
        note=row.note,
        happened_at=row.happened_at,
        brought_task_id=row.brought_task_id,
        set_aside=row.removed_at is not None,
    )


def begun(session: Session, build_id: int) -> list[Task]:
    """The tasks that were started or done."""
    was_begun = col(Task.started_at).is_not(None) | col(Task.done_at).is_not(None)
    return list(session.exec(select(Task).where(Task.build_id == build_id, was_begun)))


def _of_tasks(
    session: Session, build_id: int, table: type[RowOfTask], ids: Collection[int]
) -> list[RowOfTask]:
    """The rows that belong to one of these tasks of the build."""
    query = (
        select(table)
        .join(Task, col(Task.id) == table.task_id)
        .where(Task.build_id == build_id)
        .order_by(col(table.id))
    )
    return [row for row in session.exec(query) if row.task_id in ids]


def _task_row(row: Task, after: tuple[After, ...]) -> TaskRow:
    plan = TaskPlan(
        id=row.key,
        title=row.title,
        state=TaskState(row.state),
        minutes_low=row.minutes_low,
        minutes_likely=row.minutes_likely,
        minutes_high=row.minutes_high,
        after=after,
        done_at=row.done_at,
        place=row.place,
        car_state=row.car_state,
        hands=row.hands,
        helper_skill=row.helper_skill,
        hot_work=row.hot_work,
        splits=row.splits,
        caution=row.caution,
        carry=row.carry,
        subsystem_id=row.subsystem_id,
    )
    return TaskRow(plan, row.version, row.note, row.started_at is not None)


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


def set_state(session: Session, task: Task, state: TaskState, now: datetime) -> None:
    """One of three states; asking for the one that stands changes nothing."""
    if task.state == state.value:
        return
    task.state = state.value
    task.done_at = now if state is TaskState.DONE else None
    if state is not TaskState.OPEN:
        task.started_at = task.started_at or now
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
