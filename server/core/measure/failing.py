"""Where an output would just fail, and whether a forecast of it holds that far out.

Slopes and curves come from steps of one doubt. An output that bends beyond that (a hose that is derated from
some temperature on, the better of two ways) looks straight to them, and its chance is wrong where the bend
lies between the readings and the limit. So each output whose limit is neither nearer nor much farther is
worked out at its likeliest failing point: of all points at the limit, as the slopes have it, the one nearest
to the readings, in doubts. Source: A. M. Hasofer and N. C. Lind, Exact and invariant second-moment code
format, J. Eng. Mech. Div. ASCE 100 (1974) 111, the design point (from memory).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from server.core.measure.output import Expansion

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]
Counts = NDArray[np.intp]

NEAREST, FARTHEST = 1.0, 4.0
"""The limit's distance in doubts between which it is looked at: steps see what is nearer, and a chance beyond
is none in the figures shown."""
MOST_OFF = 0.01
"""How far a chance may be off by what is found there, before the forecast is given up."""


@dataclass(frozen=True, slots=True)
class Failing:
    """The likeliest failing points of those outputs that are worth a look there.

    outputs: their numbers. room: what each has at the readings over its limit, in its own unit. slopes: first
    differences for a step of one doubt, shape (inputs, outputs). reach: the doubts from the readings to the
    limit, negative where it fails already.
    """

    outputs: Counts
    room: Floats
    slopes: Floats
    reach: Floats

    @property
    def points(self) -> Floats:
        """In doubts of each input, shape (outputs, inputs). Source: geometry."""
        return np.asarray((-self.reach * self.slopes / np.sqrt((self.slopes**2).sum(axis=0))).T)

    def slopes_hold(self, there: Floats) -> Marks:
        """Whether slopes tell the chance of outputs that were found to have so much room at their points.

        there: over the limit, in the outputs' units. Source: as `foreseen`.
        """
        return self._hold(there, np.zeros_like(there))

    def foreseen(self, there: Floats, expansion: Expansion) -> Marks:
        """Whether an expansion does. The chances compared are those of straight lines from the readings.

        Source: geometry, the normal law.
        """
        some = expansion.of(self.outputs)
        return self._hold(there, self.room + np.diag(some.at(self.points.T)) - some.values)

    def _hold(self, there: Floats, expected: Floats) -> Marks:
        return np.asarray(np.abs(self._chances(there) - self._chances(expected)) <= MOST_OFF)

    def _chances(self, there: Floats) -> Floats:
        with np.errstate(invalid="ignore", divide="ignore"):
            used = 1.0 - there / self.room
            doubts = np.where(used > 0.0, self.reach / used, np.copysign(np.inf, self.reach))
        return np.asarray(ndtr(doubts))


def failing_of(centre: Floats, slopes: Floats, limit: float | None) -> Failing:
    """The failing points of outputs held to a limit, none without one. centre: at the readings."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        room = centre - (math.nan if limit is None else limit)
        reach = room / np.sqrt((slopes**2).sum(axis=0))
        worth = np.flatnonzero((np.abs(reach) > NEAREST) & (np.abs(reach) < FARTHEST))
    return Failing(worth, room[worth], slopes[:, worth], reach[worth])
