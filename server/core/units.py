"""Quantities at the edge: what was typed becomes SI floats, SI floats become text in the build's units.

Inside, everything is a float in the SI unit of its kind (`SI_UNIT`): metres, pascals, kelvin, radians, and so
on; rotation is in rad/s. Conversion factors come from pint, once per unit, and are kept.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import pint

INCH = 0.0254
"""Metres in an inch, exact since 1959 (NIST SP 811, B.8)."""


class Kind(StrEnum):
    """What sort of quantity a number is; the value is the word that messages use."""

    length = "length"
    pressure = "pressure"
    temperature = "temperature"
    temperature_difference = "temperature_difference"
    mass_flow = "mass_flow"
    volume_flow = "volume_flow"
    angle = "angle"
    speed = "speed"
    power = "power"
    force = "force"
    mass = "mass"
    volume = "volume"
    ratio = "ratio"
    size = "size"
    rotation = "rotation"
    stress = "stress"
    density = "density"
    time = "time"

    @property
    def words(self) -> str:
        """The kind as plain words, e.g. "mass flow"."""
        return self.value.replace("_", " ")


class System(StrEnum):
    """Which units a build is shown in; the other system stands beside."""

    metric = "metric"
    inch = "inch"


SI_UNIT = {
    Kind.length: "m",
    Kind.pressure: "Pa",
    Kind.temperature: "K",
    Kind.temperature_difference: "delta_degC",
    Kind.mass_flow: "kg/s",
    Kind.volume_flow: "m**3/s",
    Kind.angle: "rad",
    Kind.speed: "m/s",
    Kind.power: "W",
    Kind.force: "N",
    Kind.mass: "kg",
    Kind.volume: "m**3",
    Kind.ratio: "dimensionless",
    Kind.size: "m",
    Kind.rotation: "rad/s",
    Kind.stress: "Pa",
    Kind.density: "kg/m**3",
    Kind.time: "s",
}
"""The unit that a float of each kind is in; a dash size is carried as its tube's outside diameter [m]."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A quantity as text: in the build's units, and in the other system's (empty where there is no other)."""

    text: str
    other: str

    def __str__(self) -> str:
        return f"{self.text} · {self.other}" if self.other else self.text


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[float]:
    """The one pint registry; building it is slow, so it is built once and when first needed."""
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@lru_cache(maxsize=256)
def _scale(unit: str) -> tuple[float, float]:
    """(factor, offset) with SI value = magnitude × factor + offset, in pint's base units."""
    offset = registry().Quantity(0.0, unit).to_base_units().magnitude
    if offset == 0.0:
        return registry().Quantity(1.0, unit).to_base_units().magnitude, 0.0
    factor = registry().Quantity(1.0, f"delta_{unit}").to_base_units().magnitude
    return factor, offset


def to_si(magnitude: float, unit: str) -> float:
    """A number in a named unit as a float in SI base units; points of temperature become kelvin.

    unit: a pint name such as "inch", "psi", "degC" or, for a difference, "delta_degF". Factors: NIST SP 811,
    B.8. Raises pint.UndefinedUnitError for an unknown name.

    >>> to_si(100.0, "degC")
    373.15
    """
    factor, offset = _scale(unit)
    return magnitude * factor + offset


def from_si(value: float, unit: str) -> float:
    """A float in SI base units as a number in a named unit, the inverse of `to_si`.

    >>> round(from_si(0.0635, "inch"), 9)
    2.5
    """
    factor, offset = _scale(unit)
    return (value - offset) / factor


@dataclass(frozen=True, slots=True)
class _Face:
    """How numbers in one unit are written: pint name, label, digits wanted, least and most decimals."""

    unit: str
    label: str
    digits: int
    least: int
    most: int

    def write(self, magnitude: float) -> str:
        """The number without trailing zeros, with its label."""
        return f"{_plain(magnitude, self._decimals(magnitude))}{self.label}"

    def write_with_doubt(self, magnitude: float, doubt: float) -> str:
        """The number to as many decimals as its doubt has, e.g. "82.6 ± 0.1 mm"."""
        decimals = _doubt_decimals(doubt)
        return f"{_fixed(magnitude, decimals)} ± {_fixed(doubt, decimals)}{self.label}"

    def _decimals(self, magnitude: float) -> int:
        if magnitude == 0.0:
            return self.least
        whole_digits = math.floor(math.log10(abs(magnitude))) + 1
        return max(self.least, min(self.most, self.digits - whole_digits))


