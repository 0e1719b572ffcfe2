"""Every straight of the fixed pipe with every straight of the turning one, as arrays: rows are pairs."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.core.tube.splice.piece import straights
from server.core.tube.splice.problem import Problem

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Circling:
    """Vectors that turn about an axis, rows (n, 3): steady + cos · level + sin · risen."""

    steady: Floats
    level: Floats
    risen: Floats

    def at(self, rotation: Floats) -> Floats:
        """The vectors after rotations [rad], shape (n,)."""
        return self.steady + np.cos(rotation)[:, None] * self.level + np.sin(rotation)[:, None] * self.risen

    def take(self, rows: Whole) -> "Circling":
        return Circling(self.steady[rows], self.level[rows], self.risen[rows])


@dataclass(frozen=True, slots=True)
class Pairs:
    """Straights in pairs, one a row. fixed, turning: their numbers. start, way: of the fixed one [m], [-],
    rows (n, 3). turning_start, turning_way: of the other, outwards, as they turn. fixed_length,
    turning_length: [m]. fixed_after, turning_after: length of each pipe from the straight's start on [m].
    """

    fixed: Whole
    turning: Whole
    start: Floats
    way: Floats
    fixed_length: Floats
    turning_start: Circling
    turning_way: Circling
    turning_length: Floats
    fixed_after: Floats
    turning_after: Floats

    def take(self, rows: Whole) -> "Pairs":
        """These rows; a row may be taken often."""
        return Pairs(
            self.fixed[rows],
            self.turning[rows],
            self.start[rows],
            self.way[rows],
            self.fixed_length[rows],
            self.turning_start.take(rows),
            self.turning_way.take(rows),
            self.turning_length[rows],
            self.fixed_after[rows],
            self.turning_after[rows],
        )

    def __len__(self) -> int:
        return len(self.fixed)


def pairs_of(problem: Problem) -> Pairs:
    """Every pair of straights of a problem. Lengths in [m]."""
    out, home = straights(problem.fixed), straights(problem.turning)
    both = [(one, other) for one in out for other in home]
    middle, axis = problem.turning.corners[0], problem.turning.axis
    return Pairs(
        np.array([one.number for one, _ in both]),
        np.array([other.number for _, other in both]),
        np.array([one.start for one, _ in both]),
        np.array([one.way for one, _ in both]),
        np.array([one.length for one, _ in both]),
        _circling(np.array([other.start - middle for _, other in both]), axis, middle),
        _circling(np.array([other.way for _, other in both]), axis, np.zeros(3)),
        np.array([other.length for _, other in both]),
        np.array([problem.fixed.developed - one.station for one, _ in both]),
        np.array([problem.turning.developed - other.station for _, other in both]),
    )


def _circling(vectors: Floats, axis: Floats, middle: Floats) -> Circling:
    """Source: Rodrigues' formula."""
    along = (vectors @ axis)[:, None] * axis
    level = vectors - along
    return Circling(middle + along, level, np.cross(axis, level))
