"""Queries on pressure tests."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select, update

from server.errors import NotFound
from server.features.leak_tests.tables import LeakTest


@dataclass(frozen=True, slots=True)
class Noted:
    """A pressure test as it was noted [SI]. withdrawn: it no longer counts."""

    id: int
    version: int
    way: str
    pressure: float
    pressure_typed: str
    last: float | None
    last_typed: str
    held: float | None
    volume: float | None
    taken: float | None
    before: float | None
    after: float | None
    outside: float
    leaks: bool
    found: str
    by: str
    at: datetime
    withdrawn: bool


def tests_of(session: Session, build_id: int) -> tuple[Noted, ...]:
    """Every one of a build, the latest first."""
    rows = session.exec(
        select(LeakTest)
        .where(LeakTest.build_id == build_id)
        .order_by(col(LeakTest.at).desc(), col(LeakTest.id).desc())
    ).all()
    return tuple(
        Noted(
            row.key, row.version, row.way, row.pressure, row.pressure_typed, row.last, row.last_typed,
            row.held, row.volume, row.taken, row.before, row.after, row.outside, row.leaks, row.found, row.by,
            row.at, row.withdrawn_at is not None,
        )
        for row in rows
    )  # fmt: skip


def add(session: Session, row: LeakTest) -> None:
    session.add(row)
    session.flush()


def set_withdrawn(session: Session, build_id: int, test_id: int, at: datetime | None) -> None:
    """Let one no longer count, or with no moment count again. Raises NotFound."""
    result = session.exec(
        update(LeakTest)
        .where(col(LeakTest.id) == test_id, col(LeakTest.build_id) == build_id)
        .values(withdrawn_at=at, version=LeakTest.version + 1)
    )
    session.expire_all()
    if not result.rowcount:
        raise NotFound("There is no such pressure test in this build.")
