"""Sheets on paper, as PDF: a title block on each page, its number, and blocks that flow from page to page.

Black on white throughout, nothing told by colour, so that a photocopy loses nothing.
"""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from server.web.paper_text import BOLD, PLAIN, Letter, draw, letters, width_of

MARGIN = 40.0
TITLE_HEIGHT = 46.0
FOOT = 30.0
TEXT, SMALL = 9.0, 7.5
LEADING = 11.5
PAD = 4.0
THICK, THIN = 1.4, 0.4
"""Lines thick to thin after the look of a working drawing [pt]."""
ROOM_FOR_FIELD = 6.0
"""Room left at either side of the text of a field of the title block [pt]."""

Paint = Callable[[Canvas, float, float, float], None]
"""Draws something on a page: left edge, top edge and width [pt]."""


@dataclass(frozen=True, slots=True)
class Strip:
    """One thing from edge to edge: how high it is [pt], and what draws it.

    with_next: it never stands last on a page. again: what is drawn over it where it begins a page. first: it
    begins a page of its own.
    """

    height: float
    paint: Paint
    with_next: bool = False
    again: "Strip | None" = None
    first: bool = False


class Block(Protocol):
    """Something on a sheet that knows its strips."""

    def strips(self, wide: float) -> list[Strip]:
        """From top to bottom, for a width [pt]."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything on a printed sheet. fields: label and text of each field of the title block."""

    title: str
    fields: tuple[tuple[str, str], ...]
    blocks: tuple[Block, ...]
    letter: bool = False


def sheet_pdf(sheet: Sheet) -> bytes:
    """The sheet as PDF, byte for byte the same for the same contents."""
    size = LETTER if sheet.letter else A4
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1)
    canvas.setTitle(sheet.title)
    canvas.setProducer("Witness Mark")
    wide, high = size
    room = high - 2 * MARGIN - TITLE_HEIGHT - FOOT
    strips = [strip for block in sheet.blocks for strip in block.strips(wide - 2 * MARGIN)]
    pages = _pages(strips, room)
    for number, page in enumerate(pages, start=1):
        _draw_title(canvas, sheet, wide, high, f"{number} of {len(pages)}")
        y = high - MARGIN - TITLE_HEIGHT - 8
        for strip in page:
            strip.paint(canvas, MARGIN, y, wide - 2 * MARGIN)
            y -= strip.height
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def _pages(strips: Sequence[Strip], room: float) -> list[list[Strip]]:
    """Fill page after page; a heading never stands last, and a list that goes on repeats its columns."""
    pages: list[list[Strip]] = [[]]
    left = room
    place = 0
    while place < len(strips):
        last = place
        while strips[last].with_next and last + 1 < len(strips):
            last += 1
        together = list(strips[place : last + 1])
        height = sum(strip.height for strip in together)
        if (height > left or together[0].first) and pages[-1]:
            pages.append([])
            left = room
            again = together[0].again
            if again is not None:
                together.insert(0, again)
                height += again.height
        pages[-1] += together
        left -= height
        place = last + 1
    return pages


def _draw_title(canvas: Canvas, sheet: Sheet, wide: float, high: float, page: str) -> None:
    """The title block: thick frame, one field beside the other, the page's number last."""
    top, bottom = high - MARGIN, high - MARGIN - TITLE_HEIGHT + 8
    canvas.setLineWidth(THICK)
    canvas.rect(MARGIN, bottom, wide - 2 * MARGIN, top - bottom)
    fields = (*sheet.fields, ("Page", page))
    x = MARGIN
    for (label, text), width in zip(fields, _field_widths(fields, wide - 2 * MARGIN), strict=True):
        if x > MARGIN:
            canvas.setLineWidth(THIN)
            canvas.line(x, bottom, x, top)
        draw(canvas, x + ROOM_FOR_FIELD, top - 12, letters(label.upper(), PLAIN), PLAIN, 6)
        room = width - 2 * ROOM_FOR_FIELD
        draw(canvas, x + ROOM_FOR_FIELD, bottom + 9, _shortened(text, room), BOLD, 10)
        x += width


def _shortened(text: str, room: float) -> tuple[Letter, ...]:
    """The text on one line [pt], with a mark where something was left out."""
    line, mark = letters(text, BOLD), letters("…", BOLD)
    if width_of(line, BOLD, 10) <= room:
        return line
    while line and width_of((*line, *mark), BOLD, 10) > room:
        line = line[:-1]
    return (*line, *mark)


def _field_widths(fields: Sequence[tuple[str, str]], room: float) -> list[float]:
    """Each field of the title block as wide as its text, the widest no wider than there is room for.

    What is left goes to the first one.
    """
    wanted = [_field_width(label, text) for label, text in fields]
    most, left = 0.0, room
    for place, wide in enumerate(sorted(wanted)):
        most = left / (len(wanted) - place)
        if wide > most:
            break
        left -= wide
    widths = [min(wide, most) for wide in wanted] if sum(wanted) > room else wanted
    return [widths[0] + room - sum(widths), *widths[1:]]


def _field_width(label: str, text: str) -> float:
    wide = max(width_of(letters(text, BOLD), BOLD, 10), width_of(letters(label.upper(), PLAIN), PLAIN, 6))
    return wide + 2 * ROOM_FOR_FIELD + 2
