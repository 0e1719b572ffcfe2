"""What a compressor map's points enclose: its surge line, its edges, and the efficiency between the points.

With wheel speeds given, the map is bounded by the left and right ends of its speed lines and by its lowest
and highest speed line, and read along strips between neighbouring lines; without, it is bounded by the convex
hull of its points and read over the triangles between them. Strips are the better reading: triangles that
know nothing of speed join one line's choke to the next one's surge. Nothing is read outside: a point there
is told by the side it lies on, never moved to the edge.

Flows and margins may be asked for at many ratios at once: None then where the map has none of them, and not a
number at those that it has not.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import accumulate, groupby, pairwise
from math import hypot, inf

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, Delaunay, QhullError

from server.core.air.compressor_map import CompressorMap, MapPoint
from server.core.measure.many import Floats, many, plain

_TOUCHING = 1e-9
"""Share of the map's width and height under which a point counts as on its edge, [-]."""

_FLAT = 1e-12
"""Twice the area under which three points stand on one line, on axes scaled to the map's span, [-]."""

_BESIDE = 1e-6
"""Weight below zero that is still rounding and not a point outside a triangle, [-]."""

SURGE_DEFINITION = (
    "Surge margin: (flow - surge flow) / surge flow, at the same pressure ratio. Definitions differ: some "
    "divide by the flow, some go along the speed line. Common practice, no source."
)
CHOKE_DEFINITION = (
    "Choke margin: (right edge - flow) / right edge, at the same pressure ratio; the edge is where the map "
    "ends, by choke or by its highest speed. Common practice, no source."
)

Spot = tuple[float, float]
"""Corrected flow [kg/s] and pressure ratio [-]."""

Triangle = tuple[int, int, int]
"""Numbers of three of a map's points."""


class Place(StrEnum):
    """Where a point lies on a map; the value is the word that pages show."""

    inside = "inside the map"
    surge_side = "outside the map, left of it: surge side"
    choke_side = "outside the map, right of it: choke side"
    above = "outside the map, above it"
    below = "outside the map, below it"


@dataclass(frozen=True, slots=True)
class SpeedLine:
    """Points at one wheel speed, by rising flow. speed: corrected, [1/min]."""

    speed: float
    points: tuple[MapPoint, ...]


@dataclass(frozen=True, slots=True, eq=False)
class MapShape:
    """A map's geometry.

    outline: corners, in order round the map. surge_line, choke_line: by rising wheel speed, or by rising
    ratio where the hull stands in. by_speed: whether speed lines bound the map. span: width [kg/s] and
    height [-]. triangles: numbers of three points each, covering the map. weights: turns a point, on axes
    divided by `span`, into its weights on two corners of each triangle, the third being what is left of 1.
    third: that corner, on the same axes. edge, surge: the outline, closed, and the surge line, shape
    (corners, 2). notes: what a reader must know.
    """

    of: CompressorMap
    outline: tuple[Spot, ...]
    surge_line: tuple[Spot, ...]
    choke_line: tuple[Spot, ...]
    by_speed: bool
    span: Spot
    triangles: tuple[Triangle, ...]
    weights: Floats
    third: Floats
    edge: Floats
    surge: Floats
    notes: tuple[str, ...]


def speed_lines(of: CompressorMap) -> tuple[SpeedLine, ...]:
    """A map's speed lines by rising speed; none where the map does not give wheel speeds.

    Source: definition.
    """
    known = [(point.speed, point) for point in of.points if point.speed is not None]
    known.sort(key=lambda pair: (pair[0], pair[1].flow, -pair[1].ratio))
    return tuple(
        SpeedLine(speed, tuple(point for _, point in group))
        for speed, group in groupby(known, key=lambda pair: pair[0])
    )


@lru_cache(maxsize=64)
def shape(of: CompressorMap) -> MapShape:
    """A map's geometry, kept for the maps last asked for.

    Errors: ValueError where the points enclose nothing: fewer than three, or all on one line.
    Source: convex hull and Delaunay triangulation (Qhull, through scipy) where there are no speed lines;
    geometry. All on axes scaled to the map's span.
    """
    spots = np.array([_spot(point) for point in of.points], dtype=np.float64).reshape(-1, 2)
    if len(spots) < 3 or np.ptp(spots, axis=0).min() <= 0.0:
        raise ValueError("The map's points enclose nothing.")
    width, height = np.ptp(spots, axis=0).tolist()
    scaled = spots / np.array([width, height])
    lines = speed_lines(of)
    by_speed = len(lines) > 1 and all(line.points[0].flow < line.points[-1].flow for line in lines)
    if by_speed:
        surge, choke, outline = _bounds_of_lines(lines)
        net = _strips(of.points, lines, (width, height))
    else:
        try:
            corners, net = ConvexHull(scaled).vertices.ravel().tolist(), _delaunay(scaled)
        except QhullError:
            raise ValueError("The map's points enclose nothing.") from None
        surge, choke, outline = _bounds_of_hull([_spot(of.points[number]) for number in corners])
    triangles, weights = _weighed(net, scaled)
    if not triangles:
        raise ValueError("The map's points enclose nothing.")
    third = scaled[[triangle[2] for triangle in triangles]]
    return MapShape(
        of,
        outline,
        surge,
        choke,
        by_speed,
        (width, height),
        triangles,
        weights,
        third,
        np.array(_closed(outline)),
        np.array(surge),
        (_bounds_note(by_speed),),
    )


