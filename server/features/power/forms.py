"""What may be typed to correct a power: the weather it was observed in, and a figure that was measured."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.measure.typed import Reference
from server.core.units import Kind, System
from server.features.power.page import LABELS
from server.web.fields import Fields


@dataclass(frozen=True, slots=True)
class Weather:
    """As typed [SI], each None where it was left empty. humidity: relative, 0 to 1. pressure: absolute."""

    humidity: float | None
    temperature: float | None
    pressure: float | None
    measured: float | None


def weather(typed: Mapping[str, str], system: System) -> Weather:
    """Raises BadInput with a message beside every field that can't be used."""
    fields = Fields(typed)
    power = _quantity(fields, "measured", Kind.power, "203 hp, 150 kW; up to 2000 kW", None, 1e3, 2e6)
    accepts = "45 % or 0.45; from 0 % to 100 %"
    humidity = _quantity(fields, "humidity", Kind.ratio, accepts, "percent", 0.0, 1.0)
    unit = "°C" if system is System.metric else "°F"
    accepts = "18 °C, 64 °F; from −40 °C to 60 °C"
    temperature = _quantity(fields, "temperature", Kind.temperature, accepts, unit, 233.15, 333.15)
    pressure = _pressure(fields)
    fields.done()
    return Weather(humidity, temperature, pressure, power)


def _quantity(
    fields: Fields, name: str, kind: Kind, accepts: str, unit: str | None, least: float, most: float
) -> float | None:
    typed = fields.quantity(name, LABELS[name], kind, unit=unit, least=least, most=most, accepts=accepts)
    return None if typed is None else typed.value


def _pressure(fields: Fields) -> float | None:
    """The air's own pressure: it can't be counted from itself."""
    accepts = "98.5 kPa, 985 hPa, 29.1 inHg, absolute as it stands there; from 60 kPa to 110 kPa"
    typed = fields.quantity(
        "pressure", LABELS["pressure"], Kind.pressure, least=60e3, most=110e3, accepts=accepts
    )
    if typed is not None and typed.reference is Reference.gauge:
        fields.refuse("pressure", f"{LABELS['pressure']} is absolute, not gauge.", accepts)
    return None if typed is None else typed.value
