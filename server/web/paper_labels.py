"""Labels on sheets of stickers: where each stands, what is on it, and the sheets as PDF.

A label is a code that opens a page, with a number and a name beside it that are read at arm's length. That
the printer did not scale is read off a bar in the sheet's own margin, or off the trial sheet for plain paper.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import ceil

import segno
from reportlab.pdfgen.canvas import Canvas

from server.core.tube.cutting.pattern import Line
from server.web.paper_text import BOLD, PLAIN, Letter, broken, draw, letters, width_of
from server.web.pattern_scale import INCHES, METRIC, bar

PT = 72.0 / 0.0254
"""Points to the metre: 72 to the inch (ISO 32000-1, 8.3.2.3)."""
PAGES = {False: (0.210, 0.297), True: (0.2159, 0.2794)}
"""A4 of ISO 216 and US Letter, 8 1/2 by 11 in, by whether it is Letter [m]."""
ROUNDING = 1e-6
"""What typed sizes may add up to over the page [m]."""
EDGE = 0.002
"""Left white along a label's edge: sheets are fed a little off; common practice, no source [m]."""
QUIET = 4
"""White round a code, in modules (ISO/IEC 18004, from memory)."""
LEAST_MODULE = 0.0004
"""Of a code that a phone reads at a hand's breadth [m]; common practice, no source."""
LARGEST_CODE = 0.030
"""With its white rim [m]: more room goes to the words."""
LEVELS = ("q", "m", "l")
"""How much of a code may be lost, the most first: labels in a garage get greasy."""
SHARE = {"beside": 0.45, "over": 0.55}
"""How much of a label's width, or height, its code may take where the words stand beside it, or under it."""
NUMBER_SIZES, NAME_SIZES = range(30, 11, -2), (16, 14, 12, 11, 10, 9)
"""Of type, the largest first [pt]. At 9 pt a capital is 2.3 mm high: 16 minutes of arc at half a metre, the
least that ISO 9241-303 has for reading (from memory)."""
ABOUT_SIZE = 7
LEADING = 1.15
CAPITAL = 0.73
"""Height of a capital as a share of the type size, of the typeface used."""
CUT = "..."
BAR_ROOM, BAR_AT = 0.007, 0.005
"""The least margin that takes the bar, and how far from the edge that is [m]; common practice, no source."""
WORDS_SIZE = 7.0


@dataclass(frozen=True, slots=True)
class Stickers:
    """A sheet of stickers [m]. across, down: gaps between neighbours; first: the first free place, from 1."""

    letter: bool
    left: float
    top: float
    wide: float
    high: float
    columns: int
    rows: int
    across: float = 0.0
    down: float = 0.0
    first: int = 1

    @property
    def page(self) -> tuple[float, float]:
        """Width and height of the paper [m]."""
        return PAGES[self.letter]

    @property
    def places(self) -> int:
        """Labels of a whole sheet."""
        return self.columns * self.rows

    @property
    def over(self) -> tuple[float, float]:
        """By how much the labels go over the paper, to the right and at the foot; 0 where they fit [m]."""
        right = self.left + self.columns * self.wide + (self.columns - 1) * self.across
        foot = self.top + self.rows * self.high + (self.rows - 1) * self.down
        across, down = right - self.page[0], foot - self.page[1]
        return (across if across > ROUNDING else 0.0), (down if down > ROUNDING else 0.0)

    @property
    def foot(self) -> float:
        """Paper left under the last row [m]."""
        return self.page[1] - self.top - self.rows * self.high - (self.rows - 1) * self.down

    def corner(self, place: int) -> tuple[float, float]:
        """Lower left corner of a place (from 0, row by row from the top), from the paper's own [m]."""
        row, column = divmod(place, self.columns)
        x = self.left + column * (self.wide + self.across)
        return x, self.page[1] - self.top - row * (self.high + self.down) - self.high

    def stands(self, index: int) -> tuple[int, int]:
        """Sheet and place of a label, all from 0."""
        return divmod(self.first - 1 + index, self.places)

    def sheets(self, count: int) -> int:
        """How many sheets so many labels take."""
        return ceil((self.first - 1 + count) / self.places)

    def free_after(self, count: int) -> int:
        """The first free place once so many labels are printed, from 1."""
        return (self.first - 1 + count) % self.places + 1


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says: number, name, a word more where there is room, and the page that it opens."""

    number: str
    name: str
    about: str
    address: str


@dataclass(frozen=True, slots=True)
class Words:
    """One line of type, its left end from the label's lower left corner [pt]."""

    x: float
    y: float
    line: tuple[Letter, ...]
    font: str
    size: float


