"""Rules judged as they would be after each of several readings, all of them asked about at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.core.checks.at_once import Look, look_at
from server.core.checks.facts import Facts
from server.core.checks.judge import InQuestion, in_question
from server.core.checks.rule import Rule, Verdict
from server.core.measure.doubt import Question, propagate_together
from server.core.measure.estimate import Estimate
from server.core.measure.many import Floats

_FEW = 500
"""Draws up to which several readings share one array; more are enough by themselves."""

_THE_SAME = 1e-6
"""Part of a margin by which it may differ as it is found in draws and by itself [-]."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A reading as it may come out, with the rules that it may decide. read: by variable [SI]."""

    rules: tuple[Rule, ...]
    read: Mapping[str, Estimate]


def judge_after(facts: Facts, trials: Sequence[Trial]) -> tuple[Mapping[str, Verdict], ...]:
    """The verdict on each rule of each trial, by its code, with the reading in place of the case's own.

    facts: at the best estimates. Source: as `judge`.
    """
    sizes = facts.case.variables()
    rules = {rule.code: rule for trial in trials for rule in trial.rules}
    # First, so that trials begin from all that was found without their readings.
    looks = {code: look_at(rule, facts) for code, rule in rules.items()}
    every = []
    for trial in trials:
        values = {name: size.value for name, size in trial.read.items()}
        after = sizes | dict(trial.read)
        every.append(in_question(trial.rules, facts.otherwise(values), after, with_loss=False))
    together = _Together(facts, looks, every, frozenset().union(*(trial.read for trial in trials)))
    responses = propagate_together(together.answers, [(one.names, one.inputs) for one in every], limit=0.0)
    return tuple(one.verdicts(response) for one, response in zip(every, responses, strict=True))


class _Together:
    """What trials ask, answered in draws from one set of facts.

    Where a rule looks otherwise after a reading (the other end of a piece is the narrower then), that trial
    is answered from its own facts.
    """

    def __init__(
        self, facts: Facts, looks: Mapping[str, Look], every: Sequence[InQuestion], read: frozenset[str]
    ) -> None:
        """looks: of every rule, from these facts. every: the trials. read: the variables that they read."""
        self._every, self._read = every, read
        looks = dict(looks)
        outputs: dict[str, tuple[str, str]] = {}
        for one in every:
            outputs |= one.outputs
            for code, looked in one.looks.items():
                looks[code] = replace(looks[code], reads=looks[code].reads | looked.reads)
        self._all = InQuestion(facts, looks, outputs, tuple(outputs), facts.case.variables())
        self._begun: set[int] = set()
        self._otherwise: set[int] = set()

    def answers(self, questions: Sequence[Question]) -> list[Floats]:
        """As `propagate_together` asks."""
        alike: dict[object, list[Question]] = {}
        for one in questions:
            apart = one.count > _FEW or one.of in self._otherwise
            alike.setdefault((one.wanted, one.of if apart else None), []).append(one)
        found: dict[int, Floats] = {}
        for some in alike.values():
            found |= self._rows(some)
        return [found[one.of] for one in questions]

    def _rows(self, alike: Sequence[Question]) -> dict[int, Floats]:
        """The rows of questions that want the same, by the number of who asks."""
        first = alike[0]
        if first.of in self._otherwise:
            return {first.of: self._every[first.of].in_draws(first.drawn, first.wanted, first.count)}
        drawn = {
            name: np.concatenate([self._drawn(one, name) for one in alike])
            for name in sorted(self._read.union(*(one.drawn for one in alike)))
        }
        rows = self._all.in_draws(drawn, first.wanted, sum(one.count for one in alike))
        found = {}
        for one, its in zip(alike, np.split(rows, np.cumsum([one.count for one in alike])[:-1]), strict=True):
            found[one.of] = its if self._looks_the_same(one, its) else self._from_its_own(one)
        return found

    def _drawn(self, question: Question, name: str) -> Floats:
        drawn = question.drawn.get(name)
        if drawn is None:
            return np.full(question.count, self._every[question.of].facts.values[name])
        return drawn

    def _looks_the_same(self, question: Question, rows: Floats) -> bool:
        """Whether the first rows of a trial begin with the margins that it has at its reading."""
        if question.of in self._begun:
            return True
        self._begun.add(question.of)
        trial = self._every[question.of]
        asked = (trial.outputs[out] for out in question.wanted)
        margins = np.array([trial.looks[code].margins[item] for code, item in asked])
        most = np.where(np.isfinite(rows), np.abs(rows), 0.0).max(axis=0)
        return bool((np.abs(rows[0] - margins) <= _THE_SAME * most).all())

    def _from_its_own(self, question: Question) -> Floats:
        self._otherwise.add(question.of)
        return self._every[question.of].in_draws(question.drawn, question.wanted, question.count)
