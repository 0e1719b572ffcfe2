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

MOST_LEFT_OUT = 0.10
"""Part of the first-order doubt that what it leaves out may reach: then its variance is within 1 %."""
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


def less(many: Floats, base: Floats) -> Floats:
    """many - base, in their own unit, equal values (infinities too) differing by nothing.

    Source: definition.
    """
    with np.errstate(invalid="ignore", over="ignore"):
        return np.where(many == base, 0.0, many - base)


def differences(centre: Floats, above: Floats, below: Floats) -> tuple[Floats, Floats]:
    """(slopes, curves), each of shape (inputs, outputs), in the output's unit for a step of one.

    centre, above, below: at the readings, and a step either way. Source: JCGM 100:2008, 5.1.3, note 2.
    """
    with np.errstate(invalid="ignore", over="ignore"):
        return less(above, below) / 2.0, (less(above, centre) + less(below, centre)) / 2.0


def first_order_is_enough(
    centre: Floats, slopes: Floats, curves: Floats, signs: Floats, probes: Floats
) -> NDArray[np.bool_]:
    """For each output, whether what the slopes leave out is small beside them, as `doubt` tells.

    signs: of the probes, shape (probes, inputs) [-]. probes: the outputs there, in their own units.
    Source: JCGM 100, 5.1.2, note.
    """
    with np.errstate(invalid="ignore", over="ignore"):
        first = np.sqrt((slopes**2).sum(axis=0))
        shift = curves.sum(axis=0)
        missed = less(probes, centre + signs @ slopes + shift)
        together = (missed**2).sum(axis=0) / max(len(signs), 1)
        left_out = np.sqrt(2.0 * (curves**2).sum(axis=0) + together) + np.abs(shift)
        rounding = 1e-12 * np.where(np.isfinite(centre), np.abs(centre), 0.0)
        enough = np.isfinite(first) & (left_out <= MOST_LEFT_OUT * first + rounding)
    # Nothing is gained by sampling round a point that can't be worked out itself.
    return np.asarray(enough | np.isnan(centre), dtype=np.bool_)


def first_orders(values: Floats, slopes: Floats) -> list[Output]:
    """Outputs as their slopes have them: shape (inputs, outputs). Source: JCGM 100, 5.1.2."""
    told = ~np.isnan(values)
    parts = np.where(told, slopes**2, 0.0)
    doubts = np.where(told, np.sqrt(parts.sum(axis=0)), np.nan)
    each = zip(values.tolist(), doubts.tolist(), parts.T, slopes.T, strict=True)
    return [Output(value, doubt, "first order", part, slope, None) for value, doubt, part, slope in each]


def _expanded(values: Floats, slopes: Floats, curves: Floats, normal: Floats) -> Floats:
    """Outputs in each draw by their slopes and curves, shape (outputs, draws)."""
    moving = ((slopes != 0.0) | (curves != 0.0)).any(axis=1)
    moved = normal[moving]
    return np.asarray(values[:, np.newaxis] + slopes[moving].T @ moved + curves[moving].T @ (moved * moved))


def curves_explain(
    looked_at: Floats, values: Floats, slopes: Floats, curves: Floats, normal: Floats
) -> NDArray[np.bool_]:
    """Whether slopes and curves come so near to the draws looked at that they stand for the others.

    Of each output, all but the draws in its own unit, for a step of one doubt; normal: those draws [-].
    """
    with np.errstate(invalid="ignore", over="ignore"):
        off = looked_at - _expanded(values, slopes, curves, normal).T
        unexplained = np.sqrt((off**2).mean(axis=0))
        return np.asarray(unexplained <= MOST_UNEXPLAINED * np.sqrt((slopes**2).sum(axis=0)))


def second_orders(values: Floats, slopes: Floats, curves: Floats, normal: Floats) -> list[Output]:
    """Sampled from the expansion, terms of two inputs together left out. Source: JCGM 100, 5.1.2, note."""
    parts = slopes**2 + 2.0 * curves**2
    doubts = np.sqrt(parts.sum(axis=0))
    samples = _expanded(values, slopes, curves, normal)
    each = zip(values.tolist(), doubts.tolist(), parts.T, slopes.T, samples, strict=True)
    return [
        Output(value, doubt, "second order", part, slope, fixed(drawn))
        for value, doubt, part, slope, drawn in each
    ]


def by_draws(value: float, slopes: Floats, samples: Floats, normal: Floats) -> Output:
    """As its draws have it, those that could be worked out. Source: JCGM 101, 7."""
    usable = np.isfinite(samples)
    finite, known = (samples, normal) if usable.all() else (samples[usable], normal[:, usable])
    doubt = float(finite.std(ddof=1)) if finite.size > 1 else math.nan
    parts = variance_by_input(finite, known)
    return Output(value, doubt, "Monte Carlo", parts, slopes, fixed(samples.copy()))


def fixed(samples: Floats) -> Floats:
    """The same, not to be changed."""
    samples.flags.writeable = False
    return samples
