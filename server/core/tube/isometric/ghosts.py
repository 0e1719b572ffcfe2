"""Keep-outs as thin outlines in space: rings and edges that hold from every side."""

import math
from collections.abc import Iterable, Iterator

import numpy as np

from server.core.tube.centreline import Triple
from server.core.tube.isometric.scene import Path
from server.core.tube.space.keep_outs import Box, Capsule, KeepOut
from server.core.tube.space.vectors import Vector, any_square_to, unit

STEPS = 24
"""Straights to a ring."""
CORNERS = ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0))


def ghost(shape: KeepOut) -> tuple[Path, ...]:
    """The outline of a keep-out [m]. Source: geometry."""
    lines = _box(shape) if isinstance(shape, Box) else _capsule(shape)
    return tuple(Path("ghost", tuple(_point(one) for one in line)) for line in lines)


def near(shapes: Iterable[KeepOut], centre: Triple, reach: float) -> tuple[KeepOut, ...]:
    """Those that come within a reach of a point [m]."""
    here = np.array([centre])
    return tuple(shape for shape in shapes if float(shape.distance(here)[0]) < reach)


def _box(box: Box) -> Iterator[list[Vector]]:
    x, y, z = (half * axis for half, axis in zip(box.half_sizes, box.axes, strict=True))
    for side in (-1.0, 1.0):
        yield [box.centre + a * x + b * y + side * z for a, b in CORNERS]
    for a, b in CORNERS[:4]:
        yield [box.centre + a * x + b * y - z, box.centre + a * x + b * y + z]


def _capsule(bar: Capsule) -> Iterator[list[Vector]]:
    """Rings round both ends, lines between them, half rings over the ends; a ball is three rings."""
    along = bar.end - bar.start
    length = float(np.linalg.norm(along))
    way = unit(along) if length > 0.0 else np.array([0.0, 0.0, 1.0])
    one = any_square_to(way)
    other = np.cross(way, one)
    r = bar.radius
    for end in (bar.start, bar.end) if length > 0.0 else (bar.start,):
        yield _arc(end, r * one, r * other, math.tau)
    for side in (one, other):
        yield _arc(bar.end, r * side, r * way, math.pi)
        yield _arc(bar.start, -r * side, -r * way, math.pi)
        for sign in (1.0, -1.0) if length > 0.0 else ():
            yield [bar.start + sign * r * side, bar.end + sign * r * side]


def _arc(centre: Vector, one: Vector, other: Vector, angle: float) -> list[Vector]:
    steps = math.ceil(STEPS * angle / math.tau)
    turns = [angle * k / steps for k in range(steps + 1)]
    return [centre + math.cos(turn) * one + math.sin(turn) * other for turn in turns]


def _point(at: Vector) -> Triple:
    x, y, z = (float(part) for part in at)
    return x, y, z
