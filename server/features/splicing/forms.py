"""What the builder types of two salvaged pipes and of how they may be joined."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from server.core.measure.plausible import question
from server.core.measure.typed import NotRead, Typed, read
from server.core.tube.cutting.mitre import LEAST_THROAT, unequal
from server.core.tube.laid import Tube
from server.core.tube.space.bend_table import BendRow, BendTable, NoPipe
from server.core.tube.space.poses import PortPose
from server.core.tube.space.vectors import Vector, unit, vector
from server.core.tube.splice.piece import Piece, fault, from_table
from server.core.tube.splice.problem import Problem
from server.core.units import Kind
from server.features.proposing.forms import tube as tube_asked
from server.features.splicing.page import AS_CORNERS, AS_TABLE, LABELS, PIPES
from server.web.fields import Fields

NAMES = tuple(LABELS)
"""Every field of the form."""
USUAL = {
    "fixed_as": AS_TABLE,
    "turning_as": AS_TABLE,
    "holes": "0",
    "most_pies": "2",
    "saw": "30",
    "throat": f"{LEAST_THROAT * 1e3:g}",
    "doubt": "1",
}
"""What is asked until somebody says otherwise; saw and tape are common practice, no source."""
MOST_PULL = 0.001
"""How far two centre lines may be pulled together, at most [m]; common practice, no source."""
MOST_ROWS = 12
FARTHEST, LONGEST = 10.0, 5.0
"""How far off a corner may be, and how long a straight [m]."""
_TABLE = "a line each: length; rotation; angle; radius. The last line: only the straight to the far end"
_CORNERS = "a line each: forward; left; up; radius. The last line: the far end, without a radius"


@dataclass(frozen=True, slots=True)
class SpliceForm:
    """What is asked. ports: numbers of the ports at both flanges, None where not said; doubt: [m]."""

    problem: Problem
    ports: tuple[int | None, int | None]
    tube: Tube
    doubt: float


def pull_limit(wall: float) -> float:
    """How far two centre lines may be pulled together [m]: the smaller of 1 mm and half the wall [m].

    Common practice, no source.
    """
    return min(MOST_PULL, 0.5 * wall)


def splice_form(typed: Mapping[str, str], ports: Sequence[int], poses: Mapping[int, PortPose]) -> SpliceForm:
    """`ports`: numbers of those offered; `poses`: of those whose place is known. Raises BadInput."""
    fields = Fields(typed)
    ends = [fields.row_id(name, LABELS[name], ports) for name in ("start_port_id", "end_port_id")]
    if ends[0] is not None and ends[0] == ends[1]:
        fields.refuse("end_port_id", "A run can't end at the port where it starts.", "another port")
    tube = tube_asked(fields, LABELS)
    _refuse_unequal(fields, tube.outside)
    fixed, turning = (
        _pipe(fields, pipe, tube.outside, poses.get(port) if port is not None else None)
        for pipe, port in zip(PIPES, ends, strict=True)
    )
    holes = fields.whole("holes", LABELS["holes"], least=0, most=24, required=True)
    most = fields.whole("most_pies", LABELS["most_pies"], least=0, most=2, required=True)
    saw = fields.quantity(
        "saw", LABELS["saw"], Kind.angle, unit="°", required=True, least=0.00174, most=1.04720,
        accepts="an angle from 0.1 to 60°",
    )  # fmt: skip
    throat = fields.length("throat", LABELS["throat"], 0.0, 0.5, "a length from 0 to 500 mm")
    doubt = fields.length("doubt", LABELS["doubt"], 0.0001, 0.01, "a doubt from 0.1 to 10 mm")
    fields.done()
    assert fixed is not None
    assert turning is not None
    assert saw is not None
    limit = pull_limit(tube.wall)
    problem = Problem(fixed, turning, holes or 0, tube.outside, most or 0, saw.value, throat, limit)
    return SpliceForm(problem, (ends[0], ends[1]), tube, doubt)


def _refuse_unequal(fields: Fields, outside: float) -> None:
    """A mitre joins pipes of one outside diameter only."""
    accepts = "a diameter from 4 to 300 mm; empty where it is the same"
    other = fields.quantity(
        "turning_outside", LABELS["turning_outside"], Kind.length, unit="mm", least=0.004, most=0.3,
        accepts=accepts, sort="outside_diameter",
    )  # fmt: skip
    why = unequal(outside, other.value) if outside and other is not None else None
    if why is not None:
        fields.refuse("turning_outside", why, "pipes of one outside diameter")


# A pipe


def _pipe(fields: Fields, pipe: str, outside: float, pose: PortPose | None) -> Piece | None:
    """A pipe from its flange outwards; None where a message was noted."""
    kind = fields.choice(f"{pipe}_as", LABELS[f"{pipe}_as"], (AS_TABLE, AS_CORNERS), default=AS_TABLE)
    at = _flange(fields, pipe, pose)
    way = _way(fields, pipe, pose) if kind == AS_TABLE else None
    name = f"{pipe}_rows"
    rows = _rows(fields, name, kind, outside)
    if rows is None or at is None or (kind == AS_TABLE and way is None):
        return None
    try:
        piece = _of_table(rows, at, way) if way is not None else _of_corners(rows, at)
    except NoPipe as why:
        fields.refuse(name, f"Row {why.at + 1}: {why}", _TABLE)
        return None
    wrong = fault(piece)
    if wrong is not None:
        corner, text = wrong
        row = corner if kind == AS_CORNERS else min(corner, len(rows))
        fields.refuse(name, f"Row {row}: {text}", "corners apart, with room for the arcs")
        return None
    return piece


def _flange(fields: Fields, pipe: str, pose: PortPose | None) -> Vector | None:
    name = f"{pipe}_at"
    if pose is not None and not fields.raw(name):
        return pose.place.point
    typed = fields.point(name, LABELS[name], most=FARTHEST, required=True)
    return None if typed is None else vector([one.value for one in typed])


def _way(fields: Fields, pipe: str, pose: PortPose | None) -> Vector | None:
    """Which way the pipe leaves its flange: the way its port faces, unless something else is typed."""
    name = f"{pipe}_faces"
    if pose is not None and not fields.raw(name):
        return unit(pose.facing.way)
    typed = fields.point(name, LABELS[name], most=FARTHEST, required=True)
    if typed is None:
        return None
    way = vector([one.value for one in typed])
    if not float(np.linalg.norm(way)) > 0.0:
        fields.refuse(name, "A direction needs a length.", "three numbers, not all 0, such as 100 0 0")
        return None
    return unit(way)


def _of_table(rows: Sequence[list[float]], at: Vector, way: Vector) -> Piece:
    """Raises NoPipe."""
    bends = tuple(BendRow(*row) for row in rows[:-1])
    return from_table(BendTable(bends, rows[-1][0]), at, way)


def _of_corners(rows: Sequence[list[float]], at: Vector) -> Piece:
    return Piece((at, *(vector(row[:3]) for row in rows)), tuple(row[3] for row in rows[:-1]))


def _rows(fields: Fields, name: str, kind: str, outside: float) -> list[list[float]] | None:
    """The lines of a pipe [m, rad]; None where a message was noted."""
    accepts = _TABLE if kind == AS_TABLE else _CORNERS
    lines = [line.strip() for line in fields.raw(name).splitlines() if line.strip()]
    if not lines:
        fields.refuse(name, f"{LABELS[name]} is missing.", accepts)
        return None
    if len(lines) > MOST_ROWS:
        fields.refuse(name, f"{len(lines)} rows.", f"up to {MOST_ROWS} rows")
        return None
    last = 1 if kind == AS_TABLE else 3
    rows = []
    for number, line in enumerate(lines, 1):
        try:
            rows.append(_row(line, kind, last if number == len(lines) else 4, outside))
        except NotRead as problem:
            fields.refuse(name, f"Row {number}: {problem.message}", accepts)
            return None
    return rows


def _row(line: str, kind: str, count: int, outside: float) -> list[float]:
    """Raises NotRead."""
    cells = [cell.strip() for cell in (line.split(";") if ";" in line else line.split()) if cell.strip()]
    if len(cells) != count:
        raise NotRead(f"{len(cells)} numbers where {count} are due.", "")
    lengths = range(3) if kind == AS_CORNERS else (0,)
    read_as = [
        read(cell, Kind.length, "mm") if at in lengths or at == 3 else read(cell, Kind.angle, "°")
        for at, cell in enumerate(cells)
    ]
    values = [one.value for one in read_as]
    far = FARTHEST if kind == AS_CORNERS else LONGEST
    if any(abs(values[at]) > far for at in lengths if at < count):
        raise NotRead(f"a length is over {far:g} m.", "")
    if kind == AS_TABLE and values[0] < 0.0:
        raise NotRead("a straight can't be under 0.", "")
    if kind == AS_TABLE and count > 1 and not 0.0087 <= values[2] <= 2.97:
        raise NotRead("a bend turns by 0.5 to 170°.", "")
    if count > 3:
        _refuse_radius(read_as[3], outside)
    return values


def _refuse_radius(radius: Typed, outside: float) -> None:
    """Raises NotRead for a radius that no bend of the tube has."""
    asked = question(radius, None, None, "bend_radius")
    if asked is not None:
        raise NotRead(asked.words, "")
    if not 0.5 * outside < radius.value <= 2.0:
        raise NotRead("that radius is inside the tube, or over 2 m.", "")