_INCHES = _Face("inch", " in", 4, 3, 4)
_LENGTH_UNDER_FRACTION = 0.001
"""A fraction may stand for a length when it is within a thousandth of it, and within `_FRACTION_REACH`."""
_FRACTION_REACH = 0.0001
_FRACTION_DENOMINATOR = 64

# Metric face first. Pressure is kPa and psi at every size: a column in one unit is easier to compare.
_FACES: dict[Kind, tuple[_Face, _Face]] = {
    Kind.length: (_Face("mm", " mm", 3, 1, 3), _INCHES),
    Kind.pressure: (_Face("kPa", " kPa", 3, 1, 3), _Face("psi", " psi", 3, 1, 3)),
    Kind.temperature: (_Face("degC", " °C", 3, 0, 1), _Face("degF", " °F", 3, 0, 1)),
    Kind.temperature_difference: (_Face("delta_degC", " °C", 3, 0, 1), _Face("delta_degF", " °F", 3, 0, 1)),
    Kind.mass_flow: (_Face("g/s", " g/s", 3, 0, 3), _Face("lb/min", " lb/min", 3, 1, 4)),
    Kind.volume_flow: (_Face("L/s", " l/s", 3, 0, 4), _Face("foot**3/min", " cfm", 3, 0, 3)),
    Kind.speed: (_Face("m/s", " m/s", 3, 0, 2), _Face("ft/s", " ft/s", 3, 0, 2)),
    Kind.power: (_Face("kW", " kW", 3, 0, 3), _Face("hp", " hp", 3, 0, 3)),
    Kind.force: (_Face("N", " N", 3, 0, 2), _Face("lbf", " lbf", 3, 0, 2)),
    Kind.mass: (_Face("kg", " kg", 3, 0, 3), _Face("lb", " lb", 3, 0, 3)),
    Kind.volume: (_Face("L", " l", 3, 1, 4), _Face("inch**3", " cu in", 3, 0, 2)),
    Kind.stress: (_Face("MPa", " MPa", 3, 0, 3), _Face("ksi", " ksi", 3, 0, 3)),
    Kind.density: (_Face("kg/m**3", " kg/m³", 4, 0, 3), _Face("lb/foot**3", " lb/ft³", 3, 1, 4)),
}
# The same in both systems, so nothing stands beside.
_FACES_OF_BOTH: dict[Kind, _Face] = {
    Kind.angle: _Face("degree", "°", 3, 0, 2),
    Kind.ratio: _Face("dimensionless", "", 3, 2, 4),
    Kind.rotation: _Face("rpm", " rpm", 4, 0, 1),
    Kind.time: _Face("s", " s", 3, 0, 2),
}
# Units that a caller may ask for in place of the usual one.
_FACES_ASKED: dict[str, _Face] = {
    "bar": _Face("bar", " bar", 3, 1, 4),
    "psi": _FACES[Kind.pressure][1],
    "kPa": _FACES[Kind.pressure][0],
    "Pa": _Face("Pa", " Pa", 3, 0, 1),
    "m": _Face("m", " m", 3, 0, 3),
    "percent": _Face("percent", " %", 3, 0, 2),
    "cc/min": _Face("cm**3/min", " cc/min", 3, 0, 1),
    "cc": _Face("cm**3", " cc", 4, 0, 1),
    "kg/s": _Face("kg/s", " kg/s", 3, 0, 4),
    "h": _Face("hour", " h", 3, 0, 2),
    "min": _Face("minute", " min", 3, 0, 1),
}
UNITS_TO_ASK = tuple(_FACES_ASKED)
"""What `show` takes as its `unit`."""


def show(
    value: float, kind: Kind, system: System, doubt: float | None = None, unit: str | None = None
) -> Shown:
    """A float in SI as text in the build's units, the other system's beside.

    value: [SI unit of the kind]; doubt: one standard uncertainty, same unit, as a difference; unit: one of
    `UNITS_TO_ASK` to be used for the text in place of the usual one (bar for boost, percent for a ratio).
    Without a doubt at most the digits that a workshop reads are kept and trailing zeros dropped. With one,
    the doubt has one significant figure, or two where it begins with 1 or 2, and the value as many decimals
    (JCGM 100:2008, 7.2.6). Inches without a doubt are the nearest 1/64 when that is within 0.1 mm and a
    thousandth of the length, decimals otherwise. A value that is no number reads "not known".

    >>> show(0.08255, Kind.length, System.metric)
    Shown(text='82.6 mm', other='3 1/4 in')
    >>> show(0.08255, Kind.length, System.metric, doubt=0.0001).text
    '82.6 ± 0.1 mm'
    """
    return Shown(show_text(value, kind, system, doubt, unit), _beside(value, kind, system))