@dataclass(frozen=True, slots=True)
class Laid:
    """A label laid out. code: left, foot and side of its square, white rim included [m].

    short: its name was cut.
    """

    code: tuple[float, float, float]
    level: str
    words: tuple[Words, ...]
    short: bool


def code_side(stickers: Stickers) -> tuple[float, bool]:
    """The most that a code with its rim may measure [m], and whether the words stand beside it."""
    room = stickers.wide - 2 * EDGE, stickers.high - 2 * EDGE
    beside = min(room[1], SHARE["beside"] * stickers.wide)
    over = min(room[0], SHARE["over"] * stickers.high)
    return min(max(beside, over), LARGEST_CODE), beside >= over


def modules(address: str, level: str) -> int:
    """How many modules a code of an address has along a side, its white rim included."""
    return int(segno.make(address, error=level, micro=False).symbol_size(border=QUIET)[0])


def least_side(address: str) -> float:
    """The least that a code of an address may measure with its rim [m]."""
    return modules(address, LEVELS[-1]) * LEAST_MODULE


def lay_out(label: Label, stickers: Stickers) -> Laid:
    """A label with the surest code that its square takes, and its words as large as they go."""
    side, beside = code_side(stickers)
    fitting = (level for level in LEVELS if modules(label.address, level) * LEAST_MODULE <= side)
    level = next(fitting, LEVELS[-1])
    if beside:
        code = (EDGE, (stickers.high - side) / 2.0, side)
        box = (EDGE + side, EDGE, stickers.wide - 2 * EDGE - side, stickers.high - 2 * EDGE)
    else:
        code = ((stickers.wide - side) / 2.0, stickers.high - EDGE - side, side)
        box = (EDGE, EDGE, stickers.wide - 2 * EDGE, stickers.high - 2 * EDGE - side)
    words, short = _set(label, box)
    return Laid(code, level, tuple(words), short)


def _set(label: Label, box: tuple[float, float, float, float]) -> tuple[list[Words], bool]:
    """The words of a label from the top of their box [m] down, and whether the name was cut."""
    x, y, wide, high = (size * PT for size in box)
    found: list[Words] = []
    left = high

    def put(line: tuple[Letter, ...], font: str, size: float) -> None:
        nonlocal left
        found.append(Words(x, y + left - size * CAPITAL, line, font, size))
        left -= size * LEADING

    if label.number:
        number = letters(label.number, BOLD)
        fits = (s for s in NUMBER_SIZES if width_of(number, BOLD, s) <= wide and s * CAPITAL <= 0.42 * high)
        put(number, BOLD, next(fits, NUMBER_SIZES[-1]))
    lines, size, short = _name(label.name, wide, left)
    for line in lines:
        put(line, BOLD, size)
    about = broken(label.about, PLAIN, ABOUT_SIZE, wide) if label.about else []
    if len(about) * ABOUT_SIZE * LEADING <= left:
        for line in about:
            put(line, PLAIN, ABOUT_SIZE)
    return found, short


def _name(name: str, wide: float, high: float) -> tuple[list[tuple[Letter, ...]], float, bool]:
    """The name in the largest type that breaks no word and fits; else in the least, cut short at need."""
    for size in NAME_SIZES:
        whole = all(width_of(letters(word, BOLD), BOLD, size) <= wide for word in name.split())
        lines = broken(name, BOLD, size, wide)
        if whole and _height(len(lines), size) <= high:
            return lines, size, False
    size = NAME_SIZES[-1]
    lines, most = broken(name, BOLD, size, wide), 1
    while _height(most + 1, size) <= high:
        most += 1
    if len(lines) <= most:
        return lines, size, False
    last = lines[most - 1]
    dots = letters(CUT, BOLD)
    while last and width_of((*last, *dots), BOLD, size) > wide:
        last = last[:-1]
    return [*lines[: most - 1], (*last, *dots)], size, True


def _height(lines: int, size: float) -> float:
    """Of so many lines of type, from the first one's capitals to the last one's tails [pt]."""
    return (lines - 1) * size * LEADING + size


