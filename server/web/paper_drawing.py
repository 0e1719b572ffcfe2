"""The drawing of a run on a printed sheet: the very paths that pages show, at one of the usual scales.

A path is read by the grammar that it is written in (SVG 1.1, section 8.3); arcs become Bézier curves.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from server.core.tube.drawing import BALLOON, TEXT, WIDTH, Balloon, Drawing, Path, Word
from server.web.paper import Strip
from server.web.paper_text import BOLD, PLAIN, draw, letters, width_of

POINTS_PER_METRE = 72.0 / 0.0254
SCALES = (1, 2, 5, 10, 20, 50, 100)
"""One to so many; scales of ISO 5455 (from memory)."""

Flat = tuple[float, float]

_STEP = re.compile(r"([MmLlHhVvAaQqZz])([^A-Za-z]*)")
_NUMBER = re.compile(r"-?\d*\.?\d+")
_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "A": 7, "Q": 4, "Z": 0}


@dataclass(frozen=True, slots=True)
class Pen:
    """How a path is drawn: width and dashes [sheet units], what its inside is filled with [grey, 1 white]."""

    width: float = 1.0
    dashes: tuple[float, ...] = ()
    fill: float | None = None
    round_ends: bool = False
    stroke: bool = True


PENS = {
    "wall": Pen(2.0, fill=1.0),
    "port": Pen(2.0, fill=0.75),
    "plate": Pen(1.0, fill=1.0),
    "bung": Pen(1.0, fill=1.0),
    "clamp": Pen(1.0, fill=1.0),
    "bead": Pen(1.0, fill=0.0),
    "hidden": Pen(1.0, (3.0, 2.4)),
    "centre": Pen(0.9, (12.0, 3.0, 2.0, 3.0)),
    "flow": Pen(fill=0.0, stroke=False),
    "dot": Pen(4.0, round_ends=True),
    "scale": Pen(2.0),
}
"""The look of the page's style sheet, in black on white, by the first class of a path."""
HOSE, ASSUMED, MOCK_UP = 0.9, (7.0, 3.0), (9.0, 7.0)


def pen_of(css: str) -> Pen:
    """How a path of these classes is drawn."""
    first, *more = css.split()
    pen = PENS.get(first, Pen())
    if "away" in more:
        return Pen(pen.width, (3.0, 2.4))
    width = 4.0 if "nogo" in more else pen.width
    dashes = ASSUMED if "assumed" in more else MOCK_UP if "mock-up" in more else pen.dashes
    return Pen(width, dashes, HOSE if "hose" in more else pen.fill, pen.round_ends, pen.stroke)


def scale_on_paper(drawing: Drawing, wide: float) -> tuple[int, float]:
    """The largest usual scale at which a drawing fits a width [pt]: one to so many, and points a unit."""
    largest = wide / WIDTH
    for scale in SCALES:
        points = POINTS_PER_METRE / scale / drawing.scale
        if points <= largest:
            return scale, points
    return 0, largest


@dataclass(frozen=True, slots=True)
class Picture:
    """A run's drawing with the scale that it is drawn at."""

    drawing: Drawing

    def strips(self, wide: float) -> list[Strip]:
        """One strip: a drawing stands on one page."""
        scale, points = scale_on_paper(self.drawing, wide) if self.drawing.scale else (0, wide / WIDTH)
        height = float(self.drawing.height) * points

        def paint(canvas: Canvas, x: float, top: float, room: float) -> None:
            canvas.saveState()
            canvas.translate(x + (room - WIDTH * points) / 2.0, top + float(self.drawing.top) * points)
            canvas.scale(points, -points)
            _paint(canvas, self.drawing)
            canvas.restoreState()
            if scale:
                words = letters(f"Scale 1 : {scale}, printed at full size", PLAIN)
                draw(canvas, x, top - height - 8.0, words, PLAIN, 7.5)

        return [Strip(height + 14.0, paint)]


