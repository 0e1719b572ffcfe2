"""The engine sheet: what is asked, and the air demand as a drawing and a table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil, floor
from typing import ClassVar

from server.core.air.demand import DemandPoint, EngineSheet
from server.core.air.exhaust import USUAL_TEMPERATURE, exhaust_flow
from server.core.air.fuels import FUELS, PowerEstimate
from server.core.air.meter import meter_share
from server.core.measure.estimate import Estimate
from server.core.units import Kind, System, from_si, show
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web.plot import Curve, Plot, draw
from server.web.view import FormState, Option, Page, Quantity

ROWS = tuple(range(1, 9))
"""Rows of the table of engine speeds."""

LABELS = {
    "displacement": "Displacement",
    "redline": "Redline",
    "boost": "Boost asked for",
    "fuel": "Fuel",
    "cylinders": "Cylinders",
    "highest_boost": "Highest boost there is",
    "elevation": "Garage above sea level",
    "ambient_temperature": "Outside temperature",
    "bonnet_temperature": "Air under the bonnet, engine hot",
    "compressor_efficiency": "Compressor efficiency",
    "cooler_effectiveness": "Cooler effectiveness",
    "cooler_loss": "Pressure lost in the cooler",
    "filter_loss": "Pressure lost before the run",
    "meter_range": "Greatest flow the air meter reads",
    "meter_bore": "Bore of the air meter's housing",
    "exhaust_temperature": "Exhaust at the turbine's outlet, at the peak",
    "mixture": "Mixture at the peak, lambda",
    "efficiency_doubt": "Doubt of volumetric efficiency",
    "boost_doubt": "Doubt of boost",
    **{f"rpm_{number}": f"Row {number}, speed" for number in ROWS},
    **{f"efficiency_{number}": f"Row {number}, volumetric efficiency" for number in ROWS},
    **{f"boost_{number}": f"Row {number}, boost" for number in ROWS},
}

HINTS = {
    "displacement": "2.1 l, 2100 cc",
    "redline": "6600 rpm",
    "boost": "as the gauge shows it: 18 psi, 1.1 bar",
    "highest_boost": "cut or lift-off spike; empty: a quarter over the boost, common practice",
    "elevation": "240 m, 790 ft",
    "ambient_temperature": "of a warm day: 25 °C is common practice",
    "bonnet_temperature": "around the hoses: 80 °C is common practice",
    "compressor_efficiency": "70 % is common practice",
    "cooler_effectiveness": "70 % is common practice; 0 where there is none",
    "cooler_loss": "at full flow: 7 kPa is common practice",
    "filter_loss": "filter and box, at full flow: 2 kPa is common practice",
    "meter_range": "0.29 kg/s, 38 lb/min; left empty where not known",
    "meter_bore": "that its calibration is for: 80 mm",
    "efficiency_doubt": "4 % is common practice",
    "boost_doubt": "5 kPa is common practice",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One field: its name in the form, its label, what stands in it, and what may be typed."""

    name: str
    label: str
    text: str
    hint: str


@dataclass(frozen=True, slots=True)
class Fold:
    """Fields that a phone shows only when asked; `open` where one of them needs another look."""

    heading: str
    entries: tuple[Entry, ...]
    open: bool


@dataclass(frozen=True, slots=True)
class SpeedRow:
    """One row of the table of speeds; the `usual` texts are what is used while the row is empty."""

    number: int
    rpm: str
    efficiency: str
    boost: str
    usual_rpm: str = ""
    usual_efficiency: str = ""
    usual_boost: str = ""


@dataclass(frozen=True, slots=True)
class CurveRow:
    """The air at one speed. Numbers only: their units stand over the columns."""

    rpm: str
    boost: Quantity
    flow: Quantity
    manifold_pressure: Quantity
    manifold_temperature: Quantity
    outlet_temperature: Quantity
    pressure_ratio: Quantity
    is_peak: bool


@dataclass(frozen=True, slots=True)
class Units:
    """The units over the columns of the table."""

    boost: str
    flow: str
    other_flow: str
    pressure: str
    temperature: str


