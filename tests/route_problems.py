"""Routes to be found, each built backwards from a run that is one; and how a route is walked, bend by bend.

Nothing here comes from the search: a run is walked from its bend table alone, piece by piece.
"""

import math
from dataclasses import dataclass

import numpy as np

from server.core.tube.route.problem import Asked, BendKind, End, Route
from server.core.tube.space.bend_table import BendRow, BendTable
from server.core.tube.space.keep_outs import Box, Capsule, Floats, KeepOut, ball, room
from server.core.tube.space.vectors import Vector, angle_between, turn, unit

OUTSIDES = (0.05, 0.0635, 0.076)
ANGLES = (30, 45, 60, 90, 90, 120)
LEGS = (0.0, 0.02, 0.05)
SHORTEST = (0.0, 0.02, 0.04)
MOST_KEEP_OUTS = 4
STEP = 0.002
FINE = 0.0005
"""How far apart points lie along a walked run at the most, and along a route that is judged [m]."""


@dataclass(frozen=True, slots=True)
class Walk:
    """A run as walked. points: along its middle line, shape (n, 3) [m]. point, way: its end."""

    points: Floats
    point: Vector
    way: Vector


def walk(table: BendTable, point: Vector, way: Vector, normal: Vector, step: float = STEP) -> Walk:
    """A run from a pose by its straights, rotations, angles and radii alone; normal is of its first bend."""
    normal = unit(normal - (normal @ way) * way)
    seen = [point[None]]
    for row in table.rows:
        seen.append(point + _steps(row.straight, step)[:, None] * way)
        point = point + row.straight * way
        normal = turn(normal, way, row.rotation)
        middle = point + row.radius * np.cross(normal, way)
        spoke = point - middle
        turned = _steps(row.angle, step / row.radius)
        seen.append(
            middle + np.cos(turned)[:, None] * spoke + np.sin(turned)[:, None] * np.cross(normal, spoke)
        )
        point, way = middle + turn(spoke, normal, row.angle), turn(way, normal, row.angle)
    seen.append(point + _steps(table.last_straight, step)[:, None] * way)
    return Walk(np.concatenate(seen), point + table.last_straight * way, way)


def _steps(span: float, step: float) -> Floats:
    return np.linspace(0.0, span, max(2, math.ceil(abs(span) / step) + 1))


@dataclass(frozen=True, slots=True)
class Built:
    """A problem with the run that it was built from."""

    asked: Asked
    table: BendTable
    walked: Walk


def built(seed: int) -> Built:
    """A problem with a run of two or three bends behind it; with keep-outs where the seed is odd."""
    rng = np.random.default_rng(seed)
    outside = float(rng.choice(OUTSIDES))
    catalogue = [_kind(rng, outside) for _ in range(int(rng.integers(1, 4)))]
    shortest = float(rng.choice(SHORTEST))
    kinds = [catalogue[int(rng.integers(len(catalogue)))] for _ in range(int(rng.integers(2, 4)))]
    table = _table(rng, kinds, shortest)
    point, way = rng.uniform(-1.0, 1.0, 3), unit(rng.normal(size=3))
    walked = walk(table, point, way, np.cross(way, rng.normal(size=3)))
    keep_outs = _beside(rng, walked.points, 0.5 * outside) if seed % 2 else ()
    start, end = End(point, way), End(walked.point, walked.way)
    asked = Asked(start, end, tuple(catalogue), shortest, outside, 3, tuple(keep_outs))
    return Built(asked, table, walked)


def _kind(rng: np.random.Generator, outside: float) -> BendKind:
    return BendKind(
        radius=float(rng.uniform(1.0, 2.0)) * outside,
        angle=math.radians(float(rng.choice(ANGLES))),
        may_cut_down=bool(rng.random() < 0.5),
        leg_in=float(rng.choice(LEGS)),
        leg_out=float(rng.choice(LEGS)),
    )


def _table(rng: np.random.Generator, kinds: list[BendKind], shortest: float) -> BendTable:
    """A run through these bends, turned at random, its straights longer than they must be."""
    legs_in = [*(kind.leg_in for kind in kinds), 0.0]
    legs_out = [0.0, *(kind.leg_out for kind in kinds)]
    least = [max(out + into, shortest) for out, into in zip(legs_out, legs_in, strict=True)]
    straights = [float(one + rng.exponential(0.08)) for one in least]
    rows = [
        BendRow(straight, float(rng.uniform(-math.pi, math.pi)), _angle(rng, kind), kind.radius)
        for straight, kind in zip(straights, kinds, strict=False)
    ]
    return BendTable(tuple(rows), straights[-1])


def _angle(rng: np.random.Generator, kind: BendKind) -> float:
    return float(rng.uniform(math.radians(10.0), kind.angle)) if kind.may_cut_down else kind.angle


def _beside(rng: np.random.Generator, points: Floats, half: float) -> list[KeepOut]:
    """Keep-outs near a run that it clears, by a millimetre or more."""
    low, high = points.min(axis=0) - 0.1, points.max(axis=0) + 0.1
    kept: list[KeepOut] = []
    for _ in range(60):
        shape = _shape(rng, rng.uniform(low, high), float(rng.uniform(0.0, 0.03)))
        if float(room(points, [shape], half)[0]) > 0.001:
            kept.append(shape)
        if len(kept) == MOST_KEEP_OUTS:
            break
    return kept


def _shape(rng: np.random.Generator, centre: Vector, gap: float) -> KeepOut:
    match int(rng.integers(3)):
        case 0:
            return ball(centre, float(rng.uniform(0.02, 0.1)), gap)
        case 1:
            return Capsule(centre, centre + 0.15 * rng.normal(size=3), float(rng.uniform(0.01, 0.05)), gap)
        case _:
            axes, _ = np.linalg.qr(rng.normal(size=(3, 3)))
            return Box(centre, rng.uniform(0.02, 0.1, 3), axes.T, gap)


def faults(asked: Asked, route: Route) -> list[str]:
    """What is wrong with a route, walked from its bends and straights alone: it should be nothing.

    Within 0.05 mm and 0.05° of the end, no straight too short, every bend one of those asked, clear of all.
    """
    table, kinds = route.table, route.kinds
    normal = np.cross(asked.start.flow, route.corners[2] - route.corners[1]) if kinds else np.ones(3)
    end = walk(table, asked.start.point, asked.start.flow, normal, FINE)
    off = float(np.linalg.norm(end.point - asked.end.point))
    turned = angle_between(end.way, asked.end.flow)
    found = []
    if off > 5e-5 or math.degrees(turned) > 0.05:
        found.append(f"ends {1e3 * off:.3f} mm and {math.degrees(turned):.3f} degrees off")
    legs_in, legs_out = [*(kind.leg_in for kind in kinds), 0.0], [0.0, *(kind.leg_out for kind in kinds)]
    straights = [*(row.straight for row in table.rows), table.last_straight]
    for straight, out, into in zip(straights, legs_out, legs_in, strict=True):
        if straight < max(out + into, asked.shortest_straight) - 1e-6:
            found.append(f"a straight of {1e3 * straight:.3f} mm is too short")
    for row, kind in zip(table.rows, kinds, strict=True):
        if row.angle > kind.angle + 1e-6 or (not kind.may_cut_down and row.angle < kind.angle - 1e-6):
            found.append(f"no bend of {math.degrees(row.angle):.3f} degrees can be had")
    left = room(end.points, asked.keep_outs, 0.5 * asked.outside)
    found += [f"a keep-out is entered by {-1e3 * one:.3f} mm" for one in left if one < -1e-6]
    return found
