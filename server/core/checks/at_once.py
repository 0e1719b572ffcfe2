"""Rules asked about every draw of a doubt at once, and about each alone where they can't be."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from typing import NamedTuple, TypeVar

import numpy as np

from server.core.checks.case import STEPS
from server.core.checks.facts import Facts
from server.core.checks.flow import can_flow, flow_of
from server.core.checks.missing import Missing, NotMeasured
from server.core.checks.rule import Findings, Found, Rule
from server.core.measure.many import Floats, Marks, Parted, greatest, log
from server.core.phrase import Phrase

Asked = TypeVar("Asked")

_MOST_PARTS = 100
"""A rule whose conditions part the draws into more is asked about each draw alone."""


class Look(NamedTuple):
    """What a rule finds at the best estimates, and the variables that rests on."""

    rule: Rule
    findings: Findings
    reads: frozenset[str]
    margins: Mapping[str, float]


def look_at(rule: Rule, facts: Facts) -> Look:
    """A rule's look at the best estimates."""
    findings, reads = facts.recorded(lambda: look(rule, facts))
    return Look(rule, findings, reads, _margins(findings))


def look(rule: Rule, facts: Facts) -> Findings:
    """What a rule finds; a figure that the whole rule lacks, or sizes that can't be, become one `Missing`."""
    try:
        return rule.find(facts)
    except NotMeasured as gap:
        return (Missing("run", gap.phrase, gap.variable),)
    except ValueError as fault:
        return (Missing("run", Phrase("{fault}", {"fault": str(fault)})),)


def _margins(findings: Findings) -> Mapping[str, float]:
    return {one.item: one.margin for one in findings if isinstance(one, Found)}


def marches(looked: Look) -> bool:
    """Whether a rule rests on the run's march: every piece of it reads how steps are reckoned."""
    return STEPS in looked.reads


def facts_in_draws(best: Facts, drawn: Mapping[str, Floats], *, marched: bool = True) -> Facts:
    """The facts of many draws. marched: the run is marched in all of them at once, where it can be."""
    facts = best.in_draws(drawn)
    if marched and can_flow(best):
        # Where it can't, the rules that need it find so too.
        with suppress(Parted, NotMeasured, ValueError):
            flow_of(facts)
    return facts


def margins_in_draws(looked: Look, items: Sequence[str], facts: Facts, count: int) -> Floats:
    """The margin of each item of a rule in each draw, shape (items, draws), in the rule's own unit.

    facts: of the draws, as many as `count`. Not a number where an item can't be judged.
    """
    found = np.empty((len(items), count))
    if not facts.moved & looked.reads:
        found.T[:] = [looked.margins.get(item, np.nan) for item in items]
        return found
    found.fill(np.nan)
    try:
        for margins, met in _part_by_part(lambda some: _margins(looked.rule.find(some)), facts, count):
            for row, item in zip(found, items, strict=True):
                if item in margins:
                    row[met] = margins[item]
    except (TypeError, _TooManyParts):
        return _one_by_one(looked, items, facts, count)
    return found


def loss_in_draws(facts: Facts, count: int) -> Floats:
    """Logarithm of the run's loss [Pa] in each draw; a loss of under a pascal counts as one."""
    found = np.full(count, np.nan)
    for loss, rows in _part_by_part(lambda some: log(greatest(flow_of(some).loss, 1.0)), facts, count):
        found[rows] = loss
    return found


def ask_in_draws(ask: Callable[[Facts], float], best: Facts, drawn: Mapping[str, Floats]) -> Floats:
    """One number asked of the facts in every draw, in its own unit; not a number where it can't be told."""
    count = len(next(iter(drawn.values())))
    found = np.full(count, np.nan)
    try:
        for answer, rows in _part_by_part(ask, best.in_draws(drawn), count):
            found[rows] = answer
    except (TypeError, _TooManyParts):
        for row in range(count):
            values = {**best.values, **{name: float(some[row]) for name, some in drawn.items()}}
            with suppress(NotMeasured, ValueError):
                found[row] = ask(Facts(best.case, values, best))
    return found


class _TooManyParts(Exception):
    """The conditions of a rule part the draws too often."""


def _part_by_part(ask: Callable[[Facts], Asked], facts: Facts, count: int) -> Iterator[tuple[Asked, Marks]]:
    """What is asked of all draws, in as many parts as they go different ways in; parts without answer left
    out.
    """
    waiting: list[tuple[Facts, Marks]] = [(facts, np.ones(count, dtype=np.bool_))]
    asked = 0
    while waiting:
        some, rows = waiting.pop()
        asked += 1
        if asked > _MOST_PARTS:
            raise _TooManyParts
        try:
            answer = ask(some)
        except Parted as parted:
            for meets in (parted.meets, ~parted.meets):
                inside = rows.copy()
                inside[rows] = meets
                waiting.append((some.part(meets), inside))
        except (NotMeasured, ValueError):
            continue
        else:
            yield answer, rows


def _one_by_one(looked: Look, items: Sequence[str], facts: Facts, count: int) -> Floats:
    best = facts.best
    names = sorted(facts.moved & looked.reads)
    drawn = np.stack([np.asarray(facts.values[name]) for name in names], axis=1)
    at_best = np.array([best.values[name] for name in names])
    found = np.tile([looked.margins.get(item, np.nan) for item in items], (count, 1))
    for row in np.flatnonzero((drawn != at_best).any(axis=1)):
        values = {**best.values, **dict(zip(names, drawn[row].tolist(), strict=True))}
        margins = _margins_of(looked.rule, Facts(best.case, values, best))
        found[row] = [margins.get(item, np.nan) for item in items]
    return found.T


def _margins_of(rule: Rule, facts: Facts) -> Mapping[str, float]:
    try:
        return _margins(rule.find(facts))
    except (NotMeasured, ValueError):
        return {}
