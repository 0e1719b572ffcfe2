"""Queries on what is entered, looked at and signed before the first start."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select, update

from server.core.first_start.looks import Look
from server.core.first_start.standing import Entered, Signature
from server.features.builds.tables import Build
from server.features.first_start.tables import StartEntry, StartLook, StartSignature


@dataclass(frozen=True, slots=True)
class Rows:
    """All rows of a build's gate, oldest first."""

    entries: Sequence[StartEntry]
    signatures: Sequence[StartSignature]
    looks: Sequence[StartLook]

    def latest(self) -> dict[tuple[str, str], StartEntry]:
        """The entry of each tick and figure that counts, by stage and code: by when it was made, so that one
        sent late overrules nothing newer."""
        found: dict[tuple[str, str], StartEntry] = {}
        for row in sorted(self.entries, key=lambda one: (one.at, one.key)):
            found[row.stage, row.item] = row
        return found

    def signed(self) -> dict[str, StartSignature]:
        """The last signature of each stage that was not taken back."""
        return {row.stage: row for row in self.signatures if row.taken_back_at is None}


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


def take_back(
    session: Session, row: StartSignature, version: int, by: str, reason: str, at: datetime
) -> bool:
    """Take a signature back; false when somebody else did so meanwhile."""
    result = session.exec(
        update(StartSignature)
        .where(
            col(StartSignature.id) == row.id,
            col(StartSignature.version) == version,
            col(StartSignature.taken_back_at).is_(None),
        )
        .values(version=version + 1, taken_back_by=by, reason=reason, taken_back_at=at)
    )
    session.expire(row)
    return bool(result.rowcount)


def entered(rows: Rows) -> dict[str, Entered]:
    """What stands entered, by stage. A tick is among the figures too, where nobody asks for it."""
    numbers: dict[str, dict[str, float]] = {}
    for (stage, item), row in rows.latest().items():
        if row.value is not None:
            numbers.setdefault(stage, {})[item] = row.value
    return {stage: Entered(frozenset(some), some) for stage, some in numbers.items()}


def signatures(rows: Rows) -> dict[str, Signature]:
    return {
        stage: Signature(
            row.key, row.by, row.at, {key: (one[0], one[1]) for key, one in row.evidence.items()}
        )
        for stage, row in rows.signed().items()
    }


def looks(rows: Rows) -> tuple[Look, ...]:
    return tuple(Look(row.item, row.state, row.by, row.at) for row in rows.looks)
