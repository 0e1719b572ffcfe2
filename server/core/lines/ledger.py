"""The connection ledger: every port of the car, what joins it now and what joined it before; and the map
it makes.

A port opens into a space; a line joins two ports; a valve lies between two or three spaces. All of them
are values with numbers of the caller's; nothing here knows where they are kept.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from server.core.lines.states import Kind, State, has_own_level


class Medium(StrEnum):
    """What flows in a port or line, or which signal it carries; the value is the word pages show."""

    METERED_AIR = "metered air"
    UNMETERED_AIR = "unmetered air"
    BOOST = "boost"
    VACUUM = "manifold vacuum"
    CRANKCASE_VAPOUR = "crankcase vapour"
    FUEL = "fuel"
    FUEL_VAPOUR = "fuel vapour"
    OIL_FEED = "oil feed"
    OIL_DRAIN = "oil drain"
    COOLANT = "coolant"
    EXHAUST = "exhaust"
    CONTROL = "control pressure"
    ELECTRICAL = "electrical"


class Family(StrEnum):
    """Media that may be joined to each other."""

    GAS = "air and vapour"
    FUEL = "fuel"
    OIL = "oil"
    COOLANT = "coolant"
    ELECTRICAL = "electrical"


_FAMILIES = {
    Medium.FUEL: Family.FUEL,
    Medium.OIL_FEED: Family.OIL,
    Medium.OIL_DRAIN: Family.OIL,
    Medium.COOLANT: Family.COOLANT,
    Medium.ELECTRICAL: Family.ELECTRICAL,
}


def family_of(medium: Medium) -> Family:
    """What may be joined to this medium: all air and vapour is one family."""
    return _FAMILIES.get(medium, Family.GAS)


class LineKind(StrEnum):
    HOSE = "hose"
    PIPE = "pipe"
    WIRE = "wire"


class Closing(StrEnum):
    """What closes a port that no line joins; the value is the word pages show."""

    OPEN = "open"
    CAPPED = "capped"
    REMOVED = "removed"


class MeterPlace(StrEnum):
    """Where the air meter stands; which air it has counted follows from that."""

    BEFORE_COMPRESSOR = "ahead of the compressor"
    BEFORE_THROTTLE = "between compressor and throttle"
    NONE = "no air meter"


class Device(StrEnum):
    """A valve or restrictor between spaces; the value is the word pages show.

    Of its sides the first is where it comes from, as its maker draws it. CHECK passes from the first to the
    second only. THREE_WAY joins its first side to the second at rest, to the third when driven. AIR_PUMP
    pushes from the first to the second. BEARING and JACKET: what feeds it, then what leads away.
    """

    CHECK = "one-way valve"
    RESTRICTOR = "restrictor"
    THREE_WAY = "three-way solenoid"
    BLEED = "bleed solenoid"
    IDLE_VALVE = "idle air valve"
    PURGE = "purge valve"
    BYPASS = "bypass valve"
    AIR_PUMP = "secondary air pump"
    BEARING = "turbo bearing housing"
    JACKET = "turbo water jacket"
    HEATER = "heater matrix"
    RAIL = "fuel rail"


SIDES = {Device.THREE_WAY: 3}
"""How many spaces a device lies between, where that is not two."""


@dataclass(frozen=True, slots=True)
class Region:
    """A space with one pressure. name: as the builder calls it.

    hottest: of what touches it [K], None: usual.
    """

    id: int
    kind: Kind
    name: str
    hottest: float | None = None


@dataclass(frozen=True, slots=True)
class Port:
    """An opening of the car or of a part.

    region: the space behind it. closing: where no line joins it. reason, by: why and by whom it was removed.
    size: outside diameter of its spigot [m]; height: above the car's datum [m]; None where not read.
    """

    id: int
    name: str
    region: int
    medium: Medium
    closing: Closing = Closing.OPEN
    reason: str = ""
    by: str = ""
    size: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A hose, pipe or wire. ends: the ports it joins now, None for an end that hangs loose.

    was: what it joined before it was pulled. tag: the number taped to both its ends, 0 for none. rating:
    the most heat it may have for long [K], None where nobody has said.
    """

    id: int
    name: str
    medium: Medium
    ends: tuple[int | None, int | None]
    kind: LineKind = LineKind.HOSE
    was: tuple[int | None, int | None] = (None, None)
    tag: int = 0
    rating: float | None = None


