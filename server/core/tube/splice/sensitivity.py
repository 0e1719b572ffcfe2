"""How much a splice hangs on each reading: solved again with one reading moved by its doubt."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.core.tube.splice.direct import direct_again
from server.core.tube.splice.making import made
from server.core.tube.splice.pairs import pairs_of
from server.core.tube.splice.piece import Piece
from server.core.tube.splice.problem import Choice, Problem, Splice
from server.core.tube.splice.rebuild import closure


@dataclass(frozen=True, slots=True)
class Reading:
    """One coordinate of one corner. turning: of the turning pipe, else of the fixed one. corner: from the
    flange on, from 0. axis: 0 forward, 1 left, 2 up. doubt: one standard uncertainty [m].
    """

    turning: bool
    corner: int
    axis: int
    doubt: float


@dataclass(frozen=True, slots=True)
class Felt:
    """What one doubt of a reading does. cut_fixed, cut_turning: how the stations move [m]; rotation [rad];
    pull: how much more is asked [m]; saw: the greatest change of a saw angle [rad]; pie: of a pie piece's
    length [m]. off, off_angle: how far the flange is missed when the pipes are cut as planned all the same
    [m], [rad].
    """

    reading: Reading
    cut_fixed: float
    cut_turning: float
    rotation: float
    pull: float
    saw: float
    pie: float
    off: float
    off_angle: float


def readings_of(problem: Problem, doubt: float) -> tuple[Reading, ...]:
    """Every coordinate of every corner, each with the same doubt [m]."""
    return tuple(
        Reading(turning, corner, axis, doubt)
        for turning, piece in ((False, problem.fixed), (True, problem.turning))
        for corner in range(len(piece.corners))
        for axis in range(3)
    )


def felt(problem: Problem, splice: Splice, readings: Sequence[Reading]) -> tuple[Felt, ...]:
    """What each reading does to a splice, in their order. Lengths in [m].

    One weld is solved again: its stations and rotation move. Where there are pie pieces the cuts of the two
    pipes are held, and the pieces between take up the change. Source: JCGM 100:2008, 5.1.3, by a step of one
    standard uncertainty.
    """
    return tuple(_felt(problem, splice, reading) for reading in readings)


def _felt(problem: Problem, splice: Splice, reading: Reading) -> Felt:
    moved = _moved(problem, reading)
    choice = splice.choice
    again = made(moved, _held(moved, choice) if splice.pies else direct_again(moved, choice))
    off, angle = closure(moved.fixed, moved.turning, splice)
    turned = again.choice.rotation - choice.rotation
    longer = [abs(now.centre - was.centre) for now, was in zip(again.pies, splice.pies, strict=True)]
    return Felt(
        reading,
        again.cut_fixed - splice.cut_fixed,
        again.cut_turning - splice.cut_turning,
        float((turned + np.pi) % (2.0 * np.pi) - np.pi),
        again.pull - splice.pull,
        max(abs(now.saw - was.saw) for now, was in zip(again.joints, splice.joints, strict=True)),
        max(longer, default=0.0),
        off,
        angle,
    )


def _moved(problem: Problem, reading: Reading) -> Problem:
    piece = problem.turning if reading.turning else problem.fixed
    corners = [corner.copy() for corner in piece.corners]
    corners[reading.corner][reading.axis] += reading.doubt
    stands = Piece(tuple(corners), piece.radii)
    return replace(problem, turning=stands) if reading.turning else replace(problem, fixed=stands)


def _held(problem: Problem, choice: Choice) -> Choice:
    """The same cuts in both pipes, and the corners between where they were."""
    pairs = pairs_of(problem)
    row = np.flatnonzero((pairs.fixed == choice.fixed) & (pairs.turning == choice.turning))
    one, rotation = pairs.take(row), np.array([choice.rotation])
    first = one.start[0] + choice.along_fixed * one.way[0]
    last = one.turning_start.at(rotation)[0] + choice.along_turning * one.turning_way.at(rotation)[0]
    return replace(choice, points=(first, *choice.points[1:-1], last))
