"""What a route is asked for, and what it is: from one pose to another through bends that can be bought."""

from dataclasses import dataclass

from server.core.tube.space.bend_table import BendTable
from server.core.tube.space.keep_outs import KeepOut
from server.core.tube.space.vectors import Vector

LEAST_ANGLE = 0.0175
"""A bend cut down to less than this is not worth its joints [rad]; 1°, common practice, no source."""


@dataclass(frozen=True, slots=True)
class BendKind:
    """A bend that can be bought. radius: of its centre line [m]. angle: [rad]. may_cut_down: to a lesser one.

    leg_in, leg_out: straights that come with it [m].
    """

    radius: float
    angle: float
    may_cut_down: bool = False
    leg_in: float = 0.0
    leg_out: float = 0.0


@dataclass(frozen=True, slots=True)
class End:
    """An end of the route: point [m], shape (3,), and unit direction of flow there, shape (3,)."""

    point: Vector
    flow: Vector


@dataclass(frozen=True, slots=True)
class Asked:
    """A route to be found. shortest_straight, outside: [m]; outside is the pipe's diameter."""

    start: End
    end: End
    bends: tuple[BendKind, ...]
    shortest_straight: float
    outside: float
    most_bends: int = 3
    keep_outs: tuple[KeepOut, ...] = ()


@dataclass(frozen=True, slots=True)
class Route:
    """A route. corners: both ends included [m]. kinds: of its bends, in order. table: as a bender works.

    closure: how far its end is off when rebuilt from bends and straights alone [m]; closure_angle: [rad].
    """

    corners: tuple[Vector, ...]
    kinds: tuple[BendKind, ...]
    table: BendTable
    closure: float
    closure_angle: float

    @property
    def length(self) -> float:
        """Along the centre line [m]."""
        return self.table.developed


@dataclass(frozen=True, slots=True)
class Routes:
    """Routes found, fewest bends first, then the shortest; none with the reason."""

    found: tuple[Route, ...]
    reason: str = ""
