"""The limits of the rules.

Each has a key, plain words, a usual value and its origin, and may be changed per build.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from server.core.air.coolant import PLAIN_HOSE
from server.core.air.wastegate import BOOST_REACH
from server.core.sources import Source, source
from server.core.tube.space.in_car import CLOSES
from server.core.units import Kind


@dataclass(frozen=True, slots=True)
class Limit:
    """One adjustable limit. default, least, most: [SI unit of its kind].

    unit: one of `units.UNITS_TO_ASK`, or None for the usual one. least, most: what it may be changed to;
    where None, a tenth of the usual value and ten times it, of a share no more than the whole.
    """

    key: str
    words: str
    default: float
    kind: Kind
    source: Source
    unit: str | None = None
    least: float | None = None
    most: float | None = None

    @property
    def range(self) -> tuple[float, float]:
        """What it may be changed to: beyond this it is a slip of the pen."""
        least = 0.1 * self.default if self.least is None else self.least
        most = 10.0 * self.default if self.most is None else self.most
        return least, min(most, 1.0) if self.unit == "percent" else most


@dataclass(frozen=True, slots=True)
class Changed:
    """A limit as it was changed for a build. value: [SI unit of its kind]."""

    limit: Limit
    value: float
    reason: str


def _practice(key: str, words: str, default: float, kind: Kind, unit: str | None = None) -> Limit:
    return Limit(key, words, default, kind, source("practice"), unit)


_ALL = (
    Limit(
        "chance.go",
        "chance of passing that a performance check asks for",
        0.95,
        Kind.ratio,
        source("practice"),
        "percent",
        0.55,
        0.999,
    ),
    Limit(
        "chance.no_go",
        "chance of passing under which a check is no-go, not tight",
        0.50,
        Kind.ratio,
        source("practice"),
        "percent",
        0.05,
        0.50,
    ),
    _practice("bore.slack", "bores closer than this count as equal", 0.0005, Kind.length),
    _practice(
        "bore.loss_share",
        "loss that one narrow piece may add, of what the run may lose",
        0.15,
        Kind.ratio,
        "percent",
    ),
    _practice("wall.usual", "wall taken where none is typed", 0.0015, Kind.length),
    _practice(
        "step.loss_share", "loss that one step may add, of what the run may lose", 0.10, Kind.ratio, "percent"
    ),
    _practice(
        "coupler.stretch", "most that a hose may be stretched over a spigot", 0.04, Kind.ratio, "percent"
    ),
    _practice("coupler.loose", "most that a hose's bore may be over the spigot", 0.001, Kind.length),
    _practice("bead.height", "bead height above the tube where none is typed", 0.0015, Kind.length),
    _practice("roller.straight", "straight length that the bead roller needs", 0.020, Kind.length),
    _practice("roller.wall", "wall that the bead roller takes", 0.0025, Kind.length),
    _practice("overlap.least", "least overlap that takes bead and clamp", 0.025, Kind.length),
    _practice("bung.apart", "room from edge to edge of two side ports", 0.010, Kind.length),
    _practice("mach.most", "Mach number at the peak", 0.30, Kind.ratio),
    _practice("mach.hard", "Mach number at the peak, at the very most", 0.40, Kind.ratio),
    Limit(
        "suction.most", "suction at the compressor inlet, at the peak", 7000.0, Kind.pressure, source("maker")
    ),
    _practice("charge.loss_share", "loss of the pipe, of the steady boost", 0.05, Kind.ratio, "percent"),
    _practice("meter.share", "share of the air meter's range used at the peak", 0.90, Kind.ratio, "percent"),
    _practice("meter.before", "straight length before the air meter, in bores", 2.0, Kind.ratio),
    _practice("meter.after", "straight length after the air meter, in bores", 1.0, Kind.ratio),
    _practice(
        "hose.derating", "kept under the material's test temperature", 20.0, Kind.temperature_difference
    ),
    _practice("end_force.reserve", "what the joint holds, over what pushes", 1.5, Kind.ratio),
    _practice("hoop.reserve", "strength of a tube's wall, over what pressure asks of it", 3.0, Kind.ratio),
    _practice("collapse.span", "free length of a hose without wire, in bores", 1.0, Kind.ratio),
    Limit(
        "collapse.suction", "suction that intake pieces must stand", 7000.0, Kind.pressure, source("maker")
    ),
    _practice("hot.mach", "Mach number of the exhaust at the peak", 0.35, Kind.ratio),
    _practice("hot.mach_hard", "Mach number of the exhaust at the peak, at the very most", 0.50, Kind.ratio),
    Limit(
        "back.most",
        "back pressure at the turbine's outlet, at the peak",
        10e3,
        Kind.pressure,
        source("maker"),
    ),
    Limit("back.hard", "the same, at the very most", 14e3, Kind.pressure, source("maker")),
    _practice("back.behind_downpipe", "taken by the exhaust behind a downpipe", 4000.0, Kind.pressure),
    _practice("back.behind_exhaust", "taken by silencers that are not drawn", 3000.0, Kind.pressure),
    _practice("back.downpipe", "taken by the downpipe before an exhaust", 2000.0, Kind.pressure),
    _practice("growth.share", "of a flex's travel, that growth may take", 0.6, Kind.ratio, "percent"),
    _practice("growth.free", "growth that hangers and brackets take without a flex", 0.005, Kind.length),
    _practice("flex.straight", "straight length between a flex and a bend, in bores", 0.5, Kind.ratio),
    _practice("sensor.after", "way from the turbine to an oxygen sensor", 0.45, Kind.length),
    _practice("sensor.above", "angle of an oxygen sensor above level", 0.17453292519943295, Kind.angle),
    _practice("sensor.joint", "from a sensor boss's edge to the end of its piece", 0.015, Kind.length),
    _practice("flap.clear", "room around the open flap of a wastegate", 0.003, Kind.length),
    _practice("gap.engine_moves", "way an engine moves on its mounts", 0.015, Kind.length),
    _practice("gap.left", "left of a gap after movement and growth", 0.010, Kind.length),
    _practice("gap.line", "left of a gap to a brake or fuel line, steering or shaft", 0.020, Kind.length),
    _practice("gap.ground", "left above the ground at ride height", 0.100, Kind.length),
    _practice("heat.margin", "kept under what a neighbour stands", 10.0, Kind.temperature_difference),
    Limit(
        "heat.bright",
        "emissivity of a bright shield or foil as it stays in use",
        0.15,
        Kind.ratio,
        source("emissivity"),
        least=0.03,
        most=0.5,
    ),
    _practice("map.surge", "distance from surge, of the surge flow", 0.10, Kind.ratio, "percent"),
    _practice(
        "map.edge", "distance from the right edge of the map, of its flow", 0.05, Kind.ratio, "percent"
    ),
    _practice("fuel.duty", "share of the time that an injector stands open", 0.85, Kind.ratio, "percent"),
    _practice("fuel.reserve", "fuel that the pump gives over what is burnt", 0.20, Kind.ratio, "percent"),
    _practice("fuel.speed", "speed in a fuel line under pressure", 2.5, Kind.speed),
    _practice("oil.restrictor_slack", "bore of a restrictor from what is drawn", 0.0001, Kind.length),
    _practice("oil.feed_journal", "bore of the oil feed of a journal bearing", 0.0045, Kind.length),
    _practice("oil.feed_ball", "bore of the oil feed of a ball bearing", 0.003, Kind.length),
    _practice("oil.flow", "hot oil that a restrictor passes", 0.4e-3 / 60.0, Kind.volume_flow, "cc/min"),
    _practice("reach.off", "how far a run may end off its port", CLOSES, Kind.length),
    _practice("drain.slope", "slope of an oil drain below level", 0.17453292519943295, Kind.angle),
    Limit(
        "gate.reach",
        "boost that a solenoid reaches over the spring's",
        BOOST_REACH,
        Kind.ratio,
        source("practice"),
        least=1.1,
        most=4.0,
    ),
    _practice("gate.left", "of the solenoid's duty, left for control", 0.10, Kind.ratio, "percent"),
    Limit(
        "gate.exhaust_over_boost",
        "exhaust pressure before the turbine over boost, where none is typed",
        1.0,
        Kind.ratio,
        source("practice"),
        least=0.5,
        most=4.0,
    ),
    Limit(
        "gate.temperature",
        "exhaust temperature before the turbine, at the peak",
        1223.15,
        Kind.temperature,
        source("practice"),
        least=900.0,
        most=1400.0,
    ),
    _practice("coolant.bend", "inside radius of a bent coolant hose, in bores", PLAIN_HOSE.bores, Kind.ratio),
    _practice("coolant.pump", "pressure that the coolant pump adds", 0.5e5, Kind.pressure),
    Limit(
        "trim.risk",
        "chance that a piece is ever cut too short, over all its trims",
        0.01,
        Kind.ratio,
        source("practice"),
        "percent",
        0.0005,
        0.2,
    ),
    _practice("trim.short", "gap that a welded joint closes", 0.0005, Kind.length),
    _practice("trim.long", "too long by this, a welded joint still goes together", 0.001, Kind.length),
    _practice("trim.hose", "either way, what a hose end takes up", 0.003, Kind.length),
    _practice("trim.blade", "width of the saw's blade", 0.002, Kind.length),
    _practice("trim.saw", "standard uncertainty of where the saw cuts", 0.0005, Kind.length),
    _practice("trim.doubt", "standard uncertainty of a length laid out by eye", 0.005, Kind.length),
    Limit(
        "coolant.hottest",
        "coolant at its hottest",
        393.15,
        Kind.temperature,
        source("practice"),
        least=353.15,
        most=423.15,
    ),
)

LIMITS: Mapping[str, Limit] = {limit.key: limit for limit in _ALL}
"""Every adjustable limit by its key."""
