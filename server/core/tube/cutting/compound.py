"""A compound cut: one joint that turns a pipe sideways and up at once, as saw angle and rotation."""

from dataclasses import dataclass
from math import acos, atan2, cos, pi, sin


@dataclass(frozen=True, slots=True)
class CompoundCut:
    """How a joint is cut.

    turn: what the pipe turns in all [rad]. saw: from a square cut [rad]. mark: where the throat stands, from
    12 o'clock, clockwise along the flow [rad], 0 to 2π.
    """

    turn: float
    saw: float
    mark: float


def compound_cut(sideways: float, up: float) -> CompoundCut:
    """A joint after which the pipe points `sideways` to the left and then `up`.

    sideways: to the left seen along the flow, right where below zero [rad]; up: from level, down where below
    zero [rad]. The flow comes level, 12 o'clock up. Source: geometry, cos of the turn = cos a cos b; the
    throat is on the side that the pipe turns to.

    >>> from math import degrees, radians
    >>> cut = compound_cut(radians(45.0), radians(45.0))
    >>> round(degrees(cut.turn), 6), round(degrees(cut.saw), 6)
    (60.0, 30.0)
    """
    left, top = cos(up) * sin(sideways), sin(up)
    turn = acos(max(-1.0, min(1.0, cos(up) * cos(sideways))))
    return CompoundCut(turn, 0.5 * turn, atan2(-left, top) % (2.0 * pi))
