"""What cures a check that is not go: a number that turns it to go, a named move, or a reading."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import reduce
from math import inf
from types import MappingProxyType

import numpy as np
from scipy.special import ndtri

from server.core.checks.at_once import Look, ask_in_draws, look, look_at
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.judge import Judged, in_question
from server.core.checks.levers import another, piece_there, with_another
from server.core.checks.rule import GRAVEST_FIRST, Found, Lever, Rule, Verdict
from server.core.measure.many import Floats, Marks, least
from server.core.phrase import Amount, Phrase
from server.core.units import Kind

_FACTORS = (1.01, 1.02, 1.04, 1.08, 1.16, 1.3, 1.5, 2.0, 3.0)
"""Where a cure is looked for, as factors on the size (or divisors)."""

_ROUND_TO = {Kind.length: 5e-4, Kind.force: 10.0}
"""To what a cure is rounded, on the safe side [SI]."""

_CLOSINGS, _STEPS_BETWEEN = 2, 128
"""How often, and in how many steps, the first value that passes is closed in on."""
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

        Only what rests on the changed piece, joint or bung can, unless it is no-go already, and of that what
        loses room by it at the best estimates.
        """
        if (variable, value) not in self._known:
            owner = variable.rpartition(".")[0] + "."
            facts = Facts.at_best(cured)
            may_turn = (one for one in self._every if one.verdict is not Verdict.NO_GO)
            reads = [one for one in may_turn if any(name.startswith(owner) for name in one.reads)]
            looks = {one.rule.code: look_at(one.rule, facts) for one in reads}
            touched = {one.rule.code: one for one in reads if _has_less_room(one, looks[one.rule.code])}
            after = _verdicts(facts, [one.rule for one in touched.values()], looks)
            self._known[variable, value] = tuple(
                (touched[code].rule, verdict)
                for code, verdict in after.items()
                if GRAVEST_FIRST.index(verdict) < GRAVEST_FIRST.index(touched[code].verdict)
            )
        return self._known[variable, value]


def _has_less_room(before: Judged, after: Look) -> bool:
    """Whether an item of a check has less margin now, is another, or can't be judged."""
    margins, now = {item.found.item: item.margin for item in before.items}, after.margins
    return now.keys() != margins.keys() or any(margin < margins[item] for item, margin in now.items())


def number_cure(facts: Facts, judged: Judged, beside: Beside) -> Cure | None:
    """The least change of one size that turns the check to go, tried out; None where no one size does.

    facts: at the best estimates of the case. beside: all its checks, so that those which the change makes
    worse are named.
    """
    case = facts.case
    search = _Search(facts, judged)
    levers = [lever for lever in _levers(judged) if _can_turn(facts, lever)]
    there = {lever.variable: piece_there(case.plan, lever.variable) for lever in levers}
    search.look_at([lever for lever in levers if there[lever.variable] is None])
    for lever in levers:
        piece = there[lever.variable]
        bought = case if piece is None else with_another(case, piece)
        value = _solve(search if piece is None else _Search(Facts.at_best(bought), judged), lever)
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
    return _verdicts(Facts.at_best(case), (rule,)).get(rule.code) is Verdict.GO


def _verdicts(
    facts: Facts, rules: Sequence[Rule], known: Mapping[str, Look] = MappingProxyType({})
) -> Mapping[str, Verdict]:
    """By code, the verdict on each rule that has something to say. known: as `in_question`."""
    looked = in_question(rules, facts, facts.case.variables(), with_loss=False, known=known)
    return looked.verdicts(looked.response(looked.names))


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


def _can_turn(facts: Facts, lever: Lever) -> bool:
    start = facts.values.get(lever.variable)
    return start is not None and start > 0.0


class _Search:
    """How a check stands at other values of one size, many of them asked about at once.

    As a guide only: what the size does to the doubts is left out; what is found is tried with all of them.
    """

    def __init__(self, best: Facts, judged: Judged) -> None:
        self.best, self.rule = best, judged.rule
        self._asked = float(ndtri(judged.asked))
        self._doubts = {item.found.item: item.doubt for item in judged.items}
        self._far: dict[str, Marks] = {}

    def look_at(self, levers: Sequence[Lever]) -> None:
        """Asks about the far values of many levers in one go, as each asked alone takes as long."""
        if not levers:
            return
        starts = {lever.variable: self.best.values[lever.variable] for lever in levers}
        drawn = {name: np.full((len(levers), len(_FACTORS)), start) for name, start in starts.items()}
        for row, lever in enumerate(levers):
            drawn[lever.variable][row] = _far(starts[lever.variable], lever.rising)
        rooms = self._least({name: values.ravel() for name, values in drawn.items()}, self._asked)
        self._far = dict(zip(drawn, rooms.reshape(len(levers), -1) >= 0.0, strict=True))

    def may_turn(self, variable: str, value: float) -> bool:
        """Whether no item fails at a value [SI], doubts left out."""
        return bool(self._least({variable: np.array([value])}, 0.0)[0] >= 0.0)

    def passes(self, variable: str, values: Floats) -> Marks:
        """Whether every item has room for its doubt, at each value [SI]."""
        return np.asarray(self._least({variable: values}, self._asked) >= 0.0)

    def first_passing(self, lever: Lever) -> tuple[float, float] | None:
        """(last failing, first passing) value away from the start [SI]."""
        start = self.best.values[lever.variable]
        values = _far(start, lever.rising)
        passes = self._far.get(lever.variable)
        passing = np.flatnonzero(self.passes(lever.variable, values) if passes is None else passes)
        if not len(passing):
            return None
        first = int(passing[0])
        return (float(values[first - 1]) if first else start), float(values[first])

    def _least(self, drawn: Mapping[str, Floats], asked: float) -> Floats:
        """Least margin of any item, less so many of its doubts."""

        def room(facts: Facts) -> float:
            rooms = (
                one.margin - asked * self._doubts.get(one.item, 0.0) if isinstance(one, Found) else -inf
                for one in look(self.rule, facts)
            )
            return reduce(least, rooms, inf)

        with np.errstate(all="ignore"):
            return ask_in_draws(room, self.best, drawn)


def _far(start: float, rising: bool) -> Floats:
    factors = np.array(_FACTORS)
    return start * factors if rising else start / factors


def _solve(search: _Search, lever: Lever) -> float | None:
    case, first = search.best.case, lever.first
    may_turn = first is not None and search.may_turn(lever.variable, first)
    if first is not None and may_turn and turns_to_go(case.with_size(lever.variable, first), search.rule):
        return first
    found = search.first_passing(lever)
    if found is None:
        return None
    start = search.best.values[lever.variable]
    return _tried(case, search.rule, lever, start, _closed_in(search, lever.variable, *found))


def _closed_in(search: _Search, variable: str, failing: float, passing: float) -> float:
    for _ in range(_CLOSINGS):
        values = np.linspace(failing, passing, _STEPS_BETWEEN + 1)
        passes = search.passes(variable, values[1:])
        passes[-1] = True  # where it begins to pass was found before
        first = int(np.argmax(passes)) + 1
        failing, passing = float(values[first - 1]), float(values[first])
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
    amounts["by"] = Amount(abs(value - case.variables()[lever.variable].value), lever.kind)
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
