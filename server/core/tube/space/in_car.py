"""A run laid out from the pose of its start: each piece as points in car axes, and how far its end is off."""

from dataclasses import dataclass
from math import asin, radians

import numpy as np

from server.core.tube.centreline import Arc, Centreline, PieceLine, Straight, cross, dot
from server.core.tube.run import PieceKind
from server.core.tube.space.keep_outs import Floats
from server.core.tube.space.poses import PortPose, flow_at, run_axes
from server.core.tube.space.vectors import Vector, angle_between, vector
from server.core.tube.view import poses_along

STEP = 0.004
"""How far apart a centre line is looked at [m]."""


@dataclass(frozen=True, slots=True)
class PieceInCar:
    """One piece: points of its centre line, shape (n, 3) [m]; half its outside diameter at each, (n,) [m]."""

    piece_id: int
    number: int
    points: Floats
    half: Floats


CLOSES, CLOSES_ANGLE = 0.020, radians(8.0)
"""A run whose end is further off its port, or leans further off it, is not the one that will be fitted [m],
[rad]; common practice, no source."""
SHAPELESS = frozenset({PieceKind.HOSE, PieceKind.FLEX})
"""Kinds that are bent as they are fitted: drawn straight, they lie otherwise."""


@dataclass(frozen=True, slots=True)
class Miss:
    """By how far a run's end is off its port [m], and how far it leans off it [rad]."""

    distance: float
    angle: float


@dataclass(frozen=True, slots=True)
class Lies:
    """How a run lies in the car. miss: of its end; flattest: the least slope below level along it [rad],
    under 0 where it rises; as_drawn: no size of it is stood in for, and no hose or flex will lie otherwise.
    """

    miss: Miss
    flattest: float
    as_drawn: bool

    @property
    def closes(self) -> bool:
        """It ends where its port is, as far as poses tell."""
        return self.miss.distance <= CLOSES and self.miss.angle <= CLOSES_ANGLE


def lies(line: Centreline, start: PortPose, end: PortPose) -> Lies:
    """How a run of one piece or more lies in the car, from the pose of its start. Source: geometry."""
    up = run_axes(flow_at(start.facing.way, starts=True))[:, 2].tolist()
    poses = [pose for one in line.pieces for pose, _ in poses_along(one)]
    rises = max(dot(pose.direction, up) for pose in poses)
    as_drawn = not line.assumed and not any(one.piece.kind in SHAPELESS for one in line.pieces)
    return Lies(miss(line, start, end), -asin(max(-1.0, min(1.0, rises))), as_drawn)


def in_car(line: Centreline, start: PortPose, step: float = STEP) -> tuple[PieceInCar, ...]:
    """Every piece of a run in car axes. step: of the points at most [m]. Source: geometry."""
    axes = run_axes(flow_at(start.facing.way, starts=True))
    found = []
    for one in line.pieces:
        points = start.place.point + _points(one, step) @ axes
        half = np.linspace(0.5 * one.sizes.outside_in, 0.5 * one.sizes.outside_out, len(points))
        found.append(PieceInCar(one.piece.id, one.piece.number, points, half))
    return tuple(found)


def _points(line: PieceLine, step: float) -> Floats:
    """Points of a piece in the run's axes, shape (n, 3) [m]: the ends of straights, and steps along each."""
    first, *rest = line.stretches
    told = [first, *(part for part in rest if isinstance(part, Arc) or part.length > 0.0)]
    return np.concatenate([_along(part, step) for part in told])


def _along(stretch: Straight | Arc, step: float) -> Floats:
    """Points along a stretch, its two ends among them, shape (n, 3) [m]. Source: geometry."""
    start, parts = stretch.start, max(int(np.ceil(stretch.length / step)), 1)
    shares, ahead = np.linspace(0.0, 1.0, parts + 1)[:, None], vector(start.direction)
    if not isinstance(stretch, Arc):
        return vector(start.point) + stretch.length * shares * ahead
    turned, inward = stretch.angle * shares, vector(cross(start.axis, start.direction))
    return vector(stretch.centre) + stretch.radius * (np.sin(turned) * ahead - np.cos(turned) * inward)


def miss(line: Centreline, start: PortPose, end: PortPose) -> Miss:
    """How far a run that starts at one port is off the other. Source: geometry."""
    axes = run_axes(flow_at(start.facing.way, starts=True))
    reached: Vector = start.place.point + vector(line.end.point) @ axes
    way: Vector = vector(line.end.direction) @ axes
    off = float(np.linalg.norm(reached - end.place.point))
    return Miss(off, angle_between(way, flow_at(end.facing.way, starts=False)))
