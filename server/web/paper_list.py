"""Ruled lists on a printed sheet: parts lists with boxes to tick, and tables."""

from dataclasses import dataclass
from functools import partial

from reportlab.pdfgen.canvas import Canvas

from server.web.paper import LEADING, PAD, SMALL, TEXT, THICK, THIN, Strip
from server.web.paper_text import BOLD, PLAIN, broken, draw, draw_right, letters

BOX = 9.0
TICK_WIDTH = 20.0
HEADING = 30.0
COLUMNS = 16.0


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a list: its heading, its share of the width, and whether figures stand right in it."""

    heading: str
    share: float
    right: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """One row: a text for each column, and a small line under the widest one."""

    cells: tuple[str, ...]
    under: str = ""


@dataclass(frozen=True, slots=True)
class Ruled:
    """A list with its heading, what is said under it, its rows and the row of sums at its foot."""

    heading: str
    columns: tuple[Column, ...]
    entries: tuple[Entry, ...]
    note: str = ""
    sums: tuple[Entry, ...] = ()
    ticks: bool = True

    def strips(self, wide: float) -> list[Strip]:
        """Heading, note and columns together with the first row; a list that goes on repeats its columns."""
        found = [Strip(HEADING, self._paint_heading, with_next=True)] if self.heading else []
        if self.note:
            lines = broken(self.note, PLAIN, SMALL, wide)
            found.append(Strip(len(lines) * LEADING, self._paint_note, with_next=True))
        columns = Strip(COLUMNS, self._paint_columns, with_next=True)
        found.append(columns)
        for entry, font in [(one, PLAIN) for one in self.entries] + [(one, BOLD) for one in self.sums]:
            height = self._height(entry, wide)
            paint = partial(self._paint_entry, entry, font, height)
            found.append(Strip(height, paint, again=columns))
        return found

    def _widths(self, wide: float) -> list[float]:
        whole = sum(column.share for column in self.columns)
        free = wide - (TICK_WIDTH if self.ticks else 0.0)
        return [free * column.share / whole for column in self.columns]

    @property
    def _widest(self) -> int:
        shares = [column.share for column in self.columns]
        return shares.index(max(shares))

    def _height(self, entry: Entry, wide: float) -> float:
        widths = self._widths(wide)
        lines = [
            len(broken(cell, PLAIN, TEXT, width - 2 * PAD))
            for cell, width in zip(entry.cells, widths, strict=True)
        ]
        if entry.under:
            lines[self._widest] += len(broken(entry.under, PLAIN, SMALL, widths[self._widest] - 2 * PAD))
        return max(lines) * LEADING + 2 * PAD

    def _paint_heading(self, canvas: Canvas, x: float, top: float, wide: float) -> None:
        draw(canvas, x, top - 22, broken(self.heading, BOLD, 11, wide)[0], BOLD, 11)

    def _paint_note(self, canvas: Canvas, x: float, top: float, wide: float) -> None:
        for number, line in enumerate(broken(self.note, PLAIN, SMALL, wide)):
            draw(canvas, x, top - 9 - number * LEADING, line, PLAIN, SMALL)

    def _paint_columns(self, canvas: Canvas, x: float, top: float, wide: float) -> None:
        at = x + (TICK_WIDTH if self.ticks else 0.0)
        for column, width in zip(self.columns, self._widths(wide), strict=True):
            line = letters(column.heading.upper(), PLAIN)
            if column.right:
                draw_right(canvas, at + width - PAD, top - 11, line, PLAIN, 6)
            else:
                draw(canvas, at + PAD, top - 11, line, PLAIN, 6)
            at += width
        canvas.setLineWidth(THICK)
        canvas.line(x, top - COLUMNS, x + wide, top - COLUMNS)

    def _paint_entry(
        self, entry: Entry, font: str, height: float, canvas: Canvas, x: float, top: float, wide: float
    ) -> None:
        base = top - PAD - TEXT
        if self.ticks and font == PLAIN:
            canvas.setLineWidth(1.0)
            canvas.rect(x + 3, base - 1.5, BOX, BOX)
        at = x + (TICK_WIDTH if self.ticks else 0.0)
        widths = self._widths(wide)
        for number, (cell, column, width) in enumerate(zip(entry.cells, self.columns, widths, strict=True)):
            y = base
            for line in broken(cell, font, TEXT, width - 2 * PAD):
                if column.right:
                    draw_right(canvas, at + width - PAD, y, line, font, TEXT)
                else:
                    draw(canvas, at + PAD, y, line, font, TEXT)
                y -= LEADING
            if entry.under and number == self._widest:
                for line in broken(entry.under, PLAIN, SMALL, width - 2 * PAD):
                    draw(canvas, at + PAD, y, line, PLAIN, SMALL)
                    y -= LEADING
            at += width
        canvas.setLineWidth(THIN)
        canvas.line(x, top - height, x + wide, top - height)
