"""Queries on what is entered, looked at and signed before the first start."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select, update

from server.core.first_start.looks import Look
from server.core.first_start.standing import Entered, Signature
from server.features.builds.tables import Build
from server.features.first_start.tables import StartEntry, StartLook, StartSignature


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
    rows = rows_of(session, build_id)
    return Book(
        {
            (row.stage, row.item): Entry(row.key, row.value, row.typed, row.by, row.at)
            for row in sorted(rows.entries, key=lambda one: (one.at, one.key))
        },
        {
            row.stage: Signed(
                row.key,
                row.version,
                row.by,
                row.at,
                {key: (one[0], one[1]) for key, one in row.evidence.items()},
            )
            for row in rows.signatures
            if row.taken_back_at is None
        },
        tuple(Look(row.item, row.state, row.by, row.at) for row in rows.looks),
    )


@dataclass(frozen=True, slots=True)
class Rows:
    """All rows of a build's gate, oldest first."""

    entries: Sequence[StartEntry]
    signatures: Sequence[StartSignature]
    looks: Sequence[StartLook]


def lock(session: Session, build_id: int) -> None:
    """Nobody else writes at this gate until this transaction ends. SQLite has one writer anyway."""
    session.exec(select(Build.id).where(Build.id == build_id).with_for_update()).first()


def rows_of(session: Session, build_id: int) -> Rows:
    """One query a table."""
    return Rows(
        session.exec(
            select(StartEntry).where(StartEntry.build_id == build_id).order_by(col(StartEntry.id))
        ).all(),
        session.exec(
            select(StartSignature).where(StartSignature.build_id == build_id).order_by(col(StartSignature.id))
        ).all(),
        session.exec(
            select(StartLook).where(StartLook.build_id == build_id).order_by(col(StartLook.id))
        ).all(),
    )


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