def show_text(
    value: float, kind: Kind, system: System, doubt: float | None = None, unit: str | None = None
) -> str:
    """What `show` says in the build's units, where the other system's is not wanted.

    >>> show_text(0.08255, Kind.length, System.metric)
    '82.6 mm'
    """
    if not math.isfinite(value):
        return "not known"
    if kind is Kind.size:
        return _dash_text(value)
    face = _FACES_ASKED[unit] if unit is not None else _faces(kind, system)[0]
    if doubt is not None and math.isfinite(doubt) and doubt > 0.0:
        return face.write_with_doubt(from_si(value, face.unit), doubt / _scale(face.unit)[0])
    return _text(value, face)


def _beside(value: float, kind: Kind, system: System) -> str:
    """The same in the other system's units, of a dash size as its length; empty where there is nothing."""
    if not math.isfinite(value):
        return ""
    if kind is Kind.size:
        return _length_text(value, system) + " tube"
    other = _faces(kind, system)[1]
    return "" if other is None else _text(value, other)


def fraction_of_inch(value_m: float, denominator: int = 16) -> tuple[str, float]:
    """The nearest fraction of an inch, reduced, and what it leaves over [m] (value less fraction).

    value_m: a length [m]; denominator: smallest division, e.g. 16. Source: 1 in = 25.4 mm exactly (NIST SP
    811). Raises ValueError for a length that is no number or a denominator below 1.

    >>> text, residual = fraction_of_inch(0.087)
    >>> text, round(residual * 1000, 4)
    ('3 7/16 in', -0.3125)
    """
    if denominator < 1 or not math.isfinite(value_m):
        raise ValueError("a fraction of an inch needs a finite length and a denominator of 1 or more")
    parts = math.floor(abs(value_m) / INCH * denominator + 0.5)
    sign = -1.0 if value_m < 0.0 else 1.0
    residual = value_m - sign * parts * INCH / denominator
    whole, over = divmod(parts, denominator)
    common = math.gcd(over, denominator)
    fraction = f"{over // common}/{denominator // common}" if over else ""
    words = " ".join(part for part in (str(whole) if whole or not over else "", fraction) if part)
    return f"{'-' if sign < 0.0 and parts else ''}{words} in", residual


def dash_of(outside_diameter: float) -> int | None:
    """The dash size (SAE J514: sixteenths of an inch) of a tube of this outside diameter [m], or None.

    >>> dash_of(0.015875)
    10
    """
    dash = round(outside_diameter / INCH * 16)
    return dash if dash > 0 and abs(dash * INCH / 16 - outside_diameter) < 1e-6 else None


def _faces(kind: Kind, system: System) -> tuple[_Face, _Face | None]:
    if kind in _FACES_OF_BOTH:
        return _FACES_OF_BOTH[kind], None
    metric, inch = _FACES[kind]
    return (metric, inch) if system is System.metric else (inch, metric)


def _text(value: float, face: _Face) -> str:
    if face is _INCHES:
        text, residual = fraction_of_inch(value, _FRACTION_DENOMINATOR)
        if abs(residual) < min(_FRACTION_REACH, abs(value) * _LENGTH_UNDER_FRACTION) or value == 0.0:
            return text
    return face.write(from_si(value, face.unit))


def _length_text(value: float, system: System) -> str:
    return _text(value, _FACES[Kind.length][0 if system is System.metric else 1])


def _dash_text(outside_diameter: float) -> str:
    dash = dash_of(outside_diameter)
    return f"-{dash} AN" if dash is not None else "no dash size"


_FIXED = tuple(f"z.{decimals}f" for decimals in range(10))
"""How a number with so many decimals is written; nothing has no sign."""


def _fixed(magnitude: float, decimals: int) -> str:
    # Nudged, so that 82.55 mm reads 82.6 although its nearest float lies a hair under the half.
    nudged = magnitude * (1.0 + 1e-12)
    return format(nudged, _FIXED[decimals]) if decimals >= 0 else format(round(nudged, decimals), _FIXED[0])


def _plain(magnitude: float, decimals: int) -> str:
    text = _fixed(magnitude, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _doubt_decimals(doubt: float) -> int:
    """Decimals (negative for tens) of a doubt that is more than zero."""
    # Scientific text carries a rounding up into the exponent: 0.996 is "1e+00".
    figures, exponent = f"{doubt:.1e}".split("e")
    if figures[0] in "12" and not figures.endswith("0"):
        return min(1 - int(exponent), 9)
    return min(-int(f"{doubt:.0e}".split("e")[1]), 9)
