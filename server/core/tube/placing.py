"""Finding room on the sheet: everything that takes room is a capsule, a segment with a radius.

A balloon is a capsule of no length, a word a level one, a leader one of no radius, a piece several along its
centre line. Two things touch where their segments come nearer than their radii and a gap.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from server.core.tube.view import Flat

GAP = 2.5
"""Least distance between two things [sheet units]."""


@dataclass(frozen=True, slots=True)
class Capsule:
    """A segment from a to b with a radius [sheet units]. box: its left, top, right and bottom."""

    a: Flat
    b: Flat
    radius: float
    box: tuple[float, float, float, float] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        (ax, ay), (bx, by), r = self.a, self.b, self.radius
        left, right = (ax, bx) if ax < bx else (bx, ax)
        top, bottom = (ay, by) if ay < by else (by, ay)
        box = (left - r, top - r, right + r, bottom + r)
        object.__setattr__(self, "box", box)


def disc(centre: Flat, radius: float) -> Capsule:
    """A round thing [sheet units]."""
    return Capsule(centre, centre, radius)


def distance(one: Capsule, other: Capsule) -> float:
    """Between the segments of two capsules, their radii left out [sheet units]; geometry."""
    if one.a == one.b:
        return _from_point(one.a, other)
    if other.a == other.b:
        return _from_point(other.a, one)
    if _cross(one, other):
        return 0.0
    return min(
        _from_point(one.a, other),
        _from_point(one.b, other),
        _from_point(other.a, one),
        _from_point(other.b, one),
    )


def touch(one: Capsule, other: Capsule, gap: float = GAP) -> bool:
    """Whether two things come nearer than the gap [sheet units]."""
    left, top, right, bottom = one.box
    other_left, other_top, other_right, other_bottom = other.box
    if left - gap > other_right or right + gap < other_left:
        return False
    if top - gap > other_bottom or bottom + gap < other_top:
        return False
    return distance(one, other) < one.radius + other.radius + gap


@dataclass(slots=True)
class Ground:
    """What is on the sheet so far: `solid` must stay clear of everything; `drawn` is the run, which only
    leaders cross.

    left, right: the sheet's usable width [sheet units].
    """

    left: float
    right: float
    solid: list[Capsule] = field(default_factory=list)
    leaders: list[Capsule] = field(default_factory=list)
    drawn: list[Capsule] = field(default_factory=list)

    def free(self, thing: Capsule) -> bool:
        """Whether a thing may be put there."""
        if thing.box[0] < self.left or thing.box[2] > self.right:
            return False
        return not (
            _meets_any(thing, self.solid) or _meets_any(thing, self.leaders) or _meets_any(thing, self.drawn)
        )

    def open_way(self, leader: Capsule) -> bool:
        """Whether a leader meets no balloon, word or other leader."""
        return not (_meets_any(leader, self.solid) or _meets_any(leader, self.leaders))

    def round_about(self, point: Flat, reach: float) -> "Ground":
        """What of it comes as near as that to a point [sheet units], to look at again and again."""
        (x, y), far = point, reach + GAP
        left, top, right, bottom = x - far, y - far, x + far, y + far

        def near(things: list[Capsule]) -> list[Capsule]:
            return [
                one
                for one in things
                if one.box[2] >= left and one.box[0] <= right and one.box[3] >= top and one.box[1] <= bottom
            ]

        return Ground(self.left, self.right, near(self.solid), near(self.leaders), near(self.drawn))

    def crossed(self, leader: Capsule) -> list[Capsule]:
        """The stretches of the run that a leader crosses, but for those that it starts from."""
        start = disc(leader.a, 0.0)
        return [one for one in _met(leader, self.drawn, 0.0) if not touch(start, one, 0.0)]

    def lowest(self) -> float:
        """The lowest edge of anything [sheet units, down]."""
        return max(one.box[3] for one in (*self.solid, *self.drawn))

    def highest(self) -> float:
        """The highest edge of anything [sheet units, down]."""
        return min(one.box[1] for one in (*self.solid, *self.drawn))


def _meets_any(thing: Capsule, others: Iterable[Capsule]) -> bool:
    """Whether a thing touches any of others."""
    return next(_met(thing, others, GAP), None) is not None


def _met(thing: Capsule, others: Iterable[Capsule], gap: float) -> Iterator[Capsule]:
    """The others that a thing touches; most are told apart by their boxes, at a glance."""
    left, top, right, bottom = thing.box
    left, top, right, bottom = left - gap, top - gap, right + gap, bottom + gap
    for other in others:
        box = other.box
        near = box[2] >= left and box[0] <= right and box[3] >= top and box[1] <= bottom
        if near and distance(thing, other) < thing.radius + other.radius + gap:
            yield other


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a balloon stands and where its leader ends on the edge of it [sheet units]."""

    centre: Flat
    edge: Flat


