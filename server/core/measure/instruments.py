"""What a reading was taken with, and how far it can be trusted.

Each instrument has two parts of doubt. Its own (`floor`) stays however often the reading is repeated; what
hand and eye add scatters from one reading to the next and averages out. `doubt` is both together for one
reading. All are standard uncertainties; limits become them by JCGM 100:2008, 4.3.7 (rectangular) and 4.3.9
(triangular).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from server.core.measure.estimate import rectangular, triangular
from server.core.sources import Source, Sureness, source
from server.core.units import Kind

_Part = Callable[[float], float]

STRING_THICKNESS = 0.001
"""Usual string or strip laid round a tube [m]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """One way to take a reading.

    code: stored name; name: label; kinds: what it measures; own, hand: the two parts of doubt as functions of
    the value read [SI unit of the kind]; source: where `own` comes from (what the hand adds is common
    practice).
    """

    code: str
    name: str
    kinds: tuple[Kind, ...]
    own: _Part
    hand: _Part
    source: Source

    @property
    def basis(self) -> str:
        """Where the doubt comes from, in one line for a page; only `own` can have a document behind it."""
        if self.hand is _nothing or self.source.sureness is Sureness.common_practice:
            return self.source.label
        return f"{self.source.label}; what hand and eye add: {source('practice').label}"

    def floor(self, value: float) -> float:
        """The standard uncertainty that repeating can't improve [SI unit of the value]."""
        return self.own(value)

    def doubt(self, value: float) -> float:
        """The standard uncertainty of one reading [SI unit of the value]; never under the floor."""
        return math.hypot(self.own(value), self.hand(value))


def tape_limit(length: float, from_hook: bool = False) -> float:
    """Largest error [m] of a class II tape over a length [m].

    a + b L with a = 0.3 mm, b = 0.2 mm per metre and L rounded up to whole metres; 0.2 mm more when measured
    from the hook or a butted end. Source: Directive 2014/32/EU, annex X (MI-008), chapter I, table 1.

    >>> round(tape_limit(2.4) * 1000, 3), round(tape_limit(2.4, from_hook=True) * 1000, 3)
    (0.9, 1.1)
    """
    # A hair off, so that 2.000 m typed in inches is not taken as three metres.
    metres = math.ceil(abs(length) - 1e-9)
    return 0.0003 + 0.0002 * metres + (0.0002 if from_hook else 0.0)


def diameter_from_circumference(circumference: float, thickness: float = 0.0) -> float:
    """Outside diameter [m] of a tube from the length [m] of a string or strip laid once round it.

    thickness: of the string or paper [m]; the length is that of its middle, π (D + thickness). Source:
    geometry. Raises ValueError when no tube is left.

    >>> round(diameter_from_circumference(0.25447, 0.001), 4)
    0.08
    """
    diameter = circumference / math.pi - thickness
    if not (math.isfinite(diameter) and diameter > 0.0 and thickness >= 0.0):
        raise ValueError("the circumference has to be more than π times the thickness of the string")
    return diameter


def circumference_of(diameter: float, thickness: float = 0.0) -> float:
    """Length [m] of the middle of a strip laid once round a tube of this diameter [m]. Source: geometry.

    >>> round(circumference_of(0.080, 0.001), 5)
    0.25447
    """
    return math.pi * (diameter + thickness)


def _limits(half_width: float) -> _Part:
    """An error anywhere within ± half_width, whatever the value."""
    return lambda _value: rectangular(half_width)


def _scatter(doubt: float) -> _Part:
    """The same standard uncertainty at every value."""
    return lambda _value: doubt


def _between_marks(half_width: float) -> _Part:
    """A scale read by eye: the middle is likeliest."""
    return lambda _value: triangular(half_width)


def _part_of(share: float, least: float = 0.0) -> _Part:
    """An error within ± a share of the value, and not less than ± least."""
    return lambda value: rectangular(max(share * abs(value), least))


def _nothing(value: float) -> float:
    return 0.0 * value


def _tape(value: float) -> float:
    return rectangular(tape_limit(value))


def _tape_hooked(value: float) -> float:
    return rectangular(tape_limit(value, from_hook=True))


def _string_own(diameter: float) -> float:
    """The tape's error round the tube, and the string's thickness known to a quarter of a millimetre."""
    return math.hypot(_tape(circumference_of(diameter)) / math.pi, rectangular(0.00025))


