"""Rules judged as they would be after each of several readings, all of them asked about at once."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.core.checks.at_once import Look, look_at
from server.core.checks.facts import Facts
from server.core.checks.judge import InQuestion, in_question
from server.core.checks.rule import Rule, Verdict
from server.core.measure.doubt import propagate_together
from server.core.measure.estimate import Estimate
from server.core.measure.many import Floats
from server.core.measure.question import Question, drawn_of

_FEW = 500
"""Draws up to which several readings share one array; more are enough by themselves."""

_THE_SAME = 1e-6
"""Part of a margin by which it may differ as it is found in draws and by itself [-]."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A reading as it may come out, with the rules that it may decide. read: by variable [SI]."""

    rules: tuple[Rule, ...]
    read: Mapping[str, Estimate]


@dataclass(frozen=True, slots=True)
class _Part:
    """What one trial wants of a question. columns: where its outputs stand in the question."""

    trial: int
    offsets: Floats
    wanted: tuple[str, ...]
    columns: tuple[int, ...]


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
    alike: dict[Hashable, list[int]] = {}
    for at, (trial, one) in enumerate(zip(trials, every, strict=True)):
        alike.setdefault((tuple(trial.read), tuple(one.doubtful)), []).append(at)
    # The same reading as it may come out is one propagation, its outputs apart.
    several = [
        ([name for at in some for name in together.names[at].values()], tuple(every[some[0]].doubtful))
        for some in alike.values()
    ]
    found: dict[int, Mapping[str, Verdict]] = {}
    responses = propagate_together(together.answers, several, limit=0.0)
    for some, response in zip(alike.values(), responses, strict=True):
        found |= {at: every[at].verdicts(response.under(together.names[at])) for at in some}
    return tuple(found[at] for at in range(len(trials)))


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
        self.names = [{out: f"{at}|{out}" for out in one.names} for at, one in enumerate(every)]
        """Of each trial what each output is called here."""
        self._called = {name: (at, out) for at, its in enumerate(self.names) for out, name in its.items()}
        looks = dict(looks)
        outputs: dict[str, tuple[str, str]] = {}
        for one in every:
            outputs |= one.outputs
            for code, looked in one.looks.items():
                looks[code] = replace(looks[code], reads=looks[code].reads | looked.reads)
        self._all = InQuestion(facts, looks, outputs, tuple(outputs), {})
        self._begun: set[int] = set()
        self._otherwise: set[int] = set()

    def answers(self, questions: Sequence[Question]) -> list[Floats]:
        """As `propagate_together` asks."""
        found = [np.full((len(one.offsets), len(one.wanted)), np.nan) for one in questions]
        few: list[tuple[_Part, Floats]] = []
        for question, rows in zip(questions, found, strict=True):
            for part in self._parts(question):
                if part.trial in self._otherwise:
                    rows[:, part.columns] = self._from_its_own(part)
                elif len(part.offsets) > _FEW:
                    self._fill([(part, rows)])
                else:
                    few.append((part, rows))
        self._fill(few)
        return found

    def _fill(self, parts: Sequence[tuple[_Part, Floats]]) -> None:
        """Answers what trials want, all at once. parts: with the rows of their question."""
        if not parts:
            return
        drawn = self._drawn([part for part, _ in parts])
        wanted = tuple(dict.fromkeys(out for part, _ in parts for out in part.wanted))
        counts = [len(part.offsets) for part, _ in parts]
        answers = np.split(self._all.in_draws(drawn, wanted, sum(counts)), np.cumsum(counts)[:-1])
        for (part, rows), answer in zip(parts, answers, strict=True):
            its = answer[:, [wanted.index(out) for out in part.wanted]]
            rows[:, part.columns] = its if self._looks_the_same(part, its) else self._from_its_own(part)

    def _parts(self, question: Question) -> Iterable[_Part]:
        """What each trial wants of a question."""
        columns: dict[int, list[int]] = {}
        for column, name in enumerate(question.wanted):
            columns.setdefault(self._called[name][0], []).append(column)
        for at, its in columns.items():
            wanted = tuple(self._called[question.wanted[column]][1] for column in its)
            yield _Part(at, question.offsets, wanted, tuple(its))

    def _drawn(self, parts: Sequence[_Part]) -> Mapping[str, Floats]:
        """The readings that any of these trials moves, by name, in the draws of all of them in turn [SI]."""
        names = sorted(self._read.union(*(self._every[part.trial].doubtful for part in parts)))
        place = {name: row for row, name in enumerate(names)}
        blocks = []
        for part in parts:
            trial, count = self._every[part.trial], len(part.offsets)
            block = np.repeat([[trial.facts.values[name]] for name in names], count, axis=1)
            doubts = np.array([[size.doubt] for size in trial.doubtful.values()])
            block[[place[name] for name in trial.doubtful]] += doubts * part.offsets.T
            blocks.append(block)
        return dict(zip(names, np.concatenate(blocks, axis=1), strict=True))

    def _looks_the_same(self, part: _Part, rows: Floats) -> bool:
        """Whether the first rows of a trial begin with the margins that it has at its reading."""
        if part.trial in self._begun:
            return True
        self._begun.add(part.trial)
        trial = self._every[part.trial]
        asked = (trial.outputs[out] for out in part.wanted)
        margins = np.array([trial.looks[code].margins[item] for code, item in asked])
        most = np.where(np.isfinite(rows), np.abs(rows), 0.0).max(axis=0)
        return bool((np.abs(rows[0] - margins) <= _THE_SAME * most).all())

    def _from_its_own(self, part: _Part) -> Floats:
        self._otherwise.add(part.trial)
        trial = self._every[part.trial]
        return trial.in_draws(drawn_of(trial.doubtful, part.offsets), part.wanted, len(part.offsets))
