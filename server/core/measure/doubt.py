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
- Where outputs are held to a limit, one whose limit lies some doubts away is worked out at its likeliest
  failing point too (`failing`): where slopes alone get its chance wrong there, it is sampled as well.
- Sampled is the expansion to second order, terms of two inputs together left out, where it comes within
  `MOST_UNEXPLAINED` of that doubt on `LOOKED_AT` draws that are worked out, and its chance is right at the
  failing point; else the output itself.

Readings that can't be built: a ValueError from `make` at a moved reading, or from one output, counts as "not
a number" there, and sends that output to Monte Carlo. Such draws meet no limit; the doubt is that of the
draws that could be built, and `failed` says how many could not. At the readings themselves a ValueError from
`make` is the caller's to see.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from server.core.measure.draws import joint_draws
from server.core.measure.estimate import Estimate
from server.core.measure.failing import failing_of
from server.core.measure.normal_chance import normal_chance
from server.core.measure.shares import ranked, variance_by_input

T = TypeVar("T")
Floats = NDArray[np.float64]
Method = Literal["first order", "second order", "Monte Carlo"]
Ask = Callable[[Mapping[str, Floats], Sequence[str], int], Floats]

MOST_LEFT_OUT = 0.10
"""Part of the first-order doubt that what it leaves out may reach: then its variance is within 1 %."""
DRAWS = 2000
"""Joint draws where an output is sampled."""
PROBES = 6
"""Joint moves that look for terms of two inputs together."""
LOOKED_AT = 24
"""Draws that are worked out to see whether slopes and curves stand for the others."""
MOST_UNEXPLAINED = 0.03
"""Part of the first-order doubt that slopes and curves may leave unexplained there, root mean square: then a
chance is off by about a point at the most."""


@dataclass(frozen=True, slots=True)
class _Answer:
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


@dataclass(frozen=True, slots=True)
class Response:
    """What `propagate` found, asked for by output name; an unknown name raises KeyError.

    Values and doubts are in each output's own unit.
    """

    _answers: Mapping[str, _Answer]
    _moved: tuple[str, ...]
    _normal: Floats
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
        samples = self.samples(out)
        finite = samples[np.isfinite(samples)]
        return float(finite.mean()) if finite.size else math.nan

    def estimate(self, out: str) -> Estimate:
        """Value and doubt together; raises ValueError where either is not a finite number."""
        return Estimate(self.value(out), self.doubt(out))

    def samples(self, out: str) -> Floats:
        """The output on every joint draw, shape (draws,); the same draw number is the same car throughout."""
        return _kept(self._answers[out].draws(self._normal))

    def method(self, out: str) -> Method:
        """How the doubt was found."""
        return self._answers[out].method

    def failed(self, out: str) -> float:
        """Fraction of the draws that could not be worked out."""
        answer = self._answers[out]
        if answer.sampled is None:
            return float(math.isnan(answer.value))
        return float(np.isnan(answer.sampled).mean())

    def shares(self, out: str) -> tuple[tuple[str, float], ...]:
        """(input, fraction of the output's variance that it causes), largest first, adding up to 1.

        Empty where nothing causes any. A term of two inputs together is halved between them. In Monte Carlo
        terms within the noise of the draws are left out.
        """
        return ranked(self._moved, self._answers[out].parts)

    def probability_at_least(self, out: str, limit: float) -> float:
        """Probability that the output is at least the limit [the output's unit].

        By the normal law for a first-order output, by counting draws otherwise, as `joint_probability` counts
        them; not a number where the value isn't one.
        """
        return self.joint_chance([(out, limit)])[0]

    def joint_probability(self, pairs: Iterable[tuple[str, float]]) -> float:
        """Probability that every (output, limit) pair is met at once.

        1 for no pairs; not a number where any output's value isn't one. Of first-order outputs alone it is
        that of their joint normal law. Where others are among them the joint draws say by how much they
        differ from their slopes: a control variate, which leaves less noise than counting the draws alone. It
        may pass the least of the single probabilities by that noise.
        """
        return self.joint_chance(pairs)[0]

    def joint_chance(self, pairs: Iterable[tuple[str, float]]) -> tuple[float, float]:
        """`joint_probability`, and one standard error of it by the draws counted [-]; 0 where slopes tell it.

        Source: the variance of a mean.
        """
        asked = [(self._answers[out], limit) for out, limit in pairs]
        if any(math.isnan(answer.value) or math.isnan(limit) for answer, limit in asked):
            return math.nan, math.nan
        if not asked:
            return 1.0, 0.0
        if len(asked) == 1 and asked[0][0].sampled is None:
            return asked[0][0].at_least(asked[0][1]), 0.0
        slopes = np.stack([answer.slopes for answer, _ in asked])
        room = np.array([answer.value - limit for answer, limit in asked])
        if not (np.isfinite(slopes).all() and np.isfinite(room).all()):
            truly = _all_met(answer.draws(self._normal) >= limit for answer, limit in asked)
            return _mean(truly.astype(float))
        chance = normal_chance(slopes, room)
        if all(answer.sampled is None for answer, _ in asked):
            return chance, 0.0
        rooms = room[:, np.newaxis] + _along(slopes, self._normal)
        by_slopes = _all_met(rooms >= 0.0)
        for row, (answer, limit) in zip(rooms, asked, strict=True):
            if answer.sampled is not None:
                row[:] = answer.sampled - limit
        truly = _all_met(rooms >= 0.0)
        differs, error = _mean(truly.astype(float) - by_slopes)
        return min(max(chance + differs, 0.0), 1.0), error


