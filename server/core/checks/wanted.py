"""The readings that a whole build asks for, most pressing first: those that are missing, those too doubtful.

A check that is not measured waits for what it lacks; one that is tight or no-go may be decided by a better
reading; and a task may wait for a reading by itself. One reading is one entry, however much rests on it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.core.checks.answer import UNSETTLED, Answers, Check
from server.core.checks.case import Case
from server.core.checks.missing import Missing
from server.core.checks.next_reading import NextReading, best_instrument
from server.core.checks.rule import Rule, Verdict
from server.core.measure.estimate import Estimate
from server.core.measure.opening import LIMITS, instruments_of
from server.core.phrase import Phrase
from server.core.units import Kind


@dataclass(frozen=True, slots=True)
class AnsweredRun:
    """A run, or what is fitted, with its answers.

    key: the caller's own name of it. doubts: what `next_readings` finds for it alone. held: tasks that wait
    for its checks.
    """

    key: str
    case: Case
    answers: Answers
    doubts: tuple[NextReading, ...]
    held: int = 0


@dataclass(frozen=True, slots=True)
class ForWork:
    """A reading that tasks wait for, whatever the checks say. held: how many tasks."""

    variable: str
    phrase: Phrase
    held: int


@dataclass(frozen=True, slots=True)
class Opens:
    """A check that a reading settles.

    key: of its run. verdict: as it stands. chance: that it is decided then, None where it is answered for the
    first time. beside: how many other things it lacks.
    """

    key: str
    rule: Rule
    verdict: Verdict
    chance: float | None
    beside: int = 0

    @property
    def part(self) -> float:
        """How much of the check one reading is worth [-]."""
        return self.chance if self.chance is not None else 1.0 / (1 + self.beside)


@dataclass(frozen=True, slots=True)
class WantedReading:
    """One reading to take.

    variable: as `Case.variables` has it, empty where what is missing is no size. phrase: what to do. name: of
    the size, empty where it is missing. instrument: code, None where none takes it. now: the present value
    [SI], None where it is missing. taken: how that was taken, empty where well. key: of a run that it stands
    in, None where only work asks for it. settles: likeliest first. worth: checks that it is expected to
    settle, each with the tasks that wait for it.
    """

    variable: str
    phrase: Phrase
    name: str
    instrument: str | None
    now: Estimate | None
    taken: str
    key: str | None
    settles: tuple[Opens, ...]
    worth: float


@dataclass(frozen=True, slots=True)
class Wants:
    """All readings that are wanted, and how many checks are open, conceded ones left out."""

    readings: tuple[WantedReading, ...]
    open_checks: int

    @property
    def answerable(self) -> int:
        """How many of the open checks a reading settles."""
        return len({(one.key, one.rule.code) for reading in self.readings for one in reading.settles})


def wanted_readings(runs: Sequence[AnsweredRun], for_work: Iterable[ForWork] = ()) -> Wants:
    """The readings that runs and work want, the one worth most first.

    A check that lacks several things counts a share for each. A check that holds work counts once more for
    every task that waits. Source: expected number of verdicts settled, `next_reading`; the weights are common
    practice, no source.
    """
    gathered: dict[str, _Gathered] = {}
    for run in runs:
        _gather_missing(gathered, run)
        _gather_doubts(gathered, run)
    for asked in for_work:
        found = gathered.setdefault(asked.variable, _Gathered(asked.variable, asked.phrase))
        found.worth += asked.held
    readings = sorted(
        (one.as_reading() for one in gathered.values()), key=lambda one: (-one.worth, one.variable)
    )
    return Wants(tuple(readings), sum(_is_open(check) for run in runs for check in run.answers.checks))


class _Gathered:
    """A reading while its checks are gathered."""

    def __init__(self, variable: str, phrase: Phrase, run: AnsweredRun | None = None, name: str = "") -> None:
        self.variable, self.phrase, self.run, self.name = variable, phrase, run, name
        self.settles: list[Opens] = []
        self.worth = 0.0

    def add(self, run: AnsweredRun, opens: Opens) -> None:
        self.settles.append(opens)
        self.worth += opens.part * (1 + (0 if opens.verdict is Verdict.TIGHT else run.held))

    def as_reading(self) -> WantedReading:
        settles = sorted(self.settles, key=lambda one: -one.part)
        return WantedReading(
            self.variable,
            self.phrase,
            self.name,
            usual_instrument(self.variable),
            present_value(self.run.case, self.variable) if self.run and self.name else None,
            self.run.case.taken_with.get(self.variable, "") if self.run else "",
            self.run.key if self.run else None,
            tuple(settles),
            self.worth,
        )


def _gather_missing(gathered: dict[str, _Gathered], run: AnsweredRun) -> None:
    for check in run.answers.checks:
        if check.verdict is not Verdict.NOT_MEASURED:
            continue
        lacking = {_key_of(gap, run): gap for gap in check.missing}
        for key, gap in lacking.items():
            found = gathered.setdefault(key, _Gathered(gap.variable or "", gap.phrase, run))
            found.add(run, Opens(run.key, check.rule, check.verdict, None, len(lacking) - 1))


def _gather_doubts(gathered: dict[str, _Gathered], run: AnsweredRun) -> None:
    stands = {check.rule.code: check.verdict for check in run.answers.checks}
    for reading in run.doubts:
        phrase = Phrase("Measure the {name}.", {"name": reading.name})
        found = gathered.setdefault(
            reading.variable, _Gathered(reading.variable, phrase, run, name=reading.name)
        )
        for one in reading.settles:
            found.add(run, Opens(run.key, one.rule, stands[one.rule.code], one.probability))


def _key_of(gap: Missing, run: AnsweredRun) -> str:
    """One reading is one entry in the whole build; words without a variable are one entry too."""
    if gap.variable is not None:
        return gap.variable
    words = "|".join((gap.phrase.text, *gap.phrase.words.values()))
    return f"{run.key}|{words}" if gap.phrase.words else words


def _is_open(check: Check) -> bool:
    return check.verdict is Verdict.NOT_MEASURED or (check.verdict in UNSETTLED and check.conceded is None)


def usual_instrument(variable: str) -> str | None:
    """Code of the instrument to take a variable with; None for what is typed, said or offered up."""
    owner, _, size = variable.rpartition(".")
    if owner.startswith("port.") and size in LIMITS:
        return instruments_of(size)[0].code
    return best_instrument(variable)


def present_value(case: Case, variable: str) -> Estimate:
    """A variable as a gauge shows it [SI]: boost as at the peak, not as what is added to the sheet's."""
    now = case.variables()[variable]
    if variable == "engine.boost" and case.engine is not None:
        return Estimate(case.engine.at_peak.boost + now.value, now.doubt)
    return now


def kind_of_variable(variable: str) -> Kind:
    """What sort of quantity a variable that an instrument takes is."""
    size = variable.rpartition(".")[2]
    if size == "bend_angle":
        return Kind.angle
    if size.endswith("temperature"):
        return Kind.temperature
    return Kind.pressure if size == "boost" else Kind.length
