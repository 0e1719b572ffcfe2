"""What is drawn of a run, in space: lines, arrowheads and words that keep their place however it is turned.

Conventions of ISO 6412-1 and -2 (from memory): one thick line on the centre line whatever the size; legs
along an axis stand by themselves, a leg off the axes gets a thin helper triangle, hatched, with its
components; dimensions from corner to corner; the flow by a filled arrowhead. True lengths are written.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.core.tube.centreline import Arc, Centreline, PieceLine, Triple, cross
from server.core.tube.run import JointKind, RunPlan
from server.core.units import Kind, System, show

ARC_STEP = math.radians(7.5)
"""Bends are drawn by straights no longer than this turn."""
OFF_AXIS = 0.004
"""A leg whose part across an axis is under this share of it counts as along the axis [-]."""
CLEAR = 0.2
"""How much of a line's first and last straight blanks nothing out, so that neighbours meet [-]."""
HATCHES = 5
"""Lines in a helper triangle."""
LEAST = 0.0005
"""A leg shorter than this is none [m]."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a run lies: its start [m] and its own axes as rows of unit vectors [-], in the axes drawn."""

    start: Triple = (0.0, 0.0, 0.0)
    rows: tuple[Triple, Triple, Triple] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

    def at(self, point: Triple) -> Triple:
        """A point of the run [m]."""
        return _plus(self.along(point), self.start)

    def along(self, direction: Triple) -> Triple:
        """A direction of the run."""
        found = (0.0, 0.0, 0.0)
        for part, row in zip(direction, self.rows, strict=True):
            found = _plus(found, row, part)
        return found


OWN = Frame()
"""The run's own axes: along the flow at its start, to the left of that, 12 o'clock."""


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points in space [m], and its class."""

    css: str
    points: tuple[Triple, ...]


@dataclass(frozen=True, slots=True)
class Head:
    """A filled arrowhead at a point [m], coming from another [m]."""

    css: str
    tip: Triple
    tail: Triple


@dataclass(frozen=True, slots=True)
class Label:
    """A word that runs along a line from one point to another [m], over its middle."""

    text: str
    start: Triple
    end: Triple


@dataclass(frozen=True, slots=True)
class Tag:
    """A piece's number and the point on it [m]."""

    number: int
    at: Triple


@dataclass(frozen=True, slots=True)
class Leg:
    """From corner to corner, or to an end.

    start, end [m]; turn: of the bend after it [rad] with its radius [m], both 0 at the last; a mitre has no
    radius.
    """

    number: int
    start: Triple
    end: Triple
    turn: float = 0.0
    radius: float = 0.0

    @property
    def step(self) -> Triple:
        """From its start to its end [m]."""
        return _less(self.end, self.start)

    @property
    def length(self) -> float:
        return math.hypot(*self.step)

    @property
    def axis(self) -> int | None:
        """Which axis it goes along, 0 to 2; None where it leans."""
        sizes = [abs(part) for part in self.step]
        along = max(range(3), key=lambda place: sizes[place])
        across = max(size for place, size in enumerate(sizes) if place != along)
        return along if across <= OFF_AXIS * sizes[along] else None


@dataclass(frozen=True, slots=True)
class Scene:
    """A run in space. legs: in order; runs: the pipe's line a leg each, to be painted far ones first."""

    legs: tuple[Leg, ...]
    runs: tuple[Path, ...]
    thin: tuple[Path, ...]
    heads: tuple[Head, ...]
    labels: tuple[Label, ...]
    tags: tuple[Tag, ...]
    ghosts: tuple[Path, ...]
    centre: Triple
    reach: float
    """From the centre to the farthest point of the pipe [m]."""


def scene(
    plan: RunPlan, line: Centreline, system: System, frame: Frame = OWN, ghosts: Sequence[Path] = ()
) -> Scene:
    """A run of one piece or more. ghosts: what stands near it, in the axes drawn."""
    legs = legs_of(line, frame)
    corners = [legs[0].start, *(leg.end for leg in legs)]
    centre = _middle(corners)
    reach = max(math.dist(centre, corner) for corner in corners)
    helpers = [helper(leg, system) for leg in legs if leg.axis is None]
    return Scene(
        legs=legs,
        runs=tuple(_runs(line, frame)),
        thin=(*(path for paths, _ in helpers for path in paths), *_joints(plan, line, frame, reach)),
        heads=tuple(_flow(legs)),
        labels=tuple(label for _, labels in helpers for label in labels),
        tags=tuple(
            Tag(piece.piece.number, frame.at(piece.pose_at(piece.length / 2.0).point))
            for piece in line.pieces
        ),
        ghosts=tuple(ghosts),
        centre=centre,
        reach=max(reach, LEAST),
    )


def legs_of(line: Centreline, frame: Frame = OWN) -> tuple[Leg, ...]:
    """The legs of a run, corner to corner; a bend of half a turn or more has no corner and ends two legs."""
    arcs = [arc for piece in line.pieces for arc in piece.arcs]
    found: list[Leg] = []
    start = frame.start
    for arc in arcs:
        corner = frame.at(arc.corner if arc.angle < math.pi * 0.95 else arc.end.point)
        found.append(Leg(len(found) + 1, start, corner, arc.angle, arc.radius))
        start = corner
    return (*found, Leg(len(found) + 1, start, frame.at(line.end.point)))


def helper(leg: Leg, system: System) -> tuple[list[Path], list[Label]]:
    """The triangle that tells how a leg leans, on the level first, then upright, with its components."""
    x, y, z = leg.step
    start = leg.start
    along, level = _plus(start, (x, 0.0, 0.0)), _plus(start, (x, y, 0.0))
    small = OFF_AXIS * leg.length
    corners = [along] if abs(x) > small < abs(y) else []
    paths, labels = [], []
    if corners:
        paths += _triangle(start, along, level)
        labels += [_component(start, along, system), _component(along, level, system)]
    if abs(z) > small:
        paths += _triangle(start, level, leg.end)
        labels += [_component(level, leg.end, system)]
        labels += [] if corners else [_component(start, level, system)]
    return paths, labels


