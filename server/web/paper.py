"""Ruled lists on paper, as PDF: title block, parts lists with boxes to tick, page numbers."""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from server.web.paper_text import BOLD, PLAIN, broken, draw, draw_right, letters, width_of

MARGIN = 40.0
TITLE_HEIGHT = 46.0
FOOT = 30.0
TEXT, SMALL = 9.0, 7.5
LEADING = 11.5
PAD = 4.0
BOX = 9.0
TICK_WIDTH = 20.0
THICK, THIN = 1.4, 0.4
"""Lines thick to thin after the look of a working drawing [pt]."""


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


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything on a printed list. fields: label and text of each field of the title block."""

    title: str
    fields: tuple[tuple[str, str], ...]
    lists: tuple[Ruled, ...]
    letter: bool = False


@dataclass(frozen=True, slots=True)
class _Strip:
    """One thing from edge to edge, and how high it is [pt]; kept together with what follows it."""

    height: float
    ruled: Ruled
    entry: Entry | None = None
    kind: str = "entry"
    with_next: bool = False


def list_pdf(sheet: Sheet) -> bytes:
    """The sheet as PDF, byte for byte the same for the same contents."""
    size = LETTER if sheet.letter else A4
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=size, invariant=1)
    canvas.setTitle(sheet.title)
    canvas.setProducer("Witness Mark")
    wide, high = size
    room = high - 2 * MARGIN - TITLE_HEIGHT - FOOT
    pages = _pages(_strips(sheet.lists, wide - 2 * MARGIN), room)
    for number, strips in enumerate(pages, start=1):
        _draw_title(canvas, sheet, wide, high, f"{number} of {len(pages)}")
        y = high - MARGIN - TITLE_HEIGHT - 8
        for strip in strips:
            _draw_strip(canvas, strip, MARGIN, y, wide - 2 * MARGIN)
            y -= strip.height
        canvas.showPage()
    canvas.save()
    return out.getvalue()


# Layout


def _strips(lists: Iterable[Ruled], wide: float) -> list[_Strip]:
    found = []
    for ruled in lists:
        found.append(_Strip(30.0, ruled, kind="heading", with_next=True))
        if ruled.note:
            lines = broken(ruled.note, PLAIN, SMALL, wide)
            found.append(_Strip(len(lines) * LEADING, ruled, kind="note", with_next=True))
        found.append(_columns(ruled))
        found += [_Strip(_height(ruled, entry, wide), ruled, entry) for entry in ruled.entries]
        found += [_Strip(_height(ruled, entry, wide), ruled, entry, kind="sum") for entry in ruled.sums]
    return found


def _columns(ruled: Ruled) -> _Strip:
    return _Strip(16.0, ruled, kind="columns", with_next=True)


def _pages(strips: Sequence[_Strip], room: float) -> list[list[_Strip]]:
    """Fill page after page; a heading never stands last, and a list that goes on repeats its columns."""
    pages: list[list[_Strip]] = [[]]
    left = room
    place = 0
    while place < len(strips):
        last = place
        while strips[last].with_next and last + 1 < len(strips):
            last += 1
        together = list(strips[place : last + 1])
        height = sum(strip.height for strip in together)
        if height > left and pages[-1]:
            pages.append([])
            left = room
            if together[0].entry is not None:
                together.insert(0, _columns(together[0].ruled))
                height += together[0].height
        pages[-1] += together
        left -= height
        place = last + 1
    return pages


def _widths(ruled: Ruled, wide: float) -> list[float]:
    whole = sum(column.share for column in ruled.columns)
    free = wide - (TICK_WIDTH if ruled.ticks else 0.0)
    return [free * column.share / whole for column in ruled.columns]


def _widest(ruled: Ruled) -> int:
    shares = [column.share for column in ruled.columns]
    return shares.index(max(shares))


def _height(ruled: Ruled, entry: Entry, wide: float) -> float:
    widths = _widths(ruled, wide)
    lines = [
        len(broken(cell, PLAIN, TEXT, width - 2 * PAD))
        for cell, width in zip(entry.cells, widths, strict=True)
    ]
    if entry.under:
        lines[_widest(ruled)] += len(broken(entry.under, PLAIN, SMALL, widths[_widest(ruled)] - 2 * PAD))
    return max(lines) * LEADING + 2 * PAD


# Drawing


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
        draw(canvas, x + 6, top - 12, letters(label.upper(), PLAIN), PLAIN, 6)
        draw(canvas, x + 6, bottom + 9, broken(text, BOLD, 10, width - 12)[0], BOLD, 10)
        x += width


def _field_widths(fields: Sequence[tuple[str, str]], room: float) -> list[float]:
    """Each field of the title block as wide as its text; the first one takes what is left."""
    others = [_field_width(label, text, room) for label, text in fields[1:]]
    return [room - sum(others), *others]


def _field_width(label: str, text: str, room: float) -> float:
    wide = max(width_of(letters(text, BOLD), BOLD, 10), width_of(letters(label.upper(), PLAIN), PLAIN, 6))
    return min(wide + 14, room / 4)


def _draw_strip(canvas: Canvas, strip: _Strip, x: float, top: float, wide: float) -> None:
    if strip.kind == "heading":
        draw(canvas, x, top - 22, broken(strip.ruled.heading, BOLD, 11, wide)[0], BOLD, 11)
    elif strip.kind == "note":
        for number, line in enumerate(broken(strip.ruled.note, PLAIN, SMALL, wide)):
            draw(canvas, x, top - 9 - number * LEADING, line, PLAIN, SMALL)
    elif strip.kind == "columns":
        _draw_columns(canvas, strip.ruled, x, top, wide)
    elif strip.entry is not None:
        _draw_entry(canvas, strip, strip.entry, x, top, wide)


def _draw_columns(canvas: Canvas, ruled: Ruled, x: float, top: float, wide: float) -> None:
    at = x + (TICK_WIDTH if ruled.ticks else 0.0)
    for column, width in zip(ruled.columns, _widths(ruled, wide), strict=True):
        line = letters(column.heading.upper(), PLAIN)
        if column.right:
            draw_right(canvas, at + width - PAD, top - 11, line, PLAIN, 6)
        else:
            draw(canvas, at + PAD, top - 11, line, PLAIN, 6)
        at += width
    canvas.setLineWidth(THICK)
    canvas.line(x, top - 16, x + wide, top - 16)


def _draw_entry(canvas: Canvas, strip: _Strip, entry: Entry, x: float, top: float, wide: float) -> None:
    ruled, font = strip.ruled, BOLD if strip.kind == "sum" else PLAIN
    base = top - PAD - TEXT
    if ruled.ticks and strip.kind == "entry":
        canvas.setLineWidth(1.0)
        canvas.rect(x + 3, base - 1.5, BOX, BOX)
    at = x + (TICK_WIDTH if ruled.ticks else 0.0)
    widths = _widths(ruled, wide)
    for number, (cell, column, width) in enumerate(zip(entry.cells, ruled.columns, widths, strict=True)):
        y = base
        for line in broken(cell, font, TEXT, width - 2 * PAD):
            if column.right:
                draw_right(canvas, at + width - PAD, y, line, font, TEXT)
            else:
                draw(canvas, at + PAD, y, line, font, TEXT)
            y -= LEADING
        if entry.under and number == _widest(ruled):
            for line in broken(entry.under, PLAIN, SMALL, width - 2 * PAD):
                draw(canvas, at + PAD, y, line, PLAIN, SMALL)
                y -= LEADING
        at += width
    canvas.setLineWidth(THIN)
    canvas.line(x, top - strip.height, x + wide, top - strip.height)
