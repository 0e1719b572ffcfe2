"""Rules applied to a case with its doubt.

One set of facts that holds every perturbed reading serves every rule.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import isnan
from types import MappingProxyType

import numpy as np

from server.core.checks.at_once import (
    Look,
    facts_in_draws,
    look_at,
    loss_in_draws,
    marches,
    margins_in_draws,
)
from server.core.checks.facts import Facts
from server.core.checks.flow import can_flow, flow_of, flow_reads
from server.core.checks.missing import Missing, NotMeasured
from server.core.checks.rule import INJURY_ASKS, About, Found, Rule, RuleClass, Verdict
from server.core.measure.doubt import Response, propagate_at_once
from server.core.measure.estimate import Estimate
from server.core.measure.many import Floats
from server.core.phrase import Phrase

_CERTAIN = 0.9995
"""An item at least this likely to pass does not move the chance of its check in the figures shown."""

_ROUGHLY = 0.01
"""What counting on draws may be off by, and a bound has to be clear of."""

LOSS = "run|loss"
"""Output name of the run's loss, as its logarithm: a product of powers, of which a logarithm is a sum."""


@dataclass(frozen=True)
class Item:
    """One judged item with its chance.

    margin, doubt: in the rule's own unit, doubt 0 for a plain yes or no. probability: of passing [-]. off:
    how far that may be off by how it was found [-].
    """

    found: Found
    output: str
    margin: float
    doubt: float
    probability: float
    off: float

    @cached_property
    def about(self) -> About:
        """What is told about it. Raises NotMeasured, and ValueError for sizes that can't be."""
        return self.found.about()

    @property
    def is_tight(self) -> bool:
        """Failed, yet within what counts as tight."""
        return self.about.tight_margin is not None and self.about.tight_margin >= 0.0


@dataclass(frozen=True, slots=True)
class Judged:
    """One rule judged: its items, worst first, what is missing, verdict and chance.

    asked: counts as go. reads: the variables that it rests on. rests_on: those, and what is told about its
    items rests on. off: how far the probability may be off by how it was found [-].
    """

    rule: Rule
    items: tuple[Item, ...]
    missing: tuple[Missing, ...]
    verdict: Verdict
    probability: float
    asked: float
    reads: frozenset[str]
    rests_on: frozenset[str]
    off: float


@dataclass(frozen=True, slots=True)
class InQuestion:
    """Rules looked at from one set of values, and what is in doubt of them.

    outputs: code of the rule and item by name of the output. names: of all outputs. doubtful: the variables
    whose doubts are carried.
    """

    facts: Facts
    looks: Mapping[str, Look]
    outputs: Mapping[str, tuple[str, str]]
    names: tuple[str, ...]
    doubtful: Mapping[str, Estimate]

    def response(self, outputs: Sequence[str]) -> Response:
        """What is found of some of the outputs, each of which passes where it is zero or more."""
        return propagate_at_once(self.in_draws, outputs, self.doubtful, limit=0.0)

    def judged(
        self, response: Response, stands: Mapping[str, Judged] = MappingProxyType({})
    ) -> tuple[Judged, ...]:
        """The rules judged by what was found of the outputs; those with nothing to say are left out.

        stands: by code, those that were judged so before.
        """
        looks = (looked for looked in self.looks.values() if looked.findings)
        return tuple(
            stands.get(looked.rule.code) or _judged(looked, response, self.facts) for looked in looks
        )

    def verdicts(self, response: Response) -> Mapping[str, Verdict]:
        """The verdict on each such rule by its code, without what is told about its items."""
        looks = (looked for looked in self.looks.values() if looked.findings)
        return {looked.rule.code: _verdict_alone(looked, response, self.facts) for looked in looks}

    def in_draws(self, drawn: Mapping[str, Floats], wanted: Sequence[str], count: int) -> Floats:
        """The wanted outputs in each draw, shape (draws, outputs), each in its rule's own unit."""
        marched = LOSS in wanted or any(marches(self.looks[self.outputs[out][0]]) for out in wanted)
        with np.errstate(all="ignore"):
            moved = facts_in_draws(self.facts, drawn, marched=marched)
            return _in_draws(self.looks, self.outputs, moved, wanted, count)


