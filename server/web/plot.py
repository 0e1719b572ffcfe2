"""A plot in plain ink: a thick curve, a thin one on a scale of its own, one value called out, one limit.

Coordinates are those of the drawing, y downward, ready for the template that draws them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, hypot, log10

WIDTH = 400.0
HEIGHT = 290.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 358.0, 40.0, 246.0
HEADROOM = 1.2
"""Room over the highest point, for its value."""

STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: where it stands, and its number."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class CalledOut:
    """A point with its value written beside it; `anchor` is the side of the text that is held."""

    x: float
    y: float
    text_x: float
    anchor: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plot:
    """Everything that the template draws. label: what it shows; description: what there is to see on it."""

    label: str
    description: str
    x_title: str
    thick_title: str
    thin_title: str
    x_ticks: tuple[Tick, ...]
    left_ticks: tuple[Tick, ...]
    right_ticks: tuple[Tick, ...]
    thick: str
    thin: str
    peak: CalledOut
    limit: float
    limit_text: str
    band: str = ""
    """The doubt of the thick curve on both sides of it, empty where none is known."""
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


@dataclass(frozen=True, slots=True)
class Curve:
    """Points to draw, in the units of their axis, and the axis' title; `doubt` of each, where it is known."""

    title: str
    x: Sequence[float]
    y: Sequence[float]
    doubt: Sequence[float] = ()


@dataclass(frozen=True, slots=True)
class Scale:
    """An axis from `low` to `high` with a mark every `step`."""

    low: float
    high: float
    step: float

    def share(self, value: float) -> float:
        return (value - self.low) / (self.high - self.low)

    def marks(self) -> tuple[float, ...]:
        count = floor((self.high - self.low) / self.step + 1e-9)
        return tuple(self.low + number * self.step for number in range(count + 1))


def round_scale(low: float, high: float, marks: int) -> Scale:
    """A scale over low to high with about so many marks at round numbers (1, 2, 2.5 or 5 × 10ⁿ apart)."""
    span = max(high - low, 1e-9)
    tenth = 10.0 ** floor(log10(span / marks))
    step = next(size * tenth for size in STEPS if size * tenth * marks >= span * (1.0 - 1e-9))
    first = floor(low / step + 1e-9) * step
    return Scale(first, first + max(ceil((high - first) / step - 1e-9), 1) * step, step)


def draw(
    label: str,
    description: str,
    x_title: str,
    thick: Curve,
    thin: Curve,
    limit: float,
    limit_text: str,
    peak: tuple[str, ...],
) -> Plot:
    """Two curves over one x axis.

    thick, thin: at least one point each; thin may lie at zero throughout. limit: an x value above zero, drawn
    as a line with `limit_text`; the axis reaches down to half of it at least. peak: lines of text beside the
    highest point of the thick curve.
    """
    across = round_scale(min(*thick.x, 0.5 * limit), max(*thick.x, limit), 6)
    reach = [value + doubt for value, doubt in zip(thick.y, thick.doubt, strict=False)]
    up = round_scale(0.0, max(max(thick.y) * HEADROOM, *reach, 0.0), 5)
    thin_up = round_scale(0.0, max(*thin.y, 0.1) * HEADROOM, 5)
    top = max(range(len(thick.y)), key=lambda number: thick.y[number])
    x, y = _across(across, thick.x[top]), _up(up, thick.y[top])
    late = x > (LEFT + RIGHT) / 2.0
    return Plot(
        label=label,
        description=description,
        x_title=x_title,
        thick_title=thick.title,
        thin_title=thin.title,
        x_ticks=tuple(Tick(_across(across, mark), f"{mark:g}") for mark in across.marks()),
        left_ticks=_ticks(up),
        right_ticks=_ticks(thin_up),
        thick=_points(thick, across, up),
        thin=_points(thin, across, thin_up),
        peak=CalledOut(x, y, x - 8.0 if late else x + 8.0, "end" if late else "start", peak),
        limit=_across(across, limit),
        limit_text=limit_text,
        band=_band(thick, across, up),
    )


