"""From which side a run is looked at: turned from the front and raised over the level."""

import math
from dataclasses import dataclass
from enum import StrEnum

from server.core.tube.centreline import Triple
from server.core.tube.view import View

ISOMETRIC_RISE = math.atan(1.0 / math.sqrt(2.0))
"""Rise from which three square axes look alike, 35.26° [rad]. Geometry; ISO 5456-3 (from memory)."""


class Side(StrEnum):
    """Where one stands; the value is the word of its address."""

    ISOMETRIC = "isometric"
    ABOVE = "above"
    RIGHT = "right"
    FRONT = "front"


@dataclass(frozen=True, slots=True)
class Stand:
    """Where one stands. turn: from the front towards the left [rad]; rise: over the level [rad]."""

    words: str
    turn: float
    rise: float

    @property
    def view(self) -> View:
        """Axes right-handed, x forward, y left, z up (ISO 8855): never a mirror image. Geometry."""
        t, e = self.turn, self.rise
        towards = (math.cos(e) * math.cos(t), math.cos(e) * math.sin(t), math.sin(e))
        up = (-math.sin(e) * math.cos(t), -math.sin(e) * math.sin(t), math.cos(e))
        return View((-math.sin(t), math.cos(t), 0.0), up, towards)


STANDS = {
    Side.ISOMETRIC: Stand("Isometric", math.pi / 4.0, ISOMETRIC_RISE),
    Side.ABOVE: Stand("Above", -math.pi / 2.0, math.pi / 2.0),
    Side.RIGHT: Stand("Right", -math.pi / 2.0, 0.0),
    Side.FRONT: Stand("Front", 0.0, 0.0),
}
"""The isometric view from the front, left and above, and three square ones, each the right way up."""


def depth(view: View, points: tuple[Triple, ...]) -> float:
    """How near the middle of some points is to the one who looks [m]."""
    return sum(sum(a * b for a, b in zip(point, view.towards, strict=True)) for point in points) / len(points)
