"""The dossier of a subsystem: what it is, what it was measured by, every check in full."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar, Protocol

from server.core.checks.answer import Answers
from server.core.checks.case import Case
from server.core.checks.figures import Figure
from server.core.checks.register import rule as rule_named
from server.core.measure.instruments import instrument
from server.core.measure.opening import DIMENSIONS, Reading
from server.core.phrase import say
from server.core.tube.drawing import Drawing
from server.core.tube.port import PortFacts
from server.core.units import Kind, System, show
from server.features.builds.page import Face, heading
from server.features.engine.page import Answer
from server.features.evidence.page import (
    NOTHING,
    UNKNOWN_HAND,
    ChangeRow,
    CheckSheet,
    Head,
    Row,
    Table,
    check_blocks,
    check_sheet,
    table_block,
    verdict_words,
)
from server.features.makeup.page import FigureRow, figure_table, joint_table, piece_table
from server.features.verdicts.page import (
    CheckLine,
    Subsystem,
    check_lines,
    count_words,
    flow_summary,
    overall,
)
from server.web.paper import Block, Sheet
from server.web.paper_drawing import Picture
from server.web.paper_text import unprinted
from server.web.paper_words import Boxed, Heading, Pairs, Words
from server.web.view import Caution, Page, Verdict
from server.web.words import date_text

LAST_WORD = Caution(
    "CAUTION",
    "A dossier is reckoned from readings and figures that somebody typed; it proves nothing. Makers'"
    " drawings, local codes and licensed practice come first, and a boosted joint is tried with air, nobody"
    " in line with it, before the engine sees it.",
)
NO_DESIGN, NO_DESIGN_YET = "no design", "none: reckoned from figures alone"


class DesignRow(Protocol):
    """What is stored of a design, as far as the dossier needs it."""

    @property
    def key(self) -> int: ...
    @property
    def name(self) -> str: ...
    @property
    def chosen(self) -> bool: ...
    @property
    def chosen_because(self) -> str: ...
    @property
    def pattern(self) -> bool: ...
    @property
    def removed_at(self) -> datetime | None: ...


class ConcessionRow(Protocol):
    """What is stored of a concession."""

    @property
    def rule(self) -> str: ...
    @property
    def reason(self) -> str: ...
    @property
    def by(self) -> str: ...
    @property
    def at(self) -> datetime: ...


@dataclass(frozen=True, slots=True)
class Subject:
    """What a dossier is about, as the service found it. answers: None where nothing can be checked.

    ports: those of the run, or of the subsystem; readings: of each port by its number.
    """

    subsystem: Subsystem
    design: DesignRow | None
    concessions: tuple[ConcessionRow, ...]
    case: Case
    answers: Answers | None
    drawing: Drawing | None
    ports: tuple[PortFacts, ...]
    readings: Mapping[int, Sequence[Reading]]
    asked: tuple[Figure, ...]
    figures: FigureRow | None
    engine: Answer | None
    changes: Mapping[str, ChangeRow]


@dataclass(frozen=True, slots=True)
class Pair:
    """A label and its text."""

    label: str
    text: str


@dataclass(frozen=True, kw_only=True)
class DossierPage(Page):
    """Everything that speaks for a subsystem, to print or to keep."""

    template: ClassVar[str] = "dossier/dossier.html"

    build_id: int
    subsystem_id: int
    design_id: int | None
    subsystem: str
    design: str
    by: str
    facts: tuple[Pair, ...]
    verdict: Verdict
    counts: str
    drawing: Drawing | None
    tables: tuple[Table, ...]
    peak: tuple[Pair, ...]
    checks: tuple[CheckSheet, ...]
    concessions: Table | None
    missing: tuple[str, ...]
    caution: Caution
    unprinted: str = ""
    """Letters in it that the PDF has no glyphs for."""


def dossier_page(build: Face, subject: Subject, now: datetime, by: str) -> DossierPage:
    """`by`: who has it printed."""
    system, answers, subsystem = build.system, subject.answers, subject.subsystem
    signed = {one.rule: _signed(one, now) for one in subject.concessions}
    lines = check_lines(answers, subject.case.plan, build.id, subsystem.id, system, signed)
    checks = {check.rule.code: check for check in answers.checks} if answers is not None else {}
    tables = (
        _verdicts(lines),
        piece_table(subject.case, system),
        joint_table(subject.case, system),
        _ports(subject.ports, system),
        _readings(subject, system, now),
        figure_table(subject.asked, subject.figures, system, now),
    )
    made = DossierPage(
        **heading(build, f"Dossier {subsystem.letter} · {subsystem.name}", now.date(), within="Subsystems"),
        build_id=build.id,
        subsystem_id=subsystem.id,
        design_id=subject.design.key if subject.design else None,
        subsystem=f"{subsystem.letter} · {subsystem.name}",
        design=subject.design.name if subject.design else NO_DESIGN,
        by=by,
        facts=_facts(build, subject, now, by),
        verdict=overall(answers),
        counts=count_words(answers),
        drawing=subject.drawing,
        tables=tuple(table for table in tables if table is not None),
        peak=_peak(subject, system),
        checks=tuple(check_sheet(checks[one.code], one, system, subject.changes, now) for one in lines),
        concessions=_concessions(subject, now),
        missing=_missing(subject, system),
        caution=LAST_WORD,
    )
    return replace(made, unprinted=unprinted(repr(made)))


def _signed(one: ConcessionRow, now: datetime) -> str:
    return f"{one.by or UNKNOWN_HAND}, {date_text(one.at.astimezone(now.tzinfo))}"


def _facts(build: Face, subject: Subject, now: datetime, by: str) -> tuple[Pair, ...]:
    plan, design = subject.case.plan, subject.design
    told = [
        Pair("Build", build.name),
        Pair("Car", build.car),
        Pair("Subsystem", f"{subject.subsystem.letter} · {subject.subsystem.name}, {subject.subsystem.kind}"),
        Pair("Design", f"{design.name}, {_standing(design)}" if design else NO_DESIGN_YET),
        Pair("From", plan.start.name if plan.start else ""),
        Pair("To", plan.end.name if plan.end else ""),
        Pair("Made", f"{date_text(now)}, {now:%H:%M}, by {by}"),
    ]
    return tuple(one for one in told if one.text)


VERDICTS = (Head("Check", 5.0), Head("Class", 2.0), Head("Answer", 2.2), Head("Conceded", 3.0))


def _verdicts(lines: Iterable[CheckLine]) -> Table | None:
    """Every answer at a glance."""
    rows = tuple(
        Row(
            (
                one.title,
                "injury" if one.injury else "performance",
                verdict_words(one.verdict),
                one.signed or NOTHING,
            )
        )
        for one in lines
    )
    return Table("verdicts", "Answers", VERDICTS, rows).without_empty() if rows else None


def _standing(design: DesignRow) -> str:
    if design.removed_at is not None:
        return "set aside"
    if design.pattern:
        return "an old part entered as a pattern, never built"
    if not design.chosen:
        return "not chosen"
    return f"chosen: {design.chosen_because}" if design.chosen_because else "chosen"


PORTS = (
    Head("Port", 4.0),
    Head("Outside", 1.5, True),
    Head("Bore", 1.5, True),
    Head("Wall", 1.3, True),
    Head("Spigot", 1.5, True),
    Head("Material", 1.6),
)


def _ports(ports: Iterable[PortFacts], system: System) -> Table | None:
    rows = []
    for port in ports:
        sizes = [
            show(port.sizes[size].value, Kind.length, system, port.sizes[size].doubt or None).text
            if size in port.sizes
            else NOTHING
            for size in ("outside_diameter", "bore", "wall", "length")
        ]
        frame = f"moves with the {port.frame.value}" if port.frame.value else ""
        under = ", ".join(text for text in (port.medium, f"ends {port.end_form.value}", frame) if text)
        rows.append(Row((f"{port.number} {port.name}", *sizes, port.material or NOTHING), under))
    return Table("ports", "Ports", PORTS, tuple(rows)).without_empty() if rows else None


READINGS = (
    Head("Port", 3.0),
    Head("Size", 2.2),
    Head("Reading", 2.0, True),
    Head("Taken with", 2.4),
    Head("When and by whom", 2.4),
)


def _readings(subject: Subject, system: System, now: datetime) -> Table | None:
    rows = [
        _reading(port, one, system, now)
        for port in subject.ports
        for one in subject.readings.get(port.id, ())
    ]
    note = "As taken; ± is one standard uncertainty. Readings that were withdrawn are left out."
    return Table("readings", "Readings", READINGS, tuple(rows), note) if rows else None


def _reading(port: PortFacts, one: Reading, system: System, now: datetime) -> Row:
    value = NOTHING if one.value is None else show(one.value, Kind.length, system, one.doubt).text
    how = instrument(one.instrument).name if one.instrument else "offered up"
    moment = one.taken_at.astimezone(now.tzinfo)
    typed = f"typed {one.words}" if one.words != value else ""
    conditions = one.conditions.label if one.conditions is not None else ""
    under = "; ".join(text for text in (typed, conditions, one.note) if text)
    cells = (
        port.name,
        DIMENSIONS[one.dimension],
        value,
        how,
        f"{date_text(moment)} {moment:%H:%M}, {one.taken_by}",
    )
    return Row(cells, under)


def _peak(subject: Subject, system: System) -> tuple[Pair, ...]:
    """The engine at its peak, and what flows in the run then."""
    engine, flow = subject.engine, flow_summary(subject.answers, system)
    told = []
    if engine is not None:
        told += [
            Pair("Air at the peak", f"{engine.peak_flow.text} at {engine.peak_rpm}"),
            Pair(
                "Pressure ratio",
                f"{engine.peak_pressure_ratio}, out of it {engine.peak_outlet_temperature.text}",
            ),
            Pair("Highest boost", engine.highest_boost.text),
            Pair(
                "Exhaust",
                f"{engine.exhaust.flow.text} at {engine.exhaust.temperature.text}. {engine.exhaust.usual}",
            ),
            Pair("Power asked for", engine.power.text),
        ]
    if flow is not None:
        lost = flow.loss.text if flow.loss is not None else ""
        told += [
            Pair("In this run", f"{flow.at}; fastest {flow.fastest}" if flow.fastest else flow.at),
            Pair("The run loses", lost),
            Pair(
                "That costs",
                " of boost and ".join(text for text in (flow.boost_cost, flow.power_cost) if text),
            ),
            Pair("Chokes", flow.choked),
        ]
    return tuple(one for one in told if one.text)


CONCEDED = (Head("Check", 2.6), Head("Answer", 1.3), Head("Reason", 4.4), Head("By and when", 2.2))


def _concessions(subject: Subject, now: datetime) -> Table | None:
    found = {one.rule.code: one.verdict.value for one in subject.answers.checks} if subject.answers else {}
    rows = tuple(
        Row((rule_named(one.rule).title, found.get(one.rule, "not asked"), one.reason, _signed(one, now)))
        for one in subject.concessions
    )
    return Table("concessions", "Concessions", CONCEDED, rows) if rows else None


def _missing(subject: Subject, system: System) -> tuple[str, ...]:
    """What is not measured or typed yet, each once."""
    checks = subject.answers.checks if subject.answers is not None else ()
    gaps = [say(gap.phrase, system) for check in checks for gap in check.missing]
    gaps += [f"{port.name}: {DIMENSIONS[size]}" for port in subject.ports for size in port.wanted]
    return tuple(dict.fromkeys(gaps))


# On paper


def sheet(page: DossierPage, *, letter: bool) -> Sheet:
    """The page as a printed sheet."""
    fields = (
        ("Build", page.title.build),
        ("Dossier", page.subsystem),
        ("Design", page.design),
        ("Date", date_text(page.title.date)),
        ("By", page.by),
    )
    return Sheet(f"{page.title.sheet}, {page.title.build}", fields, tuple(_blocks(page)), letter)


def _blocks(page: DossierPage) -> list[Block]:
    blocks: list[Block] = [
        Heading(page.title.sheet, 13.0, verdict_words(page.verdict)),
        Words(page.counts[:1].upper() + page.counts[1:] + "."),
        Pairs(tuple((one.label, one.text) for one in page.facts)),
    ]
    if page.drawing is not None:
        blocks += [Heading("Drawing"), Picture(page.drawing)]
        blocks += [Words(f"{key.letter}: {key.words}") for key in page.drawing.keys]
        blocks += [Words(note, 7.5) for note in page.drawing.notes]
    blocks += [table_block(table) for table in page.tables]
    if page.peak:
        blocks += [Heading("At the engine's peak"), Pairs(tuple((one.label, one.text) for one in page.peak))]
    blocks += [table_block(page.concessions)] if page.concessions else []
    if page.missing:
        blocks += [Heading("Not measured yet"), *(Words(f"– {text}") for text in page.missing)]
    if page.checks:
        blocks.append(Heading("Checks, the gravest first, conceded ones last", 12.0))
    for check in page.checks:
        blocks += check_blocks(check)
    return [*blocks, Boxed(page.caution.signal, page.caution.text)]