@dataclass(frozen=True, slots=True)
class Exhaust:
    """The exhaust at the turbine's outlet, at the peak. `usual`: what nobody typed, in words."""

    flow: Quantity
    temperature: Quantity
    mixture: str
    usual: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What the engine asks for: the peak, the drawing, the table, and the power it stands for."""

    peak_rpm: str
    peak_flow: Quantity
    peak_pressure_ratio: str
    peak_outlet_temperature: Quantity
    manifold: Quantity
    highest_boost: Quantity
    exhaust: Exhaust
    power: Quantity
    power_notes: tuple[str, ...]
    meter: str
    meter_over: bool
    plot: Plot
    units: Units
    rows: tuple[CurveRow, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class EnginePage(Page):
    """The engine sheet of a build. `version` 0: not filled in yet."""

    template: ClassVar[str] = "engine/engine.html"
    fragments: ClassVar[dict[str, str]] = {"demand": "demand"}

    id: int
    version: int
    answer: Answer | None
    map_over: str
    """How far the boost goes above the compressor's map, in words; empty where it does not."""
    first: tuple[Entry, ...]
    fuels: tuple[Option, ...]
    fuel: str
    folds: tuple[Fold, ...]
    speeds: tuple[SpeedRow, ...]
    speeds_open: bool
    form: FormState


def usual_exhaust(system: System, fuel: str) -> dict[str, str]:
    """What stands in for the two fields of the exhaust while they are empty, in words."""
    heat = show(USUAL_TEMPERATURE, Kind.temperature, system)
    named = FUELS.get(fuel)
    burnt = [named] if named is not None else list(FUELS.values())
    mixtures = ", ".join(f"{one.boost_lambda:.2f} for {one.name}" for one in burnt)
    return {
        "exhaust_temperature": f"left empty: {heat.text} ({heat.other}), common practice, no source",
        "mixture": f"left empty: {mixtures}, common practice, no source",
    }


_TURBO = ("compressor_efficiency", "cooler_effectiveness", "cooler_loss", "filter_loss")
_FOLDS = (
    ("Outside and under the bonnet", ("elevation", "ambient_temperature", "bonnet_temperature")),
    (
        "Turbo, cooler and filter",
        ("compressor_efficiency", "cooler_effectiveness", "cooler_loss", "filter_loss"),
    ),
    ("Limits: over-boost and air meter", ("highest_boost", "meter_range", "meter_bore", "cylinders")),
    ("Exhaust gas", ("exhaust_temperature", "mixture")),
    ("How sure these are", ("efficiency_doubt", "boost_doubt")),
)


def engine_page(
    build: Face,
    today: date,
    version: int,
    texts: Mapping[str, str],
    sheet: EngineSheet | None,
    answer: Answer | None,
    map_top: float | None,
    refused: Refused | None,
) -> EnginePage:
    """`sheet`, `answer`: None while the sheet is empty; `map_top`: highest ratio of the compressor's map."""
    form = FormState.of(refused)
    usual = usual_exhaust(build.system, texts.get("fuel", ""))

    def entry(name: str) -> Entry:
        return Entry(name, LABELS[name], texts.get(name, ""), HINTS.get(name) or usual.get(name, ""))

    folds = tuple(
        Fold(words, tuple(entry(name) for name in names), any(form.error(name) for name in names))
        for words, names in _FOLDS
    )
    rows = _speed_rows(texts, sheet, build.system)
    return EnginePage(
        **heading(build, "Engine", today),
        id=build.id,
        version=version,
        answer=answer,
        map_over=_map_over(answer.rows, map_top) if answer and map_top else "",
        first=tuple(entry(name) for name in ("displacement", "redline", "boost")),
        fuels=tuple(Option(fuel.code, fuel.name) for fuel in FUELS.values()),
        fuel=texts.get("fuel", ""),
        folds=folds,
        speeds=rows,
        speeds_open=any(error.field.endswith(tuple(f"_{row}" for row in ROWS)) for error in form.errors),
        form=form,
    )


