"""The handbook as pages: the list of rules, a page a rule, how far the authorities on losses lie apart."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.air.spread import BORE, REYNOLDS, Spread, bend_doubt, step_doubt
from server.core.checks.answer import Check
from server.core.checks.book.explained import Explained, Step, Worked, steps, work
from server.core.checks.book.marks import Mark, line_mark, line_plain, plain, sign_mark
from server.core.checks.book.signs import Line, Sign
from server.core.checks.book.words import TERMS, Term
from server.core.checks.handbook import Entry
from server.core.checks.limits import Changed, Limit
from server.core.checks.rule import RuleClass
from server.core.checks.rule import Verdict as CheckVerdict
from server.core.phrase import say
from server.core.sources import Source
from server.core.tube.run import Place
from server.core.units import Kind, System, show
from server.features.builds.page import Face, heading, heading_without_build
from server.features.verdicts.page import DesignLike, Subsystem, whole_percent, word_of
from server.web import urls
from server.web.view import Caution, Link, Page, Verdict

CLASS_WORDS = {
    RuleClass.INJURY: "Injury rule: go asks {asked} %, and it can't be conceded",
    RuleClass.PERFORMANCE: "Performance rule: go asks {asked} %; may be conceded with a reason",
}

CLASS_MEANINGS = {
    RuleClass.INJURY: "Where this rule is broken somebody can get hurt. No reason makes up for that.",
    RuleClass.PERFORMANCE: "Where this rule is broken the car goes worse, or the work is done twice."
    " A caution below counts all the same.",
}


@dataclass(frozen=True, slots=True)
class SourceLine:
    """Where something comes from, and how far that can be leaned on."""

    text: str
    sureness: str


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One number of a rule. `instead`: what a build has in its place, empty where the usual one counts."""

    words: str
    text: str
    other: str
    source: SourceLine
    instead: str = ""
    reason: str = ""


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
class Maths:
    """Something set as mathematics: its marks, and the same in plain signs. `when`: words before it."""

    marks: Mark
    plain: str
    when: str = ""