def _paint(canvas: Canvas, drawing: Drawing) -> None:
    canvas.setLineJoin(1)
    for path in drawing.paths:
        _paint_path(canvas, path)
    for balloon in drawing.balloons:
        _paint_balloon(canvas, balloon)
    for word in drawing.words:
        _paint_word(canvas, word)


def _paint_path(canvas: Canvas, path: Path) -> None:
    pen = pen_of(path.css)
    canvas.saveState()
    canvas.setLineWidth(pen.width)
    if pen.dashes:
        canvas.setDash(list(pen.dashes))
    if pen.round_ends:
        canvas.setLineCap(1)
    if pen.fill is not None:
        canvas.setFillGray(pen.fill)
    canvas.drawPath(drawn(canvas, path.d), stroke=int(pen.stroke), fill=int(pen.fill is not None))
    canvas.restoreState()


def _paint_balloon(canvas: Canvas, balloon: Balloon) -> None:
    x, y = float(balloon.x), float(balloon.y)
    full = balloon.css == "nogo"
    canvas.saveState()
    canvas.setLineWidth(2.0)
    if balloon.css == "unmeasured":
        canvas.setDash([4.0, 3.0])
    canvas.setFillGray(0.0 if full else 1.0)
    half = BALLOON - 1.0
    if balloon.shape == "square":
        canvas.rect(x - half, y - half, 2 * half, 2 * half, stroke=1, fill=1)
    elif balloon.shape == "house":
        house = f"M{x - half} {y - 5.0}L{x} {y - BALLOON}L{x + half} {y - 5.0}V{y + 11.0}H{x - half}Z"
        canvas.drawPath(drawn(canvas, house), stroke=1, fill=1)
    else:
        canvas.circle(x, y, BALLOON, stroke=1, fill=1)
    canvas.restoreState()
    _paint_text(canvas, str(balloon.number), (x, float(balloon.text_y)), "middle", halo=False, white=full)


def _paint_word(canvas: Canvas, word: Word) -> None:
    _paint_text(canvas, word.text, (float(word.x), float(word.y)), word.anchor, halo=True)


def _paint_text(canvas: Canvas, text: str, at: Flat, anchor: str, *, halo: bool, white: bool = False) -> None:
    """A word, upright although the sheet's y goes down; a white rim keeps it clear of lines under it."""
    line = letters(text, BOLD)
    wide = width_of(line, BOLD, TEXT - 2.0)
    back = {"start": 0.0, "middle": wide / 2.0, "end": wide}[anchor]
    canvas.saveState()
    canvas.translate(at[0] - back, at[1])
    canvas.scale(1.0, -1.0)
    if halo:
        canvas.setStrokeGray(1.0)
        canvas.setLineWidth(3.0)
        draw(canvas, 0.0, 0.0, line, BOLD, TEXT - 2.0, mode=1)
    canvas.setFillGray(1.0 if white else 0.0)
    draw(canvas, 0.0, 0.0, line, BOLD, TEXT - 2.0)
    canvas.restoreState()


# Paths


def drawn(canvas: Canvas, d: str) -> PDFPathObject:
    """The path of an SVG `d` on a canvas whose y goes down as the sheet's does."""
    path: PDFPathObject = canvas.beginPath()
    here, start = (0.0, 0.0), (0.0, 0.0)
    for step, numbers in steps(d):
        if step == "Z":
            path.close()
            here = start
            continue
        to = _goal(step, numbers, here)
        letter = step.upper()
        if letter == "M":
            path.moveTo(*to)
            start = to
        elif letter == "A":
            for a, b, c in arc_curves(here, to, numbers):
                path.curveTo(*a, *b, *c)
        elif letter == "Q":
            by = (numbers[0], numbers[1])
            a = (here[0] + 2.0 * (by[0] - here[0]) / 3.0, here[1] + 2.0 * (by[1] - here[1]) / 3.0)
            b = (to[0] + 2.0 * (by[0] - to[0]) / 3.0, to[1] + 2.0 * (by[1] - to[1]) / 3.0)
            path.curveTo(*a, *b, *to)
        else:
            path.lineTo(*to)
        here = to
    return path