def propagate(
    make: Callable[[Mapping[str, float]], T],
    outputs: Mapping[str, Callable[[T], float]],
    inputs: Mapping[str, Estimate],
    *,
    seed: int = 20,
    draws: int = DRAWS,
) -> Response:
    """Carry the doubt of readings to everything computed from them.

    make: builds one bundle from a value per input [SI]; outputs: read one number off a bundle; inputs: the
    readings, normal and independent, exact ones with doubt 0; seed, draws: of the joint sample. `make` is
    called once at the readings, twice per input in doubt and `PROBES` times more; `LOOKED_AT` times more
    where the first order is not enough, and `draws` times more, in all, where the second is not. The same
    seed gives the same answer, and an input's draws depend on its name alone: adding another leaves them as
    they are.

    Sources: JCGM 100:2008, 5.1.2 and 5.1.3; JCGM 101:2008, 7. Raises ValueError for fewer than 2 draws, and
    what `make` raises at the readings themselves.

    >>> side = {"a": Estimate(3.0, 0.3), "b": Estimate(4.0, 0.4)}
    >>> found = propagate(lambda v: v, {"sum": lambda v: v["a"] + v["b"]}, side)
    >>> found.value("sum"), round(found.doubt("sum"), 6), found.method("sum")
    (7.0, 0.5, 'first order')
    """
    readings = {name: reading.value for name, reading in inputs.items()}
    base = make(readings)

    def row(values: Mapping[str, float], wanted: Sequence[str]) -> list[float]:
        try:
            bundle = base if values == readings else make(values)
        except ValueError:
            return [math.nan] * len(wanted)
        return [_read_off(outputs[out], bundle) for out in wanted]

    def one_by_one(drawn: Mapping[str, Floats], wanted: Sequence[str], count: int) -> Floats:
        rows = zip(*(some.tolist() for some in drawn.values()), strict=True) if drawn else [()] * count
        found = [row({**readings, **dict(zip(drawn, values, strict=True))}, wanted) for values in rows]
        return np.array(found, dtype=np.float64).reshape(count, len(wanted))

    return propagate_at_once(one_by_one, tuple(outputs), inputs, seed=seed, draws=draws)


def propagate_at_once(
    ask: Ask,
    names: Sequence[str],
    inputs: Mapping[str, Estimate],
    *,
    limit: float | None = None,
    seed: int = 20,
    draws: int = DRAWS,
) -> Response:
    """As `propagate`, the outputs asked for in many draws at once.

    ask: from the values of every input in doubt [SI], one array of draws each, the names of the outputs
    wanted and the number of draws, to the outputs, shape (draws, outputs); not a number where one can't be
    worked out. names: of all outputs. limit: what every output is held to, in its own unit. Sources and
    errors as `propagate`.
    """
    if draws < 2:
        raise ValueError("the joint sample needs at least 2 draws")
    moved = tuple(name for name, reading in inputs.items() if reading.doubt > 0.0)

    def at(offsets: Floats, wanted: Sequence[int]) -> Floats:
        """The wanted outputs in each row, every input offset by so many of its doubts."""
        drawn = {
            name: inputs[name].value + inputs[name].doubt * offsets[:, k] for k, name in enumerate(moved)
        }
        return ask(drawn, [names[k] for k in wanted], len(offsets))

    normal = joint_draws(moved, seed, draws)
    signs = _probe_signs(normal)
    steps = np.eye(len(moved))
    rows = at(np.concatenate([np.zeros((1, len(moved))), steps, -steps, signs]), range(len(names)))
    centre, above, below, probes = np.split(rows, np.cumsum([1, len(moved), len(moved)]))
    centre = centre[0]
    slopes, curves = _differences(centre, above, below)
    trusted = _first_order_is_enough(centre, slopes, curves, signs, probes)
    found = {k: _first_order(float(centre[k]), slopes[:, k]) for k in np.flatnonzero(trusted).tolist()}
    failing = failing_of(centre, slopes, curves, limit)
    looked_into = [k for k in range(len(names)) if k not in found or k in failing.reach]
    bundles = len(rows)
    if looked_into:
        few = normal[:, :LOOKED_AT]
        points = [failing.point(k) for k in failing.reach]
        place = {k: number for number, k in enumerate(failing.reach)}
        looked_at = at(np.stack([*few.T, *points]), looked_into)
        bundles += len(looked_at)
        for column, k in enumerate(looked_into):
            drawn, at_points = np.split(looked_at[:, column], [few.shape[1]])
            there = float(at_points[place[k]]) if k in place else None
            if k in found and there is not None and failing.slopes_hold(k, there):
                continue
            found.pop(k, None)
            if (there is None or failing.curves_hold(k, there)) and _curves_explain(
                drawn, float(centre[k]), slopes[:, k], curves[:, k], few
            ):
                found[k] = _second_order(float(centre[k]), slopes[:, k], curves[:, k], normal)
    doubtful = [k for k in range(len(names)) if k not in found]
    if doubtful:
        sampled = at(normal.T, doubtful)
        bundles += draws
        for column, k in enumerate(doubtful):
            found[k] = _sampled(float(centre[k]), slopes[:, k], sampled[:, column], normal)
    return Response(MappingProxyType({out: found[k] for k, out in enumerate(names)}), moved, normal, bundles)


