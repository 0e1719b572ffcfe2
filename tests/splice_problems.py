"""Random splices made from a joint that is known, and problems that have none by construction. In [m]."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from server.core.tube.space.bend_table import BendRow, BendTable, corners_of
from server.core.tube.splice.piece import Piece
from server.core.tube.splice.problem import Problem, Splice

Floats = NDArray[np.float64]
MM = 1e-3
SIZES = (50.8, 57.0, 60.3, 63.5, 76.1)
KINDS = ("free", "holes", "one pie", "two pies")


@dataclass(frozen=True, slots=True)
class Known:
    """A problem and the pie pieces of the joint that it was cut from."""

    problem: Problem
    pies: int
    kind: str


@dataclass(frozen=True, slots=True)
class Stub:
    """A pipe with the place of its cut: along which straight, and how far from the straight's start."""

    piece: Piece
    straight: int
    station: float
    point: Floats
    way: Floats


def a_direction(rng: np.random.Generator) -> Floats:
    drawn: Floats = rng.normal(size=3)
    return drawn / np.linalg.norm(drawn)


def a_stub(rng: np.random.Generator, outside: float, slant: float) -> Stub:
    """A pipe of up to three straights; the cut has room for its slant on both sides."""
    bends = int(rng.integers(0, 3))
    cut = int(rng.integers(0, bends + 1))
    half = 0.5 * outside * np.tan(slant)
    straights = rng.uniform(20.0, 180.0, bends + 1) * MM
    before, after = half + rng.uniform(2.0, 120.0, 2) * MM
    straights[cut] = before + after
    rows = tuple(
        BendRow(
            straights[at],
            rng.uniform(-np.pi, np.pi) if at else 0.0,
            np.radians(rng.uniform(15.0, 90.0)),
            1.5 * outside,
        )
        for at in range(bends)
    )
    way = a_direction(rng)
    corners = corners_of(BendTable(rows, straights[-1]), rng.uniform(-0.5, 0.5, 3), way, a_direction(rng))
    piece = Piece(tuple(corners), tuple(row.radius for row in rows))
    station = sum(row.straight + row.radius * row.angle for row in rows[:cut]) + before
    point, along = place_at(piece, station)
    return Stub(piece, cut, station, point, along)


def place_at(piece: Piece, station: float) -> tuple[Floats, Floats]:
    """Where a station of a centre line is [m], and its way there, worked from corners and radii alone."""
    corners = np.array(piece.corners)
    legs = np.diff(corners, axis=0)
    ways = legs / np.linalg.norm(legs, axis=1)[:, None]
    angles = [np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b) for a, b in pairwise(ways)]
    take = [0.0, *(r * np.tan(0.5 * a) for r, a in zip(piece.radii, angles, strict=True)), 0.0]
    walked = 0.0
    for at, leg in enumerate(legs):
        straight = float(np.linalg.norm(leg)) - take[at] - take[at + 1]
        if station <= walked + straight + 1e-9 or at == len(legs) - 1:
            return corners[at] + (take[at] + station - walked) * ways[at], ways[at]
        walked += straight + piece.radii[at] * angles[at]
    raise AssertionError("no such station")


def frame(way: Floats, side: Floats) -> Floats:
    """Columns: the way, the side square to it, and the third."""
    side = side - (side @ way) * way
    side /= np.linalg.norm(side)
    return np.column_stack((way, side, np.cross(way, side)))


def moved(piece: Piece, turned: Floats, by: Floats) -> Piece:
    return replace(piece, corners=tuple(turned @ corner + by for corner in piece.corners))


def a_turn(rng: np.random.Generator, way: Floats, saw: float) -> Floats:
    axis = np.cross(way, a_direction(rng))
    turned: Floats = Rotation.from_rotvec(2.0 * saw * axis / np.linalg.norm(axis)).apply(way)
    return turned


def known(rng: np.random.Generator, kind: str) -> Known:
    """A pipe that is cut apart: the joint that it had is an answer."""
    outside = float(rng.choice(SIZES)) * MM
    pies = {"one pie": 1, "two pies": 2}.get(kind, 0)
    saws = np.radians(rng.uniform(3.0, 26.0, pies + 1))
    if not pies and rng.random() < 0.25:
        saws[:] = 0.0  # end to end
    fixed, turning = (a_stub(rng, outside, saw) for saw in (saws[0], saws[-1]))
    way, point = a_turn(rng, fixed.way, saws[0]), fixed.point
    throats = []
    for before, after in pairwise(saws):
        throat = rng.uniform(10.0, 60.0) * MM
        length = throat + 0.5 * outside * (np.tan(before) + np.tan(after))
        point = point + length * way
        throats.append(throat)
        way = a_turn(rng, way, after)
    turned = frame(-way, a_direction(rng)) @ frame(turning.way, a_direction(rng)).T
    stands = moved(turning.piece, turned, point - turned @ turning.point)
    holes = (
        0 if kind == "free" else int(rng.choice([3, 4, 6, 8])) if kind == "holes" or rng.random() < 0.5 else 0
    )
    rotation = 2.0 * np.pi * (rng.integers(holes) / holes if holes else rng.random())
    saw = min(max(float(saws.max()) * rng.choice([1.0, 1.1, 1.4]), np.radians(2.0)), np.radians(45.0))
    floor = float(min(throats, default=0.01) * rng.choice([1.0, 0.8, 0.5]))
    problem = Problem(fixed.piece, stands.turned(-rotation), holes, outside, pies, saw, floor, 0.0)
    return Known(problem, pies, kind)


