"""An invented car's line map that keeps every rule, drawn by hand, and a sketch that is changed before it
is asked.
"""

from collections.abc import Callable
from dataclasses import replace

from server.core.lines.ledger import (
    Closing,
    Device,
    Line,
    LineKind,
    LineMap,
    Medium,
    MeterPlace,
    Port,
    Region,
    Valve,
)
from server.core.lines.states import Kind

COUNTS_FIRST = MeterPlace.BEFORE_COMPRESSOR
WARM, HOT = 398.15, 473.15
"""What the hoses of the sketch are made for [K]."""


class Sketch:
    """A map while it is drawn; spaces, lines and valves go by their names."""

    def __init__(self, meter: MeterPlace | None = COUNTS_FIRST, cut: bool | None = True) -> None:
        self.meter, self.cut = meter, cut
        self.regions: dict[str, Region] = {}
        self.ports: dict[str, Port] = {}
        self.lines: dict[str, Line] = {}
        self.valves: dict[str, Valve] = {}
        self._last = 0
        self.space("air", Kind.ATMOSPHERE)

    def _number(self) -> int:
        self._last += 1
        return self._last

    def space(self, name: str, kind: Kind = Kind.JUNCTION) -> None:
        self.regions[name] = Region(self._number(), kind, name)

    def port(
        self,
        name: str,
        space: str,
        medium: Medium,
        closing: Closing = Closing.OPEN,
        height: float | None = None,
    ) -> int:
        number = self._number()
        self.ports[name] = Port(number, name, self.regions[space].id, medium, closing, height=height)
        return number

    def hose(
        self,
        name: str,
        one: str,
        other: str,
        medium: Medium,
        rating: float = HOT,
        kind: LineKind = LineKind.HOSE,
    ) -> None:
        """A line with its two ports, named after it."""
        ends = (self.port(f"{name} a", one, medium), self.port(f"{name} b", other, medium))
        self.lines[name] = Line(self._number(), name, medium, ends, kind, ends, len(self.lines) + 1, rating)

    def valve(
        self, name: str, kind: Device, *sides: str, forward: bool | None = True, signal: str | None = None
    ) -> None:
        numbers = tuple(self.regions[side].id for side in sides)
        worked = None if signal is None else self.regions[signal].id
        self.valves[name] = Valve(self._number(), kind, name, numbers, forward, worked)

    def map(self) -> LineMap:
        return LineMap(
            self.meter,
            tuple(self.regions.values()),
            tuple(self.ports.values()),
            tuple(self.lines.values()),
            tuple(self.valves.values()),
            self.cut,
        )

    # what goes wrong in a garage

    def turn(self, valve: str, forward: bool | None = False) -> None:
        """A valve fitted the other way round; None where nobody has looked."""
        self.valves[valve] = replace(self.valves[valve], forward=forward)

    def move(self, line: str, end: int, space: str) -> None:
        """One end of a line pushed on a port of another space; its old port is gone."""
        name = f"{line} {'ab'[end]}"
        self.ports[name] = replace(self.ports[name], region=self.regions[space].id)

    def pull(self, line: str) -> None:
        """A line lost: both its ports stay open."""
        del self.lines[line]

    def delete(self, line: str) -> None:
        """A line taken out and both its ports capped."""
        del self.lines[line]
        for end in "ab":
            name = f"{line} {end}"
            self.ports[name] = replace(self.ports[name], closing=Closing.CAPPED)

    def loosen(self, line: str, end: int) -> None:
        """One end slipped off: it hangs, and the port it was on is open."""
        here = self.lines[line]
        ends = tuple(None if place == end else port for place, port in enumerate(here.ends))
        self.lines[line] = replace(here, ends=ends)  # type: ignore[arg-type]

    def straight(self, valve: str) -> None:
        """A valve replaced by a plain joiner."""
        self.valves[valve] = replace(self.valves[valve], kind=Device.RESTRICTOR)

    def swap_ends(self, one: str, other: str) -> None:
        """The second ends of two lines on each other's port."""
        (a, b), (c, d) = self.lines[one].ends, self.lines[other].ends
        self.lines[one] = replace(self.lines[one], ends=(a, d))
        self.lines[other] = replace(self.lines[other], ends=(c, b))


SPACES = (
    ("before meter", Kind.BEFORE_METER),
    ("intake", Kind.INTAKE),
    ("charge pipe", Kind.CHARGE),
    ("manifold", Kind.MANIFOLD),
    ("crankcase", Kind.CRANKCASE),
    ("exhaust", Kind.EXHAUST),
    ("canister", Kind.CANISTER),
    ("tank", Kind.TANK),
    ("servo", Kind.SERVO),
    ("actuator", Kind.ACTUATOR),
    ("gauge", Kind.GAUGE),
    ("regulator", Kind.REGULATOR),
    ("bypass cap", Kind.BYPASS_TOP),
    ("gallery", Kind.OIL_GALLERY),
    ("sump", Kind.SUMP),
    ("pump outlet", Kind.PUMP_OUT),
    ("pump suction", Kind.PUMP_IN),
    ("fuel supply", Kind.FUEL_SUPPLY),
    ("fuel return", Kind.FUEL_RETURN),
    ("loom", Kind.HARNESS),
    ("solenoid plug", Kind.PLUG),
)
JUNCTIONS = (
    "servo valve in", "servo valve out", "vapour valve in", "vapour valve out", "purge in", "purge out",
    "purge check in", "purge check out", "solenoid common", "solenoid rest", "solenoid driven", "bypass in",
    "bypass out", "idle in", "idle out", "oil in", "oil out", "water in", "water out", "heater in",
    "heater out", "rail in", "rail out", "pump in", "pump out", "air check in", "air check out",
)  # fmt: skip


