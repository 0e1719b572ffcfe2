"""A pattern on paper at full size: over as many sheets as it takes, each with bars that prove its scale.

Sheets overlap by a fixed strip, in which both show the same crosses; laid with cross on cross they are one.
The printer is asked not to scale; that it did not is read off the bars, one of each along either edge.
"""

import io
from dataclasses import dataclass
from math import ceil

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas

from server.core.tube.cutting.pattern import Flat, Layer, Line, Note, Pattern, Ring
from server.web.paper_text import BOLD, PLAIN, Letter, broken, draw, letters, width_of
from server.web.pattern_scale import INCHES, METRIC, bar

PT = 72.0 / 0.0254
"""Points to the metre: 72 to the inch (ISO 32000-1, 8.3.2.3)."""
MARGIN = 0.010
"""Round the sheet, which any printer leaves white [m]; common practice, no source."""
LEAST_STRIP, SIDE = 0.024, 0.010
"""Room at the foot for level bars, more where there are more words, and at the left for upright bars [m]."""
OVERLAP = 0.010
"""By how much neighbouring sheets show the same [m]."""
CROSS = 0.003
"""Half a register cross [m]."""
TEXT, LEADING = 7.0, 8.4
"""Of the words at the foot [pt]."""
WIDTHS = {Layer.CUT: 0.00025, Layer.MARK: 0.00013}
"""Of lines [m]."""
WORDS_AT = MARGIN + SIDE + INCHES + 0.006
"""Where the words at the foot begin, right of the bars [m]."""
JOINED = "Lay neighbouring sheets cross on cross, tape them, then cut."
CHECK = "Print at 100 %, not fitted to the page. Measure all four bars; off by over 0.5 mm: bin it."


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a pattern lies over sheets: a sheet, its foot, the window over that [m], columns and rows."""

    sheet: tuple[float, float]
    strip: float
    wide: float
    high: float
    columns: int
    rows: int

    def corner(self, column: int, row: int, box: tuple[float, float, float, float]) -> Flat:
        """The point of the pattern at a window's lower left [m]; rows count down from the top."""
        left, bottom, right, top = box
        middle = (left + right - self.wide) / 2.0, (bottom + top - self.high) / 2.0
        steps = self.wide - OVERLAP, self.high - OVERLAP
        x = middle[0] if self.columns == 1 else left + column * steps[0]
        y = middle[1] if self.rows == 1 else bottom + (self.rows - 1 - row) * steps[1]
        return x, y


def tiling(pattern: Pattern, letter: bool) -> Tiling:
    """The way up that takes fewest sheets, lying where both take as many."""
    left, bottom, right, top = pattern.box
    short, long = (side / PT for side in (LETTER if letter else A4))
    found = []
    for sheet in ((long, short), (short, long)):
        strip = max(LEAST_STRIP, len(_words(pattern, sheet[0], JOINED)) * LEADING / PT + 0.004)
        wide, high = sheet[0] - 2 * MARGIN - SIDE, sheet[1] - 2 * MARGIN - strip
        columns, rows = _count(right - left, wide), _count(top - bottom, high)
        found.append(Tiling(sheet, strip, wide, high, columns, rows))
    return min(found, key=lambda one: one.columns * one.rows)


def _count(size: float, window: float) -> int:
    return 1 if size <= window else ceil((size - OVERLAP) / (window - OVERLAP))


def pattern_pdf(pattern: Pattern, day: str, letter: bool = False) -> bytes:
    """The pattern as PDF, byte for byte the same for the same pattern and day."""
    laid = tiling(pattern, letter)
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(laid.sheet[0] * PT, laid.sheet[1] * PT), invariant=1)
    canvas.setTitle(pattern.title)
    canvas.setProducer("Witness Mark")
    canvas.setViewerPreference("PrintScaling", "None")
    for row in range(laid.rows):
        for column in range(laid.columns):
            _sheet(canvas, pattern, laid, column, row, day)
            canvas.showPage()
    canvas.save()
    return out.getvalue()


def _sheet(canvas: Canvas, pattern: Pattern, laid: Tiling, column: int, row: int, day: str) -> None:
    """One sheet: what is seen through its window, then crosses, bars and words."""
    x0, y0 = laid.corner(column, row, pattern.box)
    shift = MARGIN + SIDE - x0, MARGIN + laid.strip - y0
    canvas.saveState()
    window = canvas.beginPath()
    window.rect((MARGIN + SIDE) * PT, (MARGIN + laid.strip) * PT, laid.wide * PT, laid.high * PT)
    canvas.clipPath(window, stroke=0, fill=0)
    for line in pattern.lines:
        _line(canvas, line, shift)
    for ring in pattern.rings:
        _ring(canvas, ring, shift)
    for note in pattern.notes:
        _note(canvas, note, shift)
    canvas.restoreState()
    _register(canvas, laid, column, row)
    _bars(canvas, laid)
    _foot(canvas, pattern, laid, (column, row), day)


