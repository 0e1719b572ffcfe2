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
- Sampled is the expansion to second order where it comes within `MOST_UNEXPLAINED` of that doubt on
  `LOOKED_AT` draws that are worked out, and its chance is right at the failing point: first with the terms of
  two inputs together left out, then with those of an output that bends along its own slope, as the probes
  have it (`output.common_bends`). Else the output itself is.

A question about many draws takes little longer than one about few: who is asked about them at once is asked
about the `LOOKED_AT` draws along with the steps, whether or not they are needed, lest he is asked again.

Readings that can't be built: a ValueError from `make` at a moved reading, or from one output, counts as "not
a number" there, and sends that output to Monte Carlo. Such draws meet no limit; the doubt is that of the
draws that could be built, and `failed` says how many could not. At the readings themselves a ValueError from
`make` is the caller's to see.
"""

import math
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from server.core.measure.draws import JointDraws
from server.core.measure.estimate import Estimate
from server.core.measure.failing import failing_of
from server.core.measure.normal_chance import normal_chance
from server.core.measure.output import (
    Expansion,
    Method,
    Output,
    by_draws,
    common_bends,
    differences,
    first_order_is_enough,
    first_orders,
    fixed,
    second_orders,
)
from server.core.measure.question import Question, drawn_of
from server.core.measure.shares import ranked

T = TypeVar("T")
Floats = NDArray[np.float64]
Ask = Callable[[Mapping[str, Floats], Sequence[str], int], Floats]

DRAWS = 2000
"""Joint draws where an output is sampled."""
PROBES = 6
"""Joint moves that look for terms of two inputs together."""
LOOKED_AT = 24
"""Draws that are worked out to see whether slopes and curves stand for the others."""


@dataclass(frozen=True, slots=True)
class Response:
    """What `propagate` found, asked for by output name; an unknown name raises KeyError.

    Values and doubts are in each output's own unit.
    """

    _answers: Mapping[str, Output]
    _moved: tuple[str, ...]
    _normal: JointDraws
    bundles: int

    @property
    def outputs(self) -> tuple[str, ...]:
        """The names that can be asked for."""
        return tuple(self._answers)

    def output(self, out: str) -> Output:
        """All that was found of an output."""
        return self._answers[out]

    def beside(self, names: Sequence[str], known: Mapping[str, Output]) -> "Response":
        """The same with outputs found before, of the same inputs in doubt; all of them in this order."""
        answers = {**self._answers, **known}
        return replace(self, _answers=MappingProxyType({out: answers[out] for out in names}))

    def under(self, names: Mapping[str, str]) -> "Response":
        """Some of these outputs by other names: each of those with its name here."""
        return replace(
            self, _answers=MappingProxyType({mine: self._answers[out] for mine, out in names.items()})
        )

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
        return fixed(self._answers[out].draws(self._normal))

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

    def weighty(self, out: str, least: float) -> tuple[str, ...]:
        """The inputs that cause at least this fraction of the output's variance, as `shares` has it [-]."""
        parts = self._answers[out].parts
        with np.errstate(invalid="ignore"):
            weighty = np.flatnonzero((parts > 0.0) & (parts / parts.sum() >= least))
        return tuple(self._moved[at] for at in weighty)

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
        if len(asked) == 1 and asked[0][0].sampled is None:
            answer, limit = asked[0]
            return math.nan if math.isnan(answer.value) or math.isnan(limit) else answer.at_least(limit), 0.0
        if any(math.isnan(answer.value) or math.isnan(limit) for answer, limit in asked):
            return math.nan, math.nan
        if not asked:
            return 1.0, 0.0
        slopes = np.stack([answer.slopes for answer, _ in asked])
        room = np.array([answer.value - limit for answer, limit in asked])
        if not (np.isfinite(slopes).all() and np.isfinite(room).all()):
            truly = _all_met(answer.draws(self._normal) >= limit for answer, limit in asked)
            return _mean(truly.astype(float))
        chance = normal_chance(slopes, room)
        if all(answer.sampled is None for answer, _ in asked):
            return chance, 0.0
        rooms = room[:, np.newaxis] + self._normal.along(slopes)
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

    return propagate_at_once(one_by_one, tuple(outputs), inputs, seed=seed, draws=draws, ahead=False)


def propagate_at_once(
    ask: Ask,
    names: Sequence[str],
    inputs: Mapping[str, Estimate],
    *,
    limit: float | None = None,
    seed: int = 20,
    draws: int = DRAWS,
    ahead: bool = True,
) -> Response:
    """As `propagate`, the outputs asked for in many draws at once.

    ask: from the values of every input in doubt [SI], one array of draws each, the names of the outputs
    wanted and the number of draws, to the outputs, shape (draws, outputs); not a number where one can't be
    worked out. names: of all outputs. limit: what every output is held to, in its own unit. ahead: whether
    the draws that may be looked at are asked about along with the steps. Sources and errors as `propagate`.
    """

    doubtful = {name: reading for name, reading in inputs.items() if reading.doubt > 0.0}

    def one_by_one(questions: Sequence[Question]) -> list[Floats]:
        return [ask(drawn_of(doubtful, one.offsets), one.wanted, len(one.offsets)) for one in questions]

    several = [(names, tuple(doubtful))]
    return propagate_together(one_by_one, several, limit=limit, seed=seed, draws=draws, ahead=ahead)[0]


