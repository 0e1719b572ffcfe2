"""What a rule of the register is made of, and what it finds on a run.

What is found item by item is told in named tuples: hundreds are made for each run, each of them sooner than a
dataclass.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple, TypeVar

from server.core.checks.case import HOT_PLACES
from server.core.checks.facts import Facts
from server.core.checks.limits import LIMITS, Limit
from server.core.checks.missing import Missing, NotMeasured
from server.core.phrase import Phrase
from server.core.sources import Source
from server.core.tube.run import Place
from server.core.units import Kind

Thing = TypeVar("Thing")

INTAKE = frozenset({Place.INTAKE})
CHARGE = frozenset({Place.CHARGE_PIPE, Place.COOLER_PIPE})
AIR = INTAKE | CHARGE
HOT = HOT_PLACES
FLOWING = AIR | HOT
"""Where a gas flows that the engine sheet tells about."""
ANY_RUN = frozenset(Place)


INJURY_ASKS = 0.99
"""The chance of passing that a check asks for where a failure can hurt somebody."""


class RuleClass(StrEnum):
    """Whether a broken rule can hurt somebody; the value is the word pages show."""

    INJURY = "injury"
    PERFORMANCE = "performance"


class Verdict(StrEnum):
    """The answer of a check."""

    GO = "go"
    TIGHT = "tight"
    NO_GO = "no-go"
    NOT_MEASURED = "not measured"


GRAVEST_FIRST = (Verdict.NO_GO, Verdict.NOT_MEASURED, Verdict.TIGHT, Verdict.GO)


class SignalWord(StrEnum):
    """Signal words of ANSI Z535.4, gravest first."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


@dataclass(frozen=True, slots=True)
class Caution:
    """A safety note: signal word after ANSI Z535.4, the hazard and what to do, and who has the last word."""

    signal: SignalWord
    text: str


class Lever(NamedTuple):
    """A size that may cure a finding.

    variable: its name. phrase: what to do, with a gap `{value}` for the amount found (on request `{bore}`, or
    `{by}` for the change). rising: larger cures; otherwise smaller does. kind: of the size. number: of the
    piece or joint it belongs to. first: the value to try before the least one is looked for, such as a size
    that is sold, [SI]. unit: one of `units.UNITS_TO_ASK`, or None for the usual one.
    """

    variable: str
    phrase: Phrase
    rising: bool = True
    kind: Kind = Kind.length
    number: int | None = None
    first: float | None = None
    unit: str | None = None


class About(NamedTuple):
    """All that is told about a finding; asked for once, at the best estimates.

    concerns: "piece", "joint", "port" or "run", and its number. value, limit: [SI unit of kind], kind None
    where the answer is a plain yes or no. tight_margin: zero or more keeps a failed item at *tight*.
    doubt_scale: doubt of the value over doubt of the margin, where the margin is a logarithm.
    """

    phrase: Phrase
    concerns: str = "run"
    number: int | None = None
    value: float | None = None
    limit: float | None = None
    kind: Kind | None = None
    tight_margin: float | None = None
    levers: tuple[Lever, ...] = ()
    moves: tuple[Phrase, ...] = ()
    doubt_scale: float = 1.0


class Found(NamedTuple):
    """One item that was judged: passes where the margin is zero or more.

    `about` is only asked at the best estimates.

    yes_or_no: nothing doubtful stands behind it.
    """

    item: str
    margin: float
    about: Callable[[], About]
    yes_or_no: bool = False


Findings = tuple[Found | Missing, ...]


@dataclass(frozen=True, slots=True)
class Rule:
    """One sizing or fit rule.

    formula: in plain signs. limit: in words. limit_keys: the adjustable numbers in it. find: judges a run; no
    findings means that the rule has nothing to say about this run. on_figures: it rests on what is fitted,
    not on the run, and is answered without a design too.
    """

    code: str
    title: str
    places: frozenset[Place]
    rule_class: RuleClass
    formula: str
    limit: str
    limit_keys: tuple[str, ...]
    sources: tuple[Source, ...]
    caution: Caution | None
    find: Callable[[Facts], Findings]
    on_figures: bool = False

    @property
    def limits(self) -> tuple[Limit, ...]:
        """The adjustable limits with their usual values."""
        return tuple(LIMITS[key] for key in self.limit_keys)

    @property
    def asked_probability(self) -> float:
        """The least chance of passing that counts as *go*, unless a build asks for another: 95 %.

        Where a failure can hurt it is 99 %, and nobody changes that.
        """
        return INJURY_ASKS if self.rule_class is RuleClass.INJURY else LIMITS["chance.go"].default


def may_concede(rule: Rule) -> bool:
    """Whether a builder may accept this check as it is, with a reason: never where somebody can be hurt."""
    return rule.rule_class is RuleClass.PERFORMANCE


def for_each(
    things: Iterable[Thing], name: Callable[[Thing], str], judge: Callable[[Thing], tuple[Found, ...]]
) -> Findings:
    """Judge things one by one.

    One that lacks a figure becomes `Missing` and leaves the others their answer.
    """
    findings: list[Found | Missing] = []
    for thing in things:
        try:
            findings.extend(judge(thing))
        except NotMeasured as gap:
            findings.append(Missing(name(thing), gap.phrase, gap.variable))
    return tuple(findings)


def plain(item: str, passes: bool, about: Callable[[], About]) -> Found:
    """A finding that is a yes or a no."""
    return Found(item, 1.0 if passes else -1.0, about, yes_or_no=True)