def faults(problem: Problem, splice: Splice) -> list[str]:
    """What is wrong with an answer, from its stations, angles and corners by other arithmetic."""
    told = []
    stands = problem.turning.turned(splice.choice.rotation)
    corners = np.array(splice.corners)
    ends = (corners[0] - problem.fixed.corners[0], corners[-1] - problem.turning.corners[0])
    told += ["an end is not at its flange"] if max(np.linalg.norm(end) for end in ends) > 1e-4 else []
    first, out = place_at(problem.fixed, splice.cut_fixed)
    last, home = place_at(stands, splice.cut_turning)
    joints = np.array(splice.choice.points)
    pull = splice.pull
    told += ["pulled too far"] if pull > problem.gap + 1.001e-5 else []
    for where, joint in ((first, joints[0]), (last, joints[-1])):
        if np.linalg.norm(where - joint) > 0.5 * pull + 1e-4:
            told.append("a cut is not where the centre line has it")
    legs = np.diff(joints, axis=0)
    ways = [out, *(leg / np.linalg.norm(leg) for leg in legs), -home]
    for (before, after), joint in zip(pairwise(ways), splice.joints, strict=True):
        turn = np.arctan2(np.linalg.norm(np.cross(before, after)), before @ after)
        told += ["a saw angle is not half its turn"] if abs(0.5 * turn - joint.saw) > np.radians(0.05) else []
        told += ["a saw angle is over the limit"] if joint.saw > problem.saw + 2e-6 else []
    for told_mark, joint in zip(marks(problem, splice, ways), splice.joints, strict=True):
        off = (told_mark - joint.mark + np.pi) % (2.0 * np.pi) - np.pi
        told += ["a throat is marked elsewhere"] if joint.saw > 1e-3 and abs(off) > np.radians(0.1) else []
    for leg, pie in zip(legs, splice.pies, strict=True):
        told += ["a pie piece has another length"] if abs(np.linalg.norm(leg) - pie.centre) > 1e-6 else []
        told += ["a throat is under its floor"] if pie.throat < problem.throat - 2e-6 else []
    told += _not_in_a_straight(problem.fixed, splice.cut_fixed, splice.joints[0].saw, problem.outside)
    told += _not_in_a_straight(stands, splice.cut_turning, splice.joints[-1].saw, problem.outside)
    if splice.closure > 1e-4 or splice.closure_angle > np.radians(0.1):
        told.append(f"left open by {splice.closure / MM} mm, {np.degrees(splice.closure_angle)}°")
    if problem.holes:
        hole = splice.choice.rotation / (2.0 * np.pi) * problem.holes
        told += (
            []
            if abs(hole - round(hole)) < 1e-9 and splice.choice.clocking == round(hole)
            else ["no hole there"]
        )
    return told


def marks(problem: Problem, splice: Splice, ways: Sequence[Floats]) -> list[float]:
    """The roll of each throat from 12 o'clock [rad], the line mirrored in the plane that halves each turn.

    ways: of the straight that is cut, of each pie piece, and of the last straight along the flow.
    """
    legs = np.diff(np.array(problem.fixed.corners), axis=0)[: splice.choice.fixed + 1]
    before = [leg / np.linalg.norm(leg) for leg in legs]
    line = np.array([1.0, 0.0, 0.0] if abs(before[0][2]) > np.cos(np.radians(1.0)) else [0.0, 0.0, 1.0])
    line = line - (line @ before[0]) * before[0]
    line /= np.linalg.norm(line)
    told = []
    for at, (one, other) in enumerate(pairwise([*before[:-1], *ways])):
        if at >= len(before) - 1:
            told.append(float(np.arctan2(np.cross(one, line) @ other, line @ other)))
        half = (one + other) / np.linalg.norm(one + other)
        line = line - 2.0 * (line @ half) * half
    return told


def _not_in_a_straight(piece: Piece, station: float, saw: float, outside: float) -> list[str]:
    """The cut's slant ends within the straight: the way is the same on both sides of it."""
    half = 0.5 * outside * np.tan(saw) - 2e-6
    length = piece.developed
    if station - half < -1e-9 or station + half > length + 1e-9:
        return ["a mitre runs over an end"]
    point, way = place_at(piece, station)
    for beyond in (-half, half):
        there, _ = place_at(piece, station + beyond)
        if np.linalg.norm(there - point - beyond * way) > 1e-6:
            return ["a mitre runs into an arc"]
    return []


def all_of(seed: int, count: int) -> Sequence[Known]:
    """Known splices, all kinds in turn."""
    rng = np.random.default_rng(seed)
    return [known(rng, KINDS[at % len(KINDS)]) for at in range(count)]
