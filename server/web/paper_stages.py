"""Stages to be ticked on a wall: a big box and a line to sign each, its steps beside, cautions by letter."""

from dataclasses import dataclass
from functools import partial

from reportlab.pdfgen.canvas import Canvas

from server.web.paper import PAD, THICK, THIN, Strip
from server.web.paper_text import BOLD, PLAIN, Letter, broken, draw, letters, width_of

BOX, SMALL_BOX = 34.0, 9.0
SIGN = 124.0
"""Width of the column to sign in [pt]."""
NAME, TEXT, SMALL = 13.0, 10.0, 7.5
"""Read from a step away [pt]."""
LEADING = 12.4
INDENT = BOX + 12.0
ROOM_TO_SIGN = 34.0
AFTER_BOX, BETWEEN = 14.0, 10.0
MARK, SIGNAL = 17.0, 62.0
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
        height = max(NAME + PAD + lines * LEADING + PAD, BOX + 2 * PAD, ROOM_TO_SIGN + SMALL + 3 * PAD)
        return [Strip(height, partial(self._paint, placed, height))]

    def _paint(
        self, placed: list[Placed], height: float, canvas: Canvas, x: float, top: float, wide: float
    ) -> None:
        canvas.setLineWidth(THICK)
        canvas.rect(x, top - PAD - BOX, BOX, BOX)
        draw(canvas, x + 3.0, top - PAD - TEXT, letters(str(self.number), BOLD), BOLD, TEXT)
        if self.signed:
            canvas.lines(_tick(x + 2.0, top - PAD - BOX))
        left = x + INDENT
        draw(canvas, left, top - PAD - NAME + 1.0, letters(self.name, BOLD), BOLD, NAME)
        base = top - PAD - NAME - LEADING
        canvas.setLineWidth(0.8)
        for right, down, boxed, line in placed:
            if boxed:
                canvas.rect(left + right, base - down - 1.0, SMALL_BOX, SMALL_BOX)
            draw(canvas, left + right + AFTER_BOX, base - down, line, PLAIN, TEXT)
        self._paint_sign(canvas, x + wide - SIGN, top)
        canvas.setLineWidth(THIN)
        canvas.line(x, top - height, x + wide, top - height)

    def _paint_sign(self, canvas: Canvas, x: float, top: float) -> None:
        """Its cautions, then a line to write on, or who signed."""
        for number, line in enumerate(broken(self.cautions, BOLD, SMALL, SIGN), start=1):
            draw(canvas, x, top - PAD - number * (SMALL + 1.0), line, BOLD, SMALL)
        if self.signed:
            for number, line in enumerate(broken(self.signed, PLAIN, TEXT, SIGN)):
                draw(
                    canvas, x, top - PAD - ROOM_TO_SIGN + LEADING - 4.0 - number * LEADING, line, PLAIN, TEXT
                )
            return
        canvas.setLineWidth(THIN)
        canvas.line(x, top - PAD - ROOM_TO_SIGN, x + SIGN, top - PAD - ROOM_TO_SIGN)
        draw(
            canvas,
            x,
            top - PAD - ROOM_TO_SIGN - SMALL - 1.0,
            letters("SIGNED BY, DAY, TIME", PLAIN),
            PLAIN,
            SMALL,
        )


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
    return [(x + 6.0, y + 13.0, x + 13.0, y + 6.0), (x + 13.0, y + 6.0, x + 26.0, y + 25.0)]
