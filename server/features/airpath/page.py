"""The path of air and exhaust as a drawing, and the same numbers as a table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import groupby
from typing import ClassVar, Protocol

from server.core.air.compressor import compress
from server.core.air.demand import DemandPoint, EngineSheet
from server.core.air.path import RUNS, Basis, ColdRun, HotRun, PathPlace, Step, ratio_to_hold, widths
from server.core.phrase import Phrase, say
from server.core.units import Kind, System, from_si, show
from server.features.builds.page import Face, heading
from server.features.verdicts.page import DesignLike
from server.web import urls
from server.web.path_plot import Axis, Leg, PathPlot, draw_path
from server.web.view import Page, Quantity

NO_DESIGN = "No design yet."
LEAST_WARMTH = 100.0
LEAST_PRESSURE = 1.0
"""What the panels show at the least from bottom to top, in the build's units: so that a flat line is flat."""


class Subsystem(Protocol):
    """What the page needs to know of a subsystem."""

    @property
    def id(self) -> int: ...
    @property
    def letter(self) -> str: ...
    @property
    def name(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Stretch:
    """One run of the path with the design that stands for it.

    names: of its pieces, by number. cold, hot: the run, None where not known; why: what is missing.
    """

    place: PathPlace
    subsystem: Subsystem | None
    design: DesignLike | None
    names: Mapping[int, str] = field(default_factory=dict)
    cold: ColdRun | None = None
    hot: HotRun | None = None
    why: Phrase | None = None


@dataclass(frozen=True, slots=True)
class Drawn:
    """Everything that is drawn. at: the engine at the peak. cold, hot: the steps of air and of exhaust.

    usual_heat: nobody typed the exhaust's temperature, the usual one stands in.
    """

    at: DemandPoint
    sheet: EngineSheet
    cold: tuple[Step, ...]
    hot: tuple[Step, ...]
    usual_heat: bool
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class StepRow:
    """One row of the table. The numbers are at its end; their units stand over the columns.

    name: of a place, or of a piece of the run above it, then with its number. basis: what the numbers rest
    on, empty where they are reckoned.
    """

    name: str
    piece: str
    length: str
    change: Quantity
    pressure: Quantity
    temperature: Quantity
    basis: str


@dataclass(frozen=True, slots=True)
class Part:
    """The air's or the exhaust's side: its drawing and its table."""

    heading: str
    plot: PathPlot
    rows: tuple[StepRow, ...]


@dataclass(frozen=True, slots=True)
class RunLine:
    """The design that stands for a run, or what is missing."""

    letter: str
    name: str
    href: str
    design: str
    why: str
    loss: str


@dataclass(frozen=True, slots=True)
class Arrival:
    """What of the boost arrives at the throttle, and what it would take to hold the boost asked for.

    known: every run on the way is known.
    """

    asked: Quantity
    arrives: Quantity
    short: Quantity
    ratio: str
    ratio_to_hold: str
    outlet_to_hold: Quantity
    known: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """The whole path at the peak."""

    at: str
    flow: Quantity
    parts: tuple[Part, ...]
    pressure_unit: str
    temperature_unit: str
    outside: Quantity
    arrival: Arrival
    runs: tuple[RunLine, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class AirPathPage(Page):
    """Pressure and temperature from the filter to the throttle and from the turbine to the tailpipe."""

    template: ClassVar[str] = "airpath/path.html"

    id: int
    picture: Picture | None
    fault: str


def air_path_page(build: Face, today: date, drawn: Drawn | str | None) -> AirPathPage:
    """`drawn`: None while there is no engine sheet; why not, in words, where it can't be drawn."""
    return AirPathPage(
        **heading(build, "Air path", today, within="Engine"),
        id=build.id,
        picture=_picture(build, drawn) if isinstance(drawn, Drawn) else None,
        fault=drawn if isinstance(drawn, str) else "",
    )


def _picture(build: Face, drawn: Drawn) -> Picture:
    system = build.system
    return Picture(
        at=f"{drawn.at.rpm:.0f} rpm",
        flow=Quantity.of(drawn.at.flow, Kind.mass_flow, system),
        parts=(
            _part("Air, filter to throttle", drawn.cold, drawn, system),
            _part("Exhaust, turbine to tailpipe", drawn.hot, drawn, system),
        ),
        pressure_unit=_pressure_unit(system),
        temperature_unit=_temperature_unit(system),
        outside=Quantity.of(drawn.at.ambient_pressure, Kind.pressure, system),
        arrival=_arrival(drawn, system),
        runs=tuple(_run_line(stretch, drawn, build) for stretch in drawn.stretches),
        notes=_notes(drawn, system),
    )


def _pressure_unit(system: System) -> str:
    return "kPa" if system is System.metric else "psi"


def _temperature_unit(system: System) -> str:
    return "°C" if system is System.metric else "°F"


class _Units:
    """Values of the core as numbers in the build's units, pressures over the air outside."""

    def __init__(self, outside: float, system: System) -> None:
        self.outside = outside
        self.metric = system is System.metric
        self.decimals = 1 if self.metric else 2

    def gauge(self, pressure: float) -> float:
        return self.span(pressure - self.outside)

    def span(self, pressure: float) -> float:
        return from_si(pressure, "kPa" if self.metric else "psi")

    def heat(self, temperature: float) -> float:
        return from_si(temperature, "degC" if self.metric else "degF")

    def warming(self, kelvin: float) -> float:
        return kelvin if self.metric else 1.8 * kelvin


def _part(title: str, steps: Sequence[Step], drawn: Drawn, system: System) -> Part:
    units = _Units(drawn.at.ambient_pressure, system)
    upper = Axis(
        f"pressure, {_pressure_unit(system)} over the air outside",
        _pressure_unit(system),
        1,
        LEAST_PRESSURE,
        True,
    )
    lower = Axis(f"temperature, {_temperature_unit(system)}", _temperature_unit(system), 0, LEAST_WARMTH)
    plot = draw_path(
        f"{title}: pressure and temperature at {drawn.at.rpm:.0f} rpm",
        _description(steps, units, upper, lower),
        _legs(steps, units, drawn),
        upper,
        lower,
    )
    names = {(one.place, number): name for one in drawn.stretches for number, name in one.names.items()}
    return Part(title, plot, _rows(steps, names, units, system))


def _legs(steps: Sequence[Step], units: _Units, drawn: Drawn) -> list[Leg]:
    legs = []
    before = (0.0, 0.0)
    for number, (step, share) in enumerate(zip(steps, widths(steps), strict=True)):
        after = (units.span(step.pressure_doubt), units.warming(step.temperature_doubt))
        start = after if number == 0 else before
        legs.append(
            Leg(
                place=step.place.value,
                machine=step.place not in RUNS,
                share=share,
                upper=(units.gauge(step.pressure_in), units.gauge(step.pressure_out)),
                upper_doubt=(start[0], after[0]),
                lower=(units.heat(step.temperature_in), units.heat(step.temperature_out)),
                lower_doubt=(start[1], after[1]),
                sure=step.basis in {Basis.RECKONED, Basis.TYPED} or step.place is PathPlace.THROTTLE,
                note=_note(step, drawn.stretches),
            )
        )
        before = after
    return legs


def _note(step: Step, stretches: Sequence[Stretch]) -> str:
    """Why a stretch is dashed, in a word or three; the list of runs says more."""
    if step.basis is Basis.TAKEN:
        return Basis.TAKEN.value
    if step.basis is not Basis.NOT_KNOWN or step.place not in RUNS:
        return ""
    drawn = any(one.place is step.place and one.design is not None for one in stretches)
    return Basis.NOT_KNOWN.value if drawn else "no design yet"


def _description(steps: Sequence[Step], units: _Units, upper: Axis, lower: Axis) -> str:
    """Every place with the values at its end, as one would read the drawing to somebody."""
    told = []
    for place, members in groupby(steps, key=lambda step: step.place):
        last = list(members)[-1]
        words = f"{place.value}: {upper.write(units.gauge(last.pressure_out))}"
        words += f", {lower.write(units.heat(last.temperature_out))}"
        doubtful = last.basis in {Basis.NOT_KNOWN, Basis.TAKEN} and place is not PathPlace.THROTTLE
        told.append(f"{words} ({last.basis.value})" if doubtful else words)
    return "At the end of each, pressure over the air outside and temperature. " + "; ".join(told) + "."


def _rows(
    steps: Sequence[Step], names: Mapping[tuple[PathPlace, int], str], units: _Units, system: System
) -> tuple[StepRow, ...]:
    """A row a place, and one for each piece of a run under it."""
    rows = []
    for place, members in groupby(steps, key=lambda step: step.place):
        own = list(members)
        rows.append(_row(place.value, own, units, system))
        if place in RUNS and own[0].basis is Basis.RECKONED:
            for step in own:
                name = names.get((place, step.piece or 0), "") if step.piece else "into the port at its end"
                rows.append(_row(name, [step], units, system, "" if step.piece is None else str(step.piece)))
    return tuple(rows)


def _row(name: str, steps: Sequence[Step], units: _Units, system: System, piece: str = "") -> StepRow:
    last = steps[-1]
    lengths = [step.length for step in steps if step.length is not None]
    length = sum(lengths) if len(lengths) == len(steps) else None
    change = last.pressure_out - steps[0].pressure_in
    return StepRow(
        name=name,
        piece=piece,
        length="" if length is None or length == 0.0 else _length(length, system),
        change=Quantity(change, _number(units.span(change), units.decimals + 1, sign=True)),
        pressure=Quantity(
            last.pressure_out - units.outside,
            _number(units.gauge(last.pressure_out), units.decimals),
            doubt=last.pressure_doubt,
        ),
        temperature=Quantity(
            last.temperature_out, _number(units.heat(last.temperature_out), 0), doubt=last.temperature_doubt
        ),
        basis="" if last.basis is Basis.RECKONED else last.basis.value,
    )


def _length(length: float, system: System) -> str:
    """A length along the path: metres, as millimetres of a bent pipe are told too exactly."""
    return show(length, Kind.length, system, unit="m" if system is System.metric else None).text


def _number(value: float, decimals: int, sign: bool = False) -> str:
    """A number with a proper minus; with `sign` a plus too, and nothing for a zero."""
    text = f"{value:+.{decimals}f}" if sign else f"{value:.{decimals}f}"
    if float(text) == 0.0:
        return "0" if sign else text.lstrip("-")
    return text.replace("-", "−")


def _arrival(drawn: Drawn, system: System) -> Arrival:
    at, last = drawn.at, drawn.cold[-1]
    arrives = last.pressure_out - at.ambient_pressure
    ratio = ratio_to_hold(at, drawn.cold)
    held = compress(at.compressor_inlet_temperature, ratio, drawn.sheet.compressor_efficiency, at.flow)
    return Arrival(
        asked=Quantity.of(at.boost, Kind.pressure, system),
        arrives=Quantity.of(arrives, Kind.pressure, system, last.pressure_doubt),
        short=Quantity.of(max(at.boost - arrives, 0.0), Kind.pressure, system),
        ratio=f"{at.pressure_ratio:.2f}",
        ratio_to_hold=f"{ratio:.2f}",
        outlet_to_hold=Quantity.of(held.outlet_temperature, Kind.temperature, system),
        known=all(step.basis is not Basis.NOT_KNOWN for step in drawn.cold[:-1]),
    )


def _run_line(stretch: Stretch, drawn: Drawn, build: Face) -> RunLine:
    subsystem, design = stretch.subsystem, stretch.design
    loss = ""
    if stretch.cold is not None:
        lost = show(stretch.cold.drop, Kind.pressure, build.system, stretch.cold.doubt)
        loss = f"loses {lost.text}"
    if stretch.hot is not None:
        back = stretch.hot.pieces[0].pressure_in - drawn.at.ambient_pressure
        loss = f"{show(back, Kind.pressure, build.system, stretch.hot.doubt).text} at its inlet"
    if subsystem is None:
        return RunLine(
            "", stretch.place.value.capitalize(), urls.subsystems(build.id), "", "Not in this build.", ""
        )
    href = urls.subsystem(build.id, subsystem.id) if design is None else urls.design(build.id, design.key)
    chosen = "chosen" if design is not None and design.chosen else "not chosen yet, the first design"
    why = chosen if stretch.why is None else say(stretch.why, build.system)
    return RunLine(subsystem.letter, subsystem.name, href, "" if design is None else design.name, why, loss)


def _notes(drawn: Drawn, system: System) -> tuple[str, ...]:
    efficiency = f"{100 * drawn.sheet.compressor_efficiency:.0f} %"
    effectiveness = f"{100 * drawn.sheet.intercooler_effectiveness:.0f} %"
    notes = [
        "Pipes are drawn to one scale by their length along the centre line. Machines, and runs that are not"
        " known, have no length here and get an equal stretch each; a piece of unknown length gets the mean.",
        "Air: pressure and temperature as where it is brought to rest (stagnation), losses as the checks"
        " march them. The compressor keeps the engine sheet's pressure ratio, at an efficiency of"
        f" {efficiency}; it multiplies what is lost before it.",
        "The air takes up no heat from the engine bay and gives none off in the pipes: neither is known.",
        "What the throttle loses, wide open, is not known; none is counted.",
    ]
    cooler = next((step for step in drawn.cold if step.place is PathPlace.COOLER), None)
    if cooler is not None and cooler.basis is Basis.RECKONED:
        here, sheet = (
            show(drop, Kind.pressure, system).text for drop in (cooler.drop, drawn.sheet.intercooler_loss)
        )
        notes.append(
            f"Cooler: effectiveness {effectiveness}; it loses {here} by the figure that is typed for it, by"
            " flow squared over density (Kays & London, chapter 2, from memory). The engine sheet, which the"
            f" checks rest on, has {sheet}."
        )
    elif cooler is not None:
        notes.append(
            f"Cooler: effectiveness {effectiveness} and pressure drop as typed on the engine sheet. With its"
            " maker's figure, among the figures of the cooler pipe, the drop is reckoned at this flow."
        )
    taken = next((step for step in drawn.hot if step.basis is Basis.TAKEN), None)
    if taken is not None:
        amount = show(taken.drop, Kind.pressure, system).text
        notes.append(
            "Exhaust: static pressure, reckoned from the air outside upstream, as the check of back pressure"
            f" does; {amount} is taken for what no design draws, common practice, no source. It is drawn at"
            " one temperature: what it loses on the way is not counted, which errs on the safe side."
        )
    if drawn.usual_heat:
        notes.append("Exhaust temperature is the usual one, common practice, no source: nobody typed it.")
    return tuple(notes)
