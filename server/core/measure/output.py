"""One output of the doubt engine: what was found of it, by slopes, by curves too, or by draws."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from server.core.measure.shares import variance_by_input

Floats = NDArray[np.float64]
Method = Literal["first order", "second order", "Monte Carlo"]

MOST_UNEXPLAINED = 0.03
"""Part of the first-order doubt that slopes and curves may leave unexplained, root mean square: then a chance
is off by about a point at the most."""


@dataclass(frozen=True, slots=True)
class Output:
    """One output: value at the readings, doubt, how that was found, what causes the variance.

    parts: the variance that each input causes. slopes: for a step of one doubt of each input. sampled: the
    draws, None where slopes tell them.
    """

    value: float
    doubt: float
    method: Method
    parts: Floats
    slopes: Floats
    sampled: Floats | None

    def draws(self, normal: Floats) -> Floats:
        """The output on every joint draw, shape (draws,)."""
        return self.value + self.slopes @ normal if self.sampled is None else self.sampled

    def at_least(self, limit: float) -> float:
        """Chance that a first-order output is at least a limit, by the normal law."""
        if self.doubt == 0.0 or math.isinf(self.value):
            return 1.0 if self.value >= limit else 0.0
        return float(ndtr((self.value - limit) / self.doubt))


def first_order(value: float, slopes: Floats) -> Output:
    """As its slopes have it. Source: JCGM 100, 5.1.2."""
    parts = slopes**2 if not math.isnan(value) else np.zeros_like(slopes)
    doubt = math.sqrt(parts.sum()) if not math.isnan(value) else math.nan
    return Output(value, doubt, "first order", parts, slopes, None)


def _expanded(value: float, slopes: Floats, curves: Floats, normal: Floats) -> Floats:
    """An output in each draw by its slopes and curves, shape (draws,)."""
    moving = (slopes != 0.0) | (curves != 0.0)
    moved = normal[moving]
    return np.asarray(value + slopes[moving] @ moved + curves[moving] @ (moved * moved))


def curves_explain(looked_at: Floats, value: float, slopes: Floats, curves: Floats, normal: Floats) -> bool:
    """Whether slopes and curves come so near to the draws looked at that they stand for the others.

    All but the draws in the output's own unit, for a step of one doubt; normal: those draws [-].
    """
    with np.errstate(invalid="ignore", over="ignore"):
        off = looked_at - _expanded(value, slopes, curves, normal)
        unexplained = float(np.sqrt((off**2).mean()))
        return unexplained <= MOST_UNEXPLAINED * float(np.sqrt((slopes**2).sum()))


def second_order(value: float, slopes: Floats, curves: Floats, normal: Floats) -> Output:
    """Sampled from the expansion, terms of two inputs together left out. Source: JCGM 100, 5.1.2, note."""
    parts = slopes**2 + 2.0 * curves**2
    samples = fixed(_expanded(value, slopes, curves, normal))
    return Output(value, math.sqrt(parts.sum()), "second order", parts, slopes, samples)


def by_draws(value: float, slopes: Floats, samples: Floats, normal: Floats) -> Output:
    """As its draws have it, those that could be worked out. Source: JCGM 101, 7."""
    usable = np.isfinite(samples)
    finite = samples[usable]
    doubt = float(finite.std(ddof=1)) if finite.size > 1 else math.nan
    parts = variance_by_input(finite, normal[:, usable])
    return Output(value, doubt, "Monte Carlo", parts, slopes, fixed(samples.copy()))


def fixed(samples: Floats) -> Floats:
    """The same, not to be changed."""
    samples.flags.writeable = False
    return samples
