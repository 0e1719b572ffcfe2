"""Queries on builders."""

from sqlmodel import Session, col, select

from server.errors import NotFound
from server.features.builders.tables import Builder


def add(session: Session, row: Builder) -> int:
    session.add(row)
    session.flush()
    return row.key


def all_builders(session: Session) -> list[Builder]:
    """By name."""
    return list(session.exec(select(Builder).order_by(col(Builder.name_key))))


def by_name(session: Session, name_key: str) -> Builder | None:
    return session.exec(select(Builder).where(Builder.name_key == name_key)).one_or_none()


def load(session: Session, builder_id: int) -> Builder:
    """Raises NotFound."""
    row = session.get(Builder, builder_id)
    if row is None:
        raise NotFound("There is no such builder on this server.")
    return row
