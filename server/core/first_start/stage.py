"""What a stage of the gate is made of."""

from dataclasses import dataclass
from enum import StrEnum

from server.core.units import Kind


class Signal(StrEnum):
    """Signal words after ANSI Z535.4, gravest first; NOTICE is for harm to things alone."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


@dataclass(frozen=True, slots=True)
class StageCaution:
    """A hazard of a stage with what keeps from it."""

    signal: Signal
    text: str


@dataclass(frozen=True, slots=True)
class Tick:
    """Something to do or see, ticked at the car."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Number:
    """A figure to enter. kind: of the quantity, None for a plain count.

    least, most: what can be entered at all, in the SI unit of the kind, inclusive. unit: of a bare number in
    a metric build, unit_inch: in one in inches.
    """

    code: str
    text: str
    kind: Kind | None
    least: float
    most: float
    unit: str = ""
    unit_inch: str = ""


class Sense(StrEnum):
    SAME = "same"
    AT_MOST = "at most"
    AT_LEAST = "at least"


@dataclass(frozen=True, slots=True)
class Bound:
    """What a figure has to keep to: another figure of the gate (`than`) times `share`, or `limit` in SI.

    words: what to do where it does not.
    """

    number: str
    sense: Sense
    words: str
    than: str = ""
    share: float = 1.0
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the gate. code: unique, as kept with a signature and as addresses carry it.

    why: what goes wrong without it. cautions: gravest first.
    """

    code: str
    title: str
    why: str
    ticks: tuple[Tick, ...] = ()
    numbers: tuple[Number, ...] = ()
    bounds: tuple[Bound, ...] = ()
    cautions: tuple[StageCaution, ...] = ()


@dataclass(frozen=True, slots=True)
class CarFacts:
    """What of a build decides what its stages ask.

    has_meter: it counts its air. turbo_water: coolant runs through the turbo. coolant: there are coolant
    lines. solenoid: a valve controls boost. servo: the brakes are helped by vacuum. boost: intended,
    overboost: the highest there is, gauge [Pa], None where nobody has said. fuel_changed: injectors, pump or
    fuel lines belong to the work.
    """

    has_meter: bool = True
    turbo_water: bool = True
    coolant: bool = True
    solenoid: bool = True
    servo: bool = True
    boost: float | None = None
    overboost: float | None = None
    fuel_changed: bool = True
