"""The doubt engine: what the doubt of every reading does to everything computed from them.

First order by differences with a step of one standard uncertainty (JCGM 100:2008, 5.1.3, note 2); where that
fails, Monte Carlo (JCGM 101:2008). One reading is one variable, however many results it enters, so results
that share a reading rise and fall together and "all of them pass" is counted on the same draws.

How the first order is judged, for each output, with slope_i and curve_i the first and second differences:

- The expansion to second order has standard uncertainty √Σ slope² from its first-order terms. What those
  leave out is 2 Σ curve² (JCGM 100, 5.1.2, note) and the terms of two inputs together. The latter don't show
  when one input is moved at a time, so a few probes move all of them at once by one standard uncertainty, up
  or down; the mean square of what the slopes and curves don't explain estimates them.
- Where √(2 Σ curve² + that mean square) + |Σ curve|, the last being the shift of the mean, is more than
  `MOST_LEFT_OUT` of the first-order doubt, the output is sampled. Where all slopes vanish, any rest is more.

Readings that can't be built: a ValueError from `make` at a moved reading, or from one output, counts as "not
a number" there, and sends that output to Monte Carlo. Such draws meet no limit; the doubt is that of the
draws that could be built, and `failed` says how many could not. At the readings themselves a ValueError from
`make` is the caller's to see.
"""

import hashlib
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from server.core.measure.estimate import Estimate

T = TypeVar("T")
Floats = NDArray[np.float64]
Method = Literal["first order", "Monte Carlo"]

MOST_LEFT_OUT = 0.15
"""Part of the first-order doubt that what it leaves out may reach: then its variance is within about 2 %."""
PROBES = 6
"""Joint moves that look for terms of two inputs together."""


@dataclass(frozen=True, slots=True)
class _Answer:
    """One output: value at the readings, doubt, how that was found, draws, and what causes the variance."""

    value: float
    doubt: float
    method: Method
    samples: Floats
    shares: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Response:
    """What `propagate` found, asked for by output name; an unknown name raises KeyError.

    Values and doubts are in each output's own unit.
    """

    _answers: Mapping[str, _Answer]
    bundles: int

    @property
    def outputs(self) -> tuple[str, ...]:
        """The names that can be asked for."""
        return tuple(self._answers)

    def value(self, out: str) -> float:
        """The output at the readings as they stand; not a number where it can't be worked out there."""
        return self._answers[out].value

    def doubt(self, out: str) -> float:
        """One standard uncertainty of the output; zero only where no reading moves it at all."""
        return self._answers[out].doubt

    def mean(self, out: str) -> float:
        """Mean over the draws that could be built; differs from the value where the first order fails."""
        samples = self._answers[out].samples
        finite = samples[np.isfinite(samples)]
        return float(finite.mean()) if finite.size else math.nan

    def estimate(self, out: str) -> Estimate:
        """Value and doubt together; raises ValueError where either is not a finite number."""
        return Estimate(self.value(out), self.doubt(out))

    def samples(self, out: str) -> Floats:
        """The output on every joint draw, shape (draws,); the same draw number is the same car throughout."""
        return self._answers[out].samples

    def method(self, out: str) -> Method:
        """How the doubt was found."""
        return self._answers[out].method

    def failed(self, out: str) -> float:
        """Fraction of the draws that could not be worked out."""
        return float(np.isnan(self._answers[out].samples).mean())

    def shares(self, out: str) -> tuple[tuple[str, float], ...]:
        """(input, fraction of the output's variance that it causes), largest first, adding up to 1.

        Empty where nothing causes any. A term of two inputs together is halved between them. In Monte Carlo
        terms within the noise of the draws are left out.
        """
        return self._answers[out].shares

    def probability_at_least(self, out: str, limit: float) -> float:
        """Probability that the output is at least the limit [the output's unit].

        By the normal law for a first-order output, by counting draws otherwise; not a number where the value
        isn't one.
        """
        answer = self._answers[out]
        if math.isnan(answer.value) or math.isnan(limit):
            return math.nan
        if answer.method == "Monte Carlo":
            return float((answer.samples >= limit).mean())
        if answer.doubt == 0.0 or math.isinf(answer.value):
            return 1.0 if answer.value >= limit else 0.0
        return float(ndtr((answer.value - limit) / answer.doubt))

    def joint_probability(self, pairs: Iterable[tuple[str, float]]) -> float:
        """Probability that every (output, limit) pair is met at once, counted on the joint draws.

        1 for no pairs; not a number where any output's value isn't one. Counting makes it uncertain by up to
        1/(2 √draws), so it may pass the least of the single probabilities by that much.
        """
        met: NDArray[np.bool_] | None = None
        for out, limit in pairs:
            answer = self._answers[out]
            if math.isnan(answer.value) or math.isnan(limit):
                return math.nan
            meets = answer.samples >= limit
            met = meets if met is None else met & meets
        return 1.0 if met is None else float(met.mean())


