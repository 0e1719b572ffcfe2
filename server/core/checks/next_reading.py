"""What to measure next in a whole build: the readings that would settle the most checks.

A good reading does two things: it takes the doubt of the old one away, and it moves the value, by as much as
the old doubt allowed. How often a check is decided afterwards is found by trying the values it may come to.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

from scipy.special import ndtri

from server.core.checks.after_reading import Trial, judge_after
from server.core.checks.answer import UNSETTLED, Answers, Check
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.names import BY_CALIPER, plain_name
from server.core.checks.rule import Rule, Verdict
from server.core.measure.estimate import Estimate
from server.core.measure.instruments import instrument

_OUTCOMES = 7
"""Values that a reading is tried with, each as likely as the next."""

_ALONG = frozenset({"length", "length_out", "overlap", "at", "bend_radius", "travel"})
"""Sizes that a tape takes, mark to mark."""

_TEMPERATURES = frozenset({"bonnet_temperature", "exhaust_temperature"})


@dataclass(frozen=True, slots=True)
class OpenRun:
    """A run of the build with those of its checks that are open, not conceded.

    key: the caller's own name of it. weight: what its checks hold up, counted as the caller likes [-].
    """

    key: str
    case: Case
    checks: tuple[Check, ...]
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Settled:
    """A check that a reading would settle. key: of its run. probability: that it is decided then [-]."""

    key: str
    rule: Rule
    probability: float


@dataclass(frozen=True, slots=True)
class NextReading:
    """A reading worth taking.

    variable, name: as `Case.variables` has it, and in plain words. instrument: code of what to take it with.
    settles: the checks, the likeliest first. worth: their chances times the weight of their runs, added up.
    share: of what all the open checks weigh [-].
    """

    variable: str
    name: str
    instrument: str
    settles: tuple[Settled, ...]
    worth: float
    share: float


def open_run(key: str, case: Case, answers: Answers, weight: float = 1.0) -> OpenRun:
    """A run with those of its checks that are tight or no-go and not conceded; weight as `OpenRun` [-]."""
    checks = (one for one in answers.checks if one.verdict in UNSETTLED and one.conceded is None)
    return OpenRun(key, case, tuple(checks), weight)


def next_readings(runs: Sequence[OpenRun]) -> tuple[NextReading, ...]:
    """The readings that would settle checks, the one worth most first.

    None where nothing open rests on a doubt that a reading takes away. A check is settled by a tight one's
    turning go or no-go, or a no-go's turning go. A reading stands for the same thing in every run, so that
    its worth is added over them. Source: preposterior analysis on the doubts of JCGM 100:2008; the doubt of
    a good reading is that of `measure.instruments`.
    """
    total = sum(run.weight * len(run.checks) for run in runs)
    by_variable: dict[str, list[tuple[OpenRun, Settled]]] = {}
    for run in runs:
        for variable, settled in _settled_in(run):
            by_variable.setdefault(variable, []).append((run, settled))
    found = (_told(variable, settled, total) for variable, settled in by_variable.items())
    return tuple(sorted(found, key=lambda one: (-one.worth, one.variable)))


def best_instrument(variable: str) -> str | None:
    """Code of the instrument that takes a variable best in a garage; None where none does."""
    owner, _, size = variable.rpartition(".")
    if size.startswith(BY_CALIPER):
        return "digital_caliper"
    if size in _ALONG:
        return "tape"
    if size == "bend_angle":
        return "angle_gauge"
    if owner == "engine" and size in _TEMPERATURES:
        return "thermometer"
    return "pressure_gauge" if variable == "engine.boost" else None


def _told(variable: str, settled: Sequence[tuple[OpenRun, Settled]], total: float) -> NextReading:
    worth = sum(run.weight * one.probability for run, one in settled)
    ranked = sorted((one for _, one in settled), key=lambda one: -one.probability)
    name = plain_name(settled[0][0].case.plan, variable)
    code = best_instrument(variable)
    assert code is not None  # or it would not have been tried
    return NextReading(variable, name, code, tuple(ranked), worth, worth / total)


def _settled_in(run: OpenRun) -> Iterable[tuple[str, Settled]]:
    """Each variable with each check of this run that a good reading of it may settle."""
    case, sizes = run.case, run.case.variables()
    unsettled = {one.rule.code: one for one in run.checks}
    trials: dict[str, list[Trial]] = {}
    for variable, rules in _candidates(run.checks).items():
        now = sizes[variable]
        good = _good_doubt(case, variable, now)
        if good is not None:
            trials[variable] = [Trial(tuple(rules), {variable: read}) for read in _outcomes(now, good)]
    every = [one for some in trials.values() for one in some]
    after = iter(judge_after(Facts.at_best(case), every))
    for variable, some in trials.items():
        decided = Counter(code for _ in some for code in _decided(unsettled, next(after)))
        for tried_rule in some[0].rules:
            if decided[tried_rule.code]:
                yield variable, Settled(run.key, tried_rule, decided[tried_rule.code] / _OUTCOMES)


def _candidates(unsettled: Iterable[Check]) -> Mapping[str, list[Rule]]:
    """The variables that matter to what is in question, with the rules of the checks that it is in."""
    found: dict[str, list[Rule]] = {}
    for one in unsettled:
        for variable in one.weighty:
            found.setdefault(variable, []).append(one.rule)
    return found


def _good_doubt(case: Case, variable: str, now: Estimate) -> float | None:
    """Standard uncertainty of a good reading [SI]; None where it would be no better than what there is."""
    code = best_instrument(variable)
    if code is None:
        return None
    value = now.value
    if variable == "engine.boost" and case.engine is not None:
        # The variable is what is added to the sheet's boost; a gauge reads all of it.
        value = case.engine.at_peak.boost
    good = instrument(code).doubt(value)
    return good if good < now.doubt else None


def _outcomes(now: Estimate, good: float) -> tuple[Estimate, ...]:
    """What a good reading of what is so sure now may come to [SI]."""
    spread = sqrt(max(now.doubt**2 - good**2, 0.0))
    steps = (float(ndtri((at + 0.5) / _OUTCOMES)) for at in range(_OUTCOMES))
    return tuple(Estimate(now.value + spread * step, good) for step in steps)


def _decided(before: Mapping[str, Check], after: Mapping[str, Verdict]) -> Iterable[str]:
    """Codes of the rules that a reading decides."""
    for code, verdict in after.items():
        was_tight = before[code].verdict is Verdict.TIGHT
        if verdict is Verdict.GO or (was_tight and verdict is Verdict.NO_GO):
            yield code
