"""Rules judged as they would be after each of several readings, all of them asked about at once."""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

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

_ALL = -1
"""Stands for all trials of a question at once, beside the numbers of those that are asked by themselves."""

_THE_SAME = 1e-6
"""Part of a margin by which it may differ as it is found in draws and by itself [-]."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A reading as it may come out, with the rules that it may decide. read: by variable [SI]."""

    rules: tuple[Rule, ...]
    read: Mapping[str, Estimate]


@dataclass(frozen=True)
class _Part:
    """What trials want of a question, each of them in all of its draws.

    offsets: of the question. outputs: the trial and its own name of each. columns: where they stand in it.
    """

    offsets: Floats
    outputs: tuple[tuple[int, str], ...]
    columns: tuple[int, ...]

    @cached_property
    def trials(self) -> tuple[int, ...]:
        """Whose outputs they are."""
        return tuple(dict.fromkeys(at for at, _ in self.outputs))

    def of(self, trial: int) -> "_Part":
        """What one of the trials wants of it."""
        its = [place for place, (at, _) in enumerate(self.outputs) if at == trial]
        outputs = tuple(self.outputs[place] for place in its)
        return _Part(self.offsets, outputs, tuple(self.columns[place] for place in its))


def judge_after(facts: Facts, trials: Sequence[Trial]) -> tuple[Mapping[str, Verdict], ...]:
    """The verdict on each rule of each trial, by its code, with the reading in place of the case's own.

    facts: at the best estimates. Source: as `judge_again`.
    """
    sizes = facts.case.variables()
    rules = {rule.code: rule for trial in trials for rule in trial.rules}
    # First, so that trials begin from all that was found without their readings.
    looks = {code: look_at(rule, facts) for code, rule in rules.items()}
    every = []
    for trial in trials:
        values = {name: size.value for name, size in trial.read.items()}
        after = {**sizes, **trial.read}
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
        outputs: dict[str, tuple[str, str]] = {}
        reads = {code: set(looked.reads) for code, looked in looks.items()}
        for one in every:
            outputs |= one.outputs
            for code, looked in one.looks.items():
                reads[code] |= looked.reads
        for_all = {code: looked._replace(reads=frozenset(reads[code])) for code, looked in looks.items()}
        self._all = InQuestion(facts, for_all, outputs, tuple(outputs), {})
        self._otherwise: set[int] = set()

    def answers(self, questions: Sequence[Question]) -> list[Floats]:
        """As `propagate_together` asks."""
        found = [np.empty((len(one.offsets), len(one.wanted))) for one in questions]
        few: list[tuple[_Part, Floats]] = []
        for question, rows in zip(questions, found, strict=True):
            for part in self._parts(question):
                if self._otherwise.issuperset(part.trials):
                    self._fill_by_itself(part, rows)
                elif len(part.offsets) > _FEW:
                    self._fill([(part, rows)])
                else:
                    few.append((part, rows))
        self._fill(few)
        return found

    def _parts(self, question: Question) -> Iterable[_Part]:
        """All trials that want few draws; those that want many, or look otherwise, one by one."""
        outputs = [self._called[name] for name in question.wanted]
        many = len(question.offsets) > _FEW
        shares: dict[int, list[int]] = {}
        for column, (at, _) in enumerate(outputs):
            shares.setdefault(at if many or at in self._otherwise else _ALL, []).append(column)
        for columns in shares.values():
            yield _Part(question.offsets, tuple(outputs[column] for column in columns), tuple(columns))

    def _fill(self, parts: Sequence[tuple[_Part, Floats]]) -> None:
        """Answers what trials want, all at once. parts: with the rows of their question."""
        if not parts:
            return
        wanted = tuple(dict.fromkeys(out for part, _ in parts for _, out in part.outputs))
        output = {out: place for place, out in enumerate(wanted)}
        drawn = self._drawn([part for part, _ in parts])
        counts = [len(part.trials) * len(part.offsets) for part, _ in parts]
        answers = np.split(self._all.in_draws(drawn, wanted, sum(counts)), np.cumsum(counts)[:-1])
        for (part, rows), answer in zip(parts, answers, strict=True):
            by_trial = answer.reshape(len(part.trials), len(part.offsets), len(wanted))
            trial = {at: place for place, at in enumerate(part.trials)}
            asked = np.array([(trial[at], output[out]) for at, out in part.outputs])
            its = by_trial[asked[:, 0], :, asked[:, 1]].T
            rows[:, part.columns] = its
            for at in self._unlike(part, its):
                self._otherwise.add(at)
                self._fill_by_itself(part.of(at), rows)

    def _drawn(self, parts: Sequence[_Part]) -> Mapping[str, Floats]:
        """The readings that any of these trials moves, by name, in the draws of all of them in turn [SI]."""
        every = [[self._every[at] for at in part.trials] for part in parts]
        names = sorted(self._read.union(*(one.doubtful for some in every for one in some)))
        blocks = [_block(names, some, part.offsets) for some, part in zip(every, parts, strict=True)]
        return dict(zip(names, np.concatenate(blocks, axis=1), strict=True))

    def _unlike(self, part: _Part, rows: Floats) -> Iterable[int]:
        """The trials whose rows don't begin with the margins that they have at their readings."""
        if part.offsets[0].any():
            return ()
        margins = np.array([self._margin(at, out) for at, out in part.outputs])
        most = np.where(np.isfinite(rows), np.abs(rows), 0.0).max(axis=0)
        alike = np.abs(rows[0] - margins) <= _THE_SAME * most
        return dict.fromkeys(part.outputs[place][0] for place in np.flatnonzero(~alike))

    def _margin(self, trial: int, out: str) -> float:
        one = self._every[trial]
        code, item = one.outputs[out]
        return one.looks[code].margins[item]

    def _fill_by_itself(self, part: _Part, rows: Floats) -> None:
        """Answers what one trial wants from its own facts. rows: of its question."""
        (at,) = part.trials
        trial, wanted = self._every[at], tuple(out for _, out in part.outputs)
        drawn = drawn_of(trial.doubtful, part.offsets)
        rows[:, part.columns] = trial.in_draws(drawn, wanted, len(part.offsets))


def _block(names: Sequence[str], trials: Sequence[InQuestion], offsets: Floats) -> Floats:
    """Readings by name in the draws of each of some trials in turn, shape (names, trials x draws) [SI].

    offsets: of what is in doubt in all of them, in doubts, shape (draws, inputs).
    """
    place = {name: row for row, name in enumerate(names)}
    values = np.array([[trial.facts.values[name] for trial in trials] for name in names])
    doubts, moved = np.zeros(values.shape), np.zeros((len(names), len(offsets)))
    doubtful = [place[name] for name in trials[0].doubtful]
    doubts[doubtful] = np.array([[size.doubt for size in trial.doubtful.values()] for trial in trials]).T
    moved[doubtful] = offsets.T
    block = values[:, :, np.newaxis] + doubts[:, :, np.newaxis] * moved[:, np.newaxis]
    return block.reshape(len(names), -1)
