"""The view that a run is drawn in: the plane in which it mostly lies, turned so that flow goes left to
right.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from server.core.tube.centreline import Arc, Centreline, PieceLine, Pose, Straight, Triple, cross, dot

Flat = tuple[float, float]
"""A point on the plane of the drawing [m] or on the sheet [units], or a direction there."""

Poses = Sequence[tuple[Pose, float]]
"""Poses along a run, each with the outside radius there [m]."""

ARC_STEP = math.radians(15.0)
"""Arcs are sampled no coarser than this where they can't be kept as arcs."""
LEFT_TO_RIGHT = 0.5
"""Cosine of the steepest that a run may climb across the sheet, from its start to its end, unless it must."""
FIRST_LEG_LEVEL = 1.2
"""A level first leg reads so well that another turn must draw the run this much larger to be preferred."""
STRAIGHT_ENOUGH = 1e-6
"""Spread across over spread along [-, squared]: below it a run is straight and any plane would hold it."""


@dataclass(frozen=True, slots=True)
class View:
    """Unit vectors in the run's axes: `right` and `up` on the sheet, `towards` the one who looks."""

    right: Triple
    up: Triple
    towards: Triple

    def flat(self, point: Triple) -> Flat:
        """A point or direction seen in this view, up counted upwards [as given]."""
        (x, y, z), (rx, ry, rz), (ux, uy, uz) = point, self.right, self.up
        return x * rx + y * ry + z * rz, x * ux + y * uy + z * uz

    def lean(self, direction: Triple) -> float:
        """How far a unit direction stands out of the plane of the drawing [rad], positive towards the eye."""
        return math.asin(max(-1.0, min(1.0, dot(direction, self.towards))))

    def plane(self, arc: Arc) -> bool:
        """Whether an arc lies in the plane of the drawing, so that it is seen as a true arc."""
        return abs(dot(arc.start.axis, self.towards)) > 1.0 - 1e-7


@dataclass(frozen=True, slots=True)
class Box:
    """The least rectangle round something on the plane [same unit as what it holds]."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.bottom


def steps_of(stretch: Straight | Arc) -> int:
    """How many steps a stretch is followed in."""
    return math.ceil(stretch.angle / ARC_STEP) if isinstance(stretch, Arc) else 1


def poses_along(line: PieceLine) -> list[tuple[Pose, float]]:
    """Poses along a piece and the outside radius at each [m]: the ends of each stretch and steps within an
    arc.
    """
    growth = (line.sizes.outside_out - line.sizes.outside_in) / line.length if line.length > 0.0 else 0.0
    found: list[tuple[Pose, float]] = []
    for stretch in line.stretches:
        steps = steps_of(stretch)
        for step in range(steps + 1):
            distance = stretch.length * step / steps
            along = stretch.station - line.station + distance
            found.append((stretch.pose_at(distance), (line.sizes.outside_in + growth * along) / 2.0))
    return found


def choose_view(line: Centreline, poses: Poses, wide: float, high: float) -> tuple[View, Box]:
    """The view of a run that fills a sheet `wide` by `high` best [any one unit], and its room in it [m].

    poses: those along all its pieces (`poses_along`).

    Looks square on the plane that fits the centre line best (least squares), from above or from the run's
    right where there is a choice; a straight run is seen from its right, 12 o'clock up. Of the turns that
    make a leg level or upright, and that which makes start and end level, it takes the one that draws largest
    while flow goes left to right, with some favour for a level first leg. Source: geometry.
    """
    towards = _towards([pose.point for pose, _ in poses])
    chord = _chord(line, towards)
    directions = _distinct(dict.fromkeys(pose.direction for pose, _ in poses))
    turns = [right for direction in directions for right in _turns(direction, towards)] + [chord]
    onward = _distinct(right for right in turns if dot(right, chord) >= LEFT_TO_RIGHT)
    views = [View(right, cross(towards, right), towards) for right in onward]
    best: tuple[float, View, Box] | None = None
    for view, room in zip(views, _rooms(views, poses), strict=True):
        size = min(wide / max(room.width, 1e-9), high / max(room.height, 1e-9))
        favour = size * (FIRST_LEG_LEVEL if view.right == turns[0] else 1.0)
        if best is None or favour > best[0] * (1.0 + 1e-9):
            best = favour, view, room
    assert best is not None, "the chord is always a turn"
    return best[1], best[2]


def _rooms(views: Sequence[View], poses: Poses) -> list[Box]:
    """What room the sections at these poses take in each view, all of them at once."""
    points = np.array([pose.point for pose, _ in poses])
    directions = np.array([pose.direction for pose, _ in poses])
    radii = np.array([radius for _, radius in poses])[:, np.newaxis]
    axes = np.array([(view.right, view.up) for view in views]).transpose(0, 2, 1)
    flat, along = points @ axes, directions @ axes  # views x poses x 2
    length = np.hypot(along[..., :1], along[..., 1:])
    end_on = length < 1e-9
    # Across the flow as seen; a section seen end on reaches as far either way.
    aside = np.where(end_on, radii, np.abs(along[..., ::-1]) * (radii / np.where(end_on, 1.0, length)))
    low, high = (flat - aside).min(axis=1), (flat + aside).max(axis=1)
    return [Box(*corners) for corners in np.hstack((low, high)).tolist()]


def _towards(points: list[Triple]) -> Triple:
    """The normal of the best-fit plane, on the side from which one looks."""
    cloud = np.array(points)
    cloud -= cloud.mean(axis=0)
    spread, axes = np.linalg.eigh(cloud.T @ cloud)
    if spread[1] <= STRAIGHT_ENOUGH * spread[2]:
        return (0.0, -1.0, 0.0)
    normal = (float(axes[0, 0]), float(axes[1, 0]), float(axes[2, 0]))
    # From above first, from the right next, from the front last: never both a view and its mirror image.
    side = 2.0 * normal[2] - normal[1] + 0.1 * normal[0]
    return normal if side > 0.0 else _opposite(normal)


def _chord(line: Centreline, towards: Triple) -> Triple:
    """Start to end as seen, or where they fall together the first leg, as a unit vector in the plane."""
    end = line.end.point
    first = line.pieces[0].start.direction
    for candidate in (
        end,
        first,
        *(piece.end.direction for piece in line.pieces),
        (1.0, 0.0, 0.0),
        (0.0, 0.0, 1.0),
    ):
        flat = _in_plane(candidate, towards)
        if flat is not None:
            return flat
    raise AssertionError("one of two crossed directions always shows in the plane")


def _in_plane(vector: Triple, towards: Triple) -> Triple | None:
    out = dot(vector, towards)
    flat = tuple(part - out * normal for part, normal in zip(vector, towards, strict=True))
    length = math.hypot(*flat)
    if length < 1e-6 * max(1.0, abs(out)) or length < 1e-9:
        return None
    return flat[0] / length, flat[1] / length, flat[2] / length


def _turns(direction: Triple, towards: Triple) -> list[Triple]:
    """The four ways to lay a leg level or upright."""
    level = _in_plane(direction, towards)
    if level is None:
        return []
    upright = cross(towards, level)
    return [level, upright, _opposite(level), _opposite(upright)]


def _opposite(vector: Triple) -> Triple:
    return -vector[0], -vector[1], -vector[2]


def _distinct(directions: Iterable[Triple]) -> list[Triple]:
    kept: list[Triple] = []
    for one in directions:
        if all(dot(one, other) < 1.0 - 1e-9 for other in kept):
            kept.append(one)
    return kept
