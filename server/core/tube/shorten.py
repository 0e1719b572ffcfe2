"""Shortening a bought pipe: a middle length comes out, the two ends are joined again, side ports stay.

Distances are along the centre line from the inlet face. What may not be cut or covered by the new joint is
an obstacle; a cut is possible where what comes out, with the joint's room on either side of it, meets none.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from server.core.units import Kind, System, show


class Join(StrEnum):
    """How the two halves are joined again; the value is the word pages show."""

    WELD = "weld"
    COUPLER = "coupler"


COUPLER_LENGTH = 0.076
"""A short straight coupler as sold [m]; common practice, no source."""
OVERLAP = 0.032
"""How far each spigot stands in it [m]: bead, clamp and a little to spare; common practice, no source."""
GAP = COUPLER_LENGTH - 2.0 * OVERLAP
"""How far apart the two ends stand in it [m], so that neither has to be pushed against the other."""
LEAST_THROAT = 0.010
"""Straight that a weld wants on either side of it [m]; common practice, no source."""
ROOM = {Join.WELD: LEAST_THROAT, Join.COUPLER: OVERLAP}
"""Straight that each joint takes of each half [m]."""
RIM = 0.005
"""Wall and weld of a bung round its bore [m]; common practice, no source."""
ROLLER_STRAIGHT = 0.050
"""Least straight that many bead rollers take hold of [m]; common practice, no source: each has its own."""
NEAR = 1e-9
"""Two lengths this close are the same [m]."""


@dataclass(frozen=True, slots=True)
class SidePort:
    """A side port on a pipe: `at` from the inlet face, `bore` [m]."""

    id: int
    name: str
    at: float
    bore: float


@dataclass(frozen=True, slots=True)
class Pipe:
    """A pipe with at most one bend: straight before it, its arc, straight after it [m]. One without a bend is
    all `leg`.
    """

    leg: float
    arc: float = 0.0
    leg_out: float = 0.0
    side_ports: tuple[SidePort, ...] = ()

    @property
    def length(self) -> float:
        """Along the centre line [m]."""
        return self.leg + self.arc + self.leg_out


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A stretch of a pipe that must stay clear of cut and joint: low, high [m], and what is there."""

    low: float
    high: float
    what: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Halves:
    """The two halves; distances of side ports are from the inlet face of the half they are on [m]."""

    first: Pipe
    second: Pipe


@dataclass(frozen=True, slots=True)
class Shortened:
    """What came of it: the halves, or what is in the way, where the first cut could be made instead, as
    stretches of distances from the inlet face [m], and how much could come out at most [m].
    """

    halves: Halves | None
    in_the_way: tuple[Obstacle, ...] = ()
    first_cuts: tuple[tuple[float, float], ...] = ()
    most: float = 0.0


def shorten(pipe: Pipe, cut: float, taken_out: float, join: Join) -> Shortened:
    """Take a length out of a pipe, from a distance on. Source: geometry.

    cut: of the first cut from the inlet face [m]; taken_out: the length that comes out [m], more than none.
    Raises ValueError for a length that is not a positive number.
    """
    if not (math.isfinite(cut) and math.isfinite(taken_out) and taken_out > 0.0):
        raise ValueError("what comes out has to be a length")
    room = ROOM[join]
    low, high = cut - room, cut + taken_out + room
    obstacles = _obstacles(pipe, join)
    hit = tuple(one for one in obstacles if low < one.high - NEAR and one.low + NEAR < high)
    if hit:
        gaps = [gap for gap in _gaps(obstacles) if gap[1] - gap[0] > 2.0 * room]
        cuts = tuple(
            (start + room, end - room - taken_out)
            for start, end in gaps
            if end - start - 2.0 * room >= taken_out - NEAR
        )
        most = max((end - start - 2.0 * room for start, end in gaps), default=0.0)
        return Shortened(None, hit, cuts, most)
    return Shortened(_halves(pipe, cut, cut + taken_out))


def _obstacles(pipe: Pipe, join: Join) -> list[Obstacle]:
    """In order along the pipe; what lies beyond its ends goes on for ever.

    A weld may cut its bend: a square cut in an arc meets the like of itself. A coupler takes straight tube.
    """
    found = [Obstacle(-math.inf, 0.0, "inlet end"), Obstacle(pipe.length, math.inf, "outlet end")]
    if pipe.arc > 0.0 and join is not Join.WELD:
        found.append(Obstacle(pipe.leg, pipe.leg + pipe.arc, "bend"))
    found += [
        Obstacle(port.at - port.bore / 2.0 - RIM, port.at + port.bore / 2.0 + RIM, "side port", port.name)
        for port in pipe.side_ports
    ]
    return sorted(found, key=lambda one: (one.low, one.high))


def _gaps(obstacles: list[Obstacle]) -> Iterator[tuple[float, float]]:
    """The stretches between obstacles, from the inlet on."""
    reached = -math.inf
    for before, after in pairwise(obstacles):
        reached = max(reached, before.high)
        if after.low > reached:
            yield reached, after.low


def _halves(pipe: Pipe, start: float, end: float) -> Halves:
    return Halves(_part(pipe, 0.0, start), _part(pipe, end, pipe.length))


def _part(pipe: Pipe, low: float, high: float) -> Pipe:
    """What of a pipe lies between two distances from its inlet face [m]."""
    bend, out = pipe.leg, pipe.leg + pipe.arc
    leg, arc, leg_out = (
        max(0.0, min(high, last) - max(low, first))
        for first, last in ((0.0, bend), (bend, out), (out, pipe.length))
    )
    within = (port for port in pipe.side_ports if low <= port.at and (port.at < high or high == pipe.length))
    ports = tuple(replace(port, at=port.at - low) for port in within)
    return Pipe(leg, arc, leg_out, ports) if arc > NEAR else Pipe(leg + leg_out, side_ports=ports)


def why_not(answer: Shortened, join: Join, system: System) -> str:
    """What is in the way of a cut, in words. Empty where nothing is."""

    def length(value: float) -> str:
        return show(value, Kind.length, system).text

    room = length(ROOM[join])
    said = []
    for one in answer.in_the_way:
        if one.what == "side port":
            said.append(f"{one.name} stands there, or within the {room} that a {join.value} takes beside it.")
        elif one.what == "bend":
            said.append(
                f"A {join.value} takes {room} of straight on either side, and the bend is nearer than that."
            )
        else:
            said.append(
                f"Less than the {room} of straight that a {join.value} takes would stay at the {one.what}."
            )
    return " ".join(said)


def where_instead(answer: Shortened, system: System) -> str:
    """Where the first cut could be made, or how much could come out at most, in words."""

    def length(value: float) -> str:
        return show(value, Kind.length, system).text

    if answer.first_cuts:
        places = [
            length(low) if high - low < 0.0005 else f"{length(low)} to {length(high)}"
            for low, high in answer.first_cuts
        ]
        return f"a first cut at {' or '.join(places)} from the inlet face"
    if answer.most > 0.0:
        return f"a shorter length: at most {length(answer.most)} can come out of this pipe"
    return "another pipe: there is no room for such a joint on this one"


def bead_advice(straight: float, system: System) -> str:
    """What to mind before the saw where a short straight [m] is left to roll a bead on; else empty.

    Source: common practice, no source.
    """
    if straight >= ROLLER_STRAIGHT:
        return ""
    stays, wanted = (show(value, Kind.length, system).text for value in (straight, ROLLER_STRAIGHT))
    return (
        f"Only {stays} of straight stays to roll a bead on; many rollers want about {wanted} (common "
        "practice, no source). Try yours on what comes out."
    )
