"""Keep-outs as the builder measures them: points and sizes with doubt, made into solid shapes."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from server.core.measure.estimate import Estimate
from server.core.tube.run import What
from server.core.tube.space.keep_outs import Box, Capsule, KeepOut, ball
from server.core.tube.space.poses import by_offsets
from server.core.tube.space.vectors import Vector, vector

AXES = ("forward", "left", "up")


class Shape(StrEnum):
    """What a keep-out is taken for; the value is the label."""

    BALL = "ball"
    CAPSULE = "capsule"
    BOX = "box"


POINTS = {Shape.BALL: ("at",), Shape.CAPSULE: ("at", "to"), Shape.BOX: ("at",)}
"""The points of each shape: a ball's and a box's middle, both ends of a bar's middle line."""
SIZES = {Shape.BALL: ("across",), Shape.CAPSULE: ("across",), Shape.BOX: ("long", "wide", "high")}


@dataclass(frozen=True, slots=True)
class Solid:
    """A keep-out as measured.

    numbers: by name [m, rad]: `at_forward` ..., `to_forward` ..., `across`, `long`, `wide`, `high`, `turned`
    (of a box: from forward towards the left), `gap` (what must stay free round it), `moves` (how far it comes
    towards a pipe, at most). frame: what it moves with, empty where as usual of it.
    """

    id: int
    name: str
    what: What
    shape: Shape
    frame: str
    numbers: Mapping[str, Estimate]

    @property
    def gap(self) -> float:
        """What must stay free round it [m]."""
        return self.numbers["gap"].value

    @property
    def doubt(self) -> float:
        """How well its place is known, one standard uncertainty along the worst axis [m]."""
        points = [by_offsets(self._point(name)) for name in POINTS[self.shape]]
        sizes = [0.5 * self.numbers[size].doubt for size in SIZES[self.shape]]
        return math.hypot(max(float(point.doubt.max()) for point in points), *sizes)

    def keep_out(self, more: float = 0.0) -> KeepOut:
        """The shape with the gap that it needs, and so much more [m]."""
        gap = self.gap + more
        at = self._place("at")
        if self.shape is Shape.BOX:
            half = vector([0.5 * self.numbers[size].value for size in SIZES[Shape.BOX]])
            return Box(at, half, _turned(self._value("turned")), gap)
        radius = 0.5 * self.numbers["across"].value
        if self.shape is Shape.BALL:
            return ball(at, radius, gap)
        return Capsule(at, self._place("to"), radius, gap)

    def _point(self, name: str) -> list[Estimate]:
        return [self.numbers[f"{name}_{axis}"] for axis in AXES]

    def _place(self, name: str) -> Vector:
        return vector([one.value for one in self._point(name)])

    def _value(self, name: str) -> float:
        return self.numbers[name].value if name in self.numbers else 0.0


def _turned(heading: float) -> Vector:
    """The edges of a box that is turned about up, as rows: along it, to its left, up. Source: geometry."""
    cosine, sine = math.cos(heading), math.sin(heading)
    return np.array([[cosine, sine, 0.0], [-sine, cosine, 0.0], [0.0, 0.0, 1.0]])