def right_car(meter: MeterPlace | None = COUNTS_FIRST, cut: bool | None = True) -> Sketch:
    """A car that keeps every rule: meter ahead of the compressor, bypass returned, everything fitted."""
    car = Sketch(meter, cut)
    for name, kind in SPACES:
        car.space(name, kind)
    for name in JUNCTIONS:
        car.space(name)
    _air(car)
    _boost(car)
    _liquids(car)
    car.port("spare nipple", "manifold", Medium.VACUUM, Closing.CAPPED)
    return car


def _air(car: Sketch) -> None:
    car.hose("servo hose", "servo", "servo valve in", Medium.VACUUM)
    car.hose("servo vacuum hose", "servo valve out", "manifold", Medium.VACUUM)
    car.valve("servo valve", Device.CHECK, "servo valve in", "servo valve out")
    car.hose("vapour hose", "crankcase", "vapour valve in", Medium.CRANKCASE_VAPOUR)
    car.hose("vapour hose to manifold", "vapour valve out", "manifold", Medium.CRANKCASE_VAPOUR)
    car.valve("vapour valve", Device.CHECK, "vapour valve in", "vapour valve out")
    car.hose("breather hose", "crankcase", "intake", Medium.CRANKCASE_VAPOUR)
    car.hose("tank vapour hose", "tank", "canister", Medium.FUEL_VAPOUR)
    car.hose("canister hose", "canister", "purge in", Medium.FUEL_VAPOUR)
    car.valve("purge valve", Device.PURGE, "purge in", "purge out")
    car.hose("purge hose", "purge out", "purge check in", Medium.FUEL_VAPOUR)
    car.valve("purge check", Device.CHECK, "purge check in", "purge check out")
    car.hose("purge hose to manifold", "purge check out", "manifold", Medium.FUEL_VAPOUR)
    car.hose("bypass inlet hose", "charge pipe", "bypass in", Medium.BOOST)
    car.hose("bypass return hose", "bypass out", "intake", Medium.METERED_AIR)
    car.valve("bypass valve", Device.BYPASS, "bypass in", "bypass out", signal="bypass cap")
    car.hose("bypass signal hose", "manifold", "bypass cap", Medium.CONTROL)
    car.hose("idle inlet hose", "charge pipe", "idle in", Medium.METERED_AIR)
    car.hose("idle outlet hose", "idle out", "manifold", Medium.METERED_AIR)
    car.valve("idle valve", Device.IDLE_VALVE, "idle in", "idle out")
    car.hose("secondary air hose", "before meter", "pump in", Medium.UNMETERED_AIR)
    car.valve("air pump", Device.AIR_PUMP, "pump in", "pump out")
    car.hose("air pump outlet hose", "pump out", "air check in", Medium.UNMETERED_AIR)
    car.valve("air check", Device.CHECK, "air check in", "air check out")
    car.hose("air pipe", "air check out", "exhaust", Medium.EXHAUST, 1273.15, LineKind.PIPE)


def _boost(car: Sketch) -> None:
    car.hose("gate source hose", "charge pipe", "solenoid rest", Medium.CONTROL)
    car.hose("gate hose", "solenoid common", "actuator", Medium.CONTROL)
    car.hose("gate vent hose", "solenoid driven", "intake", Medium.CONTROL)
    car.valve(
        "boost solenoid",
        Device.THREE_WAY,
        "solenoid common",
        "solenoid rest",
        "solenoid driven",
        signal="solenoid plug",
    )
    car.hose("solenoid wire", "loom", "solenoid plug", Medium.ELECTRICAL, WARM, LineKind.WIRE)
    car.hose("regulator hose", "manifold", "regulator", Medium.CONTROL)
    car.hose("gauge hose", "manifold", "gauge", Medium.CONTROL)


def _liquids(car: Sketch) -> None:
    car.hose("oil feed", "gallery", "oil in", Medium.OIL_FEED)
    car.hose("oil drain", "oil out", "sump", Medium.OIL_DRAIN)
    car.valve("turbo bearings", Device.BEARING, "oil in", "oil out")
    car.hose("turbo coolant feed", "pump outlet", "water in", Medium.COOLANT)
    car.hose("turbo coolant return", "water out", "pump suction", Medium.COOLANT)
    car.valve("turbo jacket", Device.JACKET, "water in", "water out")
    for name, height in (("turbo coolant feed b", 0.60), ("turbo coolant return a", 0.66)):
        car.ports[name] = replace(car.ports[name], height=height)
    car.hose("heater feed", "pump outlet", "heater in", Medium.COOLANT)
    car.hose("heater return", "heater out", "pump suction", Medium.COOLANT)
    car.valve("heater", Device.HEATER, "heater in", "heater out")
    car.hose("fuel feed", "fuel supply", "rail in", Medium.FUEL, WARM)
    car.hose("fuel return hose", "rail out", "fuel return", Medium.FUEL, WARM)
    car.valve("rail", Device.RAIL, "rail in", "rail out")


Change = Callable[[Sketch], None]
