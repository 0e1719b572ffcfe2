"""A bent pipe as corners in space, and as a bender works: length, rotation, angle, one row a bend.

A rotation turns the plane of a bend from that of the bend before, right-handed about the direction of flow;
the first has none. Straights run from tangent point to tangent point.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from server.core.tube.space.vectors import Vector, angle_between, any_square_to, rolled, turn, unit, vector

SMALLEST_TURN = 1e-9
"""Turn under which a corner is none [rad]; rounding is far below it."""


@dataclass(frozen=True, slots=True)
class BendRow:
    """One bend and the straight before it. straight: [m]. rotation, angle: [rad]. radius: [m]."""

    straight: float
    rotation: float
    angle: float
    radius: float


@dataclass(frozen=True, slots=True)
class BendTable:
    """A pipe as a bender works. last_straight: [m]. A straight under 0 says that two arcs overlap."""

    rows: tuple[BendRow, ...]
    last_straight: float

    @property
    def developed(self) -> float:
        """Length along the centre line, arcs included [m]."""
        bent = sum(row.straight + row.radius * row.angle for row in self.rows)
        return bent + self.last_straight


class NoPipe(ValueError):
    """Corners or rows that are no pipe. at: number of the corner or row, from 0; the text says why."""

    def __init__(self, at: int, why: str) -> None:
        super().__init__(why)
        self.at = at


def table_of(corners: Sequence[Vector], radii: Sequence[float]) -> BendTable:
    """A bend table from corners, both ends included.

    corners: [m], shape (3,) each, two or more. radii: of the bend at each inner corner [m]. Source: geometry,
    take-off R tan(θ / 2). Raises NoPipe for two corners in one place, and for a corner that turns right back.

    >>> table = table_of([vector([0, 0, 0]), vector([0.2, 0, 0]), vector([0.2, 0.3, 0])], [0.1])
    >>> round(table.rows[0].straight, 6), round(math.degrees(table.rows[0].angle), 6)
    (0.1, 90.0)
    """
    legs = [after - before for before, after in pairwise(corners)]
    lengths = [float(np.linalg.norm(leg)) for leg in legs]
    for at, length in enumerate(lengths):
        if not length > 0.0:
            raise NoPipe(at + 1, "It is in the same place as the one before it.")
    ways = [leg / length for leg, length in zip(legs, lengths, strict=True)]
    angles = [angle_between(before, after) for before, after in pairwise(ways)]
    for at, angle in enumerate(angles):
        if math.pi - angle < SMALLEST_TURN:
            raise NoPipe(at + 1, "The pipe turns right back there: no bend does that in one corner.")
    take_offs = [0.0, *(r * math.tan(0.5 * angle) for r, angle in zip(radii, angles, strict=True)), 0.0]
    straights = [
        length - before - after for length, (before, after) in zip(lengths, pairwise(take_offs), strict=True)
    ]
    rows = tuple(map(BendRow, straights[:-1], _rotations(ways, angles), angles, radii))
    return BendTable(rows, straights[-1])


def _rotations(ways: Sequence[Vector], angles: Sequence[float]) -> list[float]:
    """The rotation of each bend from the last one that turned; none for the first, nor without a turn."""
    rotations = []
    plane: Vector | None = None
    for (before, after), angle in zip(pairwise(ways), angles, strict=True):
        if angle < SMALLEST_TURN:
            rotations.append(0.0)
            continue
        normal = np.cross(before, after)
        rotations.append(0.0 if plane is None else _whole(rolled(before, plane, normal)))
        plane = normal
    return rotations


def _whole(angle: float) -> float:
    """An angle in (−π, π]: half a turn is always the positive one."""
    return math.pi if angle <= -math.pi + SMALLEST_TURN else angle


def corners_of(
    table: BendTable, start: Vector | None = None, way: Vector | None = None, normal: Vector | None = None
) -> list[Vector]:
    """The corners of a pipe from its bend table, both ends included [m], shape (3,) each.

    start: its first end [m], the origin where none is given. way: unit direction there, else x. normal: of
    the first bend's plane, else z, so that it turns towards y; it is taken square to the way. Raises NoPipe
    for a bend of half a turn or more, which has no corner.
    """
    way = vector([1.0, 0.0, 0.0]) if way is None else way
    point = np.zeros(3) if start is None else start
    axis = _plane(way, vector([0.0, 0.0, 1.0]) if normal is None else normal)
    corners, take_off = [point], 0.0
    for at, row in enumerate(table.rows):
        if row.angle >= math.pi - SMALLEST_TURN:
            raise NoPipe(at, "A bend of half a turn or more has no corner: enter it as two bends.")
        axis = turn(axis, way, row.rotation)
        before, take_off = take_off, row.radius * math.tan(0.5 * row.angle)
        point = point + (before + row.straight + take_off) * way
        corners.append(point)
        way = turn(way, axis, row.angle)
    return [*corners, point + (take_off + table.last_straight) * way]


def _plane(way: Vector, normal: Vector) -> Vector:
    square = normal - (normal @ way) * way
    return unit(square) if float(np.linalg.norm(square)) > SMALLEST_TURN else any_square_to(way)
