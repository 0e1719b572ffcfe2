"""Stages to be ticked on a wall: a big box and a line to sign each, its steps beside, cautions by letter."""

from dataclasses import dataclass
from functools import partial

from reportlab.pdfgen.canvas import Canvas

from server.web.paper import PAD, THICK, THIN, Strip
from server.web.paper_text import BOLD, PLAIN, Letter, broken, draw, letters, width_of

BOX, SMALL_BOX = 24.0, 6.5
SIGN = 104.0
"""Width of the column to sign in [pt]."""
NAME, TEXT, SMALL = 10.0, 7.0, 5.2
LEADING = 8.6
INDENT = BOX + 10.0
AFTER_BOX, BETWEEN = 10.0, 8.0
MARK, SIGNAL = 12.0, 44.0
"""Widths of a caution's letter and signal word [pt]."""

Placed = tuple[float, float, bool, tuple[Letter, ...]]
"""Where a line of a step stands, right and down [pt], whether a box stands before it, and its text."""


@dataclass(frozen=True, slots=True)
class StageBox:
    """One stage: its number and name, its steps with a small box each, which cautions it has.

    signed: who signed it already, and when; empty: room to sign.
    """

    number: int
    name: str
    steps: tuple[str, ...]
    cautions: str
    signed: str = ""

    def strips(self, wide: float) -> list[Strip]:
        """One strip: a stage is never torn apart."""
        placed, lines = _flowed(self.steps, wide - INDENT - SIGN)
        height = max(NAME + PAD + lines * LEADING + PAD, BOX + 2 * PAD)
        return [Strip(height, partial(self._paint, placed, height))]

    def _paint(
        self, placed: list[Placed], height: float, canvas: Canvas, x: float, top: float, wide: float
    ) -> None:
        canvas.setLineWidth(THICK)
        canvas.rect(x, top - PAD - BOX, BOX, BOX)
        draw(canvas, x + 2.5, top - PAD - 8.0, letters(str(self.number), BOLD), BOLD, 7.0)
        if self.signed:
            canvas.lines(_tick(x + 2.0, top - PAD - BOX))
        left = x + INDENT
        draw(canvas, left, top - PAD - NAME + 1.0, letters(self.name, BOLD), BOLD, NAME)
        base = top - PAD - NAME - LEADING
        canvas.setLineWidth(0.8)
        for right, down, boxed, line in placed:
            if boxed:
                canvas.rect(left + right, base - down - 0.5, SMALL_BOX, SMALL_BOX)
            draw(canvas, left + right + AFTER_BOX, base - down, line, PLAIN, TEXT)
        self._paint_sign(canvas, x + wide - SIGN, top)
        canvas.setLineWidth(THIN)
        canvas.line(x, top - height, x + wide, top - height)

    def _paint_sign(self, canvas: Canvas, x: float, top: float) -> None:
        """Its cautions, then a line to write on, or who signed."""
        draw(canvas, x, top - PAD - SMALL, letters(self.cautions, BOLD), BOLD, SMALL)
        if self.signed:
            for number, line in enumerate(broken(self.signed, PLAIN, TEXT, SIGN)):
                draw(canvas, x, top - PAD - 17.0 - number * LEADING, line, PLAIN, TEXT)
            return
        canvas.setLineWidth(THIN)
        canvas.line(x, top - PAD - 22.0, x + SIGN, top - PAD - 22.0)
        draw(canvas, x, top - PAD - 28.0, letters("SIGNED BY, DAY, TIME", PLAIN), PLAIN, SMALL)


@dataclass(frozen=True, slots=True)
class CautionLine:
    """A caution with the letter that stages name it by."""

    mark: str
    signal: str
    text: str

    def strips(self, wide: float) -> list[Strip]:
        """One strip: a caution is never torn apart."""
        lines = broken(self.text, PLAIN, TEXT, wide - MARK - SIGNAL)
        return [Strip(len(lines) * LEADING, partial(self._paint, lines))]

    def _paint(
        self, lines: list[tuple[Letter, ...]], canvas: Canvas, x: float, top: float, _wide: float
    ) -> None:
        base = top - TEXT
        draw(canvas, x, base, letters(self.mark, BOLD), BOLD, TEXT)
        draw(canvas, x + MARK, base, letters(self.signal, BOLD), BOLD, TEXT)
        for number, line in enumerate(lines):
            draw(canvas, x + MARK + SIGNAL, base - number * LEADING, line, PLAIN, TEXT)


def _flowed(steps: tuple[str, ...], room: float) -> tuple[list[Placed], int]:
    """The steps one after the other, as many as stand on a line; and how many lines that makes."""
    placed: list[Placed] = []
    at, down = 0.0, 0
    for step in steps:
        line = letters(step, PLAIN)
        wide = AFTER_BOX + width_of(line, PLAIN, TEXT)
        if at and at + wide > room:
            at, down = 0.0, down + 1
        if wide <= room:
            placed.append((at, down * LEADING, True, line))
            at += wide + BETWEEN
            continue
        for number, part in enumerate(broken(step, PLAIN, TEXT, room - AFTER_BOX)):
            placed.append((0.0, (down + number) * LEADING, number == 0, part))
        down, at = down + number, room
    return placed, down + 1


def _tick(x: float, y: float) -> list[tuple[float, float, float, float]]:
    return [(x + 4.0, y + 9.0, x + 9.0, y + 4.0), (x + 9.0, y + 4.0, x + 18.0, y + 17.0)]