def place_balloon(ground: Ground, anchor: Flat, normal: Flat, clear: float, radius: float) -> Spot:
    """Find room for a balloon near its anchor, put it and its leader on the ground, and return where it
    stands.

    normal: unit direction away from the piece; clear: from the anchor to the piece's edge; radius: the
    balloon's [sheet units]. Nearest and squarest first; a leader over another piece only where nothing else
    is near. Where all is full it goes below everything, so a place is always found.
    """
    there = ground.round_about(anchor, clear + FURTHEST + 2.0 * radius)
    best: tuple[list[Capsule], Capsule, Capsule] | None = None
    for centre in ring(anchor, normal, clear + radius):
        if not there.left <= centre[0] - radius <= centre[0] + radius <= there.right:
            continue
        balloon = disc(centre, radius)
        if not there.free(balloon):
            continue
        leader = Capsule(anchor, _towards(centre, anchor, radius), 0.0)
        if best is not None and len(list(_met(leader, best[0], 0.0))) == len(best[0]):
            continue  # it crosses all that the best one crosses
        if not there.open_way(leader):
            continue
        crossed = there.crossed(leader)
        if best is None or len(crossed) < len(best[0]):
            best = crossed, balloon, leader
        if not crossed:
            break
    if best is None:
        balloon = _below(ground, anchor, radius)
        best = [], balloon, Capsule(anchor, _towards(balloon.a, anchor, radius), 0.0)
    _, balloon, leader = best
    ground.solid.append(balloon)
    ground.leaders.append(leader)
    return Spot(balloon.a, leader.b)


def place_word(ground: Ground, spots: Iterable[Flat], length: float, height: float) -> Flat:
    """Put a word of this size [sheet units] at the first spot (its centre) with room, or below everything."""
    half, radius = max(0.0, length - height) / 2.0, height / 2.0
    for x, y in spots:
        inside = min(max(x, ground.left + length / 2.0), ground.right - length / 2.0)
        word = Capsule((inside - half, y), (inside + half, y), radius)
        if ground.free(word):
            ground.solid.append(word)
            return inside, y
    x, y = ground.left + length / 2.0, ground.lowest() + height
    ground.solid.append(Capsule((x - half, y), (x + half, y), radius))
    return x, y


def _ways() -> tuple[tuple[float, float, float], ...]:
    """How far beyond the nearest place and which way from the normal (cosine, sine), best first."""
    found: list[tuple[float, tuple[float, float, float]]] = []
    for step in range(10):
        for degrees in range(-160, 181, 20):
            cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
            beyond = 8.0 + 8.0 * step
            # Off square costs a little, the other side a little more.
            cost = beyond + 30.0 * (1.0 - abs(cosine)) + (6.0 if cosine < 0.0 else 0.0)
            found.append((cost, (beyond, cosine, sine)))
    return tuple(way for _, way in sorted(found))


WAYS = _ways()
FURTHEST = max(beyond for beyond, _, _ in WAYS)
"""How far beyond the nearest place the last of them lies [sheet units]."""


def ring(anchor: Flat, normal: Flat, nearest: float) -> Iterator[Flat]:
    """Places round an anchor, best first: near and square off it; nearest: from the anchor [sheet units]."""
    for beyond, cosine, sine in WAYS:
        reach = nearest + beyond
        x, y = normal[0] * cosine - normal[1] * sine, normal[0] * sine + normal[1] * cosine
        yield anchor[0] + x * reach, anchor[1] + y * reach


def _below(ground: Ground, anchor: Flat, radius: float) -> Capsule:
    pitch = 2.0 * radius + GAP + 0.1
    x = min(max(anchor[0], ground.left + radius), ground.right - radius)
    return disc((x, ground.lowest() + pitch), radius)


def _towards(start: Flat, goal: Flat, length: float) -> Flat:
    across, along = goal[0] - start[0], goal[1] - start[1]
    whole = math.hypot(across, along) or 1.0
    return start[0] + across / whole * length, start[1] + along / whole * length


def _from_point(point: Flat, segment: Capsule) -> float:
    (ax, ay), (bx, by) = segment.a, segment.b
    dx, dy = bx - ax, by - ay
    square = dx * dx + dy * dy
    part = 0.0 if square == 0.0 else ((point[0] - ax) * dx + (point[1] - ay) * dy) / square
    part = min(1.0, max(0.0, part))
    return math.hypot(point[0] - ax - part * dx, point[1] - ay - part * dy)


def _side(a: Flat, b: Flat, c: Flat) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _cross(one: Capsule, other: Capsule) -> bool:
    return (
        _side(one.a, one.b, other.a) * _side(one.a, one.b, other.b) < 0.0
        and _side(other.a, other.b, one.a) * _side(other.a, other.b, one.b) < 0.0
    )
