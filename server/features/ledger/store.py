"""Queries on the ledger, and the way from its rows to the line map."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import TypeVar

from sqlmodel import Session, col, func, select, update

from server.core.lines.ledger import (
    Closing,
    Device,
    Line,
    LineKind,
    LineMap,
    Medium,
    MeterPlace,
    Port,
    Region,
    Valve,
)
from server.core.lines.states import Kind
from server.errors import NotFound
from server.features.ledger.page import Act, CutWord, Way
from server.features.ledger.tables import (
    Entry,
    LedgerLine,
    LineAct,
    LineDevice,
    LineFact,
    LinePoint,
    LineSpace,
)

TABLES: dict[str, type[Entry]] = {
    "line": LedgerLine,
    "point": LinePoint,
    "device": LineDevice,
    "space": LineSpace,
}
"""What is entered, by the word that addresses carry."""

FORWARD = {Way.AS_DRAWN.value: True, Way.TURNED.value: False}
CUT = {CutWord.PROVED.value: True, CutWord.NONE.value: False}
METER = {
    "before compressor": MeterPlace.BEFORE_COMPRESSOR,
    "after compressor": MeterPlace.BEFORE_THROTTLE,
    "none": MeterPlace.NONE,
}
OUTSIDE = 0
"""The open air's number on the map: it has no row."""


@dataclass(frozen=True, slots=True)
class Rows:
    """All rows of a build's ledger, those set aside included, and what is known of its over-boost cut."""

    spaces: Sequence[LineSpace]
    points: Sequence[LinePoint]
    lines: Sequence[LedgerLine]
    devices: Sequence[LineDevice]
    fact: LineFact | None

    def of(self, sort: str) -> Sequence[Entry]:
        found: dict[str, Sequence[Entry]] = {
            "line": self.lines,
            "point": self.points,
            "device": self.devices,
            "space": self.spaces,
        }
        return found[sort]

    def next_tag(self) -> int:
        """The lowest number that no line has."""
        return self.free_tags(1)[0]

    def free_tags(self, count: int) -> tuple[int, ...]:
        """The lowest numbers that no line has, those taken out included: their tape may still hang there."""
        taken = {row.tag for row in self.lines if row.removed_at is None}
        free = (number for number in range(1, len(taken) + count + 1) if number not in taken)
        return tuple(islice(free, count))

    def free_points(self, row: Entry | None) -> tuple[LinePoint, ...]:
        """The points that no other line in the car joins; row: the line that asks, None for a new one."""
        others = [one for one in self.lines if one.in_car and (row is None or one.key != row.key)]
        taken = {end for one in others for end in one.ends}
        return tuple(one for one in self.points if one.removed_at is None and one.key not in taken)


def rows_of(session: Session, build_id: int) -> Rows:
    """One query a table."""
    return Rows(
        spaces=_every(session, LineSpace, build_id),
        points=_every(session, LinePoint, build_id),
        lines=_every(session, LedgerLine, build_id),
        devices=_every(session, LineDevice, build_id),
        fact=fact_of(session, build_id),
    )


def rows_beside(session: Session, build_id: int, sort: str) -> Rows:
    """Only those that an entry of a sort may name or be mistaken for."""
    if sort == "line":
        lines, points = _every(session, LedgerLine, build_id), _every(session, LinePoint, build_id)
        return Rows((), points, lines, (), None)
    return Rows(_every(session, LineSpace, build_id), (), (), (), None)


def count_of(session: Session, build_id: int, sort: str) -> int:
    """How many entries of a sort there are, those set aside included."""
    table = TABLES[sort]
    return session.exec(select(func.count()).where(col(table.build_id) == build_id)).one()


T = TypeVar("T", LineSpace, LinePoint, LedgerLine, LineDevice)


def _every(session: Session, table: type[T], build_id: int) -> Sequence[T]:
    return session.exec(select(table).where(table.build_id == build_id).order_by(col(table.id))).all()


def fact_of(session: Session, build_id: int) -> LineFact | None:
    return session.exec(select(LineFact).where(LineFact.build_id == build_id)).first()


def load(session: Session, build_id: int, sort: str, entry_id: int) -> Entry:
    """Raises NotFound."""
    row = session.get(TABLES[sort], entry_id) if sort in TABLES else None
    if not isinstance(row, Entry) or row.build_id != build_id:
        raise NotFound("There is no such entry in this ledger.")
    return row


