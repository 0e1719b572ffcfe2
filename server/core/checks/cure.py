"""What cures a check that is not go: a number that turns it to go, a named move, or a reading."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import inf

from scipy.special import ndtri

from server.core.checks.at_once import look
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.judge import Judged, judge
from server.core.checks.levers import another, piece_there, with_another
from server.core.checks.rule import GRAVEST_FIRST, Found, Lever, Rule, Verdict
from server.core.phrase import Amount, Phrase
from server.core.units import Kind

_FACTORS = (1.01, 1.02, 1.04, 1.08, 1.16, 1.3, 1.5, 2.0, 3.0)
"""Where a cure is looked for, as factors on the size (or divisors)."""

_ROUND_TO = {Kind.length: 5e-4, Kind.force: 10.0}
"""To what a cure is rounded, on the safe side [SI]."""

_BISECTIONS = 14
_PUSHES = 4
"""How often a number that falls just short of go, as the doubts moved with it, is taken a little further."""


class CureKind(StrEnum):
    NUMBER = "number"
    MOVE = "move"
    READING = "reading"


@dataclass(frozen=True, slots=True)
class Cure:
    """What turns a check to go, or is worth doing about it.

    variable, value: of a number, name and [SI]; of a reading, the name alone. number: of the piece or joint.
    A number was tried: with it the check is go. worse: what the number does to other checks, by their rule,
    where their verdict gets worse.
    """

    kind: CureKind
    phrase: Phrase
    variable: str | None = None
    value: float | None = None
    number: int | None = None
    worse: tuple[tuple[Rule, Verdict], ...] = ()


class Beside:
    """All checks of a case as they stand, to tell which of them a change makes worse; each is tried once."""

    def __init__(self, every: Iterable[Judged]) -> None:
        self._every = tuple(every)
        self._known: dict[tuple[str, float], tuple[tuple[Rule, Verdict], ...]] = {}

    def made_worse(self, cured: Case, variable: str, value: float) -> tuple[tuple[Rule, Verdict], ...]:
        """What turns worse as a size takes a value [SI]; `cured`: the case with it.

        Only what rests on the changed piece, joint or bung can.
        """
        if (variable, value) not in self._known:
            owner = variable.rpartition(".")[0] + "."
            touched = [one for one in self._every if any(name.startswith(owner) for name in one.reads)]
            before = {one.rule.code: GRAVEST_FIRST.index(one.verdict) for one in touched}
            after, _ = judge(cured, [one.rule for one in touched], Facts.at_best(cured), with_loss=False)
            self._known[variable, value] = tuple(
                (one.rule, one.verdict)
                for one in after
                if GRAVEST_FIRST.index(one.verdict) < before[one.rule.code]
            )
        return self._known[variable, value]


def number_cure(case: Case, judged: Judged, beside: Beside) -> Cure | None:
    """The least change of one size that turns the check to go, tried out; None where no one size does.

    beside: all checks of the case, so that those which the change makes worse are named.
    """
    for lever in _levers(judged):
        there = piece_there(case.plan, lever.variable)
        bought = case if there is None else with_another(case, there)
        value = _solve(bought, judged, lever)
        if value is not None:
            cured = bought.with_size(lever.variable, value)
            worse = beside.made_worse(cured, lever.variable, value)
            phrase = _naming(_told(case, lever, value), worse)
            return Cure(CureKind.NUMBER, phrase, lever.variable, value, lever.number, worse)
    return None


def _naming(phrase: Phrase, worse: Iterable[tuple[Rule, Verdict]]) -> Phrase:
    """The same advice with what gets worse by it."""
    turned = [f"{rule.title} turns {verdict}" for rule, verdict in worse]
    if not turned:
        return phrase
    text = phrase.text.removesuffix(".") + f"; {', '.join(turned)} by it."
    return Phrase(text, phrase.words, phrase.amounts)


def move_cure(judged: Judged) -> Cure | None:
    """The first named move of the worst item."""
    for item in judged.items:
        if item.probability < judged.asked and item.about.moves:
            return Cure(CureKind.MOVE, item.about.moves[0], number=item.about.number)
    return None


def turns_to_go(case: Case, rule: Rule) -> bool:
    """Whether a case is go by this rule, with its doubts."""
    judged, _ = judge(case, (rule,), Facts.at_best(case), with_loss=False)
    return bool(judged) and judged[0].verdict is Verdict.GO


def _levers(judged: Judged) -> Iterator[Lever]:
    """Sizes to turn, of failed items, each once. A port is as it is: its sizes are measured, not chosen."""
    seen = set()
    for item in judged.items:
        if item.probability >= judged.asked:
            continue
        for lever in item.about.levers:
            if lever.variable not in seen and not lever.variable.startswith("port."):
                seen.add(lever.variable)
                yield lever


def _solve(case: Case, judged: Judged, lever: Lever) -> float | None:
    inputs = case.variables()
    if lever.variable not in inputs or inputs[lever.variable].value <= 0.0:
        return None
    if lever.first is not None and turns_to_go(case.with_size(lever.variable, lever.first), judged.rule):
        return lever.first
    asked = float(ndtri(judged.asked))
    doubts = {item.found.item: item.doubt for item in judged.items}

    def score(value: float) -> float:
        """Least margin of any item, less what its doubt asks; zero or more passes."""
        findings = look(judged.rule, Facts.at_best(case.with_size(lever.variable, value)))
        return min(
            (
                one.margin - asked * doubts.get(one.item, 0.0) if isinstance(one, Found) else -inf
                for one in findings
            ),
            default=-inf,
        )

    start = inputs[lever.variable].value
    found = _first_passing(score, start, lever.rising)
    if found is None:
        return None
    return _tried(case, judged.rule, lever, start, _bisect(score, *found))


def _first_passing(score: Callable[[float], float], start: float, rising: bool) -> tuple[float, float] | None:
    """(last failing, first passing) value away from the start."""
    failing = start
    for factor in _FACTORS:
        value = start * factor if rising else start / factor
        if score(value) >= 0.0:
            return failing, value
        failing = value
    return None


def _bisect(score: Callable[[float], float], failing: float, passing: float) -> float:
    for _ in range(_BISECTIONS):
        middle = 0.5 * (failing + passing)
        if score(middle) >= 0.0:
            passing = middle
        else:
            failing = middle
    return passing


def _tried(case: Case, rule: Rule, lever: Lever, start: float, value: float) -> float | None:
    """The value rounded to the safe side and tried with all doubts.

    Pushed on a little where it falls short.
    """
    grain = _ROUND_TO.get(lever.kind, 10.0**-3 * abs(value))
    for _ in range(_PUSHES):
        rounded = _rounded(value, grain, lever.rising)
        if turns_to_go(case.with_size(lever.variable, rounded), rule):
            return rounded
        value = rounded + 0.1 * (rounded - start) + (grain if lever.rising else -grain)
    return None


def _rounded(value: float, grain: float, up: bool) -> float:
    count = value / grain
    whole = round(count)
    # A hair over a grain is that grain: floating point, not a need for one more.
    if abs(count - whole) > 1e-6:
        whole = int(count) + (1 if up else 0)
    return whole * grain


def _told(case: Case, lever: Lever, value: float) -> Phrase:
    amounts = {**lever.phrase.amounts, "value": Amount(value, lever.kind, lever.unit)}
    bore = value
    if ".outside_diameter" in lever.variable:
        owner = lever.variable.rsplit(".", 1)[0]
        wall = case.variables().get(f"{owner}.wall")
        bore = value if wall is None else value - 2.0 * wall.value
    amounts["bore"] = Amount(bore, lever.kind)
    there = piece_there(case.plan, lever.variable)
    if there is not None:
        return another(there, amounts, outside=".outside_diameter" in lever.variable)
    return Phrase(lever.phrase.text, lever.phrase.words, amounts)