def _map_over(rows: Sequence[CurveRow], top: float) -> str:
    most = max(rows, key=lambda row: row.pressure_ratio.si)
    over = f"{most.pressure_ratio.text} at {most.rpm} rpm; the map ends at {top:.2f}"
    return over if most.pressure_ratio.si > top else ""


def _speed_rows(texts: Mapping[str, str], sheet: EngineSheet | None, system: System) -> tuple[SpeedRow, ...]:
    typed = [SpeedRow(row, *(texts.get(f"{part}_{row}", "") for part in _PARTS)) for row in ROWS]
    if sheet is None or any(row.rpm for row in typed):
        return tuple(typed)
    usual = [
        SpeedRow(
            number,
            *("", "", ""),
            f"{point.rpm:g}",
            f"{point.volumetric_efficiency * 100:.0f} %",
            _boost_text(point.boost, system),
        )
        for number, point in zip(ROWS, sheet.points, strict=False)
    ]
    return tuple(usual + typed[len(usual) :])


_PARTS = ("rpm", "efficiency", "boost")


def _boost_text(boost: float, system: System) -> str:
    return show(boost, Kind.pressure, system, unit="bar" if system is System.metric else "psi").text


def listed_speeds(lowest: float, redline: float, peak: float) -> tuple[float, ...]:
    """Round speeds for the table, with both ends and the peak [rpm]."""
    step = 1000.0 if redline - lowest > 3000.0 else 500.0
    round_ones = {number * step for number in range(ceil(lowest / step), floor(redline / step) + 1)}
    kept = {lowest, peak, redline}
    apart = {speed for speed in round_ones if all(abs(speed - one) >= 0.2 * step for one in kept)}
    return tuple(sorted(apart | kept))


def answer(
    system: System,
    sheet: EngineSheet,
    curve: Sequence[DemandPoint],
    listed: Sequence[DemandPoint],
    flow: Estimate,
    power: PowerEstimate,
    meter_range: float | None,
) -> Answer:
    """curve: at least one point, for the drawing; listed: for the table; flow: at the peak."""
    top = max(curve, key=lambda point: point.flow)
    used = None if meter_range is None else meter_share(flow.value, meter_range)
    return Answer(
        peak_rpm=f"{top.rpm:.0f} rpm",
        peak_flow=_flow(flow.value, system, flow.doubt),
        peak_pressure_ratio=f"{top.pressure_ratio:.2f}",
        peak_outlet_temperature=Quantity.of(top.compressor_outlet_temperature, Kind.temperature, system),
        manifold=Quantity.of(top.manifold_pressure, Kind.pressure, system),
        highest_boost=_boost(sheet.overboost, system),
        exhaust=_exhaust(system, sheet, flow.value),
        power=Quantity.of(power.power, Kind.power, system),
        power_notes=power.notes,
        meter="" if used is None else f"{used * 100:.0f} % of its range",
        meter_over=used is not None and used > 1.0,
        plot=_plot(system, curve, sheet, top, flow.value),
        units=_units(system),
        rows=tuple(_curve_row(point, system, point.rpm == top.rpm) for point in listed),
        notes=tuple(sorted({note for point in curve for note in point.notes})),
    )


def _exhaust(system: System, sheet: EngineSheet, air: float) -> Exhaust:
    fuel = FUELS[sheet.fuel]
    mixture = fuel.boost_lambda if sheet.mixture is None else sheet.mixture
    heat = USUAL_TEMPERATURE if sheet.exhaust_temperature is None else sheet.exhaust_temperature
    typed = {"temperature": sheet.exhaust_temperature, "mixture": sheet.mixture}
    missing = " and ".join(name for name, value in typed.items() if value is None)
    return Exhaust(
        flow=_flow(exhaust_flow(air, fuel, mixture), system),
        temperature=Quantity.of(heat, Kind.temperature, system),
        mixture=f"{mixture:.2f}",
        usual=f"Exhaust: {missing} as is usual, common practice, no source; type yours under Exhaust gas."
        if missing
        else "",
    )