def _band(curve: Curve, across: Scale, up: Scale) -> str:
    if not curve.doubt:
        return ""
    doubts = list(zip(curve.y, curve.doubt, strict=True))
    above = Curve("", curve.x, [value + doubt for value, doubt in doubts])
    below = Curve("", curve.x[::-1], [max(value - doubt, 0.0) for value, doubt in doubts[::-1]])
    return f"{_points(above, across, up)} {_points(below, across, up)}"


@dataclass(frozen=True, slots=True)
class Written:
    """A polyline with words at one of its points."""

    points: str
    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class MapPlot:
    """Lines of equal height over two axes, edges beside them, and a thick line across."""

    label: str
    description: str
    x_title: str
    y_title: str
    x_ticks: tuple[Tick, ...]
    left_ticks: tuple[Tick, ...]
    contours: tuple[Written, ...]
    edges: tuple[Written, ...]
    thick: str
    spots: tuple[Written, ...]
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


Spots = Sequence[tuple[float, float]]
LABEL_ROOM = 36.0
"""So far apart, words beside lines and points can be read on a phone; nearer ones are left out."""


def draw_map(
    label: str,
    description: str,
    x_title: str,
    y_title: str,
    contours: Sequence[tuple[str, Spots]],
    edges: Sequence[tuple[str, Spots]],
    line: Spots,
    called: Sequence[tuple[str, tuple[float, float]]],
) -> MapPlot:
    """Contours and edges with their words, one thick line, and some of its points called out.

    Spots are (x, y) in the units of the axes; the y axis begins at 1.
    """
    every = [spot for _, spots in (*contours, *edges) for spot in spots] + list(line)
    across = round_scale(0.0, max(x for x, _ in every), 6)
    up = round_scale(1.0, max(y for _, y in every), 5)
    marked = _called(called, across, up)
    taken = [(spot.x, spot.y) for spot in marked if spot.text]

    def written(text: str, spots: Spots) -> Written:
        curve = Curve("", [x for x, _ in spots], [y for _, y in spots])
        placed = [(_across(across, x), _up(up, y)) for x, y in reversed(spots)]
        free = (at for at in placed if all(_apart(at, other) > LABEL_ROOM for other in taken))
        at = next(free, None)
        if at is not None and text:
            taken.append(at)
        return Written(_points(curve, across, up), *(at or placed[0]), text if at is not None else "")

    drawn_edges = tuple(written(text, spots) for text, spots in edges)
    return MapPlot(
        label=label,
        description=description,
        x_title=x_title,
        y_title=y_title,
        x_ticks=tuple(Tick(_across(across, mark), f"{round(mark, 9):g}") for mark in across.marks()),
        left_ticks=_ticks(up),
        contours=tuple(written(text, spots) for text, spots in contours),
        edges=drawn_edges,
        thick=written("", line).points if line else "",
        spots=marked,
    )


def _called(
    called: Sequence[tuple[str, tuple[float, float]]], across: Scale, up: Scale
) -> tuple[Written, ...]:
    """Points on a line with their words, those too near the last ones without."""
    marked: list[Written] = []
    for text, (x, y) in called:
        at = _across(across, x), _up(up, y)
        free = all(_apart(at, (one.x, one.y)) > LABEL_ROOM for one in marked if one.text)
        marked.append(Written("", *at, text if free else ""))
    return tuple(marked)


def _apart(one: tuple[float, float], other: tuple[float, float]) -> float:
    return hypot(one[0] - other[0], one[1] - other[1])


def _ticks(scale: Scale) -> tuple[Tick, ...]:
    return tuple(Tick(_up(scale, mark), f"{round(mark, 9):g}") for mark in scale.marks())


def _across(scale: Scale, value: float) -> float:
    return round(LEFT + (RIGHT - LEFT) * scale.share(value), 1)


def _up(scale: Scale, value: float) -> float:
    return round(BOTTOM - (BOTTOM - TOP) * scale.share(value), 1)


def _points(curve: Curve, across: Scale, up: Scale) -> str:
    pairs = zip(curve.x, curve.y, strict=True)
    return " ".join(f"{_across(across, x):g},{_up(up, y):g}" for x, y in pairs)
