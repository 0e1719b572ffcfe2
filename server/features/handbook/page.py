"""The handbook as a page: every rule as the register has it, and the words of this program."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.checks.handbook import Entry
from server.core.checks.limits import Limit
from server.core.checks.rule import RuleClass
from server.core.sources import Source
from server.core.tube.run import Place
from server.core.units import System, show
from server.features.builds.page import heading_without_build
from server.web.view import Caution, Page

CLASS_WORDS = {
    RuleClass.INJURY: "Injury rule: go asks {asked} %, and it can't be conceded",
    RuleClass.PERFORMANCE: "Performance rule: go asks {asked} %; may be conceded with a reason",
}


@dataclass(frozen=True, slots=True)
class SourceLine:
    """Where something comes from, and how far that can be leaned on."""

    text: str
    sureness: str


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One number of a rule. It may be changed for a build."""

    words: str
    text: str
    other: str
    source: SourceLine


@dataclass(frozen=True, slots=True)
class RuleEntry:
    """One rule. `code` is its anchor on the page."""

    code: str
    title: str
    injury: bool
    class_words: str
    formula: str
    limit: str
    limits: tuple[LimitLine, ...]
    sources: tuple[SourceLine, ...]
    caution: Caution | None


@dataclass(frozen=True, slots=True)
class Chapter:
    """The rules of one place."""

    title: str
    rules: tuple[RuleEntry, ...]


@dataclass(frozen=True, slots=True)
class Term:
    """A word of this program and what it means."""

    word: str
    meaning: str


@dataclass(frozen=True, kw_only=True)
class HandbookPage(Page):
    """Every rule with its origin, how verdicts are decided, and the words."""

    template: ClassVar[str] = "handbook/handbook.html"

    chapters: tuple[Chapter, ...]
    terms: tuple[Term, ...]


TERMS = tuple(
    Term(*pair)
    for pair in (
        ("build", "one car's conversion, from tear-down to first drive"),
        ("engine sheet", "the engine's numbers: displacement, redline, volumetric efficiency, boost, fuel"),
        ("port", "an opening or spigot that something joins to: where it is, which way it faces, what flows"),
        ("reading", "one measurement of one dimension, with instrument, doubt, time and photo"),
        ("doubt", "one standard uncertainty: two readings in three lie within it"),
        ("subsystem", "intake, charge pipe, downpipe, oil drain and so on"),
        ("design", "one candidate way to make a subsystem; of several, one is chosen"),
        ("run", "the ordered pieces of a design, from one port to another, in flow direction"),
        ("piece", "straight, bend, coupler, reducer, flex, flange, hose, or a salvaged pipe to cut down"),
        ("bung", "a side port added to a piece"),
        (
            "joint",
            "what holds two pieces: hose over bead with clamp, weld, V-band, flange and gasket, thread",
        ),
        ("keep-out", "a solid to stay clear of: fixed, hot or moving, with the gap it needs"),
        ("check", "one rule applied to a design; its verdict is go, tight, no-go or not measured"),
        ("concession", "a performance check accepted as it is, with the reason written down (ISO 9000)"),
        (
            "back pressure",
            "what stands at the turbine's outlet above the air outside; it costs power and heat",
        ),
        ("mock-up", "card, wire or an old hose that stands in a run until a real piece takes its place"),
        ("part", "something that can be bought, made or salvaged"),
        ("need", "a quantity of a part that a chosen design or a task calls for"),
        ("shelf", "what is in the garage, off-cuts included"),
        ("order, delivery", "what was bought from whom; what arrived of it"),
        ("task", "a piece of work: ready, held, in hand or done"),
        ("hold", "one reason why a task can't start, with its root"),
        ("stint", "one block of garage time: an evening, a Saturday"),
        ("log", "what happened, and when"),
    )
)
"""Our words, in the order in which a build meets them."""


def handbook_page(entries: Iterable[Entry], today: date) -> HandbookPage:
    chapters: dict[str, list[RuleEntry]] = {}
    for entry in entries:
        chapters.setdefault(_place_title(entry.places), []).append(_rule(entry))
    return HandbookPage(
        **heading_without_build("Handbook", today),
        chapters=tuple(Chapter(title, tuple(rules)) for title, rules in chapters.items()),
        terms=TERMS,
    )


def _place_title(places: tuple[Place, ...]) -> str:
    if set(places) == set(Place):
        return "Any run"
    *first, last = (place.value for place in places)
    words = f"{', '.join(first)} and {last}" if first else last
    return words[:1].upper() + words[1:]


def _rule(entry: Entry) -> RuleEntry:
    return RuleEntry(
        code=entry.code,
        title=entry.title,
        injury=entry.rule_class is RuleClass.INJURY,
        class_words=CLASS_WORDS[entry.rule_class].format(asked=round(100 * entry.asked_probability)),
        formula=entry.formula,
        limit=entry.limit,
        limits=tuple(_limit(limit) for limit in entry.limits),
        sources=tuple(_source(one) for one in entry.sources),
        caution=Caution(entry.caution.signal.value, entry.caution.text) if entry.caution else None,
    )


def _limit(limit: Limit) -> LimitLine:
    shown = show(limit.default, limit.kind, System.metric, unit=limit.unit)
    words = limit.words[:1].upper() + limit.words[1:]
    return LimitLine(words, shown.text, shown.other, _source(limit.source))


def _source(one: Source) -> SourceLine:
    return SourceLine(one.label, "" if one.sureness.value in one.label else one.sureness.value)
