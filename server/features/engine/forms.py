"""What the builder types on the engine sheet: each quantity in any unit, its text kept."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.air.demand import EnginePoint
from server.core.air.exhaust import LEAST_MIXTURE, MOST_MIXTURE
from server.core.air.fuels import FUELS
from server.core.measure.typed import Reference, Typed
from server.core.units import Kind, System, from_si, to_si
from server.features.engine.page import LABELS, ROWS
from server.web.fields import MEANT, Fields

DEFAULTS = {
    "cylinders": "4",
    "fuel": "petrol-95",
    "elevation": "0 m",
    "ambient_temperature": "25 °C",
    "bonnet_temperature": "80 °C",
    "compressor_efficiency": "70 %",
    "cooler_effectiveness": "70 %",
    "cooler_loss": "7 kPa",
    "filter_loss": "2 kPa",
    "efficiency_doubt": "4 %",
    "boost_doubt": "5 kPa",
}
"""Taken where a field is left empty; common practice, no source."""

USUAL_CURVE = (
    (0.30, 0.80, 0.10),
    (0.45, 0.88, 0.55),
    (0.60, 0.93, 1.00),
    (0.75, 0.95, 1.00),
    (0.90, 0.92, 1.00),
    (1.00, 0.84, 0.95),
)
"""Share of redline, volumetric efficiency, share of the boost asked for; common practice, no source."""

OVER_STEADY_BOOST = 1.25
"""The highest pressure there is over the steady boost where it is not typed; common practice, no source."""


@dataclass(frozen=True, slots=True)
class _Range:
    """What a quantity of the sheet may be [SI], and how that is said."""

    kind: Kind
    least: float
    most: float
    accepts: str


_RANGES = {
    "displacement": _Range(Kind.volume, 5e-5, 0.02, "2.1 l, 2100 cc, 128 cu in; from 0.05 l to 20 l"),
    "elevation": _Range(Kind.length, -600.0, 6000.0, "240 m, 790 ft; from −600 m to 6000 m"),
    "ambient_temperature": _Range(Kind.temperature, 223.15, 333.15, "20 °C, 68 °F; from −50 °C to 60 °C"),
    "bonnet_temperature": _Range(Kind.temperature, 223.15, 573.15, "80 °C, 176 °F; up to 300 °C"),
    "compressor_efficiency": _Range(Kind.ratio, 0.3, 0.9, "70 % or 0.70; from 30 % to 90 %"),
    "cooler_effectiveness": _Range(Kind.ratio, 0.0, 1.0, "70 % or 0.70; 0 where there is no cooler"),
    "cooler_loss": _Range(Kind.pressure, 0.0, 50e3, "7 kPa, 1 psi; up to 50 kPa"),
    "filter_loss": _Range(Kind.pressure, 0.0, 30e3, "2 kPa, 0.3 psi; up to 30 kPa"),
    "meter_range": _Range(Kind.mass_flow, 0.005, 5.0, "0.29 kg/s, 38 lb/min"),
    "meter_bore": _Range(Kind.length, 0.01, 0.3, "80 mm, 3 1/8 in; from 10 mm to 300 mm"),
    "exhaust_temperature": _Range(
        Kind.temperature,
        573.15,
        1373.15,
        "800 °C, 1470 °F; from 300 °C to 1100 °C, as a probe there shows it",
    ),
    "mixture": _Range(
        Kind.ratio,
        LEAST_MIXTURE,
        MOST_MIXTURE,
        "lambda, such as 0.82; from 0.60 to 1.50, not air over fuel",
    ),
    "efficiency_doubt": _Range(Kind.ratio, 0.001, 0.5, "4 % or 0.04; from 0.1 % to 50 %"),
    "boost_doubt": _Range(Kind.pressure, 10.0, 100e3, "5 kPa, 0.7 psi; up to 1 bar"),
}
SORT_OF_FIELD = {
    "ambient_temperature": "outside_temperature",
    "bonnet_temperature": "bonnet_temperature",
    "exhaust_temperature": "exhaust_temperature",
    "meter_bore": "bore",
    "boost": "boost",
    "highest_boost": "boost",
}
"""What is usual in a field, by its name in `plausible.USUAL`."""
_BOOST = _Range(Kind.pressure, 0.0, 400e3, "18 psi, 1.1 bar, 110 kPa, as the gauge shows it; up to 4 bar")
_SPEED = _Range(
    Kind.rotation, to_si(200.0, "rpm"), to_si(20_000.0, "rpm"), "6600 rpm; from 200 rpm to 20000 rpm"
)
_EFFICIENCY = _Range(Kind.ratio, 0.2, 1.5, "92 % or 0.92; from 20 % to 150 %")


@dataclass(frozen=True, slots=True)
class EngineForm:
    """The sheet as read [SI, rpm]; `typed` is each field's text, with the default where it was left empty."""

    displacement: float
    cylinders: int
    redline: float
    fuel: str
    elevation: float
    ambient_temperature: float
    bonnet_temperature: float
    compressor_efficiency: float
    cooler_effectiveness: float
    cooler_loss: float
    filter_loss: float
    highest_boost: float
    meter_range: float | None
    meter_bore: float | None
    exhaust_temperature: float | None
    mixture: float | None
    efficiency_doubt: float
    boost_doubt: float
    points: tuple[EnginePoint, ...]
    typed: dict[str, str]