def load_line(session: Session, build_id: int, line_id: int) -> LedgerLine:
    """Raises NotFound."""
    row = load(session, build_id, "line", line_id)
    assert isinstance(row, LedgerLine)
    return row


def add(session: Session, row: Entry | LineFact) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit(
    session: Session,
    table: type[Entry | LineFact],
    row_id: int,
    version: int,
    values: Mapping[str, object],
) -> bool:
    """Change a row made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(table)
        .where(col(table.id) == row_id, col(table.version) == version)
        .values(version=version + 1, **values)
    )
    session.expire_all()
    return bool(result.rowcount)


def set_removed(session: Session, row: Entry, at: datetime | None) -> None:
    """Set one aside at a moment, or with None put it back."""
    row.removed_at = at
    session.add(row)
    session.flush()


def close(session: Session, points: Sequence[int], closing: Closing, reason: str, by: str) -> None:
    """Say of several points at once what closes them, and by whom."""
    values = {"closing": closing.value, "reason": reason, "by": by, "version": LinePoint.version + 1}
    session.exec(update(LinePoint).where(col(LinePoint.id).in_(points)).values(**values))
    session.expire_all()


def note(session: Session, row: Entry, word: Act, detail: str, at: datetime, by: str) -> None:
    """Write down what was done to a line or point."""
    line, point = (row.key if isinstance(row, kind) else None for kind in (LedgerLine, LinePoint))
    session.add(
        LineAct(
            build_id=row.build_id,
            line_id=line,
            point_id=point,
            word=word.value,
            detail=detail[:400],
            at=at,
            by=by,
        )
    )
    session.flush()


def acts_in(session: Session, build_id: int) -> list[tuple[LineAct, str, bool]]:
    """What was done in a build, in one query: each with the name of what it was done to, and whether that is
    a line that was set aside since.
    """
    name = func.coalesce(LedgerLine.name, LinePoint.name)
    query = (
        select(LineAct, name, col(LedgerLine.removed_at).is_not(None))
        .where(LineAct.build_id == build_id)
        .join(LedgerLine, col(LedgerLine.id) == LineAct.line_id, isouter=True)
        .join(LinePoint, col(LinePoint.id) == LineAct.point_id, isouter=True)
    )
    return [(row, str(called), bool(aside)) for row, called, aside in session.exec(query)]


def map_of(rows: Rows, meter_place: str) -> LineMap:
    """The ledger as the line map: what is set aside, and what hangs on it, is not there.

    Numbers of lines, points and spaces are those of their rows. Where two lines name one point the first
    has it and the other hangs loose.
    """
    spaces = {row.key: row for row in rows.spaces if row.removed_at is None}
    points = {row.key: row for row in rows.points if row.removed_at is None and row.space_id in spaces}
    taken: set[int] = set()

    def end(point_id: int | None) -> int | None:
        if point_id not in points or point_id in taken:
            return None
        taken.add(point_id)
        return point_id

    return LineMap(
        METER.get(meter_place),
        (Region(OUTSIDE, Kind.ATMOSPHERE, Kind.ATMOSPHERE.value), *map(_region, spaces.values())),
        tuple(_port(row) for row in points.values()),
        tuple(_line(row, end(row.first_id), end(row.second_id)) for row in rows.lines if row.in_car),
        tuple(_valve(row) for row in rows.devices if row.removed_at is None and _stands(row, spaces)),
        CUT.get(rows.fact.over_boost_cut) if rows.fact is not None else None,
    )


def _stands(row: LineDevice, spaces: Mapping[int, LineSpace]) -> bool:
    return all(one in spaces for one in (*row.sides, *([row.signal_id] if row.signal_id else [])))


def _region(row: LineSpace) -> Region:
    return Region(row.key, Kind(row.kind), row.name, row.hottest)


def _port(row: LinePoint) -> Port:
    return Port(
        row.key,
        row.name,
        row.space_id,
        Medium(row.medium),
        Closing(row.closing),
        row.reason,
        row.by,
        row.size,
        row.height,
    )


def _line(row: LedgerLine, first: int | None, second: int | None) -> Line:
    was = (row.first_was_id, row.second_was_id)
    return Line(
        row.key,
        row.name,
        Medium(row.medium),
        (first, second),
        LineKind(row.kind),
        was,
        row.tag,
        row.rating,
    )


def _valve(row: LineDevice) -> Valve:
    return Valve(row.key, Device(row.kind), row.name, row.sides, FORWARD.get(row.way), row.signal_id)
