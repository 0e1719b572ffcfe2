"""The line map on a printed sheet: the very strokes and words that the page shows, on one page.

The air's drawing stands at the left, the others one under the other at its right.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from reportlab.pdfgen.canvas import Canvas

from server.core.lines.drawing import Item, Picture, Stroke, Word
from server.web.paper import Strip
from server.web.paper_drawing import Pen, drawn
from server.web.paper_text import BOLD, PLAIN, draw, letters, width_of

APART = 30.0
"""Between the drawings [sheet units]."""
TITLE = 18.0
"""Height of the letters of a drawing's title [sheet units]."""

PENS = {
    "bar": Pen(2.0, fill=0.9),
    "rail": Pen(1.5, fill=0.9),
    "shelf": Pen(1.5, fill=0.9),
    "box": Pen(1.5, fill=1.0),
    "above": Pen(5.0),
    "below": Pen(3.0, (9.0, 5.0)),
    "unsure": Pen(3.0, (2.0, 5.0)),
    "worked": Pen(1.5, (4.0, 3.0)),
    "bad": Pen(15.0),
    "mark": Pen(fill=0.0, stroke=False),
    "flow": Pen(fill=0.0, stroke=False),
    "stop": Pen(4.0),
    "ring": Pen(2.5, fill=1.0),
    "balloon": Pen(2.0, fill=1.0),
}
"""The look of the page's style sheet, in black on white, by the classes of a stroke."""
GREY = {"bad": 0.72}
"""Of a stroke that lies under others."""
WORDS = {"head": (15.0, BOLD), "name": (13.0, BOLD), "number": (14.0, BOLD), "letter": (15.0, BOLD)}
SMALL = (12.0, PLAIN)
"""Size and typeface of words."""


@dataclass(frozen=True, slots=True)
class LineMaps:
    """The drawings of a map, the air's first, as large as one page takes them. high: of that page [pt]."""

    pictures: tuple[Picture, ...]
    high: float

    def strips(self, wide: float) -> list[Strip]:
        """One strip: the map stands on one page."""
        if not self.pictures:
            return []
        scale = scale_of(self.pictures, wide, self.high)
        _, tall = _size(self.pictures)

        def paint(canvas: Canvas, x: float, top: float, _wide: float) -> None:
            canvas.saveState()
            canvas.translate(x, top)
            canvas.scale(scale, -scale)
            canvas.setLineJoin(1)
            for right, down, picture in _placed(self.pictures):
                _paint(canvas, picture, right, down)
            canvas.restoreState()

        return [Strip(tall * scale, paint)]


def scale_of(pictures: tuple[Picture, ...], wide: float, high: float) -> float:
    """Points a sheet unit at which the drawings fit a page [pt]."""
    across, tall = _size(pictures)
    return min(wide / across, high / tall)


def _placed(pictures: tuple[Picture, ...]) -> Iterator[tuple[float, float, Picture]]:
    """Each drawing with its place, right and down [sheet units]."""
    first, *others = pictures
    yield 0.0, 0.0, first
    down = 0.0
    for picture in others:
        yield first.width + APART, down, picture
        down += TITLE + picture.height + APART


def _size(pictures: tuple[Picture, ...]) -> tuple[float, float]:
    """How wide and tall they are together [sheet units]."""
    placed = list(_placed(pictures))
    return (
        max(right + picture.width for right, _, picture in placed),
        max(down + TITLE + picture.height for _, down, picture in placed),
    )


def _paint(canvas: Canvas, picture: Picture, right: float, down: float) -> None:
    canvas.saveState()
    canvas.translate(right, down + TITLE)
    _said(canvas, picture.title, 0.0, -5.0, (TITLE - 4.0, BOLD))
    for item in picture.items:
        _thing(canvas, item)
    canvas.restoreState()


def _thing(canvas: Canvas, item: Item) -> None:
    for stroke in item.strokes:
        _stroke(canvas, stroke)
    for word in item.words:
        _word(canvas, word)


def _pen(classes: Iterable[str]) -> Pen:
    pen = next((PENS[one] for one in classes if one in PENS), Pen(1.5))
    return replace(pen, dashes=(4.0, 3.0)) if "again" in classes else pen


def _stroke(canvas: Canvas, stroke: Stroke) -> None:
    classes = stroke.css.split()
    pen = _pen(classes)
    canvas.saveState()
    canvas.translate(stroke.x, stroke.y)
    canvas.setLineWidth(pen.width)
    canvas.setStrokeGray(next((GREY[one] for one in classes if one in GREY), 0.0))
    if pen.dashes:
        canvas.setDash(list(pen.dashes))
    if pen.fill is not None:
        canvas.setFillGray(pen.fill)
    canvas.drawPath(drawn(canvas, stroke.d), stroke=int(pen.stroke), fill=int(pen.fill is not None))
    canvas.restoreState()


def _word(canvas: Canvas, word: Word) -> None:
    classes = word.css.split()
    look = next((WORDS[one] for one in classes if one in WORDS), SMALL)
    wide = width_of(letters(word.text, look[1]), look[1], look[0])
    back = wide / 2.0 if {"number", "letter"} & set(classes) else wide if "passed" in classes else 0.0
    _said(canvas, word.text, word.x - back, word.y, look, white="letter" in classes)


def _said(
    canvas: Canvas, text: str, x: float, y: float, look: tuple[float, str], *, white: bool = False
) -> None:
    """Words upright, although the sheet's y goes down."""
    size, font = look
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(1.0, -1.0)
    canvas.setFillGray(1.0 if white else 0.0)
    draw(canvas, 0.0, 0.0, letters(text, font), font, size)
    canvas.restoreState()
