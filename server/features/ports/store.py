"""Queries on ports and readings."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam
from sqlmodel import Session, and_, col, func, select, update

from server.core.measure.conditions import GapConditions, MockUpOutcome, SeenFrom, Stance, Warmth
from server.core.measure.opening import Reading
from server.errors import NotFound
from server.features.builds.store import stands
from server.features.ports import tables
from server.features.ports.tables import Port


@dataclass(frozen=True, slots=True)
class PortRow:
    """A port with its readings that were not withdrawn, oldest first.

    counts: its subsystem stands, and was not set aside with all that is on it.
    """

    port: Port
    counts: bool
    readings: list[Reading]


def ports(session: Session, build_id: int) -> list[PortRow]:
    """Every port of a build, in the order of their numbers; those set aside keep theirs. One query."""
    found: dict[int, PortRow] = {}
    for port, counts, reading in session.exec(PORTS, params={"build": build_id}):
        row = found.setdefault(port.key, PortRow(port, bool(counts), []))
        if reading is not None:
            row.readings.append(_reading(reading))
    return list(found.values())


PORTS = (
    select(Port, stands(Port.subsystem_id), tables.Reading)
    .join(
        tables.Reading,
        and_(col(tables.Reading.port_id) == Port.id, col(tables.Reading.withdrawn_at).is_(None)),
        isouter=True,
    )
    .where(col(Port.build_id) == bindparam("build"))
    .order_by(col(Port.id), col(tables.Reading.id))
)


def load_port(session: Session, build_id: int, port_id: int) -> Port:
    """Raises NotFound."""
    found = select(Port).where(Port.id == port_id, Port.build_id == build_id)
    row = session.exec(found.execution_options(populate_existing=True)).first()
    if row is None:
        raise NotFound("There is no such port in this build.")
    return row


def number_of(session: Session, port: Port) -> int:
    """The port's number on drawings and lists: its place among the build's ports."""
    query = select(func.count()).where(col(Port.build_id) == port.build_id, col(Port.id) <= port.key)
    return session.exec(query).one()


def add_port(session: Session, row: Port) -> Port:
    session.add(row)
    session.flush()
    return row


def edit_port(session: Session, build_id: int, port_id: int, version: int, values: Mapping[str, Any]) -> bool:
    """Change a port made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Port)
        .where(col(Port.id) == port_id, col(Port.build_id) == build_id, col(Port.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def _reading(row: tables.Reading) -> Reading:
    conditions = None
    if row.stance:
        conditions = GapConditions(Stance[row.stance], Warmth[row.engine_state], SeenFrom[row.seen_from])
    return Reading(
        id=row.key,
        dimension=row.dimension,
        typed=row.typed,
        value=row.value,
        doubt=row.doubt,
        instrument=row.instrument,
        taken_at=row.taken_at,
        taken_by=row.taken_by,
        conditions=conditions,
        mock_up=MockUpOutcome[row.mock_up] if row.mock_up else None,
        note=row.note,
        withdrawn=row.withdrawn_at is not None,
    )


def readings(session: Session, port_id: int) -> list[Reading]:
    """Every reading of a port, withdrawn ones too, newest first."""
    newest = col(tables.Reading.id).desc()
    query = select(tables.Reading).where(tables.Reading.port_id == port_id).order_by(newest)
    return [_reading(row) for row in session.exec(query)]


def taken(session: Session, build_id: int) -> list[tuple[Port, Reading]]:
    """Every reading of a build that has not been withdrawn, with its port, set aside or not."""
    query = (
        select(Port, tables.Reading)
        .join(tables.Reading, col(tables.Reading.port_id) == col(Port.id))
        .where(Port.build_id == build_id, col(tables.Reading.withdrawn_at).is_(None))
    )
    return [(port, _reading(row)) for port, row in session.exec(query)]


def add_reading(session: Session, row: tables.Reading) -> int:
    """Store a new reading; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def load_reading(session: Session, port: Port, reading_id: int) -> tables.Reading:
    """Raises NotFound."""
    row = session.get(tables.Reading, reading_id)
    if row is None or row.port_id != port.key:
        raise NotFound("There is no such reading of this port.")
    return row


def port_of_reading(session: Session, build_id: int, reading_id: int) -> int:
    """The number of the port that a reading of this build is of. Raises NotFound."""
    query = (
        select(tables.Reading.port_id)
        .join(Port, col(Port.id) == col(tables.Reading.port_id))
        .where(tables.Reading.id == reading_id, Port.build_id == build_id)
    )
    port_id = session.exec(query).first()
    if port_id is None:
        raise NotFound("There is no such reading in this build.")
    return port_id


def set_withdrawn(session: Session, row: tables.Reading, at: datetime | None) -> None:
    """Withdraw a reading at a moment, or with None put it back."""
    row.withdrawn_at = at
    session.add(row)
    session.flush()


def set_removed(session: Session, port: Port, at: datetime | None) -> None:
    """Set a port aside at a moment, or with None put it back."""
    port.removed_at = at
    session.add(port)
    session.flush()