@dataclass(frozen=True, slots=True)
class EngineEdit:
    """`version` 0 stands for a sheet that was not there yet."""

    version: int
    form: EngineForm


def engine_edit(typed: Mapping[str, str], system: System) -> EngineEdit:
    """Raises MissingVersion, BadInput."""
    version = Fields(typed).version()
    return EngineEdit(version, engine_form(typed, system))


def engine_form(typed: Mapping[str, str], system: System) -> EngineForm:
    """Raises BadInput with a message beside every field that can't be used."""
    filled = {name: typed.get(name, "").strip() for name in LABELS}
    filled = {name: text or DEFAULTS.get(name, "") for name, text in filled.items()}
    fields = Fields(filled | {name: text for name, text in typed.items() if name.startswith(MEANT)})
    found = {name: _quantity(fields, name, limits, system) for name, limits in _RANGES.items()}
    if not filled["displacement"]:
        fields.refuse("displacement", "Displacement is missing.", _RANGES["displacement"].accepts)
    redline = _rpm(fields, "redline", required=True)
    cylinders = fields.whole("cylinders", LABELS["cylinders"], least=1, most=16)
    fuel = fields.choice("fuel", LABELS["fuel"], tuple(FUELS))
    boost = _quantity(fields, "boost", _BOOST, system)
    points = _points(fields, system, redline, boost)
    steady = max((point.boost for point in points), default=boost or 0.0)
    highest = _highest(fields, system, steady)
    fields.done()
    return EngineForm(
        displacement=_sure(found["displacement"]),
        cylinders=cylinders or 4,
        redline=_sure(redline),
        fuel=fuel,
        elevation=_sure(found["elevation"]),
        ambient_temperature=_sure(found["ambient_temperature"]),
        bonnet_temperature=_sure(found["bonnet_temperature"]),
        compressor_efficiency=_sure(found["compressor_efficiency"]),
        cooler_effectiveness=_sure(found["cooler_effectiveness"]),
        cooler_loss=_sure(found["cooler_loss"]),
        filter_loss=_sure(found["filter_loss"]),
        highest_boost=_sure(highest),
        meter_range=found["meter_range"],
        meter_bore=found["meter_bore"],
        exhaust_temperature=found["exhaust_temperature"],
        mixture=found["mixture"],
        efficiency_doubt=_sure(found["efficiency_doubt"]),
        boost_doubt=_sure(found["boost_doubt"]),
        points=points,
        typed={name: fields.raw(name) for name, text in filled.items() if text},
    )


def _sure(value: float | None) -> float:
    """A value that `done` has made sure of."""
    if value is None:
        raise LookupError("a required field passed without a value")
    return value


def _bare_unit(kind: Kind, system: System, name: str) -> str | None:
    """The unit of a bare number, where only one is usual; pressures and flows have to say theirs."""
    if kind is Kind.temperature:
        return "°C" if system is System.metric else "°F"
    if name == "elevation":
        return "m" if system is System.metric else "ft"
    if kind is Kind.length:
        return "mm" if system is System.metric else "in"
    return None


