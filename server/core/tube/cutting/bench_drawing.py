"""A piece laid out straight as it lies on the bench: its length, and each mark with its distance."""

import math

from server.core.tube.cutting.bench import Benched, Mark
from server.core.tube.drawing import WIDTH, Drawing, Path, Word
from server.core.tube.outline import number, polygon
from server.core.units import Kind, System, show

LEFT, RIGHT = 26.0, WIDTH - 26.0
"""Where the piece begins and ends on the sheet [sheet units]."""
HALF = 17.0
"""Half its drawn width: not to scale [sheet units]."""
ROW, ROOM = 15.0, 62.0
"""Height of a row of figures, and room that a figure takes along the piece [sheet units]."""
SLANT = 6.0
"""By how much an end that is sawn at a slant leans: not to scale [sheet units]."""
FIRST_ROW = 14.0
"""From the piece to the first row over it [sheet units]."""


def bench_drawing(one: Benched, system: System) -> Drawing:
    """The piece from inlet to outlet, marks over it in rows so that no two figures meet."""
    length = max(one.length, 1e-6)
    rows = _rows([_x(mark.at, length) for mark in one.marks])
    high = HALF + FIRST_ROW + ROW * (1 + max(rows, default=0)) + 4.0
    words = [
        Word(number(LEFT), number(HALF + 18.0), "inlet", "middle", "name"),
        Word(number(RIGHT), number(HALF + 18.0), "outlet", "middle", "name"),
        Word(number(WIDTH / 2.0), number(HALF + 20.0), _text(one.length, system), "middle", "name"),
    ]
    slanted = {end.end for end in one.mitres}
    left, right = (SLANT if end in slanted else 0.0 for end in ("inlet", "outlet"))
    corners = [(LEFT - left, -HALF), (RIGHT + right, -HALF), (RIGHT - right, HALF), (LEFT + left, HALF)]
    paths = [
        Path(polygon(corners), "wall hose" if one.piece.is_hose else "wall"),
        Path(polygon([(LEFT - 8.0, 0.0), (RIGHT + 8.0, 0.0)], closed=False), "centre"),
    ]
    for mark, row in zip(one.marks, rows, strict=True):
        x, top = _x(mark.at, length), -HALF - FIRST_ROW - ROW * row
        paths.append(Path(polygon([(x, HALF), (x, top + 3.0)], closed=False), "thin"))
        words.append(Word(number(_within(x)), number(top), _text(mark.at, system), "middle", "name"))
    return Drawing(
        width=number(WIDTH),
        top=number(-high),
        height=number(high + HALF + 28.0),
        scale=0.0,
        title=f"Piece {one.piece.number}, laid out straight",
        description=_description(one, system),
        paths=tuple(paths),
        words=tuple(words),
    )


def _x(at: float, length: float) -> float:
    return LEFT + (RIGHT - LEFT) * min(1.0, max(0.0, at / length))


def _within(x: float) -> float:
    """So far from the edge that a figure stays on the sheet."""
    return min(max(x, ROOM / 2.0), WIDTH - ROOM / 2.0)


def _rows(places: list[float]) -> list[int]:
    """For each figure the lowest row in which it meets none before it."""
    last: list[float] = []
    found = []
    for x in places:
        row = next((row for row, end in enumerate(last) if _within(x) - end >= ROOM), len(last))
        last[row : row + 1] = [_within(x)]
        found.append(row)
    return found


def _text(length: float, system: System) -> str:
    return show(length, Kind.length, system).text


def _description(one: Benched, system: System) -> str:
    marks = "; ".join(f"{_text(mark.at, system)} {mark_words(mark, system)}" for mark in one.marks)
    return f"{_text(one.length, system)} from inlet to outlet. {marks}"


def mark_words(mark: Mark, system: System) -> str:
    """What a mark is, and where round the piece."""
    if mark.clock is None:
        return f"{mark.what}, all round"
    return f"{mark.what}, at {clock_words(mark.clock, system)}"


def clock_words(clock: float, system: System) -> str:
    """A place round a pipe [rad]: degrees from 12 o'clock, and the hour.

    >>> import math
    >>> clock_words(math.radians(90.0), System.metric)
    "90° (3 o'clock)"
    """
    hours = round(math.degrees(clock) / 15.0) / 2.0 % 12.0 or 12.0
    hour = f"{hours:.0f} o'clock" if hours == int(hours) else f"half past {int(hours) or 12}"
    return f"{show(clock, Kind.angle, system).text} ({hour})"
