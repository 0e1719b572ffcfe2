"""Queries on what is entered, looked at and signed before the first start."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import literal, true, union_all
from sqlalchemy import select as select_columns
from sqlmodel import Session, col, select, update

from server.core.first_start.holds import FIRST, TaskFacts
from server.core.first_start.looks import Look
from server.core.first_start.standing import Entered, Signature
from server.core.work.rows import AfterRow, Span
from server.core.work.tasks import TaskState
from server.features.builds.tables import Build, Subsystem
from server.features.first_start.tables import StartEntry, StartLook, StartSignature
from server.features.ledger.tables import LedgerLine, LinePoint
from server.features.work.tables import Task


@dataclass(frozen=True, slots=True)
class Entry:
    """The tick or figure of a stage that counts. id: of its row."""

    id: int
    value: float | None
    typed: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Signed:
    """The last signature of a stage that was not taken back."""

    id: int
    version: int
    by: str
    at: datetime
    evidence: Mapping[str, tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Book:
    """What is entered, by stage and code; signed, by stage; and looked at."""

    entries: Mapping[tuple[str, str], Entry]
    signed: Mapping[str, Signed]
    looks: tuple[Look, ...]

    def entered(self) -> dict[str, Entered]:
        """What stands entered, by stage. A tick is among the figures too, where nobody asks for it."""
        numbers: dict[str, dict[str, float]] = {}
        for (stage, item), entry in self.entries.items():
            if entry.value is not None:
                numbers.setdefault(stage, {})[item] = entry.value
        return {stage: Entered(frozenset(some), some) for stage, some in numbers.items()}

    def signatures(self) -> dict[str, Signature]:
        return {stage: Signature(one.id, one.by, one.at, one.evidence) for stage, one in self.signed.items()}


def book_of(session: Session, build_id: int) -> Book:
    """Of each tick and figure the one made last counts, so that one sent late overrules nothing newer."""
    entries = session.exec(select(StartEntry).where(StartEntry.build_id == build_id)).all()
    looks = session.exec(select(StartLook).where(StartLook.build_id == build_id)).all()
    signatures = session.exec(
        select(StartSignature)
        .where(StartSignature.build_id == build_id, col(StartSignature.taken_back_at).is_(None))
        .order_by(col(StartSignature.id))
    ).all()
    return Book(
        {
            (row.stage, row.item): Entry(row.key, row.value, row.typed, row.by, row.at)
            for row in sorted(entries, key=lambda one: (one.at, one.key))
        },
        {
            row.stage: Signed(
                row.key,
                row.version,
                row.by,
                row.at,
                {key: (one[0], one[1]) for key, one in row.evidence.items()},
            )
            for row in signatures
        },
        tuple(Look(row.item, row.state, row.by, row.at) for row in looks),
    )


def lock(session: Session, build_id: int) -> None:
    """Nobody else writes at this gate until this transaction ends. SQLite has one writer anyway."""
    session.exec(select(Build.id).where(Build.id == build_id).with_for_update()).first()


def add_all(session: Session, rows: Iterable[StartEntry | StartSignature | StartLook]) -> None:
    session.add_all(rows)
    session.flush()


def take_back(session: Session, signature_id: int, version: int, by: str, reason: str, at: datetime) -> bool:
    """Take a signature back; false when somebody else did so meanwhile."""
    result = session.exec(
        update(StartSignature)
        .where(
            col(StartSignature.id) == signature_id,
            col(StartSignature.version) == version,
            col(StartSignature.taken_back_at).is_(None),
        )
        .values(version=version + 1, taken_back_by=by, reason=reason, taken_back_at=at)
    )
    session.expire_all()
    return bool(result.rowcount)


def states_of(session: Session, build_id: int) -> dict[str, str]:
    """How each line and point is entered, by item: versions tell also what was changed and changed back."""
    points = dict(
        session.exec(select(LinePoint.id, LinePoint.version).where(LinePoint.build_id == build_id)).all()
    )
    lines = session.exec(
        select(LedgerLine.id, LedgerLine.version, LedgerLine.first_id, LedgerLine.second_id).where(
            LedgerLine.build_id == build_id
        )
    ).all()
    states = {f"point.{number}": str(version) for number, version in points.items()}
    for number, version, *ends in lines:
        told = ",".join(f"{end}:{points.get(end, 0)}" for end in ends if end is not None)
        states[f"line.{number}"] = f"{version} {told}"
    return states


def tasks_of(
    session: Session, build_id: int, afters: Callable[[Span], Iterable[AfterRow]]
) -> tuple[TaskFacts, ...]:
    """The tasks that stand, in their order, those of subsystems that were set aside left out.

    afters: what comes before tasks with such numbers.
    """
    asked: tuple[Any, ...] = (Task.id, Task.title, Task.from_set, Subsystem.kind, Task.caution)
    asked += (Task.start_stage, Task.state)
    rows = session.execute(
        select_columns(*asked)
        .join(Subsystem, col(Subsystem.id) == Task.subsystem_id, isouter=True)
        .where(
            col(Task.build_id) == build_id,
            col(Task.removed_at).is_(None),
            col(Subsystem.removed_at).is_(None),
        )
        .order_by(col(Task.position), col(Task.id))
    ).all()
    numbers = [row[0] for row in rows]
    before: dict[int, tuple[int, ...]] = {}
    for tie in afters((min(numbers, default=0), max(numbers, default=0))):
        before[tie.task_id] = (*before.get(tie.task_id, ()), tie.after_task_id)
    return tuple(
        TaskFacts(
            number, title, code, kind or "", caution, said, state == TaskState.DONE, before.get(number, ())
        )
        for number, title, code, kind, caution, said, state in rows
    )


@dataclass(frozen=True, slots=True)
class Happened:
    """One act at the gate. sort: entry, look, signed, back; text: what was typed, looked at, or the reason;
    there: whether a tick or figure was set, not taken away.
    """

    sort: str
    stage: str
    item: str
    text: str
    there: bool
    by: str
    at: datetime


def acts_of(session: Session, build_id: int) -> tuple[Happened, ...]:
    """Everything that was done at the gate, in one query; of each sort oldest first."""
    entry, look, signed = StartEntry, StartLook, StartSignature
    parts = (
        _told("entry", entry, build_id, entry.stage, entry.item, entry.typed, entry.by, entry.at).add_columns(
            col(entry.value).is_not(None).label("there")
        ),
        _told("look", look, build_id, literal(FIRST), look.item, look.name, look.by, look.at).add_columns(
            true().label("there")
        ),
        _told(
            "signed", signed, build_id, signed.stage, literal(""), literal(""), signed.by, signed.at
        ).add_columns(true().label("there")),
        _told(
            "back",
            signed,
            build_id,
            signed.stage,
            literal(""),
            signed.reason,
            signed.taken_back_by,
            signed.taken_back_at,
        )
        .add_columns(true().label("there"))
        .where(col(signed.taken_back_at).is_not(None)),
    )
    every = union_all(*parts).order_by("sort", "id")
    return tuple(
        Happened(row.sort, row.stage, row.item, row.text, row.there, row.by, row.at)
        for row in session.execute(every)
    )


def _told(sort: str, table: Any, build_id: int, *columns: Any) -> Any:
    """One part of that query: columns as `Happened` names them."""
    names = ("stage", "item", "text", "by", "at")
    told = (column.label(name) for name, column in zip(names, columns, strict=True))
    return select_columns(literal(sort).label("sort"), table.id, *told).where(table.build_id == build_id)
