"""Power and torque as a drawing and a table, and the corrected figure marked as one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.air.corrected_power import DISPUTED, FORMULA, CorrectedPower
from server.core.air.demand import EngineSheet
from server.core.air.fuels import FUELS, power_from_air
from server.core.air.power_curve import CONSUMPTION_DOUBT, MIXTURE_DOUBT, PowerPoint
from server.core.units import Kind, System, from_si, show
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web.plot import Curve, Plot, draw
from server.web.view import FormState, Page, Quantity

LABELS = {
    "measured": "Power that was measured",
    "temperature": "Air temperature then",
    "pressure": "Air pressure then",
    "humidity": "Humidity then",
}
USUAL_HUMIDITY = 0.5
"""Relative humidity where none is typed; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Curves:
    """Power and torque as drawn, close together, and as listed at round speeds and at the peak."""

    drawn: tuple[PowerPoint, ...]
    listed: tuple[PowerPoint, ...]


@dataclass(frozen=True, slots=True)
class Correction:
    """A power with what the standard makes of it. [SI]

    doubt: of the observed power, None for one that was measured. pressure: absolute, and temperature, of the
    air; humidity: relative; guessed: nobody typed it. between: corrected in dry and in saturated air.
    """

    found: CorrectedPower
    measured: bool
    doubt: float | None
    pressure: float
    temperature: float
    humidity: float
    guessed: bool
    between: tuple[float, float]


@dataclass(frozen=True, slots=True)
class PowerRow:
    """The engine's output at one speed."""

    rpm: str
    power: Quantity
    torque: str
    torque_other: str
    is_peak: bool