def _all_met(marks: Iterable[NDArray[np.bool_]]) -> NDArray[np.bool_]:
    return np.asarray(np.logical_and.reduce(list(marks)))


def _mean(counted: Floats) -> tuple[float, float]:
    """Mean, and its standard error."""
    return float(counted.mean()), float(counted.std()) / math.sqrt(counted.size)


def _along(slopes: Floats, normal: Floats) -> Floats:
    """slopes @ normal, inputs that move nothing left out: shape (outputs, draws)."""
    moving = slopes.any(axis=0)
    return np.asarray(slopes[:, moving] @ normal[moving])


def _read_off(output: Callable[[T], float], bundle: T) -> float:
    try:
        return output(bundle)
    except ValueError:
        return math.nan


def _probe_signs(normal: Floats) -> Floats:
    """One row a probe: every input up or down by one, as its first draws have it; none for a lone input."""
    if len(normal) < 2:
        return np.empty((0, len(normal)))
    return np.where(normal[:, :PROBES] >= 0.0, 1.0, -1.0).T


def _less(many: Floats, base: Floats) -> Floats:
    """many - base, with equal values (infinities too) differing by nothing."""
    with np.errstate(invalid="ignore", over="ignore"):
        return np.where(many == base, 0.0, many - base)


def _differences(centre: Floats, above: Floats, below: Floats) -> tuple[Floats, Floats]:
    """(slopes, curves), each of shape (inputs, outputs), in the output's unit for a step of one."""
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


def _first_order(value: float, slopes: Floats) -> _Answer:
    parts = slopes**2 if not math.isnan(value) else np.zeros_like(slopes)
    doubt = math.sqrt(parts.sum()) if not math.isnan(value) else math.nan
    return _Answer(value, doubt, "first order", parts, slopes, None)


def _expanded(value: float, slopes: Floats, curves: Floats, normal: Floats) -> Floats:
    """An output in each draw by its slopes and curves, shape (draws,)."""
    moving = (slopes != 0.0) | (curves != 0.0)
    moved = normal[moving]
    return np.asarray(value + slopes[moving] @ moved + curves[moving] @ (moved * moved))


def _curves_explain(looked_at: Floats, value: float, slopes: Floats, curves: Floats, normal: Floats) -> bool:
    """Whether slopes and curves come so near to the draws looked at that they stand for the others."""
    with np.errstate(invalid="ignore", over="ignore"):
        off = looked_at - _expanded(value, slopes, curves, normal)
        unexplained = float(np.sqrt((off**2).mean()))
        return unexplained <= MOST_UNEXPLAINED * float(np.sqrt((slopes**2).sum()))


def _second_order(value: float, slopes: Floats, curves: Floats, normal: Floats) -> _Answer:
    """Sampled from the expansion, terms of two inputs together left out. Source: JCGM 100, 5.1.2, note."""
    parts = slopes**2 + 2.0 * curves**2
    samples = _kept(_expanded(value, slopes, curves, normal))
    return _Answer(value, math.sqrt(parts.sum()), "second order", parts, slopes, samples)


def _sampled(value: float, slopes: Floats, samples: Floats, normal: Floats) -> _Answer:
    usable = np.isfinite(samples)
    finite = samples[usable]
    doubt = float(finite.std(ddof=1)) if finite.size > 1 else math.nan
    parts = variance_by_input(finite, normal[:, usable])
    return _Answer(value, doubt, "Monte Carlo", parts, slopes, _kept(samples.copy()))


def _kept(samples: Floats) -> Floats:
    """The same, not to be changed."""
    samples.flags.writeable = False
    return samples