def _string_hand(_diameter: float) -> float:
    """A millimetre of slack or slant round the tube."""
    return 0.001 / math.pi


def _gauge_class(value: float) -> float:
    """Class 2.5: ± 2.5 % of full scale, the scale being a third more than the reading and at least 1 bar."""
    return rectangular(0.025 * max(abs(value) * 4.0 / 3.0, 100_000.0))


_ANY_BUT_TEMPERATURE = tuple(kind for kind in Kind if kind not in (Kind.temperature, Kind.size))

_INSTRUMENTS = (
    # ISO 13385-1 leaves the limit to the maker, never under the step; 0.03 and 0.05 mm are usual to 150 mm.
    Instrument(
        "digital_caliper",
        "digital caliper",
        (Kind.length,),
        _limits(0.00003),
        _scatter(0.00005),
        source("caliper"),
    ),
    Instrument(
        "vernier_caliper",
        "vernier caliper",
        (Kind.length,),
        _limits(0.00005),
        _scatter(0.00006),
        source("caliper"),
    ),
    Instrument(
        "bore_gauge",
        "bore gauge or inside caliper",
        (Kind.length,),
        _limits(0.00005),
        _scatter(0.0001),
        source("practice"),
    ),
    Instrument(
        "tape", "tape measure, mark to mark", (Kind.length,), _tape, _between_marks(0.001), source("tape")
    ),
    Instrument(
        "tape_hooked",
        "tape measure, from its hook",
        (Kind.length,),
        _tape_hooked,
        _between_marks(0.001),
        source("tape"),
    ),
    Instrument(
        "rule", "steel rule", (Kind.length,), _limits(0.0002), _between_marks(0.0005), source("practice")
    ),
    Instrument("string", "string round the tube", (Kind.length,), _string_own, _string_hand, source("tape")),
    Instrument(
        "feel",
        "by feel or by eye",
        (Kind.length,),
        _part_of(0.1, least=0.003),
        _scatter(0.002),
        source("practice"),
    ),
    Instrument(
        "angle_gauge",
        "angle gauge",
        (Kind.angle,),
        _limits(math.radians(0.2)),
        _scatter(math.radians(0.5)),
        source("practice"),
    ),
    Instrument(
        "angle_eye",
        "angle by eye",
        (Kind.angle,),
        _limits(math.radians(5.0)),
        _scatter(math.radians(2.0)),
        source("practice"),
    ),
    Instrument(
        "pressure_gauge", "pressure gauge", (Kind.pressure,), _gauge_class, _nothing, source("gauge-class")
    ),
    Instrument(
        "thermometer",
        "thermometer or probe",
        (Kind.temperature, Kind.temperature_difference),
        _limits(2.0),
        _scatter(1.0),
        source("practice"),
    ),
    Instrument(
        "makers_figure", "maker's figure", _ANY_BUT_TEMPERATURE, _part_of(0.01), _nothing, source("practice")
    ),
    Instrument(
        "guess", "reckoned, not measured", _ANY_BUT_TEMPERATURE, _part_of(0.1), _nothing, source("practice")
    ),
)

_BY_CODE = {one.code: one for one in _INSTRUMENTS}


def instrument(code: str) -> Instrument:
    """The instrument with this code; raises KeyError naming the known ones.

    >>> round(instrument("tape").floor(0.8) * 1000, 4)
    0.2887
    """
    if code not in _BY_CODE:
        raise KeyError(f"no instrument {code!r}; known: {', '.join(_BY_CODE)}")
    return _BY_CODE[code]


def instruments_for(kind: Kind) -> tuple[Instrument, ...]:
    """The instruments that measure a kind, in the order of the register (for a form's list).

    >>> [one.name for one in instruments_for(Kind.pressure)][0]
    'pressure gauge'
    """
    return tuple(one for one in _INSTRUMENTS if kind in one.kinds)


def typed_doubt(doubt: float) -> Instrument:
    """The builder's own ± [SI unit of the value], as a standard uncertainty that repeating can't improve.

    Raises ValueError unless it is a finite number more than zero.

    >>> typed_doubt(0.0002).doubt(0.0825)
    0.0002
    """
    if not (math.isfinite(doubt) and doubt > 0.0):
        raise ValueError("a typed doubt has to be a finite number more than zero")
    return Instrument(
        "typed_doubt", "doubt typed by the builder", tuple(Kind), _scatter(doubt), _nothing, source("typed")
    )
