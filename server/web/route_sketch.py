"""A route drawn small, seen from the car's left and from above, keep-outs as shadows behind it."""

from collections.abc import Sequence
from dataclasses import dataclass

Point = tuple[float, float, float]
"""Forward, left, up [m]."""
WIDE, HIGH, EDGE = 160.0, 120.0, 10.0
"""One view on the sheet [sheet units]."""


@dataclass(frozen=True, slots=True)
class Shadow:
    """A keep-out as it is seen: points of its outline or middle line [m], and how wide it is drawn [m].

    solid: an outline, filled; else a line.
    """

    points: tuple[Point, ...]
    across: float
    solid: bool


@dataclass(frozen=True, slots=True)
class DrawnShadow:
    """The same on the sheet: a path, and the width of its line."""

    path: str
    width: float
    solid: bool


@dataclass(frozen=True, slots=True)
class SketchView:
    """One view: its words, where it stands on the sheet, the run's path and width, its ends, the shadows."""

    words: str
    left: float
    path: str
    width: float
    start: tuple[float, float]
    end: tuple[float, float]
    shadows: tuple[DrawnShadow, ...]


@dataclass(frozen=True, slots=True)
class RouteSketch:
    """Both views beside each other, at one scale."""

    width: float
    height: float
    views: tuple[SketchView, ...]


def route_sketch(line: Sequence[Point], across: float, shadows: Sequence[Shadow]) -> RouteSketch:
    """line: points of the centre line; across: its outside diameter [m]. Forward is to the left in both."""
    spans = [max(p[axis] for p in line) - min(p[axis] for p in line) for axis in range(3)]
    room = min((WIDE - 2 * EDGE) / (spans[0] + across), (HIGH - 2 * EDGE) / (max(spans[1:]) + across))
    views = tuple(
        _view(words, at * WIDE, line, across, shadows, axis, room)
        for at, (words, axis) in enumerate((("from the left", 2), ("from above", 1)))
    )
    return RouteSketch(2 * WIDE, HIGH, views)


def _view(
    words: str,
    left: float,
    line: Sequence[Point],
    across: float,
    shadows: Sequence[Shadow],
    axis: int,
    scale: float,
) -> SketchView:
    sign = 1.0 if axis == 2 else -1.0
    # Seen from above, the car's left is at the bottom of the sheet while its front is at the left.
    middle_x = (max(p[0] for p in line) + min(p[0] for p in line)) / 2.0
    middle_y = (max(p[axis] for p in line) + min(p[axis] for p in line)) / 2.0

    def flat(point: Point) -> tuple[float, float]:
        x = left + WIDE / 2.0 - scale * (point[0] - middle_x)
        y = HIGH / 2.0 - sign * scale * (point[axis] - middle_y)
        return round(x, 1), round(y, 1)

    return SketchView(
        words,
        left,
        _path([flat(point) for point in line]),
        round(max(scale * across, 2.0), 1),
        flat(line[0]),
        flat(line[-1]),
        tuple(_drawn(one, [flat(point) for point in one.points], scale) for one in shadows),
    )


def _drawn(shadow: Shadow, points: Sequence[tuple[float, float]], scale: float) -> DrawnShadow:
    outline = _hull(points) if shadow.solid else points
    return DrawnShadow(_path(outline), round(scale * shadow.across, 1), shadow.solid)


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g} {y:g}" for x, y in points)


def _hull(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The outline round points. Source: geometry, Andrew's monotone chain."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered

    def half(some: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for point in some:
            while len(kept) > 1 and _turns(kept[-2], kept[-1], point) <= 0.0:
                kept.pop()
            kept.append(point)
        return kept[:-1]

    return half(ordered) + half(ordered[::-1])


def _turns(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
