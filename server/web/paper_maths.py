"""Formulas on a printed sheet, drawn from the same marks that pages print as MathML."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportlab.pdfgen.canvas import Canvas

from server.core.checks.book.marks import Mark, Tag
from server.web.paper import SMALL, THIN, Strip
from server.web.paper_text import PLAIN, SLANTED, broken, draw, letters, width_of

SIZE = 10.0
SMALLER = 0.7
"""Size of what is raised or lowered, as a share of what it belongs to."""
AXIS = 0.26
"""How high a bar of division stands over the base line, as a share of the type size."""
ABOVE, BELOW = 0.78, 0.24
"""How far letters reach over and under their base line, as shares of the type size."""
GAP = 0.22
"""Room on either side of a sign that joins two terms, as a share of the type size."""
JOINING = frozenset("+−·=≥≤>∈/")
TIMES = "\u2062"
"""Invisible times: a little room and nothing else."""
INDENT = 14.0
BESIDE_SIGN = 84.0
"""How far from the edge the words beside a sign begin [pt]."""
ROW_GAP = 5.0


@dataclass(frozen=True, slots=True)
class Box:
    """Something set: its width, how far it reaches over and under its base line [pt], and what draws it."""

    wide: float
    above: float
    below: float
    paint: Callable[[Canvas, float, float], None]


@dataclass(frozen=True, slots=True)
class Formula:
    """One line of a formula. when: words before it."""

    marks: Mark
    when: str = ""

    def strips(self, wide: float) -> list[Strip]:
        """One strip, the words before it on a line of their own."""
        box = set_marks(self.marks, SIZE)
        lines = broken(f"{self.when}:", PLAIN, SMALL, wide) if self.when else []
        head = len(lines) * (SMALL + 3.0)
        height = head + box.above + box.below + ROW_GAP

        def paint(canvas: Canvas, x: float, top: float, _wide: float) -> None:
            for number, line in enumerate(lines):
                draw(canvas, x, top - SMALL - number * (SMALL + 3.0), line, PLAIN, SMALL)
            box.paint(canvas, x + INDENT, top - head - box.above - ROW_GAP / 2.0)

        return [Strip(height, paint)]


@dataclass(frozen=True, slots=True)
class SignRow:
    """A sign of a formula and what it stands for."""

    marks: Mark
    text: str

    def strips(self, wide: float) -> list[Strip]:
        """One strip, the words beside the sign."""
        box = set_marks(self.marks, SMALL + 1.0)
        lines = broken(self.text, PLAIN, SMALL, wide - BESIDE_SIGN)
        leading = SMALL + 2.5

        def paint(canvas: Canvas, x: float, top: float, _wide: float) -> None:
            box.paint(canvas, x + INDENT, top - leading)
            for number, line in enumerate(lines, start=1):
                draw(canvas, x + BESIDE_SIGN, top - number * leading, line, PLAIN, SMALL)

        return [Strip(len(lines) * leading + 2.0, paint)]


def set_marks(mark: Mark, size: float) -> Box:
    """A formula's marks set in a type size [pt]."""
    parts = [set_marks(part, _inner_size(mark.tag, place, size)) for place, part in enumerate(mark.parts)]
    match mark.tag:
        case Tag.LETTER:
            return _text(mark.text, SLANTED if len(mark.text) == 1 else PLAIN, size)
        case Tag.NUMBER | Tag.WORDS:
            return _text(mark.text, PLAIN, size)
        case Tag.OPERATOR:
            return _operator(mark.text, size)
        case Tag.INDEX:
            return _beside(parts[0], parts[1], -0.22 * size)
        case Tag.POWER:
            return _beside(parts[0], parts[1], parts[0].above - 0.42 * size)
        case Tag.OVER:
            return _over(parts[0], parts[1], size)
        case Tag.ROOT:
            return _root(_in_row(parts), size)
        case Tag.TABLE:
            return _stacked(parts)
        case Tag.ROW | Tag.TABLE_ROW | Tag.CELL:
            return _in_row(parts)


def _inner_size(tag: Tag, place: int, size: float) -> float:
    return size * SMALLER if tag in {Tag.INDEX, Tag.POWER} and place == 1 else size


def _text(text: str, font: str, size: float, room: float = 0.0) -> Box:
    line = letters(text, font)

    def paint(canvas: Canvas, x: float, y: float) -> None:
        draw(canvas, x + room, y, line, font, size)

    return Box(width_of(line, font, size) + 2 * room, ABOVE * size, BELOW * size, paint)


def _operator(text: str, size: float) -> Box:
    if text == TIMES:
        return Box(0.16 * size, 0.0, 0.0, _nothing)
    return _text(text, PLAIN, size, GAP * size if text in JOINING else 0.0)


def _in_row(parts: Sequence[Box]) -> Box:
    def paint(canvas: Canvas, x: float, y: float) -> None:
        for part in parts:
            part.paint(canvas, x, y)
            x += part.wide

    above = max((part.above for part in parts), default=0.0)
    below = max((part.below for part in parts), default=0.0)
    return Box(sum(part.wide for part in parts), above, below, paint)


def _beside(first: Box, second: Box, lift: float) -> Box:
    """The second, smaller, at the right of the first and higher or lower by `lift` [pt]."""

    def paint(canvas: Canvas, x: float, y: float) -> None:
        first.paint(canvas, x, y)
        second.paint(canvas, x + first.wide + 0.6, y + lift)

    above, below = max(first.above, second.above + lift), max(first.below, second.below - lift)
    return Box(first.wide + second.wide + 1.6, above, below, paint)


def _over(first: Box, second: Box, size: float) -> Box:
    wide = max(first.wide, second.wide) + 4.0
    axis, gap = AXIS * size, 2.0

    def paint(canvas: Canvas, x: float, y: float) -> None:
        canvas.setLineWidth(2 * THIN)
        canvas.line(x + 1.0, y + axis, x + wide - 1.0, y + axis)
        first.paint(canvas, x + (wide - first.wide) / 2.0, y + axis + gap + first.below)
        second.paint(canvas, x + (wide - second.wide) / 2.0, y + axis - gap - second.above)

    above = axis + gap + first.below + first.above
    return Box(wide, above, second.above + second.below + gap - axis, paint)


def _root(inside: Box, size: float) -> Box:
    hook = 0.62 * size

    def paint(canvas: Canvas, x: float, y: float) -> None:
        low, high = y - inside.below, y + inside.above + 2.0
        middle = low + 0.4 * (high - low)
        canvas.setLineWidth(2 * THIN)
        points = [(x, middle), (x + 0.2 * size, middle + 1.0), (x + 0.4 * size, low), (x + hook, high)]
        points.append((x + hook + inside.wide + 1.5, high))
        canvas.lines([(*a, *b) for a, b in pairwise(points)])
        inside.paint(canvas, x + hook + 0.5, y)

    return Box(inside.wide + hook + 2.0, inside.above + 3.0, inside.below + 0.5, paint)


def _stacked(rows: Sequence[Box]) -> Box:
    """Rows under each other; the first one's base line is that of all of them."""
    drops = [0.0]
    for row, before in zip(rows[1:], rows, strict=False):
        drops.append(drops[-1] + before.below + row.above + ROW_GAP)

    def paint(canvas: Canvas, x: float, y: float) -> None:
        for row, drop in zip(rows, drops, strict=True):
            row.paint(canvas, x, y - drop)

    return Box(max(row.wide for row in rows), rows[0].above, drops[-1] + rows[-1].below, paint)


def _nothing(_canvas: Canvas, _x: float, _y: float) -> None:
    """Room alone."""
