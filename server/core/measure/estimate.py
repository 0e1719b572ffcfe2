"""An estimate with its doubt, and several readings of one thing combined into one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy.special import chdtri

CHANCE_OF_FALSE_ALARM = 0.05
"""Readings are said to disagree when agreeing ones would scatter this far only one time in twenty."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its doubt, one standard uncertainty, in the same SI unit; 0 where exactly known.

    Raises ValueError where either is not a finite number or the doubt is negative.
    """

    value: float
    doubt: float = 0.0

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError("the value of an estimate must be a finite number")
        if not (math.isfinite(self.doubt) and self.doubt >= 0.0):
            raise ValueError("the doubt of an estimate must be a finite number, zero or more")


@dataclass(frozen=True, slots=True)
class Combined:
    """Several readings taken as one.

    value, doubt: [same unit as the readings]; chi_square: weighted scatter [-]; agree: whether that scatter
    is no more than their doubts explain; note: one sentence for the page.
    """

    value: float
    doubt: float
    chi_square: float
    agree: bool
    note: str

    @property
    def estimate(self) -> Estimate:
        """The value and doubt to carry on with."""
        return Estimate(self.value, self.doubt)


def rectangular(half_width: float) -> float:
    """Standard uncertainty when anything within ± half_width is equally likely; JCGM 100:2008, 4.3.7.

    >>> round(rectangular(0.5), 6)
    0.288675
    """
    return half_width / math.sqrt(3.0)


def triangular(half_width: float) -> float:
    """Standard uncertainty within ± half_width when the middle is likeliest; JCGM 100:2008, 4.3.9.

    >>> round(triangular(0.5), 6)
    0.204124
    """
    return half_width / math.sqrt(6.0)


def combine(readings: Sequence[Estimate], floor: float = 0.0) -> Combined:
    """Weighted mean of repeated readings of one thing.

    readings: at least one, each with doubt > 0 [one SI unit]; floor: what repeating can't improve, the
    instrument's own doubt [same unit]. Weights are 1 / doubt² (Cox, Metrologia 39 (2002) 589, procedure A).
    Only the scatter of the hand averages out, so the doubt is never less than the floor. Where chi-square is
    over its 95 % point the readings disagree: the doubt is widened by the Birge ratio √(chi²/(n - 1)) and
    the note says so.

    Raises ValueError for no readings, a reading without doubt among several, or a bad floor.

    >>> both = combine([Estimate(10.1, 0.2), Estimate(10.4, 0.1)])
    >>> round(both.value, 2), round(both.doubt, 3), both.agree
    (10.34, 0.089, True)
    """
    if not readings:
        raise ValueError("combining needs at least one reading")
    if not (math.isfinite(floor) and floor >= 0.0):
        raise ValueError("the floor must be a finite number, zero or more")
    if len(readings) == 1:
        only = readings[0]
        return Combined(
            only.value, max(only.doubt, floor), 0.0, True, "One reading: nothing to compare it with."
        )
    if any(reading.doubt <= 0.0 for reading in readings):
        raise ValueError("each reading needs a doubt greater than zero to be weighed against the others")
    return _weighted(readings, floor)


def _weighted(readings: Sequence[Estimate], floor: float) -> Combined:
    # Weights relative to the surest reading stay finite however small the doubts are.
    smallest = min(reading.doubt for reading in readings)
    weights = [(smallest / reading.doubt) ** 2 for reading in readings]
    total = math.fsum(weights)
    value = (
        math.fsum(weight * reading.value for weight, reading in zip(weights, readings, strict=True)) / total
    )
    doubt = smallest / math.sqrt(total)
    chi_square = math.fsum(((reading.value - value) / reading.doubt) ** 2 for reading in readings)
    freedom = len(readings) - 1
    agree = chi_square <= float(chdtri(freedom, CHANCE_OF_FALSE_ALARM))
    if not agree:
        doubt *= math.sqrt(chi_square / freedom)
    return Combined(value, max(doubt, floor), chi_square, agree, _note(len(readings), agree, doubt < floor))


def _note(count: int, agree: bool, at_floor: bool) -> str:
    words = f"{count} readings agree."
    if not agree:
        words = (
            f"{count} readings disagree by more than their doubts explain: the doubt is widened. "
            "Measure again, and look whether they were taken at the same place."
        )
    if at_floor:
        words += " The doubt is the instrument's own: repeating it helps no further."
    return words