def propagate(
    make: Callable[[Mapping[str, float]], T],
    outputs: Mapping[str, Callable[[T], float]],
    inputs: Mapping[str, Estimate],
    *,
    seed: int = 20,
    draws: int = 2000,
) -> Response:
    """Carry the doubt of readings to everything computed from them.

    make: builds one bundle from a value per input [SI]; outputs: read one number off a bundle; inputs: the
    readings, normal and independent, exact ones with doubt 0; seed, draws: of the joint sample. `make` is
    called once at the readings, twice per input in doubt and `PROBES` times more; `draws` times more in all,
    not per output, where any output needs Monte Carlo. The same seed gives the same answer, and an input's
    draws depend on its name alone: adding another leaves them as they are.

    Sources: JCGM 100:2008, 5.1.2 and 5.1.3; JCGM 101:2008, 7. Raises ValueError for fewer than 2 draws, and
    what `make` raises at the readings themselves.

    >>> side = {"a": Estimate(3.0, 0.3), "b": Estimate(4.0, 0.4)}
    >>> found = propagate(lambda v: v, {"sum": lambda v: v["a"] + v["b"]}, side)
    >>> found.value("sum"), round(found.doubt("sum"), 6), found.method("sum")
    (7.0, 0.5, 'first order')
    """
    if draws < 2:
        raise ValueError("the joint sample needs at least 2 draws")
    moved = tuple(name for name, reading in inputs.items() if reading.doubt > 0.0)
    readings = {name: reading.value for name, reading in inputs.items()}

    def row(offsets: Floats, wanted: Sequence[str]) -> Floats:
        """The wanted outputs with every moved input offset by so many of its standard uncertainties."""
        values = dict(readings)
        for name, offset in zip(moved, offsets.tolist(), strict=True):
            values[name] += offset * inputs[name].doubt
        try:
            bundle = make(values)
        except ValueError:
            return np.full(len(wanted), math.nan)
        return np.array([_read_off(outputs[out], bundle) for out in wanted], dtype=np.float64)

    names = tuple(outputs)
    normal = _joint_draws(moved, seed, draws)
    base = make(readings)
    centre = np.array([_read_off(outputs[out], base) for out in names], dtype=np.float64)
    slopes, curves = _differences(centre, moved, lambda offsets: row(offsets, names))
    signs = _probe_signs(normal)
    probes = np.array([row(one, names) for one in signs]).reshape(len(signs), len(names))
    trusted = _first_order_is_enough(centre, slopes, curves, signs, probes)
    answers = {
        out: _first_order(moved, float(centre[k]), slopes[:, k], normal)
        for k, out in enumerate(names)
        if trusted[k]
    }
    doubtful = [out for k, out in enumerate(names) if not trusted[k]]
    if doubtful:
        sampled = np.array([row(one, doubtful) for one in normal.T])
        for k, out in enumerate(doubtful):
            answers[out] = _sampled(moved, float(centre[names.index(out)]), sampled[:, k], normal)
    bundles = 1 + 2 * len(moved) + len(signs) + (draws if doubtful else 0)
    return Response(MappingProxyType({out: answers[out] for out in names}), bundles)


def _read_off(output: Callable[[T], float], bundle: T) -> float:
    try:
        return output(bundle)
    except ValueError:
        return math.nan


@lru_cache(maxsize=512)
def _stream(name: str, seed: int, draws: int) -> Floats:
    """Standard normal draws of one input, a stream of its own that depends on its name alone."""
    digest = hashlib.sha256(name.encode("utf-8")).digest()
    own = int.from_bytes(digest[:8], "big")
    stream = np.random.default_rng([seed, own]).standard_normal(draws)
    stream.flags.writeable = False
    return stream


def _joint_draws(names: Sequence[str], seed: int, draws: int) -> Floats:
    """Shape (inputs, draws)."""
    if not names:
        return np.empty((0, draws))
    return np.stack([_stream(name, seed, draws) for name in names])


