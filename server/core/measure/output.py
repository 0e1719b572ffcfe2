"""One output of the doubt engine: what was found of it, by slopes, by curves too, or by draws."""

import math
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from server.core.measure.draws import JointDraws
from server.core.measure.shares import variance_by_input

Floats = NDArray[np.float64]
Method = Literal["first order", "second order", "Monte Carlo"]

MOST_LEFT_OUT = 0.10
"""Part of the first-order doubt that what it leaves out may reach: then its variance is within 1 %."""
MOST_UNEXPLAINED = 0.03
"""Part of the first-order doubt that slopes and curves may leave unexplained, root mean square: then a chance
is off by about a point at the most."""
_PAIRS_TELL = 0.01
"""What probes say of two inputs together, squared, beside the variance squared [-]: less says nothing."""


class Output(NamedTuple):
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

    def draws(self, normal: JointDraws) -> Floats:
        """The output on every joint draw, shape (draws,)."""
        return self.value + normal.along(self.slopes[np.newaxis])[0] if self.sampled is None else self.sampled

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
        found = many - base
        # Of equal values infinities alone differ by no number.
        return np.where(many == base, 0.0, found) if np.isnan(found).any() else found


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
        missed = _missed(centre, slopes, curves, signs, probes)
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


def _missed(centre: Floats, slopes: Floats, curves: Floats, signs: Floats, probes: Floats) -> Floats:
    """What probes found beyond slopes and curves: terms of two inputs together."""
    return less(probes, centre + signs @ slopes + curves.sum(axis=0))


def common_bends(centre: Floats, slopes: Floats, curves: Floats, signs: Floats, probes: Floats) -> Floats:
    """How much each output bends along its own slope, per its own unit, by what two inputs do together.

    An output that is one bent function of one straight sum, such as the logarithm of a loss beside another,
    has terms s_i s_j z_i z_j of one size for every two inputs: the one that fits the probes best, 0 where
    they don't tell. The rest as `first_order_is_enough`. Source: chain rule; least squares.
    """
    with np.errstate(invalid="ignore", over="ignore"):
        variance = (slopes**2).sum(axis=0)
        pairs = (signs @ slopes) ** 2 - variance
        missed = _missed(centre, slopes, curves, signs, probes)
        weight = (pairs**2).sum(axis=0)
        told = weight > _PAIRS_TELL * variance**2
        return np.where(told, (pairs * missed).sum(axis=0) / np.where(told, weight, 1.0), 0.0)


@dataclass(frozen=True, slots=True)
class Expansion:
    """Outputs to second order: values at the readings; slopes, curves and bends for a step of one doubt.

    slopes, curves: first and second differences, shape (inputs, outputs). bends: as `common_bends`.
    """

    values: Floats
    slopes: Floats
    curves: Floats
    bends: Floats

    def of(self, some: NDArray[np.intp]) -> "Expansion":
        """Some of the outputs, by their numbers."""
        return Expansion(self.values[some], self.slopes[:, some], self.curves[:, some], self.bends[some])

    def at(self, normal: Floats) -> Floats:
        """The outputs in each draw, shape (outputs, draws). normal: the draws, in doubts of inputs [-]."""
        straight = self.slopes.T @ normal
        alone = self.curves - self.bends * self.slopes**2
        bent = self.bends[:, np.newaxis] * straight**2
        return np.asarray(self.values[:, np.newaxis] + straight + alone.T @ (normal * normal) + bent)

    def in_draws(self, normal: JointDraws) -> Floats:
        """The same in all joint draws."""
        moving = ((self.slopes != 0.0) | (self.curves != 0.0)).any(axis=1)
        moved = replace(self, slopes=self.slopes[moving], curves=self.curves[moving])
        return moved.at(normal.of(moving))

    def explains(self, looked_at: Floats, normal: Floats) -> NDArray[np.bool_]:
        """Whether it comes so near to the draws looked at that it stands for the others.

        looked_at: shape (draws, outputs). normal: those draws, in doubts of each input [-].
        """
        with np.errstate(invalid="ignore", over="ignore"):
            unexplained = np.sqrt(((looked_at - self.at(normal).T) ** 2).mean(axis=0))
            return np.asarray(unexplained <= MOST_UNEXPLAINED * np.sqrt((self.slopes**2).sum(axis=0)))


def second_orders(expansion: Expansion, normal: JointDraws) -> list[Output]:
    """Sampled from the expansion; a term of two inputs is halved between them.

    normal: the draws, in doubts of each input. Source: JCGM 100, 5.1.2, note.
    """
    squares = expansion.slopes**2
    shared = 2.0 * expansion.bends**2 * squares * (squares.sum(axis=0) - squares)
    parts = squares + 2.0 * expansion.curves**2 + shared
    doubts = np.sqrt(parts.sum(axis=0))
    samples = expansion.in_draws(normal)
    each = zip(expansion.values.tolist(), doubts.tolist(), parts.T, expansion.slopes.T, samples, strict=True)
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