def steps(d: str) -> Iterator[tuple[str, list[float]]]:
    """The steps of a path, a letter and its numbers each; a letter may stand for several steps.

    >>> list(steps("M1 2h3 4Z"))
    [('M', [1.0, 2.0]), ('h', [3.0]), ('h', [4.0]), ('Z', [])]
    """
    for letter, text in _STEP.findall(d):
        numbers = [float(found) for found in _NUMBER.findall(text)]
        takes = _TAKES[letter.upper()]
        if not takes:
            yield letter.upper(), []
            continue
        for place in range(0, len(numbers), takes):
            # Further pairs after a move are lines (SVG 1.1, 8.3.2).
            goes_on = {"M": "L", "m": "l"}.get(letter, letter) if place else letter
            yield goes_on, numbers[place : place + takes]


def _goal(step: str, numbers: list[float], here: Flat) -> Flat:
    """Where a step ends."""
    x, y = here if step.islower() else (0.0, 0.0)
    match step.upper():
        case "H":
            return x + numbers[0], here[1]
        case "V":
            return here[0], y + numbers[0]
    return x + numbers[-2], y + numbers[-1]


def arc_curves(start: Flat, end: Flat, numbers: list[float]) -> list[tuple[Flat, Flat, Flat]]:
    """An elliptical arc as Bézier curves of a quarter turn at most.

    numbers: radii, turn of the ellipse [degrees], large, clockwise on the sheet, as SVG has them. Source of
    the centre: SVG 1.1, appendix F.6.5; a quarter by Bézier is off by 0.03 % of its radius (geometry).
    """
    rx, ry, turn, large, sweep = abs(numbers[0]), abs(numbers[1]), math.radians(numbers[2]), *numbers[3:5]
    if rx == 0.0 or ry == 0.0 or start == end:
        return [(start, end, end)]
    cos, sin = math.cos(turn), math.sin(turn)
    half_x, half_y = (start[0] - end[0]) / 2.0, (start[1] - end[1]) / 2.0
    x, y = cos * half_x + sin * half_y, cos * half_y - sin * half_x
    # Radii that don't reach are stretched until they do (F.6.6).
    stretch = math.sqrt(max(1.0, (x / rx) ** 2 + (y / ry) ** 2))
    rx, ry = rx * stretch, ry * stretch
    over = (rx * ry) ** 2 - (rx * y) ** 2 - (ry * x) ** 2
    factor = math.sqrt(max(0.0, over / ((rx * y) ** 2 + (ry * x) ** 2)))
    factor = -factor if large == sweep else factor
    cx, cy = factor * rx * y / ry, -factor * ry * x / rx
    first = math.atan2((y - cy) / ry, (x - cx) / rx)
    span = (math.atan2((-y - cy) / ry, (-x - cx) / rx) - first) % math.tau
    span = span if sweep else span - math.tau
    middle = (
        cos * cx - sin * cy + (start[0] + end[0]) / 2.0,
        sin * cx + cos * cy + (start[1] + end[1]) / 2.0,
    )

    def at(angle: float, ahead: float = 0.0) -> Flat:
        """A point of the ellipse, or one so far ahead on its tangent."""
        u = rx * (math.cos(angle) - ahead * math.sin(angle))
        v = ry * (math.sin(angle) + ahead * math.cos(angle))
        return middle[0] + cos * u - sin * v, middle[1] + sin * u + cos * v

    count = max(1, math.ceil(abs(span) / (math.pi / 2.0) - 1e-9))
    part = span / count
    pull = 4.0 / 3.0 * math.tan(part / 4.0)
    angles = [first + part * number for number in range(count + 1)]
    return [(at(a, pull), at(b, -pull), at(b)) for a, b in pairwise(angles)]
