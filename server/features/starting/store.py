"""What of the starting set a build has already, and rows added to it many at once."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, insert, select

from server.core.work.tasks import TaskState
from server.db import Row
from server.features.builds import store as builds
from server.features.ports.tables import Port
from server.features.work.tables import Dependency, Task


@dataclass(frozen=True, slots=True)
class There:
    """What a build has: numbers of subsystems by kind, of ports and tasks by their code in the set.

    aside: kinds whose subsystem was set aside; codes: of everything of the set that was ever added, set aside
    or not; done: codes of the tasks that are done.
    """

    subsystems: Mapping[str, int]
    aside: frozenset[str]
    ports: Mapping[str, int]
    tasks: Mapping[str, int]
    codes: frozenset[str]
    done: frozenset[str]


def there(session: Session, build_id: int) -> There:
    """In three queries."""
    rows = builds.every_subsystem(session, build_id)
    standing = {row.kind: row.key for row in reversed(rows) if row.removed_at is None}
    ports = session.exec(select(Port).where(Port.build_id == build_id, Port.from_set != "")).all()
    tasks = session.exec(select(Task).where(Task.build_id == build_id, Task.from_set != "")).all()
    return There(
        subsystems=standing,
        aside=frozenset(row.kind for row in rows) - frozenset(standing),
        ports={row.from_set: row.key for row in ports if row.removed_at is None},
        tasks={row.from_set: row.key for row in tasks if row.removed_at is None},
        codes=frozenset(row.from_set for row in ports) | frozenset(row.from_set for row in tasks),
        done=frozenset(row.from_set for row in tasks if row.state == TaskState.DONE.value),
    )


def dependencies(session: Session, build_id: int) -> list[tuple[int, int]]:
    """Every pair of a build: the number of a task, and of one that it comes after."""
    query = (
        select(Dependency.task_id, Dependency.after_task_id)
        .join(Task, col(Task.id) == col(Dependency.task_id))
        .where(Task.build_id == build_id)
    )
    return [(task_id, before_id) for task_id, before_id in session.exec(query)]


def add_all(session: Session, table: type[Row], rows: Sequence[Row]) -> None:
    """Store new rows of one table in one statement."""
    if rows:
        session.exec(
            insert(table).execution_options(render_nulls=True),
            params=[row.model_dump(exclude={"id"}) for row in rows],
        )


def numbers(session: Session, build_id: int, table: type[Port] | type[Task]) -> dict[str, int]:
    """The number of each port, or task, of the set that was not set aside, by its code."""
    query = select(table.from_set, table.id).where(
        table.build_id == build_id, table.from_set != "", col(table.removed_at).is_(None)
    )
    return {code: number for code, number in session.exec(query) if number is not None}


def behind(pairs: Collection[tuple[int, int]], task_id: int) -> set[int]:
    """The numbers of all tasks that a task comes after, through others too."""
    before: dict[int, list[int]] = {}
    for later, earlier in pairs:
        before.setdefault(later, []).append(earlier)
    found: set[int] = set()
    waiting = [task_id]
    while waiting:
        for earlier in before.get(waiting.pop(), ()):
            if earlier not in found:
                found.add(earlier)
                waiting.append(earlier)
    return found