def _flow(value: float, system: System, doubt: float | None = None) -> Quantity:
    """Air in kg/s or lb/min, the other beside."""
    metric = system is System.metric
    other = (
        show(value, Kind.mass_flow, System.inch).text
        if metric
        else show(value, Kind.mass_flow, System.metric, unit="kg/s").text
    )
    shown = show(value, Kind.mass_flow, system, doubt, unit="kg/s" if metric else None)
    return Quantity(value, shown.text, other, doubt)


def _boost(value: float, system: System) -> Quantity:
    unit = "bar" if system is System.metric else "psi"
    shown = show(value, Kind.pressure, system, unit=unit)
    other = show(value, Kind.pressure, System.inch if system is System.metric else System.metric)
    return Quantity(value, shown.text, other.text)


def _units(system: System) -> Units:
    if system is System.metric:
        return Units("bar", "kg/s", "lb/min", "kPa", "°C")
    return Units("psi", "lb/min", "kg/s", "psi", "°F")


def _curve_row(point: DemandPoint, system: System, is_peak: bool) -> CurveRow:
    metric = system is System.metric
    kilograms, pounds = f"{point.flow:.3f}", f"{from_si(point.flow, 'lb/min'):.1f}"
    pressure = from_si(point.manifold_pressure, "kPa" if metric else "psi")
    boost = from_si(point.boost, "bar" if metric else "psi")

    def temperature(kelvin: float) -> Quantity:
        return Quantity(kelvin, f"{from_si(kelvin, 'degC' if metric else 'degF'):.0f}")

    return CurveRow(
        rpm=f"{point.rpm:.0f}",
        boost=Quantity(point.boost, f"{boost:.2f}" if metric else f"{boost:.1f}"),
        flow=Quantity(point.flow, kilograms if metric else pounds, pounds if metric else kilograms),
        manifold_pressure=Quantity(
            point.manifold_pressure, f"{pressure:.0f}" if metric else f"{pressure:.1f}"
        ),
        manifold_temperature=temperature(point.manifold_temperature),
        outlet_temperature=temperature(point.compressor_outlet_temperature),
        pressure_ratio=Quantity(point.pressure_ratio, f"{point.pressure_ratio:.2f}"),
        is_peak=is_peak,
    )


def _in_words(system: System, curve: Sequence[DemandPoint], sheet: EngineSheet) -> str:
    """What there is to see on the drawing: both ends of the line, and where boost is highest."""
    first, last = curve[0], curve[-1]
    most = max(curve, key=lambda point: point.boost)
    return (
        f"Air from {_flow(first.flow, system).text} at {first.rpm:.0f} rpm to {_flow(last.flow, system).text}"
        f" at {last.rpm:.0f} rpm; boost up to {_boost(most.boost, system).text} from {most.rpm:.0f} rpm on;"
        f" redline {sheet.redline:.0f} rpm. The table below has the numbers."
    )


def _plot(
    system: System, curve: Sequence[DemandPoint], sheet: EngineSheet, top: DemandPoint, flow: float
) -> Plot:
    metric = system is System.metric
    flow_unit, boost_unit = ("kg/s", "bar") if metric else ("lb/min", "psi")
    speeds = [point.rpm for point in curve]
    peak = _flow(flow, system)
    return draw(
        label=f"Air demand over engine speed: peak {peak.text} at {top.rpm:.0f} rpm",
        description=_in_words(system, curve, sheet),
        x_title="engine speed, rpm",
        thick=Curve(f"air, {flow_unit}", speeds, [from_si(point.flow, flow_unit) for point in curve]),
        thin=Curve(f"boost, {boost_unit}", speeds, [from_si(point.boost, boost_unit) for point in curve]),
        limit=sheet.redline,
        limit_text=f"redline {sheet.redline:.0f}",
        peak=(f"{peak.text} · {peak.other}", f"at {top.rpm:.0f} rpm"),
    )