@dataclass(frozen=True, slots=True)
class SignLine:
    """A sign of a formula: its meaning and unit; `given` is what the example starts from, else empty."""

    sign: Maths
    meaning: str
    unit: str
    given: str


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step of the example. `holds`: of a condition; None for a sum."""

    maths: Maths
    holds: bool | None


@dataclass(frozen=True, slots=True)
class ExampleView:
    """The example: what is there, each step with its numbers, and what the check answers to it."""

    text: str
    steps: tuple[StepLine, ...]
    tight: tuple[StepLine, ...]
    verdict: Verdict
    found: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """What the book adds to the register: formula, signs and example. `marched`: losses enter."""

    lines: tuple[Maths, ...]
    tight: tuple[Maths, ...]
    notes: tuple[str, ...]
    signs: tuple[SignLine, ...]
    marched: bool
    example: ExampleView


@dataclass(frozen=True, slots=True)
class UseLine:
    """A design, or figures of what is fitted, of which a rule speaks, and what it says there."""

    href: str
    subsystem: str
    design: str
    chosen: bool
    verdict: Verdict
    why: str
    conceded: bool


@dataclass(frozen=True, slots=True)
class OpinionLine:
    """What one authority has for a fitting."""

    authority: str
    made_for: str
    coefficient: str
    used: bool


@dataclass(frozen=True, slots=True)
class SpreadView:
    """One fitting by each authority. `range`: the lowest and the highest against the one used."""

    title: str
    fitting: str
    opinions: tuple[OpinionLine, ...]
    range: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """The rules of one place."""

    title: str
    rules: tuple[RuleEntry, ...]


@dataclass(frozen=True, kw_only=True)
class HandbookPage(Page):
    """Every rule with its origin, and how verdicts are decided."""

    template: ClassVar[str] = "handbook/handbook.html"

    chapters: tuple[Chapter, ...]


@dataclass(frozen=True, kw_only=True)
class WordsPage(Page):
    """What the words mean that rules and pages use."""

    template: ClassVar[str] = "handbook/words.html"

    terms: tuple[Term, ...]


@dataclass(frozen=True, kw_only=True)
class RulePage(Page):
    """One rule: formula, signs, limits, caution, a worked example, and where a build uses it.

    `explained` is None for a rule that the book does not explain yet. `build_id` is None for the page that
    belongs to no build; `builds` leads from there to theirs.
    """

    template: ClassVar[str] = "handbook/rule.html"

    rule: RuleEntry
    places: str
    class_meaning: str
    explained: Explanation | None
    build_id: int | None
    uses: tuple[UseLine, ...]
    builds: tuple[Link, ...]


@dataclass(frozen=True, kw_only=True)
class LossesPage(Page):
    """How far the authorities on loss coefficients lie apart, and what that means for a check."""

    template: ClassVar[str] = "handbook/losses.html"

    conditions: str
    spreads: tuple[SpreadView, ...]
    bend_doubt: str
    step_doubt: str
    rules: tuple[Link, ...]


def handbook_page(entries: Iterable[Entry], today: date) -> HandbookPage:
    chapters: dict[str, list[RuleEntry]] = {}
    for entry in entries:
        chapters.setdefault(_place_title(entry.places), []).append(rule_entry(entry))
    return HandbookPage(
        **heading_without_build("Handbook", today),
        chapters=tuple(Chapter(title, tuple(rules)) for title, rules in chapters.items()),
    )


def words_page(today: date) -> WordsPage:
    return WordsPage(**heading_without_build("Words", today), terms=TERMS)


def _place_title(places: tuple[Place, ...]) -> str:
    if set(places) == set(Place):
        return "Any run"
    *first, last = (place.value for place in places)
    words = f"{', '.join(first)} and {last}" if first else last
    return words[:1].upper() + words[1:]


def rule_entry(entry: Entry, system: System = System.metric, changed: Iterable[Changed] = ()) -> RuleEntry:
    """A rule as a page shows it. changed: limits that a build has instead of the usual ones."""
    instead = {one.limit.key: one for one in changed}
    return RuleEntry(
        code=entry.code,
        title=entry.title,
        injury=entry.rule_class is RuleClass.INJURY,
        class_words=CLASS_WORDS[entry.rule_class].format(asked=f"{100 * _asked(entry, instead):.4g}"),
        formula=entry.formula,
        limit=entry.limit,
        limits=tuple(_limit(limit, system, instead.get(limit.key)) for limit in entry.limits),
        sources=tuple(source_line(one) for one in entry.sources),
        caution=Caution(entry.caution.signal.value, entry.caution.text) if entry.caution else None,
    )


def _asked(entry: Entry, instead: Mapping[str, Changed]) -> float:
    """The chance of passing that counts as go, as a build has it [-]; of an injury rule nobody changes it."""
    changed = instead.get("chance.go") if entry.may_concede else None
    return entry.asked_probability if changed is None else changed.value


def _limit(limit: Limit, system: System = System.metric, changed: Changed | None = None) -> LimitLine:
    shown = show(limit.default, limit.kind, system, unit=limit.unit)
    words = limit.words[:1].upper() + limit.words[1:]
    instead = show(changed.value, limit.kind, system, unit=limit.unit).text if changed is not None else ""
    reason = changed.reason if changed is not None else ""
    return LimitLine(words, shown.text, shown.other, source_line(limit.source), instead, reason)


def source_line(one: Source) -> SourceLine:
    """A source as a page names it."""
    return SourceLine(one.label, "" if one.sureness.value in one.label else one.sureness.value)


@dataclass(frozen=True, slots=True)
class Use:
    """A check as the service found it: of a design, or of what is fitted where there is none."""

    subsystem: Subsystem
    design: DesignLike | None
    check: Check


def rule_page(entry: Entry, told: Explained | None, today: date, builds: Iterable[Face]) -> RulePage:
    """The page that belongs to no build; its example is in metric units."""
    return RulePage(
        **heading_without_build(entry.title, today),
        rule=rule_entry(entry),
        places=_place_title(entry.places),
        class_meaning=CLASS_MEANINGS[entry.rule_class],
        explained=_explanation(told, System.metric),
        build_id=None,
        uses=(),
        builds=tuple(Link(urls.rule_in_build(build.id, entry.code), build.name) for build in builds),
    )


def rule_in_build_page(
    build: Face,
    entry: Entry,
    told: Explained | None,
    today: date,
    changed: Iterable[Changed],
    uses: Iterable[Use],
) -> RulePage:
    """The same in a build: its units, its limits, and its designs."""
    return RulePage(
        **heading(build, entry.title, today, within="Handbook"),
        rule=rule_entry(entry, build.system, changed),
        places=_place_title(entry.places),
        class_meaning=CLASS_MEANINGS[entry.rule_class],
        explained=_explanation(told, build.system),
        build_id=build.id,
        uses=tuple(_use(use, build.id, build.system) for use in uses),
        builds=(),
    )


def _explanation(told: Explained | None, system: System) -> Explanation | None:
    if told is None:
        return None
    worked = work(told)
    return Explanation(
        lines=tuple(line_maths(line) for line in told.lines),
        tight=tuple(line_maths(line) for line in told.tight),
        notes=told.notes,
        signs=tuple(_sign(sign, worked, system) for sign in told.signs),
        marched=told.marched,
        example=_example(worked, steps(told, system), system),
    )


def line_maths(line: Line) -> Maths:
    """A line of a formula, set and in plain signs."""
    return Maths(line_mark(line), line_plain(line), line.when)


def sign_maths(sign: Sign) -> Maths:
    """A sign, set and in plain signs."""
    return Maths(sign_mark(sign), plain(sign))


def _sign(sign: Sign, worked: Worked, system: System) -> SignLine:
    given = worked.example.given
    text = sign.text(given[sign], system) if sign in given else ""
    return SignLine(sign_maths(sign), sign.meaning, sign.unit_text(system), text)


def _example(worked: Worked, done: Sequence[Step], system: System) -> ExampleView:
    lines = [(StepLine(Maths(step.marks, step.plain), step.holds), step.tight) for step in done]
    check = worked.check
    return ExampleView(
        text=worked.example.text,
        steps=tuple(line for line, tight in lines if not tight),
        tight=tuple(line for line, tight in lines if tight),
        verdict=Verdict(word_of(check.verdict)),
        found=say(check.phrase, system),
    )


def _use(use: Use, build_id: int, system: System) -> UseLine:
    check = use.check
    passes = check.verdict is CheckVerdict.GO
    percent = whole_percent(check.probability) if passes and check.probability is not None else None
    return UseLine(
        href=_check_href(use, build_id, passes),
        subsystem=f"{use.subsystem.letter} {use.subsystem.name}",
        design=use.design.name if use.design is not None else "what is fitted",
        chosen=use.design is not None and use.design.chosen,
        verdict=Verdict(word_of(check.verdict), percent, percent is not None and check.off > 0.0),
        why=say(check.phrase, system),
        conceded=check.conceded is not None,
    )


def _check_href(use: Use, build_id: int, passes: bool) -> str:
    """Where a check stands; those of a design that pass are folded away together."""
    place = f"check-{use.check.rule.code}"
    if use.design is None:
        return f"{urls.figures(build_id, use.subsystem.id)}#{place}"
    return f"{urls.design(build_id, use.design.key)}#{'passed' if passes else place}"


def losses_page(spreads: Iterable[Spread], rules: Iterable[Entry], today: date) -> LossesPage:
    bore = show(BORE, Kind.length, System.metric)
    return LossesPage(
        **heading_without_build("Loss coefficients", today),
        conditions=f"Smooth drawn tube of {bore.text} bore at a Reynolds number of {REYNOLDS:,.0f}",
        spreads=tuple(_spread(one) for one in spreads),
        bend_doubt=f"{bend_doubt():.0%}".replace("%", " %"),
        step_doubt=f"{step_doubt():.0%}".replace("%", " %"),
        rules=tuple(Link(urls.handbook_rule(one.code), one.title) for one in rules),
    )


def _spread(one: Spread) -> SpreadView:
    opinions = tuple(
        OpinionLine(told.authority, told.made_for, f"{told.coefficient:.2f}", told.used)
        for told in one.opinions
    )
    return SpreadView(one.title, one.fitting, opinions, f"{one.lowest:.2f} to {one.highest:.2f}")