def _line(canvas: Canvas, line: Line, shift: Flat) -> None:
    _pen(canvas, line.layer, line.dashed)
    path = canvas.beginPath()
    for place, (x, y) in enumerate(line.points):
        (path.lineTo if place else path.moveTo)((x + shift[0]) * PT, (y + shift[1]) * PT)
    if line.closed:
        path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def _ring(canvas: Canvas, ring: Ring, shift: Flat) -> None:
    _pen(canvas, ring.layer, ring.dashed)
    x, y = ring.centre
    canvas.circle((x + shift[0]) * PT, (y + shift[1]) * PT, ring.radius * PT, stroke=1, fill=0)


def _pen(canvas: Canvas, layer: Layer, dashed: bool) -> None:
    canvas.setLineWidth(WIDTHS[layer] * PT)
    canvas.setDash([0.002 * PT, 0.0012 * PT] if dashed else [])


def _note(canvas: Canvas, note: Note, shift: Flat) -> None:
    size = note.size * PT
    line = letters(note.text, PLAIN)
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[note.anchor] * width_of(line, PLAIN, size)
    canvas.saveState()
    canvas.translate((note.at[0] + shift[0]) * PT, (note.at[1] + shift[1]) * PT)
    if not note.upright:
        canvas.rotate(90)
    draw(canvas, -back, 0.0, line, PLAIN, size)
    canvas.restoreState()


def _register(canvas: Canvas, laid: Tiling, column: int, row: int) -> None:
    """Crosses in the middle of every overlap, near either end of it: the neighbour has them too."""
    left, foot = MARGIN + SIDE, MARGIN + laid.strip
    half = OVERLAP / 2.0
    across = [x for x, there in ((half, column > 0), (laid.wide - half, column < laid.columns - 1)) if there]
    up = [y for y, there in ((half, row < laid.rows - 1), (laid.high - half, row > 0)) if there]
    places = [(x, laid.high * part) for x in across for part in (1 / 6, 5 / 6)]
    places += [(laid.wide * part, y) for y in up for part in (1 / 6, 5 / 6)]
    for x, y in places:
        cross = (left + x, foot + y)
        for dx, dy in ((CROSS, 0.0), (0.0, CROSS)):
            ends = ((cross[0] - dx, cross[1] - dy), (cross[0] + dx, cross[1] + dy))
            _line(canvas, Line(Layer.CUT, ends), (0.0, 0.0))


def _bars(canvas: Canvas, laid: Tiling) -> None:
    """Both bars level at the foot, and upright at the left edge: printers stretch one way more."""
    foot = MARGIN + 0.004
    for place, (length, name) in enumerate(((METRIC, "100 mm"), (INCHES, "4 in"))):
        y, x = foot + 0.009 * place, MARGIN + 0.002 + 0.005 * place
        _line(canvas, bar(MARGIN + SIDE, y, length), (0.0, 0.0))
        _note(canvas, Note(name, (MARGIN + SIDE + 0.003, y + 0.0008), 0.0026), (0.0, 0.0))
        _line(canvas, bar(x, MARGIN + laid.strip, length, upright=True), (0.0, 0.0))
        _note(
            canvas, Note(name, (x - 0.0008, MARGIN + laid.strip + 0.003), 0.0022, upright=False), (0.0, 0.0)
        )


def _foot(canvas: Canvas, pattern: Pattern, laid: Tiling, place: tuple[int, int], day: str) -> None:
    """Title, which sheet of how many, how to use it: to the right of the bars."""
    top = (MARGIN + laid.strip - 0.004) * PT
    total = laid.columns * laid.rows
    number = place[1] * laid.columns + place[0] + 1
    head = f"{day} · sheet {number} of {total}"
    rows = _words(pattern, laid.sheet[0], f"{head} {JOINED}" if total > 1 else head)
    for row, (line, font) in enumerate(rows):
        draw(canvas, WORDS_AT * PT, top - row * LEADING, line, font, TEXT)


def _words(pattern: Pattern, sheet_wide: float, about: str) -> list[tuple[tuple[Letter, ...], str]]:
    """The lines at the foot with their typefaces: title, the sheet's own words, how the pattern is used."""
    room = (sheet_wide - MARGIN - WORDS_AT) * PT
    texts = ((pattern.title, BOLD), *((text, PLAIN) for text in (about, CHECK, *pattern.told)))
    return [(line, font) for text, font in texts for line in broken(text, font, TEXT, room)]
