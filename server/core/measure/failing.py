"""Where an output would just fail, and whether a forecast of it holds that far out.

Slopes and curves come from steps of one doubt. An output that bends beyond that (a hose that is derated from
some temperature on, the better of two ways) looks straight to them, and its chance is wrong where the bend
lies between the readings and the limit. So each output whose limit is neither nearer nor much farther is
worked out at its likeliest failing point: of all points at the limit, as the slopes have it, the one nearest
to the readings, in doubts. Source: A. M. Hasofer and N. C. Lind, Exact and invariant second-moment code
format, J. Eng. Mech. Div. ASCE 100 (1974) 111, the design point (from memory).
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from server.core.measure.output import Expansion

Floats = NDArray[np.float64]

NEAREST, FARTHEST = 1.0, 4.0
"""The limit's distance in doubts between which it is looked at: steps see what is nearer, and a chance beyond
is none in the figures shown."""
MOST_OFF = 0.01
"""How far a chance may be off by what is found there, before the forecast is given up."""


@dataclass(frozen=True, slots=True)
class Failing:
    """The likeliest failing points of outputs.

    room: what each has at the readings over its limit, in its own unit; slopes: first differences for a step
    of one doubt, shape (inputs, outputs). reach: by number of the output, the doubts from the readings to the
    limit, negative where it fails already; without those not worth a look.
    """

    room: Floats
    slopes: Floats
    reach: Mapping[int, float]

    def point(self, number: int) -> Floats:
        """Of one output, in doubts of each input. Source: geometry."""
        slopes = self.slopes[:, number]
        return np.asarray(-self.reach[number] * slopes / np.sqrt((slopes**2).sum()))

    def slopes_hold(self, number: int, there: float) -> bool:
        """Whether slopes tell the chance of an output that was found to have so much room at its point.

        there: over the limit, in the output's unit. Source: as `foreseen`.
        """
        return self._holds(number, there, 0.0)

    def foreseen(self, number: int, there: float, expansion: Expansion) -> bool:
        """Whether an expansion does. The chances compared are those of straight lines from the readings.

        Source: geometry, the normal law.
        """
        at_point = float(expansion.of([number]).at(self.point(number)[:, np.newaxis])[0, 0])
        expected = float(self.room[number]) + at_point - float(expansion.values[number])
        return self._holds(number, there, expected)

    def _holds(self, number: int, there: float, expected: float) -> bool:
        return abs(self._chance(number, there) - self._chance(number, expected)) <= MOST_OFF

    def _chance(self, number: int, there: float) -> float:
        reach, used = self.reach[number], 1.0 - there / float(self.room[number])
        return float(ndtr(reach / used if used > 0.0 else math.copysign(math.inf, reach)))


def failing_of(centre: Floats, slopes: Floats, limit: float | None) -> Failing:
    """The failing points of outputs held to a limit, none without one. centre: at the readings."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        room = centre - (math.nan if limit is None else limit)
        reach = room / np.sqrt((slopes**2).sum(axis=0))
        worth = np.flatnonzero((np.abs(reach) > NEAREST) & (np.abs(reach) < FARTHEST))
    return Failing(room, slopes, {int(number): float(reach[number]) for number in worth})