def _quantity(fields: Fields, name: str, limits: _Range, system: System) -> float | None:
    typed = fields.quantity(
        name,
        LABELS[name],
        limits.kind,
        unit=_bare_unit(limits.kind, system, name),
        least=limits.least,
        most=limits.most,
        accepts=limits.accepts,
        sort=SORT_OF_FIELD.get(name, ""),
    )
    return None if typed is None or _absolute(fields, name, typed, limits) else typed.value


def _absolute(fields: Fields, name: str, typed: Typed, limits: _Range) -> bool:
    """Every pressure of the sheet is a difference from the air around; an absolute one is refused."""
    if typed.reference is not Reference.absolute:
        return False
    fields.refuse(name, f"{LABELS[name]}: this is absolute; take the air outside off.", limits.accepts)
    return True


def _rpm(fields: Fields, name: str, *, required: bool) -> float | None:
    typed = fields.quantity(
        name,
        LABELS[name],
        _SPEED.kind,
        required=required,
        least=_SPEED.least,
        most=_SPEED.most,
        accepts=_SPEED.accepts,
    )
    return None if typed is None else round(from_si(typed.value, "rpm"), 3)


def _points(
    fields: Fields, system: System, redline: float | None, boost: float | None
) -> tuple[EnginePoint, ...]:
    """The rows that were filled in, or the usual curve where none was."""
    rows = [number for number in ROWS if any(fields.raw(f"{part}_{number}") for part in _ROW_PARTS)]
    if not rows:
        if not fields.raw("boost"):
            fields.refuse("boost", f"{LABELS['boost']} is missing.", _BOOST.accepts)
        return usual_points(redline, boost) if redline is not None and boost is not None else ()
    by_speed: dict[float, EnginePoint] = {}
    for number in rows:
        point = _point(fields, number, system, redline, boost)
        if point is not None and point.rpm in by_speed:
            fields.refuse(f"rpm_{number}", f"Another row has {point.rpm:g} rpm already.", "each speed once")
        elif point is not None:
            by_speed[point.rpm] = point
    return tuple(by_speed[speed] for speed in sorted(by_speed))


_ROW_PARTS = ("rpm", "efficiency", "boost")


def usual_points(redline: float, boost: float) -> tuple[EnginePoint, ...]:
    """The usual shape for a redline [rpm] and a boost [Pa, gauge]; common practice, no source."""
    return tuple(
        EnginePoint(round(share * redline), efficiency, part * boost)
        for share, efficiency, part in USUAL_CURVE
    )


def _point(
    fields: Fields, number: int, system: System, redline: float | None, asked: float | None
) -> EnginePoint | None:
    """One row: what is left empty in it is the usual efficiency at that speed, and the boost asked for."""
    rpm = _rpm(fields, f"rpm_{number}", required=True)
    efficiency = _quantity(fields, f"efficiency_{number}", _EFFICIENCY, system)
    boost = _quantity(fields, f"boost_{number}", _BOOST, system)
    if not fields.raw(f"boost_{number}"):
        boost = asked
        if not fields.raw("boost"):
            fields.refuse(f"boost_{number}", f"{LABELS[f'boost_{number}']} is missing.", _BOOST.accepts)
    if not fields.raw(f"efficiency_{number}") and rpm is not None and redline is not None:
        efficiency = _usual_efficiency(rpm / redline)
    if rpm is None or efficiency is None or boost is None:
        return None
    return EnginePoint(rpm, efficiency, boost)


def _usual_efficiency(share: float) -> float:
    """Volumetric efficiency of the usual curve at a share of the redline, its ends held."""
    below = USUAL_CURVE[0]
    for above in USUAL_CURVE:
        if share <= above[0]:
            span = above[0] - below[0]
            part = (share - below[0]) / span if span > 0.0 else 0.0
            return below[1] + max(part, 0.0) * (above[1] - below[1])
        below = above
    return below[1]


def _highest(fields: Fields, system: System, steady: float) -> float | None:
    """The highest boost there is: as typed, or the usual margin over the steady one."""
    typed = _quantity(fields, "highest_boost", _BOOST, system)
    if not fields.raw("highest_boost"):
        return OVER_STEADY_BOOST * steady
    if typed is not None and typed < steady * (1.0 - 1e-9):
        fields.refuse(
            "highest_boost",
            f"{LABELS['highest_boost']}: this is less than the steady boost, which it can't be.",
            "the over-boost cut or the spike on lift-off, or nothing typed for a quarter over the boost",
        )
    return typed