def labels_pdf(labels: Sequence[Label], stickers: Stickers, title: str) -> bytes:
    """The labels on their sheets, byte for byte the same for the same labels."""
    canvas, out = _canvas(stickers, title)
    sheet = 0
    for index, label in enumerate(labels):
        on, place = stickers.stands(index)
        if on > sheet or index == 0:
            if index:
                canvas.showPage()
            sheet = on
            _margin_bar(canvas, stickers)
        _label(canvas, label, stickers, stickers.corner(place))
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def trial_pdf(stickers: Stickers, title: str) -> bytes:
    """The outlines of all labels with the numbers of their places, and bars both ways, for plain paper."""
    canvas, out = _canvas(stickers, title)
    for place in range(stickers.places):
        x, y = stickers.corner(place)
        canvas.setLineWidth(0.5)
        canvas.rect(x * PT, y * PT, stickers.wide * PT, stickers.high * PT)
        _words(canvas, (x + EDGE, y + EDGE), str(place + 1))
    middle = stickers.page[0] / 2.0, stickers.page[1] / 2.0
    for step, (length, name) in enumerate(((METRIC, "100 mm"), (INCHES, "4 in"))):
        low, aside = middle[1] - 0.006 * (2 * step - 1), middle[0] + 0.060 + 0.014 * step
        _bar(canvas, bar(middle[0] - METRIC / 2.0, low, length))
        _words(canvas, (middle[0] - METRIC / 2.0 + 0.003, low + 0.001), name)
        _bar(canvas, bar(aside, middle[1] - METRIC / 2.0, length, upright=True))
        _words(canvas, (aside + 0.001, middle[1] + 0.003), name)
    told = "Plain paper, at 100 %. Measure all four bars; hold it behind a sheet of labels against the light."
    _words(canvas, (middle[0] - METRIC / 2.0, middle[1] - 0.014), told)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def has_bar(stickers: Stickers) -> bool:
    """Whether a margin of the sheet takes the bar that tells its scale."""
    return max(stickers.top, stickers.foot) >= BAR_ROOM


def _canvas(stickers: Stickers, title: str) -> tuple[Canvas, io.BytesIO]:
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(stickers.page[0] * PT, stickers.page[1] * PT), invariant=1)
    canvas.setTitle(title)
    canvas.setProducer("Witness Mark")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas, out


def _margin_bar(canvas: Canvas, stickers: Stickers) -> None:
    """The bar of 100 mm in the wider margin, where one is wide enough."""
    if not has_bar(stickers):
        return
    y = BAR_AT if stickers.foot >= stickers.top else stickers.page[1] - BAR_AT
    x = (stickers.page[0] - METRIC) / 2.0
    _bar(canvas, bar(x, y, METRIC))
    _words(canvas, (x + METRIC + 0.002, y - 0.001), "100 mm: print at 100 %")


def _bar(canvas: Canvas, line: Line) -> None:
    canvas.setLineWidth(0.4)
    path = canvas.beginPath()
    for place, (x, y) in enumerate(line.points):
        (path.lineTo if place else path.moveTo)(x * PT, y * PT)
    canvas.drawPath(path, stroke=1, fill=0)


def _words(canvas: Canvas, at: tuple[float, float], text: str) -> None:
    draw(canvas, at[0] * PT, at[1] * PT, letters(text, PLAIN), PLAIN, WORDS_SIZE)


def _label(canvas: Canvas, label: Label, stickers: Stickers, corner: tuple[float, float]) -> None:
    laid = lay_out(label, stickers)
    x, y = corner
    left, foot, side = laid.code
    _code(canvas, label.address, laid.level, (x + left, y + foot, side))
    for words in laid.words:
        draw(canvas, x * PT + words.x, y * PT + words.y, words.line, words.font, words.size)


def _code(canvas: Canvas, address: str, level: str, square: tuple[float, float, float]) -> None:
    """A code in its square [m]: dark modules of a row that touch are one box."""
    code = segno.make(address, error=level, micro=False)
    x, y, side = square
    module = side / modules(address, level)
    path = canvas.beginPath()
    for row, cells in enumerate(code.matrix):
        column = 0
        top = y + side - (QUIET + row) * module
        for dark, some in groupby(cells):
            count = len(list(some))
            if dark:
                path.rect(
                    (x + (QUIET + column) * module) * PT,
                    (top - module) * PT,
                    count * module * PT,
                    module * PT,
                )
            column += count
    canvas.drawPath(path, stroke=0, fill=1)
