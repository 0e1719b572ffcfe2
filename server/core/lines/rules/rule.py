"""What a rule of the line map is made of, and what it finds."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum

from server.core.lines.ledger import LineMap
from server.core.lines.solve import Solved
from server.core.lines.states import State
from server.core.lines.ways import By, Step
from server.core.phrase import Phrase
from server.core.sources import Source


class Danger(StrEnum):
    """Whether a broken rule can hurt somebody; the value is the word pages show."""

    INJURY = "injury"
    PERFORMANCE = "performance"


class Word(StrEnum):
    """A rule's answer; the value is the word pages show."""

    GO = "go"
    NO_GO = "no-go"
    NOT_KNOWN = "not known"


GRAVEST_FIRST = (Word.NO_GO, Word.NOT_KNOWN, Word.GO)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing judged.

    item: what it is about, "line.3", "valve.2", "port.7" or "region.4". states: in which it is so, none for
    whatever the engine does. cure: what to do; settles: the reading or fact that decides, where not known.
    """

    item: str
    word: Word
    states: tuple[State, ...]
    phrase: Phrase
    cure: Phrase | None = None
    settles: Phrase | None = None


@dataclass(frozen=True, slots=True)
class Caution:
    """A safety note with its signal word after ANSI Z535.4."""

    signal: str
    text: str


@dataclass(frozen=True, slots=True)
class LineRule:
    """One rule of the line map.

    asks: the rule in a sentence. because: the physical reasoning, for the handbook. find: judges a solved
    map; no finding at all means that the rule has nothing to say about this car.
    """

    code: str
    title: str
    danger: Danger
    asks: str
    because: str
    sources: tuple[Source, ...]
    caution: Caution | None
    find: Callable[[Solved], tuple[Finding, ...]] = field(repr=False)


@dataclass(frozen=True, slots=True)
class RuleAnswer:
    """One rule answered: its gravest finding first."""

    rule: LineRule
    findings: tuple[Finding, ...]

    @property
    def word(self) -> Word:
        return self.findings[0].word

    @property
    def states(self) -> frozenset[State]:
        """The states in which it is broken, empty where it is not or where the state does not matter."""
        broken = (finding for finding in self.findings if finding.word is Word.NO_GO)
        return frozenset(state for finding in broken for state in finding.states)


def go(item: str, text: str, **words: str) -> Finding:
    """A finding that holds."""
    return Finding(item, Word.GO, (), Phrase(text, words))


def no_go(item: str, states: Iterable[State], text: str, cure: str, **words: str) -> Finding:
    """A finding that breaks the rule, with its cure; the same words fill both."""
    return Finding(item, Word.NO_GO, tuple(states), Phrase(text, words), cure=Phrase(cure, words))


def not_known(item: str, states: Iterable[State], text: str, settles: str, **words: str) -> Finding:
    """A finding that nobody can judge yet, with what decides it; the same words fill both."""
    return Finding(item, Word.NOT_KNOWN, tuple(states), Phrase(text, words), settles=Phrase(settles, words))


def way_words(line_map: LineMap, steps: Iterable[Step]) -> str:
    """What a way leads through, in words: lines, valves and open ports by name."""
    names = {
        By.LINE: {line.id: line.name for line in line_map.lines},
        By.VALVE: {valve.id: valve.name for valve in line_map.valves},
        By.OPENING: {port.id: f"the open port {port.name}" for port in line_map.ports},
        By.INSIDE: {region.id: region.name for region in line_map.regions},
    }
    return ", ".join(names[step.by][step.number] for step in steps)


def unlooked_valve(line_map: LineMap, steps: Iterable[Step]) -> str:
    """The first valve on a way of which nobody has said which way it passes; empty for none."""
    unsure = {step.number for step in steps if step.by is By.VALVE and not step.sure}
    return next((valve.name for valve in line_map.valves if valve.id in unsure), "")
