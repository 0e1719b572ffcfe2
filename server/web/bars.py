"""A bar for each piece of a run, the limit over them, the highest called out.

Coordinates are those of the drawing, y downward, ready for the template that draws them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from server.web.plot import Tick, round_scale

WIDTH, HEIGHT = 400.0, 176.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 392.0, 34.0, 150.0
GAP = 0.22
"""Room between two bars, of a bar's place."""
NUMBER_ROOM = 17.0
"""So wide a number under a bar is; where bars stand closer, some go without."""
LETTER = 7.9
"""Width of a letter that is called out."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its corner, width and height; number under its middle, empty where there is no room."""

    x: float
    y: float
    width: float
    height: float
    middle: float
    number: str
    highest: bool


@dataclass(frozen=True, slots=True)
class BarPlot:
    """Everything that the template draws. limit: a line over the bars, empty where there is none."""

    title: str
    description: str
    y_title: str
    ticks: tuple[Tick, ...]
    bars: tuple[Bar, ...]
    limit: str
    limit_text: str
    limit_y: float
    limit_first: bool
    """Whether its words stand over the first bars, as the highest is among the last."""
    called: str
    called_x: float
    called_y: float
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    bottom: float = BOTTOM


@dataclass(frozen=True, slots=True)
class Measure:
    """One piece: its number, its value, and the limit there in the same unit, None where there is none."""

    number: int
    value: float
    limit: float | None


def draw_bars(
    title: str,
    description: str,
    y_title: str,
    pieces: Sequence[Measure],
    called: str,
    limit_text: str,
) -> BarPlot:
    """pieces: at least one, none below zero. called: what is written over the highest bar."""
    limits = [piece.limit for piece in pieces if piece.limit is not None]
    scale = round_scale(0.0, 1.08 * max(*(piece.value for piece in pieces), *limits, 1e-6), 4)
    room = (RIGHT - LEFT) / len(pieces)
    every = max(ceil(NUMBER_ROOM / room), 1)
    top = max(range(len(pieces)), key=lambda place: pieces[place].value)

    def y(value: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP) * scale.share(value), 1)

    bars = tuple(
        Bar(
            x=round(LEFT + (place + 0.5 * GAP) * room, 1),
            y=y(piece.value),
            width=round((1.0 - GAP) * room, 1),
            height=round(BOTTOM - y(piece.value), 1),
            middle=round(LEFT + (place + 0.5) * room, 1),
            number=str(piece.number) if place % every == 0 else "",
            highest=place == top,
        )
        for place, piece in enumerate(pieces)
    )
    edges = [
        f"{round(LEFT + (place + side) * room, 1):g},{y(piece.limit):g}"
        for place, piece in enumerate(pieces)
        if piece.limit is not None
        for side in (0, 1)
    ]
    half = 0.5 * LETTER * len(called)
    return BarPlot(
        title=title,
        description=description,
        y_title=y_title,
        ticks=tuple(Tick(y(mark), f"{round(mark, 9):g}") for mark in scale.marks()),
        bars=bars,
        limit=" ".join(edges),
        limit_text=limit_text if edges else "",
        limit_y=y(max(limits)) - 6.0 if limits else TOP,
        limit_first=bars[top].middle > 0.5 * (LEFT + RIGHT),
        called=called,
        called_x=round(min(max(bars[top].middle, LEFT + half + 3.0), RIGHT - half), 1),
        called_y=bars[top].y - 7.0,
    )