def propagate_together(
    ask: Callable[[Sequence[Question]], Sequence[Floats]],
    several: Sequence[tuple[Sequence[str], tuple[str, ...]]],
    *,
    limit: float | None = None,
    seed: int = 20,
    draws: int = DRAWS,
    ahead: bool = True,
) -> tuple[Response, ...]:
    """As `propagate_at_once` of several at a time, what they ask at the same stage asked together.

    ask: the answers to such questions in their order. several: the names of the outputs and of the inputs in
    doubt of each. Sources and errors as `propagate`.
    """
    asking = [
        _asking(of, names, moved, limit, seed, draws, ahead) for of, (names, moved) in enumerate(several)
    ]
    found: dict[int, Response] = {}
    questions = [next(one) for one in asking]
    while questions:
        waiting = []
        for one, rows in zip(questions, ask(questions), strict=True):
            try:
                waiting.append(asking[one.of].send(rows))
            except StopIteration as done:
                found[one.of] = done.value
        questions = waiting
    return tuple(found[of] for of in range(len(asking)))


def _asking(
    of: int,
    names: Sequence[str],
    moved: tuple[str, ...],
    limit: float | None,
    seed: int,
    draws: int,
    ahead: bool,
) -> Generator[Question, Floats, Response]:
    """One propagation: asks stage by stage, and takes the rows of answers in return."""
    if draws < 2:
        raise ValueError("the joint sample needs at least 2 draws")

    def at(offsets: Floats, wanted: Iterable[int]) -> Question:
        """The wanted outputs in each row, every input offset by so many of its doubts."""
        return Question(of, offsets, tuple(names[k] for k in wanted))

    normal = JointDraws(moved, seed, draws)
    few = normal.first(LOOKED_AT)
    signs = _probe_signs(few)
    steps = np.eye(len(moved))
    offsets = [np.zeros((1, len(moved))), steps, -steps, signs, few.T if ahead else signs[:0]]
    rows = yield at(np.concatenate(offsets), range(len(names)))
    bundles = len(rows)
    each = np.cumsum([len(some) for some in offsets[:-1]])
    centre, above, below, probes, early = np.split(rows, each)
    centre = centre[0]
    slopes, curves = differences(centre, above, below)
    trusted = first_order_is_enough(centre, slopes, curves, signs, probes)
    failing = failing_of(centre, slopes, limit)
    there = np.empty(0)
    if failing.outputs.size:
        points = yield at(failing.points, failing.outputs)
        bundles += len(points)
        there = np.diag(points)
        trusted[failing.outputs] &= failing.slopes_hold(there)
    told = np.flatnonzero(trusted)
    found = dict(zip(told.tolist(), first_orders(centre[told], slopes[:, told]), strict=True))
    left = np.flatnonzero(~trusted)
    if left.size:
        if ahead:
            drawn = early[:, left]
        else:
            drawn = yield at(few.T, left)
            bundles += len(drawn)
        alone = Expansion(centre, slopes, curves, np.zeros(len(names)))
        bends = common_bends(centre, slopes, curves, signs, probes)
        for expansion in (alone, replace(alone, bends=bends)):
            foreseen = np.ones(len(names), dtype=np.bool_)
            foreseen[failing.outputs] = failing.foreseen(there, expansion)
            enough = expansion.of(left).explains(drawn, few) & foreseen[left]
            told = left[enough]
            found.update(zip(told.tolist(), second_orders(expansion.of(told), normal), strict=True))
            left, drawn = left[~enough], drawn[:, ~enough]
            if not left.size:
                break
    if left.size:
        whole = normal.of(np.ones(len(moved), dtype=np.bool_))
        sampled = yield at(whole.T, left)
        bundles += draws
        for k, samples in zip(left.tolist(), sampled.T, strict=True):
            found[k] = by_draws(float(centre[k]), slopes[:, k], samples, whole)
    return Response(MappingProxyType({out: found[k] for k, out in enumerate(names)}), moved, normal, bundles)


def _all_met(marks: Iterable[NDArray[np.bool_]]) -> NDArray[np.bool_]:
    return np.asarray(np.logical_and.reduce(list(marks)))


def _mean(counted: Floats) -> tuple[float, float]:
    """Mean, and its standard error."""
    return float(counted.mean()), float(counted.std()) / math.sqrt(counted.size)


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