def _probe_signs(normal: Floats) -> Floats:
    """One row a probe: every input up or down by one, as its first draws have it; none for a lone input."""
    if len(normal) < 2:
        return np.empty((0, len(normal)))
    return np.where(normal[:, :PROBES] >= 0.0, 1.0, -1.0).T


def _less(many: Floats, base: Floats) -> Floats:
    """many - base, with equal values (infinities too) differing by nothing."""
    with np.errstate(invalid="ignore", over="ignore"):
        return np.where(many == base, 0.0, many - base)


def _differences(
    centre: Floats, moved: Sequence[str], row: Callable[[Floats], Floats]
) -> tuple[Floats, Floats]:
    """(slopes, curves), each of shape (inputs, outputs), in the output's unit for a step of one."""
    steps = np.eye(len(moved))
    shape = (len(moved), len(centre))
    above = np.array([row(step) for step in steps]).reshape(shape)
    below = np.array([row(-step) for step in steps]).reshape(shape)
    with np.errstate(invalid="ignore", over="ignore"):
        return _less(above, below) / 2.0, (_less(above, centre) + _less(below, centre)) / 2.0


def _first_order_is_enough(
    centre: Floats, slopes: Floats, curves: Floats, signs: Floats, probes: Floats
) -> NDArray[np.bool_]:
    """For each output, whether what the slopes leave out is small beside them (see the top of the module)."""
    with np.errstate(invalid="ignore", over="ignore"):
        first = np.sqrt((slopes**2).sum(axis=0))
        shift = curves.sum(axis=0)
        missed = _less(probes, centre + signs @ slopes + shift)
        together = (missed**2).sum(axis=0) / max(len(signs), 1)
        left_out = np.sqrt(2.0 * (curves**2).sum(axis=0) + together) + np.abs(shift)
        rounding = 1e-12 * np.where(np.isfinite(centre), np.abs(centre), 0.0)
        enough = np.isfinite(first) & (left_out <= MOST_LEFT_OUT * first + rounding)
    # Nothing is gained by sampling round a point that can't be worked out itself.
    return np.asarray(enough | np.isnan(centre), dtype=np.bool_)


def _first_order(moved: Sequence[str], value: float, slopes: Floats, normal: Floats) -> _Answer:
    if math.isnan(value):
        return _Answer(value, math.nan, "first order", _kept(np.full(normal.shape[1], math.nan)), ())
    doubt = float(np.sqrt((slopes**2).sum()))
    return _Answer(value, doubt, "first order", _kept(value + slopes @ normal), _ranked(moved, slopes**2))


def _sampled(moved: Sequence[str], value: float, samples: Floats, normal: Floats) -> _Answer:
    usable = np.isfinite(samples)
    finite = samples[usable]
    doubt = float(finite.std(ddof=1)) if finite.size > 1 else math.nan
    shares = _ranked(moved, _variance_by_input(finite, normal[:, usable]))
    return _Answer(value, doubt, "Monte Carlo", _kept(samples.copy()), shares)


def _variance_by_input(samples: Floats, normal: Floats) -> Floats:
    """Variance that each input causes, from the draws alone.

    The output is expanded in z_i, (z_i² - 1)/√2 and z_i z_j, which are orthonormal for independent standard
    normal inputs, so that squared coefficients are parts of the variance. A coefficient within four standard
    errors of nothing is noise. Source: geometry (orthogonal expansion).
    """
    count = samples.size
    if count < 2:
        return np.zeros(len(normal))
    centred = samples - samples.mean()
    noise = 16.0 * float(centred.var()) / count
    pairs = (normal * centred) @ normal.T / count
    alone = np.stack([normal @ centred / count, np.diag(pairs) / math.sqrt(2.0)]) ** 2
    together = pairs**2
    np.fill_diagonal(together, 0.0)
    alone[alone <= noise] = 0.0
    together[together <= noise] = 0.0
    return np.asarray(alone.sum(axis=0) + together.sum(axis=0) / 2.0)


def _ranked(moved: Sequence[str], parts: Floats) -> tuple[tuple[str, float], ...]:
    total = float(parts.sum())
    if not total > 0.0:
        return ()
    shares = ((name, part / total) for name, part in zip(moved, parts.tolist(), strict=True) if part > 0.0)
    return tuple(sorted(shares, key=lambda share: -share[1]))


def _kept(samples: Floats) -> Floats:
    samples.flags.writeable = False
    return samples
