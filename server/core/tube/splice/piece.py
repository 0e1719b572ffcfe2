"""A salvaged pipe as a centre line from its flange outwards, and the straights in which a mitre may lie."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from server.core.tube.space.bend_table import BendTable, NoPipe, corners_of, table_of
from server.core.tube.space.vectors import Vector, across, angle_between, turn, unit, vector
from server.core.units import Kind, System, show

NO_LENGTH = 1e-9
"""Under this two arcs meet without a straight between [m]."""
PLUMB = np.radians(1.0)
"""A flange that looks up or down within this has no top of its own [rad]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A pipe from its flange outwards in car axes.

    corners: [m], the flange's middle first, the far end last. radii: of the arc at each inner corner [m]. The
    flange stands square to the first straight.
    """

    corners: tuple[Vector, ...]
    radii: tuple[float, ...]

    @property
    def axis(self) -> Vector:
        """The flange's outward axis [-]."""
        return unit(self.corners[1] - self.corners[0])

    @property
    def developed(self) -> float:
        """Length along the centre line [m]."""
        return table_of(self.corners, self.radii).developed

    def turned(self, rotation: float) -> "Piece":
        """The same pipe on its flange, turned right-handed about the flange's outward axis [rad]."""
        middle, axis = self.corners[0], self.axis
        return replace(
            self, corners=tuple(middle + turn(corner - middle, axis, rotation) for corner in self.corners)
        )


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight of a pipe, between tangent points. number: the corner that it leaves. station: length along
    the centre line from the flange to its start [m]. start: [m]. way: unit, outwards. length: [m].
    """

    number: int
    station: float
    start: Vector
    way: Vector
    length: float


def straights(piece: Piece) -> tuple[Straight, ...]:
    """The straights that a saw can use, from the flange outwards. Lengths in [m]; source: geometry."""
    table = table_of(piece.corners, piece.radii)
    lengths = (*(row.straight for row in table.rows), table.last_straight)
    arcs = (0.0, *(row.radius * row.angle for row in table.rows))
    take_offs = (0.0, *(row.radius * np.tan(0.5 * row.angle) for row in table.rows))
    found, station = [], 0.0
    for number, (length, arc, off) in enumerate(zip(lengths, arcs, take_offs, strict=True)):
        station += arc
        if length > NO_LENGTH:
            way = unit(piece.corners[number + 1] - piece.corners[number])
            found.append(Straight(number, station, piece.corners[number] + off * way, way, length))
        station += max(length, 0.0)
    return tuple(found)


def fault(piece: Piece) -> tuple[int, str] | None:
    """The corner at fault and why, of corners and radii [m] that are no pipe; None for a pipe."""
    try:
        table = table_of(piece.corners, piece.radii)
    except NoPipe as why:
        return why.at, str(why)
    for at, length in enumerate((*(row.straight for row in table.rows), table.last_straight)):
        if length < -NO_LENGTH:
            short = show(-length, Kind.length, System.metric).text
            return at + 1, f"The arcs overlap before it by {short}: take a smaller radius or move the corner."
    return None


def twelve_o_clock(way: Vector) -> Vector:
    """The top of a flange as seen looking along the flow through it: a unit vector [-] square to the way.

    The top is up, z. A flange that looks straight up or down has no top: then it is the side towards the
    front of the car, x.
    """
    up = vector([0.0, 0.0, 1.0])
    tilt = angle_between(way, up)
    plumb = min(tilt, np.pi - tilt) < PLUMB
    return unit(across(vector([1.0, 0.0, 0.0]) if plumb else up, way))


def from_table(table: BendTable, flange: Vector, way: Vector) -> Piece:
    """A pipe from its bend table. flange: its middle [m]; way: unit direction out of it.

    The first rotation says where the first bend turns to: from 12 o'clock of the flange, clockwise as one
    looks out of it along the pipe. Source: geometry. Raises NoPipe for a bend of half a turn or more.
    """
    corners = corners_of(table, flange, way, np.cross(way, twelve_o_clock(way)))
    return Piece(tuple(corners), tuple(row.radius for row in table.rows))


def carried(line: Vector, before: Vector, after: Vector) -> Vector:
    """A paint line along the outside of a pipe, as it stands after a bend or a mitre [-].

    Turned by the least turn from one way to the next, as a line does that runs straight along the pipe.
    """
    angle = angle_between(before, after)
    axis = np.cross(before, after)
    return line if not np.any(axis) else turn(line, unit(axis), angle)


def paint_lines(piece: Piece, flange_line: Vector) -> Sequence[Vector]:
    """Where a paint line from the flange stands on each straight [-], shape (3,) each; outwards."""
    ways = [unit(after - before) for before, after in pairwise(piece.corners)]
    lines = [flange_line]
    for before, after in pairwise(ways):
        lines.append(carried(lines[-1], before, after))
    return lines
