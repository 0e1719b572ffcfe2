"""What stands near a run: what is usual of each kind of neighbour, and what heat each material stands."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from math import pi

from server.core.checks.rubber import RUBBERS, ZERO_CELSIUS
from server.core.sources import Source, source
from server.core.tube.run import Frame, NeighbourPlan, What

ALL_ROUND = pi - 1.0
"""`Nature.back` of a thin round line, and of a sheet or a block [-]. Source: geometry."""
BOTH_SIDES = 1.0


class Hot(Enum):
    """What the heat of a hot neighbour comes from, as a run sees it."""

    PIPE = "long pipe"
    BALL = "ball"


@dataclass(frozen=True, slots=True)
class Nature:
    """What is usual of a kind of neighbour; common practice, no source.

    injury: somebody can be hurt where it is rubbed through, burnt or jammed. frame: what it moves with.
    material: what of it heat harms first, empty where that has to be said. width: as the pipe sees it [m].
    back: area of its back that gives heat off over what the pipe sees of it [-]; 0 where it is insulated.
    hot: it heats a run beside it that carries no exhaust itself, as a pipe or as a ball of its width.
    """

    injury: bool
    frame: Frame
    material: str
    width: float
    back: float = 0.0
    hot: Hot | None = None


BARE_METAL = "bare metal"
"""Nothing of it that under-bonnet heat harms."""

_BRAKE = "brake fluid in a metal line"
_WIRE = "wire of class C"

NATURES: Mapping[What, Nature] = {
    What.BRAKE_LINE: Nature(True, Frame.BODY, _BRAKE, 0.005, ALL_ROUND),
    What.FUEL_LINE: Nature(True, Frame.BODY, "nylon line", 0.010, ALL_ROUND),
    What.CLUTCH_LINE: Nature(False, Frame.BODY, _BRAKE, 0.006, ALL_ROUND),
    What.SERVO_HOSE: Nature(True, Frame.ENGINE, "EPDM", 0.018, ALL_ROUND),
    What.STEERING: Nature(True, Frame.SUSPENSION, "greased joint in a rubber boot", 0.025, ALL_ROUND),
    What.SHAFT: Nature(True, Frame.ENGINE, "greased joint in a rubber boot", 0.060, ALL_ROUND),
    What.LOOM: Nature(False, Frame.BODY, _WIRE, 0.015, ALL_ROUND),
    What.HOSE: Nature(False, Frame.ENGINE, "", 0.030, ALL_ROUND),
    What.FLOOR: Nature(False, Frame.BODY, "carpet or underseal", 0.300),
    What.BODY: Nature(False, Frame.BODY, "painted sheet", 0.200, BOTH_SIDES),
    What.BONNET: Nature(False, Frame.BODY, "painted sheet", 0.300, BOTH_SIDES),
    What.MOUNT: Nature(False, Frame.BODY, "natural rubber", 0.080, BOTH_SIDES),
    What.STARTER: Nature(False, Frame.ENGINE, _WIRE, 0.080, BOTH_SIDES),
    What.SUSPENSION: Nature(False, Frame.SUSPENSION, "natural rubber", 0.050, BOTH_SIDES),
    What.GROUND: Nature(False, Frame.NOT_SAID, BARE_METAL, 0.300),
    What.TURBINE: Nature(False, Frame.ENGINE, BARE_METAL, 0.150, hot=Hot.BALL),
    What.MANIFOLD: Nature(False, Frame.ENGINE, BARE_METAL, 0.100, hot=Hot.PIPE),
    What.EXHAUST: Nature(False, Frame.ENGINE, BARE_METAL, 0.076, hot=Hot.PIPE),
    What.OTHER: Nature(False, Frame.NOT_SAID, "", 0.050),
}


@dataclass(frozen=True, slots=True)
class Stands:
    """What heat a material stands. temperature: [K], before anything is kept under it."""

    temperature: float
    source: Source


def _practice(celsius: float) -> Stands:
    return Stands(celsius + ZERO_CELSIUS, source("practice"))


def _wire(celsius: float) -> Stands:
    return Stands(celsius + ZERO_CELSIUS, source("wire-classes"))


STANDS: Mapping[str, Stands] = {
    _BRAKE: Stands(140.0 + ZERO_CELSIUS, source("brake-fluid")),
    "nylon line": _practice(120.0),
    "wire of class A": _wire(85.0),
    "wire of class B": _wire(100.0),
    _WIRE: _wire(125.0),
    "wire of class D": _wire(150.0),
    "natural rubber": _practice(110.0),
    "greased joint in a rubber boot": _practice(130.0),
    "carpet or underseal": _practice(120.0),
    "painted sheet": _practice(120.0),
    **{name: Stands(rubber.test_temperature, rubber.source) for name, rubber in RUBBERS.items()},
}
"""What each material stands, by its name; where one of several things is harmed first, that one."""

MATERIALS = (*STANDS, BARE_METAL)
"""What may be said of a neighbour."""


def nature_of(near: NeighbourPlan) -> Nature:
    """What is usual of this neighbour."""
    return NATURES[near.what]


def frame_of(near: NeighbourPlan) -> str:
    """What it moves with, as said or as usual; empty where neither tells."""
    return near.frame or nature_of(near).frame


def material_of(near: NeighbourPlan) -> str:
    """What of it heat harms first, as said or as usual; empty where neither tells."""
    return near.material or nature_of(near).material