def _triangle(first: Triple, corner: Triple, last: Triple) -> list[Path]:
    """Two thin dashed sides, and hatching parallel to the second."""
    found = [Path("helper", (first, corner, last))]
    for step in range(1, HATCHES + 1):
        share = step / (HATCHES + 1)
        found.append(Path("hatch", (_between(first, corner, share), _between(first, last, share))))
    return found


def _component(start: Triple, end: Triple, system: System) -> Label:
    return Label(length_text(math.dist(start, end), system), start, end)


def length_text(length: float, system: System) -> str:
    """A dimension: millimetres without the unit, inches with it (ISO 129-1, from memory)."""
    text = show(length, Kind.length, system).text
    return text.removesuffix(" mm")


def _runs(line: Centreline, frame: Frame) -> Iterable[Path]:
    """The pipe's line, from where the start port's face is to the end port's, a stretch each."""
    for piece in line.pieces:
        for path in _stretches(piece, first=piece is line.pieces[0]):
            yield Path("pipe", tuple(frame.at(point) for point in path))


def inner(path: Path) -> Path:
    """The line without its ends [m]: what a nearer one blanks out of what passes behind it."""
    points = path.points
    first, last = _between(points[0], points[1], CLEAR), _between(points[-1], points[-2], CLEAR)
    return Path(path.css, (first, *points[1:-1], last))


def _stretches(piece: PieceLine, *, first: bool) -> Iterable[list[Triple]]:
    """What a piece adds to the line: where two overlap the one before ends where the next begins."""
    low, high = piece.overlap_in if first else 0.0, piece.length - piece.overlap_out
    for stretch in piece.stretches:
        begin = max(low, stretch.station - piece.station)
        last = min(high, stretch.station - piece.station + stretch.length)
        if last - begin < 1e-9:
            continue
        steps = max(1, math.ceil(stretch.angle / ARC_STEP)) if isinstance(stretch, Arc) else 1
        yield [piece.pose_at(begin + (last - begin) * k / steps).point for k in range(steps + 1)]


def _joints(plan: RunPlan, line: Centreline, frame: Frame, reach: float) -> Iterable[Path]:
    """Strokes across the line at each joint: one for a weld, two for what comes apart."""
    half = 0.035 * reach
    poses = [line.pieces[0].pose_at(line.pieces[0].overlap_in)]
    poses += [piece.pose_at(piece.length - piece.overlap_out) for piece in line.pieces]
    for joint, pose in zip(plan.joints, poses, strict=False):
        across = cross(pose.axis, pose.direction)
        shifts = (0.0,) if joint.kind is JointKind.WELD else (-0.012 * reach, 0.012 * reach)
        for shift in shifts:
            at = _plus(pose.point, pose.direction, shift)
            for way in (pose.axis, across):
                yield Path("tick", (frame.at(_plus(at, way, -half)), frame.at(_plus(at, way, half))))


def _flow(legs: Sequence[Leg]) -> Iterable[Head]:
    """Which way it flows, on the first leg and the last."""
    for leg in {1: legs[0], len(legs): legs[-1]}.values():
        if leg.length > LEAST:
            yield Head("flow", _between(leg.start, leg.end, 0.55), leg.start)


def dimension(leg: Leg, away: Triple, system: System) -> tuple[list[Path], list[Head], Label]:
    """A leg's length on a line beside it. away: from the leg to that line [m]."""
    start, end = _plus(leg.start, away), _plus(leg.end, away)
    past = _plus((0.0, 0.0, 0.0), away, 1.12)
    paths = [
        Path("thin", (_plus(leg.start, away, 0.15), _plus(leg.start, past))),
        Path("thin", (_plus(leg.end, away, 0.15), _plus(leg.end, past))),
        Path("thin", (start, end)),
    ]
    heads = [Head("size", start, end), Head("size", end, start)]
    return paths, heads, Label(length_text(leg.length, system), start, end)


def sideways(leg: Leg) -> tuple[Triple, ...]:
    """Unit directions in which a leg's dimension may stand: along the other axes, or square to the leg."""
    if leg.axis is not None:
        axes = [place for place in range(3) if place != leg.axis]
        ways = [_axis(place) for place in axes]
    else:
        along = tuple(part / leg.length for part in leg.step)
        level = cross((0.0, 0.0, 1.0), (along[0], along[1], along[2]))
        size = math.hypot(*level)
        if size < 1e-6:
            return ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
        ways = [(level[0] / size, level[1] / size, 0.0), (0.0, 0.0, 1.0)]
    return tuple(way for one in ways for way in (one, _plus((0.0, 0.0, 0.0), one, -1.0)))


def _axis(place: int) -> Triple:
    return (float(place == 0), float(place == 1), float(place == 2))


def _plus(point: Triple, step: Triple, times: float = 1.0) -> Triple:
    return (point[0] + step[0] * times, point[1] + step[1] * times, point[2] + step[2] * times)


def _less(end: Triple, start: Triple) -> Triple:
    return (end[0] - start[0], end[1] - start[1], end[2] - start[2])


def _between(start: Triple, end: Triple, share: float) -> Triple:
    return _plus(start, _less(end, start), share)


def _middle(points: Sequence[Triple]) -> Triple:
    """The middle of the box round points [m]."""
    low = [min(point[place] for point in points) for place in range(3)]
    high = [max(point[place] for point in points) for place in range(3)]
    return ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0, (low[2] + high[2]) / 2.0)
