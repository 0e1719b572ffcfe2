"""Queries on changed limits."""

from datetime import datetime

from sqlalchemy import bindparam
from sqlmodel import Session, col, select, update

from server.features.limits.tables import LimitChange


def changes(session: Session, build_id: int) -> list[LimitChange]:
    """Every limit of a build that was ever changed, oldest first."""
    return list(session.exec(CHANGES, params={"build": build_id}))


CHANGES = (
    select(LimitChange).where(col(LimitChange.build_id) == bindparam("build")).order_by(col(LimitChange.id))
)


def change(session: Session, build_id: int, key: str) -> LimitChange | None:
    query = select(LimitChange).where(LimitChange.build_id == build_id, LimitChange.limit_key == key)
    return session.exec(query).first()


def add(session: Session, row: LimitChange) -> None:
    session.add(row)
    session.flush()


def edit(
    session: Session,
    row: LimitChange,
    version: int,
    *,
    value: float | None,
    typed: str,
    reason: str,
    by: str,
    at: datetime,
) -> bool:
    """Change a limit made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(LimitChange)
        .where(col(LimitChange.id) == row.id, col(LimitChange.version) == version)
        .values(version=version + 1, value=value, typed=typed, reason=reason, by=by, at=at)
    )
    session.expire(row)
    return bool(result.rowcount)