def in_question(
    rules: Iterable[Rule],
    facts: Facts,
    sizes: Mapping[str, Estimate],
    *,
    with_loss: bool,
    known: Mapping[str, Look] = MappingProxyType({}),
) -> InQuestion:
    """What is in doubt of rules. facts: at the best estimates. sizes: those with their doubts [SI].

    with_loss: the run's loss is among the outputs, as `LOSS`. known: by code, what rules are known to look
    like from these facts.
    """
    looks = {rule.code: known.get(rule.code) or look_at(rule, facts) for rule in rules}
    outputs = {
        _output(code, found.item): (code, found.item)
        for code, looked in looks.items()
        for found in looked.findings
        if isinstance(found, Found) and not found.yes_or_no
    }
    read = frozenset[str]().union(*(looked.reads for looked in looks.values()))
    names = tuple(outputs)
    if with_loss and can_flow(facts) and flow_of(facts).choked_at is None:
        names = (*names, LOSS)
        read |= flow_reads(facts)
    doubtful = {name: size for name, size in sizes.items() if size.doubt > 0.0 and name in read}
    return InQuestion(facts, looks, outputs, names, doubtful)


def _in_draws(
    looks: Mapping[str, Look],
    outputs: Mapping[str, tuple[str, str]],
    facts: Facts,
    wanted: Sequence[str],
    count: int,
) -> Floats:
    """The wanted outputs in each draw, shape (draws, outputs), each rule asked once for all its items."""
    by_code: dict[str, list[int]] = {}
    found = np.empty((len(wanted), count))
    for at, out in enumerate(wanted):
        if out == LOSS:
            found[at] = loss_in_draws(facts, count)
        else:
            by_code.setdefault(outputs[out][0], []).append(at)
    for code, rows in by_code.items():
        items = [outputs[wanted[at]][1] for at in rows]
        found[rows] = margins_in_draws(looks[code], items, facts, count)
    return found.T


def asked_of(facts: Facts, rule: Rule) -> float:
    """The least chance of passing that counts as *go* for a rule in this build."""
    return INJURY_ASKS if rule.rule_class is RuleClass.INJURY else facts.limit("chance.go")


def chance_of_all(items: Iterable[Item], response: Response) -> tuple[float, float]:
    """Probability that every item passes, counted on the joint draws where more than one is in question.

    And how far that may be off: two standard errors of what was counted, and the draws that could not be
    worked out, which count as failed [-].
    """
    items = tuple(items)
    if any(item.found.yes_or_no and item.margin < 0.0 for item in items):
        return 0.0, 0.0
    in_question = [item for item in items if item.probability < _CERTAIN]
    least = min(items, key=lambda item: item.probability, default=None)
    if least is None:
        return 1.0, 0.0
    if len(in_question) <= 1:
        return least.probability, least.off
    joint, off = _counted([item.output for item in in_question], response)
    return min(joint, least.probability), off


def _counted(outputs: Sequence[str], response: Response) -> tuple[float, float]:
    joint, error = response.joint_chance((out, 0.0) for out in outputs)
    return joint, 2.0 * error + max(response.failed(out) for out in outputs)


def _output(code: str, item: str) -> str:
    return f"{code}|{item}"


def _judged(looked: Look, response: Response, facts: Facts) -> Judged:
    rule, asked = looked.rule, asked_of(facts, looked.rule)
    (items, missing), told = facts.recorded(lambda: _items(looked, response))
    probability, off = chance_of_all(items, response)
    verdict = _verdict(items, probability, asked, facts)
    if missing and verdict is not Verdict.NO_GO:
        verdict = Verdict.NOT_MEASURED
    rests_on = looked.reads | told
    return Judged(rule, items, missing, verdict, probability, asked, looked.reads, rests_on, off)


