"""The sheet of what is fitted in a subsystem: checks first, then the figures they rest on."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar, Protocol

from server.core.air.map_contours import contour_levels, contours
from server.core.air.map_line import OperatingPoint
from server.core.air.map_shape import shape
from server.core.checks.answer import Answers
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.figures import Figure
from server.core.checks.missing import NotMeasured
from server.core.checks.turbo import line_of, map_of
from server.core.tube.run import RunPlan
from server.core.units import Kind, System, from_si, show
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.verdicts.page import CheckLine, check_lines, count_words, overall
from server.web import urls
from server.web.plot import MapPlot, draw_map
from server.web.view import FormState, Option, Page, Verdict, VerdictWord
from server.web.words import moment_text

CALLED_OUT = 1000
"""Engine speeds that are written beside the line on a map: whole thousands [1/min]."""
CONTOUR_STEP = 0.05
"""Efficiency from one line of a map to the next [-]."""
NOT_SAID = Option("", "not said yet")


class Subsystem(Protocol):
    """What the page needs to know of a subsystem."""

    @property
    def id(self) -> int: ...
    @property
    def letter(self) -> str: ...
    @property
    def name(self) -> str: ...


class Row(Protocol):
    """What is stored of figures, as far as the page needs it."""

    version: int
    typed: dict[str, str]
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class FigureField:
    """One figure to type. options: of a choice; rows: of a table, how many lines its field shows."""

    key: str
    id: str
    label: str
    value: str
    hint: str
    options: tuple[Option, ...] = ()
    rows: int = 0


@dataclass(frozen=True, slots=True)
class MapRow:
    """The engine on the map at one speed."""

    rpm: str
    flow: str
    ratio: str
    efficiency: str
    surge: str
    edge: str
    outlet: str


@dataclass(frozen=True, slots=True)
class MapPicture:
    """The compressor's map with the engine's line on it, and the line as a table."""

    plot: MapPlot
    rows: tuple[MapRow, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class FiguresPage(Page):
    """What is fitted: the verdict, the checks, and the form of its figures."""

    template: ClassVar[str] = "figuring/figures.html"

    build_id: int
    subsystem_id: int
    name: str
    verdict: Verdict
    counts: str
    open_checks: tuple[CheckLine, ...]
    passed_checks: tuple[CheckLine, ...]
    picture: MapPicture | None
    version: int
    typed_by: str
    fields: tuple[FigureField, ...]
    form: FormState
    concession_form: FormState
    conceding: str


def figures_page(
    build: Face,
    subsystem: Subsystem,
    asked: Sequence[Figure],
    row: Row | None,
    plan: RunPlan,
    answers: Answers,
    signed: Mapping[str, str],
    picture: MapPicture | None,
    now: datetime,
    refused: Refused | None,
    conceding: str | None,
) -> FiguresPage:
    """`plan`: the empty run that the figures were checked on. `signed`: who conceded a rule and when.

    `conceding`: the rule whose concession was refused; none where the figures were.
    """
    lines = check_lines(answers, plan, build.id, subsystem.id, build.system, signed)
    return FiguresPage(
        **heading(build, f"{subsystem.letter} · figures", now.date(), within="Subsystems"),
        build_id=build.id,
        subsystem_id=subsystem.id,
        name=subsystem.name,
        verdict=overall(answers),
        counts=count_words(answers),
        open_checks=tuple(line for line in lines if line.verdict.word is not VerdictWord.GO),
        passed_checks=tuple(line for line in lines if line.verdict.word is VerdictWord.GO),
        picture=picture,
        version=row.version if row is not None else 0,
        typed_by=f"{moment_text(row.at, now)}, {row.by}" if row is not None else "",
        fields=tuple(_field(one, row.typed.get(one.key, "") if row is not None else "") for one in asked),
        form=FormState.of(refused if conceding is None else None),
        concession_form=FormState.of(refused if conceding is not None else None),
        conceding=conceding or "",
    )


def map_picture(case: Case, system: System) -> MapPicture | None:
    """The map that was typed, with the engine's line; None without a map or an engine sheet."""
    facts = Facts.at_best(case)
    try:
        on, line = shape(map_of(facts)), line_of(facts)
    except NotMeasured:
        return None
    unit = "kg/s" if system is System.metric else "lb/min"

    def spots(some: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(from_si(flow, unit), ratio) for flow, ratio in some]

    called = [point for point in line if round(point.demand.rpm) % CALLED_OUT == 0]
    plot = draw_map(
        label=f"Compressor map with the engine's line from {line[0].demand.rpm:.0f} rpm",
        description=_in_words(line, system),
        x_title=f"corrected flow, {unit}",
        y_title="pressure ratio",
        contours=[
            (f"{100 * one.efficiency:.0f} %", spots(one.spots))
            for one in contours(on, contour_levels(on, CONTOUR_STEP))
        ],
        edges=[("surge", spots(on.surge_line)), ("edge", spots(on.choke_line))],
        line=spots((point.flow, point.demand.pressure_ratio) for point in line),
        called=[
            (f"{point.demand.rpm:.0f}", spots([(point.flow, point.demand.pressure_ratio)])[0])
            for point in called
        ],
    )
    notes = dict.fromkeys(note for point in line for note in point.notes)
    return MapPicture(plot, tuple(_map_row(point, system) for point in line), (*on.notes, *notes))


def _in_words(line: Sequence[OperatingPoint], system: System) -> str:
    """What there is to see on the map: where the line begins and ends, and how near it comes to an edge."""
    first, last = (_map_row(point, system) for point in (line[0], line[-1]))
    margins = {
        "its surge line": [point.surge_margin for point in line if point.surge_margin is not None],
        "its right edge": [point.choke_margin for point in line if point.choke_margin is not None],
    }
    nearest = [f"{100 * min(some):.0f} % from {edge}" for edge, some in margins.items() if some]
    near = f" It comes as near as {' and '.join(nearest)}." if nearest else ""
    return (
        f"From {first.flow} at a pressure ratio of {first.ratio}, {first.rpm} rpm, to {last.flow} at"
        f" {last.ratio}, {last.rpm} rpm.{near} The table below has the numbers."
    )


def _map_row(point: OperatingPoint, system: System) -> MapRow:
    def share(value: float | None) -> str:
        return "—" if value is None else f"{100 * value:.0f} %"

    return MapRow(
        f"{point.demand.rpm:.0f}",
        show(point.flow, Kind.mass_flow, system).text,
        f"{point.demand.pressure_ratio:.2f}",
        share(point.efficiency),
        share(point.surge_margin),
        share(point.choke_margin),
        show(point.demand.compressor_outlet_temperature, Kind.temperature, system).text,
    )


def _field(one: Figure, typed: str) -> FigureField:
    return FigureField(
        one.key,
        urls.figure_field_id(one.key),
        one.words[:1].upper() + one.words[1:],
        typed,
        one.hint,
        (NOT_SAID, *(Option(value, label) for value, label in one.choices)) if one.choices else (),
        max(4, typed.count("\n") + 2) if one.columns else 0,
    )