@dataclass(frozen=True, slots=True)
class Valve:
    """A device between spaces.

    sides: their numbers, in the order of `Device`. forward: whether it is fitted as `Device` says; None where
    nobody has looked. signal: the space that works a bypass valve, or the plug that drives a solenoid.
    """

    id: int
    kind: Device
    name: str
    sides: tuple[int, ...]
    forward: bool | None = True
    signal: int | None = None


@dataclass(frozen=True)
class LineMap:
    """The ledger as a graph. over_boost_cut: whether a cut is proved; None where nobody has said.

    Raises ValueError where a number names nothing, a number is used twice, or two lines share a port.
    """

    meter: MeterPlace | None
    regions: tuple[Region, ...]
    ports: tuple[Port, ...]
    lines: tuple[Line, ...]
    valves: tuple[Valve, ...] = ()
    over_boost_cut: bool | None = None

    def __post_init__(self) -> None:
        for things in (self.regions, self.ports, self.lines, self.valves):
            _each_once(one.id for one in things)
        if Kind.ATMOSPHERE not in {region.kind for region in self.regions}:
            raise ValueError("a line map needs the open air as one of its spaces")
        for port in self.ports:
            _known(port.region, self.region_of, f"port {port.name}")
        for valve in self.valves:
            if len(valve.sides) != SIDES.get(valve.kind, 2):
                raise ValueError(f"{valve.name} has {len(valve.sides)} sides")
            for side in (*valve.sides, *([] if valve.signal is None else [valve.signal])):
                _known(side, self.region_of, valve.name)
        used: list[int] = [end for line in self.lines for end in line.ends if end is not None]
        for end in used:
            _known(end, self.port_of, "a line")
        _each_once(used)

    @cached_property
    def region_of(self) -> dict[int, Region]:
        return {region.id: region for region in self.regions}

    @cached_property
    def port_of(self) -> dict[int, Port]:
        return {port.id: port for port in self.ports}

    @cached_property
    def line_at(self) -> dict[int, Line]:
        """The line that joins each port that one joins."""
        return {end: line for line in self.lines for end in line.ends if end is not None}

    @cached_property
    def outside(self) -> int:
        """The number of the open air."""
        return next(region.id for region in self.regions if region.kind is Kind.ATMOSPHERE)

    @cached_property
    def own_level(self) -> frozenset[int]:
        """The spaces that have their pressure from the engine."""
        return frozenset(region.id for region in self.regions if has_own_level(region.kind))

    def of_kind(self, *kinds: Kind) -> tuple[Region, ...]:
        """The spaces of these kinds, in the order given."""
        return tuple(region for region in self.regions if region.kind in kinds)

    def valves_of(self, *kinds: Device) -> tuple[Valve, ...]:
        """The valves of these kinds, in the order given."""
        return tuple(valve for valve in self.valves if valve.kind in kinds)

    def is_open(self, port: Port) -> bool:
        """Whether nothing closes a port: no line with both its ends joined, no cap, not removed with a
        reason.
        """
        line = self.line_at.get(port.id)
        if line is not None:
            return None in line.ends
        if port.closing is Closing.REMOVED:
            return not port.reason.strip() or not port.by.strip()
        return port.closing is Closing.OPEN


def _each_once(numbers: Iterable[int]) -> None:
    seen: set[int] = set()
    for number in numbers:
        if number in seen:
            raise ValueError(f"number {number} is used twice")
        seen.add(number)


def _known(number: int, known: dict[int, Region] | dict[int, Port], whose: str) -> None:
    if number not in known:
        raise ValueError(f"{whose} names {number}, which is not there")


OPEN_AT_TIMES: dict[Device, frozenset[State]] = {
    Device.PURGE: frozenset({State.IDLE, State.CRUISE, State.BOOST, State.LIFT_OFF, State.OVER_RUN}),
    Device.BLEED: frozenset({State.CRUISE, State.BOOST, State.LIFT_OFF}),
    Device.IDLE_VALVE: frozenset(State) - {State.HOT_SOAK},
    Device.AIR_PUMP: frozenset({State.COLD_START}),
}
"""In which states the control unit may open a valve, or run a pump. Source: common practice."""

DRIVEN = frozenset({State.CRUISE, State.BOOST, State.LIFT_OFF})
"""In which states the control unit may drive a three-way boost solenoid. Source: common practice."""