def place(on: MapShape, flow: float, ratio: float) -> Place:
    """Where a point lies on a map.

    flow: corrected, [kg/s]. ratio: [-]. A point on the edge is inside. Source: geometry.
    """
    if _encloses(on.outline, flow, ratio, on.span):
        return Place.inside
    edges = edge_flows(on, ratio)
    if edges is None:
        return Place.above if ratio > max(corner[1] for corner in on.outline) else Place.below
    if flow < edges[0]:
        return _left_of(on, ratio)
    if flow > edges[1]:
        return Place.choke_side
    heights = _crossings(on.edge, flow, axis=0)
    heights = heights[~np.isnan(heights)]
    if (heights < ratio).all():
        return Place.above
    return Place.below if (heights > ratio).all() else Place.surge_side


def efficiency_at(on: MapShape, flow: float, ratio: float) -> float | None:
    """Isentropic efficiency at a point, or None outside the map.

    flow: corrected, [kg/s]. ratio: [-]. Returns [-], never beyond what the points around it have.
    Source: linear interpolation in the triangle of `shape` that it lies in.
    """
    return read_between(on, flow, ratio) if place(on, flow, ratio) is Place.inside else None


def read_between(on: MapShape, flow: float, ratio: float) -> float | None:
    """Efficiency between the points, wherever three of them stand round the place; else None.

    flow: corrected, [kg/s]. ratio: [-]. Returns [-]. Source: as `efficiency_at`.
    """
    at = np.array([flow / on.span[0], ratio / on.span[1]])
    first, second = np.einsum("nij,nj->in", on.weights, at - on.third)
    least = np.minimum(np.minimum(first, second), 1.0 - (first + second))
    best = int(least.argmax())
    if least[best] < -_BESIDE:
        return None
    one, other = float(first[best]), float(second[best])
    held = [max(share, 0.0) for share in (one, other, 1.0 - (one + other))]
    corners = [on.of.points[number] for number in on.triangles[best]]
    return sum(share * corner.efficiency for share, corner in zip(held, corners, strict=True)) / sum(held)


def edge_flows(on: MapShape, ratio: float) -> Spot | None:
    """Left and right edge of a map at a pressure ratio, or None above and below the map.

    ratio: [-]. Returns [kg/s], corrected. Source: geometry.
    """
    flows = _crossings(on.edge, ratio, axis=1)
    left, right = (_told(some, ratio) for some in (np.fmin.reduce(flows), np.fmax.reduce(flows)))
    return None if left is None or right is None else (left, right)


def surge_flow(on: MapShape, ratio: float) -> float | None:
    """Flow at which the surge line stands at a pressure ratio, or None where it has no such ratio.

    ratio: [-]. Returns [kg/s], corrected; the greatest where the line passes the ratio twice.
    Source: straight between the surge line's points.
    """
    return _told(np.fmax.reduce(_crossings(on.surge, ratio, axis=1)), ratio)


def surge_margin(on: MapShape, flow: float, ratio: float) -> float | None:
    """How far from surge, as a share of the surge flow at the same ratio; below zero on the wrong side.

    flow: corrected, [kg/s]. ratio: [-]. Returns [-], or None where the surge line has no such ratio.
    Source: `SURGE_DEFINITION`.
    """
    surge = surge_flow(on, ratio)
    return None if surge is None else (flow - surge) / surge


def choke_margin(on: MapShape, flow: float, ratio: float) -> float | None:
    """How far from the right edge, as a share of the flow there at the same ratio; below zero beyond it.

    flow: corrected, [kg/s]. ratio: [-]. Returns [-], or None above and below the map.
    Source: `CHOKE_DEFINITION`.
    """
    edges = edge_flows(on, ratio)
    return None if edges is None else (edges[1] - flow) / edges[1]


def _left_of(on: MapShape, ratio: float) -> Place:
    """Left of the map is the surge side only where the surge line stands; under its foot the map ends."""
    if ratio < on.surge_line[0][1]:
        return Place.below
    return Place.above if ratio > on.surge_line[-1][1] else Place.surge_side


def _spot(point: MapPoint) -> Spot:
    return point.flow, point.ratio


def _bounds_note(by_speed: bool) -> str:
    if by_speed:
        return "The left end of each speed line counts as surge: a map that stops short of it shows it early."
    return "No speed lines: the left edge round all points stands in for the surge line."


def _bounds_of_lines(
    lines: Sequence[SpeedLine],
) -> tuple[tuple[Spot, ...], tuple[Spot, ...], tuple[Spot, ...]]:
    """Surge line, choke line and outline: up the left ends, along the top, down the right ends, back."""
    surge = tuple(_spot(line.points[0]) for line in lines)
    choke = tuple(_spot(line.points[-1]) for line in lines)
    top = tuple(_spot(point) for point in lines[-1].points)
    bottom = tuple(_spot(point) for point in reversed(lines[0].points))
    return surge, choke, (*surge[:-1], *top, *reversed(choke[1:-1]), *bottom[:-1])


