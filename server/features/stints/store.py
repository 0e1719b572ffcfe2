"""Queries on stints, helpers and visits."""

from collections.abc import Mapping
from datetime import datetime
from typing import TypeVar

from sqlmodel import Session, col, select, update

from server.errors import NotFound
from server.features.stints.tables import GarageTime, Helper, Stint, Visit

RowOfStints = TypeVar("RowOfStints", Stint, Helper, Visit)


def garage_time(session: Session, build_id: int) -> GarageTime | None:
    return session.exec(select(GarageTime).where(GarageTime.build_id == build_id)).first()


def stints_of(session: Session, build_id: int) -> list[Stint]:
    """Those set aside included; weekly ones by weekday, then the others by day."""
    order = (col(Stint.weekday), col(Stint.day), col(Stint.begins), col(Stint.id))
    return list(session.exec(select(Stint).where(Stint.build_id == build_id).order_by(*order)))


def helpers_of(session: Session, build_id: int) -> list[Helper]:
    """Those set aside included."""
    return list(session.exec(select(Helper).where(Helper.build_id == build_id).order_by(col(Helper.id))))


def visits_of(session: Session, build_id: int) -> list[Visit]:
    """Those set aside included, by day."""
    order = (col(Visit.day), col(Visit.begins), col(Visit.id))
    return list(session.exec(select(Visit).where(Visit.build_id == build_id).order_by(*order)))


def helpers_and_visits(session: Session, build_id: int) -> tuple[list[Helper], list[Visit]]:
    """Both as they stand in `helpers_of` and `visits_of`, those set aside left out; in one query."""
    query = (
        select(Helper, Visit)
        .outerjoin(Visit, (col(Visit.helper_id) == col(Helper.id)) & col(Visit.removed_at).is_(None))
        .where(Helper.build_id == build_id, col(Helper.removed_at).is_(None))
        .order_by(col(Helper.id), col(Visit.day), col(Visit.begins), col(Visit.id))
    )
    helpers: dict[int, Helper] = {}
    visits: list[Visit] = []
    for helper, visit in session.exec(query):
        helpers[helper.key] = helper
        visits += [visit] if visit is not None else []
    visits.sort(key=lambda row: (row.day, row.begins, row.key))
    return list(helpers.values()), visits


def load(session: Session, table: type[RowOfStints], build_id: int, number: int) -> RowOfStints:
    """Raises NotFound."""
    row = session.get(table, number)
    if row is None or row.build_id != build_id:
        raise NotFound("That is not there in this build.")
    return row


def add(session: Session, row: Stint | Helper | Visit | GarageTime) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def set_removed(session: Session, row: Stint | Helper | Visit, at: datetime | None) -> None:
    """Set one aside at a moment, or with None put it back."""
    row.removed_at = at
    session.add(row)
    session.flush()


def edit(
    session: Session,
    table: type[GarageTime] | type[Helper],
    number: int,
    version: int,
    values: Mapping[str, object],
) -> bool:
    """Change a row made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(table)
        .where(col(table.id) == number, col(table.version) == version)
        .values(version=version + 1, **values)
    )
    session.expire_all()
    return bool(result.rowcount)
