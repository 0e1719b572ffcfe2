"""How the lengths of a run change as its ends move: what the doubt of two ports does to what is cut.

A run is held by its bend table: radii and angles stay, straights and rotations take up what moves. The change
is solved again for each step of one standard uncertainty; of all that close it, the least one is taken.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from server.core.tube.space.bend_table import BendTable
from server.core.tube.space.poses import PortPose, flow_at, leaned, run_axes
from server.core.tube.space.vectors import Vector, turn, unit

Floats = NDArray[np.float64]

ARM = 0.1
"""A turn counts as much as the way of a point so far off its axis [m]; a usual straight of a run."""
STEP = 1e-6
"""Step of the differences [m], [rad]."""
LEAST_LEVER = 0.03
"""Moves that change lengths by more than ten or twenty times are not taken up by them: they stay off [-]."""
ROUNDS = 6
CLOSED = 1e-6
"""Solved when nothing changes by more than this [m], [rad]: below any step of doubt."""


@dataclass(frozen=True, slots=True)
class LengthDoubts:
    """Standard uncertainty of each straight [m], bends + 1 of them, and of what no straight takes up.

    out_by: how far the end stays off [m], out_of_line: by what angle [rad]; both 0 where bends and rotations
    can take up all that moves.
    """

    straights: tuple[float, ...]
    out_by: float
    out_of_line: float


def length_doubts(table: BendTable, start: PortPose, end: PortPose) -> LengthDoubts:
    """What the doubt of both ports does to the straights of a run between them.

    table: of the run, from the start to the end. Both poses' three places and two small angles count, each as
    an independent one. Source: JCGM 100:2008, 5.1.2, with the run solved again for each step.
    """
    changes = [_both_ways(table, start, pose, step) for pose in (start, end) for step in _steps(pose)]
    squares = sum((change.lengths**2 for change in changes), np.zeros(len(table.rows) + 1))
    return LengthDoubts(
        tuple(float(value) for value in np.sqrt(squares)),
        math.sqrt(sum(change.out_by**2 for change in changes)),
        math.sqrt(sum(change.out_of_line**2 for change in changes)),
    )


def moved_pose(pose: PortPose, step: Floats) -> PortPose:
    """A pose moved and leaned; step: forward, left, up [m], aside, upright [rad], shape (5,). Doubts stay."""
    return PortPose(
        replace(pose.place, point=pose.place.point + step[:3]),
        replace(pose.facing, way=leaned(pose.facing, step[3], step[4])),
    )


@dataclass(frozen=True, slots=True)
class _Change:
    """Half the difference between a step one way and the other: of each straight, and what stays off."""

    lengths: Floats
    out_by: float
    out_of_line: float


def _steps(pose: PortPose) -> Floats:
    """One standard uncertainty of each number of a pose that is in doubt, one a row, shape (n, 5)."""
    doubts = np.array([*pose.place.doubt, pose.facing.aside, pose.facing.upright])
    return np.diag(doubts)[doubts > 0.0]


def _both_ways(table: BendTable, start: PortPose, pose: PortPose, step: Floats) -> _Change:
    """What moving one of the two ports by a step, and by as much the other way, does to the run."""
    flow, starts = flow_at(start.facing.way, starts=True), pose is start
    up, off_up = _taken_up(table, _aim(table, flow, pose, moved_pose(pose, step), starts))
    down, off_down = _taken_up(table, _aim(table, flow, pose, moved_pose(pose, -step), starts))
    off = 0.5 * (off_up - off_down)
    return _Change(0.5 * (up - down), float(np.linalg.norm(off[:3])), float(np.linalg.norm(off[3:]) / ARM))


def _aim(table: BendTable, flow: Vector, pose: PortPose, moved: PortPose, starts: bool) -> Floats:
    """Where the run's end has to come in the run's own axes: its point, then its direction times the arm.

    The run as it is drawn says where its other end is, so that what a run drawn by hand is off by at its end
    counts for nothing. A start that moves and leans is the end moving and leaning the other way.
    """
    axes = run_axes(flow)
    point, way = _end_of(_unknowns(table), table)
    step = axes @ (moved.place.point - pose.place.point)
    before, after = axes @ pose.facing.way, axes @ moved.facing.way
    axis = np.cross(before, after)
    sine = float(np.linalg.norm(axis))
    lean = math.atan2(sine, float(before @ after))
    about = axis / sine if sine > 0.0 else axes[0]
    if not starts:
        # The end port leans about itself; flow there leans with it.
        return np.concatenate([point + step, ARM * turn(way, about, lean)])
    return np.concatenate([turn(point - step, about, -lean), ARM * turn(way, about, -lean)])


def _unknowns(table: BendTable) -> Floats:
    """Straights [m], then rotations times the arm [m]."""
    straights = [*(row.straight for row in table.rows), table.last_straight]
    return np.array([*straights, *(ARM * row.rotation for row in table.rows)])


def _end_of(unknowns: Floats, table: BendTable) -> tuple[Vector, Vector]:
    """The point and the direction of flow at the end in the run's axes, by straights and rotations."""
    point, way, axis = np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    bends = len(table.rows)
    for at, row in enumerate(table.rows):
        point = point + unknowns[at] * way
        axis = turn(axis, way, unknowns[bends + 1 + at] / ARM)
        inward = np.cross(axis, way)
        after = turn(way, axis, row.angle)
        point = point + row.radius * (inward - turn(inward, axis, row.angle))
        way = after
    return point + unknowns[bends] * way, unit(way)


def _taken_up(table: BendTable, aim: Floats) -> tuple[Floats, Floats]:
    """How each straight changes [m], and what stays off, as the aim is written: the least change.

    By Newton's steps of least length. Where nothing can take up a move, or only a run grown out of all
    measure could, as sideways in a run that lies in one plane, it stays off: the joints have to give there.
    """
    begun = _unknowns(table)
    unknowns = begun.copy()
    for _ in range(ROUNDS):
        off = aim - _reached(unknowns, table)
        slopes = _slopes(unknowns, table)
        # From where it began, so that the change is the least one and not that of the last step alone.
        wanted = off + slopes @ (unknowns - begun)
        moved = begun + np.linalg.lstsq(slopes, wanted, rcond=LEAST_LEVER)[0]
        step, unknowns = float(np.abs(moved - unknowns).max()), moved
        if step < CLOSED:
            break
    bends = len(table.rows)
    return (unknowns - begun)[: bends + 1], aim - _reached(unknowns, table)


def _reached(unknowns: Floats, table: BendTable) -> Floats:
    point, way = _end_of(unknowns, table)
    return np.concatenate([point, ARM * way])


def _slopes(unknowns: Floats, table: BendTable) -> Floats:
    """Change of what is reached with each unknown, shape (6, unknowns)."""
    columns = []
    for at in range(len(unknowns)):
        step = np.zeros(len(unknowns))
        step[at] = STEP
        columns.append((_reached(unknowns + step, table) - _reached(unknowns - step, table)) / (2.0 * STEP))
    return np.stack(columns, axis=1)