def _bounds_of_hull(
    corners: Sequence[Spot],
) -> tuple[tuple[Spot, ...], tuple[Spot, ...], tuple[Spot, ...]]:
    """The same of a convex hull whose corners run against the clock.

    The surge line runs from the leftmost corner up to the top, not round below: there the map only ends.
    """
    top = max(range(len(corners)), key=lambda number: (corners[number][1], -corners[number][0]))
    turned = [*corners[top:], *corners[:top]]
    left = min(range(len(turned)), key=lambda number: (turned[number][0], turned[number][1]))
    foot = min(range(len(turned)), key=lambda number: (turned[number][1], -turned[number][0]))
    return tuple(reversed(turned[: left + 1])), (*turned[foot:], turned[0]), tuple(turned)


def _strips(points: Sequence[MapPoint], lines: Sequence[SpeedLine], span: Spot) -> list[Triangle]:
    """Triangles between neighbouring speed lines, joining places equally far along the two."""
    number_of = {point: number for number, point in enumerate(points)}
    found = []
    for slower, faster in pairwise(lines):
        low, high = ([number_of[point] for point in line.points] for line in (slower, faster))
        low_far, high_far = _far_along(slower, span), _far_along(faster, span)
        first = second = 0
        while first + 1 < len(low) or second + 1 < len(high):
            if low_far[first + 1] <= high_far[second + 1]:
                found.append((low[first], low[first + 1], high[second]))
                first += 1
            else:
                found.append((low[first], high[second + 1], high[second]))
                second += 1
    return found


def _far_along(line: SpeedLine, span: Spot) -> list[float]:
    """How far along a speed line its points are, as a share of its drawn length; after the last, inf."""
    steps = [
        hypot((after.flow - before.flow) / span[0], (after.ratio - before.ratio) / span[1])
        for before, after in pairwise(line.points)
    ]
    return [done / sum(steps) for done in accumulate(steps, initial=0.0)] + [inf]


def _delaunay(scaled: NDArray[np.float64]) -> list[Triangle]:
    return [(first, second, third) for first, second, third in Delaunay(scaled).simplices.tolist()]


def _weighed(
    triangles: Sequence[Triangle], scaled: NDArray[np.float64]
) -> tuple[tuple[Triangle, ...], NDArray[np.float64]]:
    """Triangles with an area, and for each the matrix that turns a place into weights on its corners."""
    corners = scaled[np.array(triangles)]
    sides = (corners[:, :2] - corners[:, 2:]).transpose(0, 2, 1)
    wide = np.abs(np.linalg.det(sides)) > _FLAT
    kept = tuple(triangle for triangle, is_wide in zip(triangles, wide, strict=True) if is_wide)
    return kept, np.linalg.inv(sides[wide])


def _closed(outline: Sequence[Spot]) -> tuple[Spot, ...]:
    return (*outline, outline[0])


def _crossings(line: Floats, level: float, axis: int) -> Floats:
    """Where a line passes a level of one axis, ends included: the other axis's values there.

    Shape (stretches and corners, levels), not a number where one does not pass; level: one, or many.
    """
    here, other = line[:, axis, np.newaxis], line[:, 1 - axis, np.newaxis]
    low, high = here[:-1], here[1:]
    level = plain(level)
    passes = (np.minimum(low, high) <= level) & (level <= np.maximum(low, high))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (level - low) / (high - low)
        between = other[:-1] + share * (other[1:] - other[:-1])
    at_corners = np.where(here == level, other, np.nan)
    return np.concatenate([np.where(passes, between, np.nan), at_corners])


def _told(found: Floats, level: float) -> float | None:
    """What is found at a level, or at many; None where the line passes none of them."""
    if np.isnan(found).all():
        return None
    return many(found) if isinstance(level, np.ndarray) else float(found[0])


def _encloses(outline: Sequence[Spot], flow: float, ratio: float, span: Spot) -> bool:
    """Whether a point lies inside a closed outline or on it. Source: even-odd rule."""
    inside = False
    for first, second in pairwise(_closed(outline)):
        if _distance(first, second, (flow, ratio), span) <= _TOUCHING:
            return True
        if (first[1] > ratio) != (second[1] > ratio):
            share = (ratio - first[1]) / (second[1] - first[1])
            inside ^= flow < first[0] + share * (second[0] - first[0])
    return inside


def _distance(first: Spot, second: Spot, at: Spot, span: Spot) -> float:
    """From a point to a stretch of line, on axes scaled to the map's span, [-]."""
    along = ((second[0] - first[0]) / span[0], (second[1] - first[1]) / span[1])
    away = ((at[0] - first[0]) / span[0], (at[1] - first[1]) / span[1])
    length = along[0] ** 2 + along[1] ** 2
    share = 0.0 if length == 0.0 else (away[0] * along[0] + away[1] * along[1]) / length
    share = min(max(share, 0.0), 1.0)
    return hypot(away[0] - share * along[0], away[1] - share * along[1])
