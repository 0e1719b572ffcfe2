"""Figures of what is fitted and is no pipe: injectors and pump, oil feed and drain, the wastegate.

Each has a key, plain words and what may be typed. A figure belongs to a kind of subsystem; rules of that
kind rest on it as rules of a run rest on its sizes.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from server.core.measure.estimate import Estimate
from server.core.tube.run import Place
from server.core.units import Kind

OWNER = "figure"
"""First part of a figure's name as a variable: `figure.fuel.injector_flow`."""

MAP = "turbo.map"
"""Key of the compressor's map: a table that is read as maps are printed and exported."""

Table = tuple[tuple[float, ...], ...]
"""Rows of figures [SI units of their columns]."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. unit: pint name of a bare number."""

    heading: str
    kind: Kind
    unit: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure that may be typed.

    kind: of a quantity, None for a choice or a table. unit: pint name of a bare number. least, most: [SI].
    doubt: standard uncertainty where none is typed, of the value [-]. whole: it counts things. choices: value
    and label. columns: of a table.
    """

    key: str
    words: str
    kind: Kind | None = None
    unit: str = ""
    least: float = 0.0
    most: float = 0.0
    doubt: float = 0.0
    whole: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    columns: tuple[Column, ...] = ()
    hint: str = ""

    @property
    def variable(self) -> str:
        """Its name as a variable."""
        return f"{OWNER}.{self.key}"


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of a subsystem as typed: by key, numbers [SI] with doubt, choices, tables."""

    numbers: Mapping[str, Estimate] = field(default_factory=dict)
    said: Mapping[str, str] = field(default_factory=dict)
    tables: Mapping[str, Table] = field(default_factory=dict)

    def __bool__(self) -> bool:
        """Whether anything was typed."""
        return bool(self.numbers or self.said or self.tables)

    def with_number(self, key: str, value: float) -> "Figures":
        """The same with one number [SI] changed, its doubt kept. Raises KeyError where it was not typed."""
        changed = Estimate(value, self.numbers[key].doubt)
        return replace(self, numbers={**self.numbers, key: changed})


YES_NO = (("yes", "yes"), ("no", "no"))

_FUEL = (
    Figure("fuel.injectors", "number of injectors", Kind.ratio, "dimensionless", 1.0, 24.0, whole=True),
    Figure(
        "fuel.injector_flow",
        "flow of one injector, held open",
        Kind.volume_flow,
        "cm**3/min",
        1e-6,
        1e-4,
        doubt=0.03,
        hint="at the pressure its maker tested it with: 550 cc/min",
    ),
    Figure(
        "fuel.rated_pressure",
        "pressure of that test",
        Kind.pressure,
        "bar",
        0.5e5,
        20e5,
        doubt=0.01,
        hint="often 3 bar",
    ),
    Figure(
        "fuel.dead_time",
        "dead time of the injector",
        Kind.time,
        "millisecond",
        0.0,
        0.005,
        doubt=0.15,
        hint="at the battery's voltage, from its maker: 0.9 ms",
    ),
    Figure(
        "fuel.base_pressure",
        "fuel pressure, regulator's hose off",
        Kind.pressure,
        "bar",
        0.5e5,
        20e5,
        doubt=0.02,
        hint="engine still, pump running: 3 bar",
    ),
    Figure(
        "fuel.referenced",
        "regulator's hose goes to the manifold",
        choices=YES_NO,
        hint="so that the rail follows boost one to one",
    ),
    Figure(
        "fuel.pump",
        "flow of the pump by pressure",
        columns=(
            Column("pressure", Kind.pressure, "bar"),
            Column("flow", Kind.volume_flow, "L/hour"),
        ),
        hint="one row each, from its maker, at the voltage it will see: 3 bar; 255 l/h",
    ),
    Figure(
        "fuel.line_bore",
        "bore of the fuel feed line",
        Kind.length,
        "mm",
        0.001,
        0.05,
        doubt=0.01,
    ),
    Figure("fuel.line_length", "length of the fuel feed line", Kind.length, "m", 0.1, 20.0, doubt=0.02),
)

_TURBO = (
    Figure(
        MAP,
        "compressor map",
        columns=(
            Column("corrected flow", Kind.mass_flow, "kg/s"),
            Column("pressure ratio", Kind.ratio, "dimensionless"),
            Column("efficiency", Kind.ratio, "percent"),
            Column("wheel speed", Kind.rotation, "rpm"),
        ),
        hint="a point a row, typed or pasted: 0.21; 2.1; 74 %; 120000. Wheel speed may be left out; a first row"
        " may name columns and units: flow (lb/min), pressure ratio, efficiency, rpm",
    ),
    Figure(
        "turbo.map_pressure",
        "inlet pressure the map is drawn for",
        Kind.pressure,
        "kPa",
        20e3,
        200e3,
        hint="absolute; 101.3 kPa where the map says nothing",
    ),
    Figure(
        "turbo.map_temperature",
        "inlet temperature the map is drawn for",
        Kind.temperature,
        "degC",
        230.0,
        350.0,
        hint="15 °C where the map says nothing",
    ),
)

FIGURES: Mapping[Place, tuple[Figure, ...]] = {Place.TURBO: _TURBO, Place.FUEL: _FUEL}
"""The figures of each kind of subsystem that has any, in the order in which they are asked for."""

_BY_KEY = {figure.key: figure for some in FIGURES.values() for figure in some}


def figure(key: str) -> Figure:
    """The figure with this key. Raises KeyError."""
    return _BY_KEY[key]


def figure_of(variable: str) -> Figure | None:
    """The figure that a variable is, None for any other variable."""
    owner, _, key = variable.partition(".")
    return _BY_KEY.get(key) if owner == OWNER else None