def _items(looked: Look, response: Response) -> tuple[tuple[Item, ...], tuple[Missing, ...]]:
    """The items of a rule with all that is told about them, worst first, and what is missing."""
    missing = [one for one in looked.findings if isinstance(one, Missing)]
    items: list[Item] = []
    for found in looked.findings:
        if not isinstance(found, Found):
            continue
        try:
            item = _item(looked.rule, found, response)
            _ = item.about  # or it lacks a figure that only what is told of it needs
            items.append(item)
        except NotMeasured as gap:
            missing.append(Missing(found.item, gap.phrase, gap.variable))
        except ValueError as fault:
            missing.append(Missing(found.item, Phrase("{fault}", {"fault": str(fault)})))
    items.sort(key=_worst_first)
    return tuple(items), tuple(missing)


def _verdict(items: Sequence[Item], probability: float, asked: float, facts: Facts) -> Verdict:
    no_go = facts.limit("chance.no_go")
    all_tight = probability < no_go and all(item.probability >= asked or item.is_tight for item in items)
    return verdict_of(probability, asked, no_go, all_tight)


def _verdict_alone(looked: Look, response: Response, facts: Facts) -> Verdict:
    """As `_judged` finds it; what is told about an item is asked for only where the verdict rests on it."""
    found = [one for one in looked.findings if isinstance(one, Found)]
    items = [_item(looked.rule, one, response) for one in found]
    asked = asked_of(facts, looked.rule)
    verdict = _verdict(items, _chance_for_verdict(items, asked, response, facts), asked, facts)
    some_missing = len(found) < len(looked.findings)
    return Verdict.NOT_MEASURED if some_missing and verdict is not Verdict.NO_GO else verdict


def _chance_for_verdict(items: Sequence[Item], asked: float, response: Response, facts: Facts) -> float:
    """Probability that every item passes, or a bound of it from which the same verdict follows.

    All pass no more often than the least likely of them, and fail no more often than all fail added up: it is
    counted only where it matters where between these it lies. Source: Fréchet's bounds.
    """
    no_go = facts.limit("chance.no_go")
    most = min((item.probability for item in items), default=1.0)
    least = 1.0 - sum(1.0 - item.probability + item.off for item in items) - _ROUGHLY
    if least >= asked:
        return least
    if most < no_go or (no_go <= least and most < asked):
        return most
    return chance_of_all(items, response)[0]


def _item(rule: Rule, found: Found, response: Response) -> Item:
    output = _output(rule.code, found.item)
    if found.yes_or_no:
        return Item(found, output, found.margin, 0.0, 1.0 if found.margin >= 0.0 else 0.0, 0.0)
    chance, off = _alone(output, response)
    return Item(found, output, found.margin, response.doubt(output), chance, off)


def _alone(output: str, response: Response) -> tuple[float, float]:
    """As `_counted` of one output; of one that slopes tell there is nothing to count."""
    answer = response.output(output)
    if answer.sampled is None:
        return answer.at_least(0.0), float(isnan(answer.value))
    return _counted([output], response)


def _worst_first(item: Item) -> tuple[float, bool, bool, float]:
    """Least likely first; among equals what is not even tight, then figures, then the smaller margin.

    Margins are counted in doubts, but of items that fail for certain the one that fails by most is the worst.
    """
    likely = round(item.probability, 4)
    by_doubts = likely > 0.0 and item.doubt > 0.0
    margin = item.margin / item.doubt if by_doubts else item.margin
    return likely, item.is_tight, item.found.yes_or_no and item.margin >= 0.0, margin


def verdict_of(probability: float, asked: float, no_go: float, failures_are_tight: bool) -> Verdict:
    """The verdict from the chance of passing, what is asked, under what it is no-go, and whether failed
    items are still tight.
    """
    if probability >= asked:
        return Verdict.GO
    if probability >= no_go or failures_are_tight:
        return Verdict.TIGHT
    return Verdict.NO_GO
