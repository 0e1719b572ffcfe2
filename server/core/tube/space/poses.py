"""Where a port is and which way it faces, in car axes (ISO 8855): x forward, y left, z up.

The place is counted from the build's datum. A port faces out of its opening; flow leaves the port that a run
starts at the way it faces, and enters the one it ends at against it. `flow_at` is the one place that turns
facing into flow.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from server.core.measure.estimate import Estimate, rectangular
from server.core.tube.space.vectors import Floats3x3, Vector, across, cross, unit, vector

FORWARD, LEFT, UP = (vector(way) for way in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))
OUT_OF_SQUARE = math.radians(1.0)
"""How far off its axis a tape is held by eye, at most [rad]; common practice, no source."""
PLUMB = math.radians(0.5)
"""A flow nearer to plumb than this has no upper side: forward is its 12 o'clock [rad]."""


class Level(StrEnum):
    """Which way a port faces, seen from above; the value is the label, in the order of `HEADINGS`."""

    FORWARD = "forward"
    FORWARD_LEFT = "forward and left"
    LEFT = "left"
    REAR_LEFT = "rearward and left"
    REAR = "rearward"
    REAR_RIGHT = "rearward and right"
    RIGHT = "right"
    FORWARD_RIGHT = "forward and right"


HEADINGS = {way: math.radians(45.0 * eighth) for eighth, way in enumerate(Level)}
"""Turn from forward towards the left [rad]; left is the car's own, as the driver sits."""


class Tilt(StrEnum):
    """How far a port faces below level or above it; the value is the label."""

    DOWN = "straight down"
    DOWN_75 = "75° below level"
    DOWN_60 = "60° below level"
    DOWN_45 = "45° below level"
    DOWN_30 = "30° below level"
    DOWN_15 = "15° below level"
    LEVEL = "level"
    UP_15 = "15° above level"
    UP_30 = "30° above level"
    UP_45 = "45° above level"
    UP_60 = "60° above level"
    UP_75 = "75° above level"
    UP = "straight up"


DIPS = {tilt: math.radians(90.0 - 15.0 * step) for step, tilt in enumerate(Tilt)}
"""Below level [rad]; above it is less than 0."""


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A point [m] and its doubt along each axis, one standard uncertainty [m]; both shape (3,)."""

    point: Vector
    doubt: Vector


@dataclass(frozen=True, slots=True, eq=False)
class Facing:
    """A unit direction out of the opening, shape (3,), and how far it may lean: two small angles [rad].

    aside: to either side of it, on the level; upright: up or down. Both one standard uncertainty.
    """

    way: Vector
    aside: float
    upright: float


@dataclass(frozen=True, slots=True)
class PortPose:
    """Where a port is and which way it faces."""

    place: Place
    facing: Facing


def flow_at(facing: Vector, *, starts: bool) -> Vector:
    """The unit direction of flow [-] at a port that faces so: the same where a run starts, else against it.

    >>> [float(part) for part in flow_at(FORWARD, starts=True)], [float(x) for x in flow_at(UP, starts=False)]
    ([1.0, 0.0, 0.0], [0.0, 0.0, -1.0])
    """
    way = unit(facing)
    return way if starts else np.where(way == 0.0, 0.0, -way)


def by_offsets(offsets: Sequence[Estimate]) -> Place:
    """A place from three lengths by tape: forward, left and up of the datum [m].

    To each one's own doubt comes what a tape held out of square adds: `OUT_OF_SQUARE` over the other two.
    Source: JCGM 100:2008, 5.1.2; geometry.
    """
    values = [one.value for one in offsets]
    off = rectangular(OUT_OF_SQUARE)
    doubts = [
        math.hypot(one.doubt, off * math.hypot(*values[:at], *values[at + 1 :]))
        for at, one in enumerate(offsets)
    ]
    return Place(vector(values), vector(doubts))


def beside(base: Place, step: Place) -> Place:
    """A place from another one, by the step from there [m]; both doubts count, as independent ones."""
    return Place(base.point + step.point, np.hypot(base.doubt, step.doubt))


def by_angles(heading: Estimate, dip: Estimate) -> Facing:
    """A facing from its heading, from forward towards the left, and its dip below level [rad].

    A heading tells less the steeper the port faces. Source: geometry.
    """
    level = math.cos(dip.value)
    way = vector([level * math.cos(heading.value), level * math.sin(heading.value), -math.sin(dip.value)])
    return Facing(_clean(way), abs(level) * heading.doubt, dip.doubt)


def by_words(level: Level, tilt: Tilt, doubt: float) -> Facing:
    """A facing by eye, as said in words; doubt: of each of its two angles [rad]."""
    dip = DIPS[tilt]
    plumb = tilt in (Tilt.UP, Tilt.DOWN)
    way = by_angles(Estimate(0.0 if plumb else HEADINGS[level]), Estimate(dip)).way
    return Facing(way, doubt, doubt)


def by_stick(tip: Sequence[Estimate]) -> Facing | None:
    """A facing from a straight stick put in the opening: its tip forward, left and up of the opening [m].

    None where the tip is the opening itself. Source: geometry; doubt by JCGM 100:2008, 5.1.2.
    """
    step = vector([one.value for one in tip])
    long = float(np.linalg.norm(step))
    if not long > 0.0:
        return None
    way = step / long
    doubts = vector([one.doubt for one in tip])
    aside, upright = _beside(way)
    return Facing(
        way, float(np.linalg.norm(aside * doubts)) / long, float(np.linalg.norm(upright * doubts)) / long
    )


def leaned(facing: Facing, aside: float, upright: float) -> Vector:
    """The unit direction [-] that lies off a facing by two small angles [rad], to the left and up."""
    left, up = _beside(facing.way)
    return unit(facing.way + math.tan(aside) * left + math.tan(upright) * up)


def heading_of(way: Vector) -> float:
    """Turn of a direction from forward towards the left [rad], 0 where it is plumb."""
    return 0.0 if math.hypot(way[0], way[1]) < math.sin(PLUMB) else math.atan2(way[1], way[0])


def dip_of(way: Vector) -> float:
    """How far a unit direction points below level [rad]."""
    return -math.asin(max(-1.0, min(1.0, float(way[2]))))


def run_axes(flow: Vector) -> Floats3x3:
    """The axes of a run in car axes, as rows: along the flow at its start, to the left of it, 12 o'clock.

    12 o'clock is as far up as is square to the flow; forward where the flow is plumb. A point p of the run
    lies at start + p @ axes. Source: geometry.
    """
    top = UP if abs(dip_of(flow)) < math.pi / 2.0 - PLUMB else FORWARD
    up = unit(across(top, flow))
    return np.array([flow, cross(up, flow), up])


def _beside(way: Vector) -> tuple[Vector, Vector]:
    """Unit directions square to a facing: level to its left, and up; where it is plumb, left and forward."""
    _, left, up = run_axes(way)
    return left, up


def _clean(way: Vector) -> Vector:
    """A unit direction whose parts that are 0 but for rounding are 0."""
    return unit(np.where(np.abs(way) < 1e-12, 0.0, way))
