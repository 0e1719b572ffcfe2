"""Queries on where ports are, and the way from its rows to poses."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy import bindparam
from sqlmodel import Session, col, select, update

from server.core.measure.estimate import Estimate
from server.core.tube.space.siting import Sight, Sights, Way
from server.errors import NotFound
from server.features.places.tables import Datum, PoseReading


def datum_of(session: Session, build_id: int) -> Datum | None:
    """The datum of a build, where somebody said it."""
    return session.exec(select(Datum).where(Datum.build_id == build_id)).first()


def add(session: Session, row: Datum | PoseReading) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit_datum(session: Session, build_id: int, version: int, words: str) -> bool:
    """Change a datum made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Datum)
        .where(col(Datum.build_id) == build_id, col(Datum.version) == version)
        .values(version=version + 1, words=words)
    )
    session.expire_all()
    return bool(result.rowcount)


def readings_of(session: Session, build_id: int) -> list[PoseReading]:
    """Every reading of where a build's ports are, withdrawn ones too, oldest first, in one query."""
    return list(session.exec(READINGS, params={"build": build_id}))


READINGS = (
    select(PoseReading)
    .where(col(PoseReading.build_id) == bindparam("build"))
    .order_by(col(PoseReading.taken_at), col(PoseReading.id))
)


def load_reading(session: Session, port_id: int, reading_id: int) -> PoseReading:
    """Raises NotFound."""
    row = session.get(PoseReading, reading_id)
    if row is None or row.port_id != port_id:
        raise NotFound("There is no such reading of where this port is.")
    return row


def set_withdrawn(session: Session, row: PoseReading, at: datetime | None) -> None:
    """Withdraw a reading at a moment, or with None put it back."""
    row.withdrawn_at = at
    session.add(row)
    session.flush()


def sights_of(rows: Sequence[PoseReading]) -> Mapping[int, Sights]:
    """Of each port, the newest reading of its place and of its facing that stands. rows: oldest first."""
    found: dict[int, Sights] = {}
    for row in rows:
        if row.withdrawn_at is None:
            before = found.get(row.port_id, Sights())
            sight = sight_of(row)
            place, facing = (sight, before.facing) if row.about == "place" else (before.place, sight)
            found[row.port_id] = Sights(place, facing)
    return found


def sight_of(row: PoseReading) -> Sight:
    """One reading as the geometry sees it."""
    numbers = {name: Estimate(*pair) for name, pair in row.numbers.items()}
    return Sight(Way(row.way), numbers, row.said, row.beside_id)