@dataclass(frozen=True, slots=True)
class Observed:
    """What the engine gives: its peaks, the drawing, the table."""

    peak: Quantity
    peak_rpm: str
    torque: str
    torque_other: str
    torque_rpm: str
    plot: Plot
    rows: tuple[PowerRow, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Corrected:
    """The corrected figure with everything that it rests on."""

    observed_name: str
    observed: Quantity
    corrected: Quantity
    factor: str
    in_range: bool
    disputed: str
    air: tuple[tuple[str, Quantity], ...]
    humidity: str
    between: str
    notes: tuple[str, ...]
    formula: str


@dataclass(frozen=True, kw_only=True)
class PowerPage(Page):
    """Power of the engine: observed first, corrected after it."""

    template: ClassVar[str] = "power/power.html"

    id: int
    observed: Observed | None
    corrected: Corrected | None
    texts: dict[str, str]
    form: FormState


def power_page(
    build: Face,
    today: date,
    engine: tuple[EngineSheet, Curves] | None,
    correction: Correction | None,
    texts: Mapping[str, str],
    refused: Refused | None,
) -> PowerPage:
    """`engine`: None without an engine sheet; `correction`: None too where what was typed is refused."""
    return PowerPage(
        **heading(build, "Power", today, within="Engine"),
        id=build.id,
        observed=None if engine is None else _observed(*engine, build.system),
        corrected=None if correction is None else _corrected(correction, build.system),
        texts=dict(texts),
        form=FormState.of(refused),
    )


def _observed(sheet: EngineSheet, curves: Curves, system: System) -> Observed:
    curve = curves.drawn
    strongest = max(curve, key=lambda point: point.power)
    twist = max(curve, key=lambda point: point.torque)
    fuel = FUELS[sheet.fuel]
    torque, other = _torque(twist.torque, system)
    usual = power_from_air(0.0, fuel).notes
    doubts = (
        f"{100 * MIXTURE_DOUBT:.0f} % of the mixture and {100 * CONSUMPTION_DOUBT:.0f} % of the consumption"
    )
    return Observed(
        peak=Quantity.of(strongest.power, Kind.power, system, strongest.doubt),
        peak_rpm=f"{strongest.rpm:.0f} rpm",
        torque=torque,
        torque_other=other,
        torque_rpm=f"{twist.rpm:.0f} rpm",
        plot=_plot(sheet, curve, strongest, twist, system),
        rows=tuple(_row(point, system, point == strongest) for point in curves.listed),
        notes=(
            *usual,
            f"The doubt is that of the air and, as common practice without a source, {doubts}.",
            "Where boost has hardly begun the engine burns leaner and gives rather more than is drawn here.",
            "Losses of the pipes are not taken off: the engine sheet's boost is taken to arrive.",
        ),
    )


def _row(point: PowerPoint, system: System, is_peak: bool) -> PowerRow:
    torque, other = _torque(point.torque, system)
    return PowerRow(
        f"{point.rpm:.0f}",
        Quantity.of(point.power, Kind.power, system, point.doubt),
        torque,
        other,
        is_peak,
    )


def _torque(newton_metres: float, system: System) -> tuple[str, str]:
    """A torque in the build's units and in the other ones."""
    metric = f"{newton_metres:.0f} N·m"
    inch = f"{from_si(newton_metres, 'force_pound * foot'):.0f} lbf·ft"
    return (metric, inch) if system is System.metric else (inch, metric)


def _plot(
    sheet: EngineSheet, curve: Sequence[PowerPoint], strongest: PowerPoint, twist: PowerPoint, system: System
) -> Plot:
    metric = system is System.metric
    power_unit, torque_unit = ("kW", "newton * meter") if metric else ("hp", "force_pound * foot")
    peak = show(strongest.power, Kind.power, system, strongest.doubt)
    torque, _ = _torque(twist.torque, system)
    speeds = [point.rpm for point in curve]
    ends = [show(point.power, Kind.power, system).text for point in (curve[0], curve[-1])]
    return draw(
        label=f"Observed power and torque: {peak.text} at {strongest.rpm:.0f} rpm",
        description=(
            f"Power from {ends[0]} at {curve[0].rpm:.0f} rpm over {peak.text} at {strongest.rpm:.0f} rpm to"
            f" {ends[1]} at {curve[-1].rpm:.0f} rpm; torque up to {torque} at {twist.rpm:.0f} rpm. The band"
            " is one standard uncertainty of the power either way. The table below has the numbers."
        ),
        x_title="engine speed, rpm",
        thick=Curve(
            f"power, {power_unit}",
            speeds,
            [from_si(point.power, power_unit) for point in curve],
            [from_si(point.doubt, power_unit) for point in curve],
        ),
        thin=Curve(
            f"torque, {'N·m' if metric else 'lbf·ft'}",
            speeds,
            [from_si(point.torque, torque_unit) for point in curve],
        ),
        limit=sheet.redline,
        limit_text=f"redline {sheet.redline:.0f}",
        peak=(peak.text, f"at {strongest.rpm:.0f} rpm"),
    )


def _corrected(correction: Correction, system: System) -> Corrected:
    found = correction.found
    low, high = sorted(correction.between)
    between = f"{show(low, Kind.power, system).text} to {show(high, Kind.power, system).text}"
    doubt = None if correction.doubt is None else correction.doubt * found.factor
    return Corrected(
        observed_name="Measured" if correction.measured else "Observed, an estimate",
        observed=Quantity.of(found.observed, Kind.power, system, correction.doubt),
        corrected=Quantity.of(found.corrected, Kind.power, system, doubt),
        factor=f"{found.factor:.3f}",
        in_range=found.in_range,
        disputed=DISPUTED if DISPUTED in found.notes else "",
        air=(
            ("Air pressure", Quantity.of(correction.pressure, Kind.pressure, system)),
            ("Air temperature", Quantity.of(correction.temperature, Kind.temperature, system)),
        ),
        humidity=f"{100 * correction.humidity:.0f} %",
        between=f"In air from dry to saturated it would be {between}." if correction.guessed else "",
        notes=tuple(note for note in found.notes if note != DISPUTED),
        formula=FORMULA,
    )
