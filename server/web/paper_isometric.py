"""The isometric drawing of a run on a printed sheet: the very lines that its page shows from that side."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from server.core.tube.isometric.sheet import Balloon, Drawn, Sheet, Word
from server.web.paper import Strip
from server.web.paper_drawing import drawn
from server.web.paper_text import BOLD, draw, letters, width_of

LARGEST = 0.95
"""Points to a sheet unit at most: words stay the size of words, and it stands under a list on one page."""
SIZE, ROUND = 10.0, 12.0
"""Of letters and of a balloon [sheet units]."""
WIDTHS = {"pipe": 3.4, "tick": 2.0, "thin": 0.8, "axis": 1.2, "helper": 0.8, "hatch": 0.4, "ghost": 0.5}
"""Of lines by their class [sheet units]."""
DASHES = {"helper": (4.0, 3.0), "ghost": (1.5, 2.5)}
_NUMBERS = re.compile(r"-?\d*\.?\d+")


@dataclass(frozen=True, slots=True)
class IsometricPicture:
    """A run's isometric drawing, in the middle of the sheet's width; not to scale, as such drawings are."""

    sheet: Sheet

    def strips(self, wide: float) -> list[Strip]:
        """One strip: a drawing stands on one page."""
        size = float(self.sheet.size)
        points = min(wide / size, LARGEST)

        def paint(canvas: Canvas, x: float, top: float, room: float) -> None:
            canvas.saveState()
            canvas.translate(x + (room - size * points) / 2.0, top + float(self.sheet.top) * points)
            canvas.scale(points, -points)
            _paint(canvas, self.sheet)
            canvas.restoreState()

        return [Strip(float(self.sheet.height) * points + 6.0, paint)]


def _paint(canvas: Canvas, sheet: Sheet) -> None:
    canvas.setLineJoin(1)
    canvas.setLineCap(1)
    _lines(canvas, (*sheet.ghosts, *sheet.thin))
    for under, one in sheet.runs:
        canvas.saveState()
        canvas.setStrokeGray(1.0)
        canvas.setLineCap(0)
        canvas.setLineWidth(WIDTHS["pipe"] + 5.0)
        canvas.drawPath(drawn(canvas, under.d), stroke=1, fill=0)
        canvas.restoreState()
        _lines(canvas, (one,))
    for head in sheet.heads:
        if head.d:
            canvas.drawPath(drawn(canvas, head.d), stroke=0, fill=1)
    _lines(canvas, sheet.axes)
    for balloon in sheet.balloons:
        _balloon(canvas, balloon)
    for word in (*sheet.words, *(one for one in sheet.axis_words if not one.css)):
        _word(canvas, word)


def _lines(canvas: Canvas, paths: Iterable[Drawn]) -> None:
    for path in paths:
        canvas.saveState()
        canvas.setLineWidth(WIDTHS.get(path.css, WIDTHS["thin"]))
        if path.css in DASHES:
            canvas.setDash(list(DASHES[path.css]))
        canvas.drawPath(drawn(canvas, path.d), stroke=1, fill=0)
        canvas.restoreState()


def _balloon(canvas: Canvas, balloon: Balloon) -> None:
    x, y = map(float, _NUMBERS.findall(balloon.transform))
    canvas.saveState()
    canvas.translate(x, y)
    canvas.setLineWidth(WIDTHS["thin"])
    canvas.drawPath(drawn(canvas, f"M0 0L{balloon.leader}"), stroke=1, fill=0)
    canvas.setFillGray(1.0)
    canvas.setLineWidth(2.0)
    canvas.circle(float(balloon.x), float(balloon.y), ROUND, stroke=1, fill=1)
    canvas.setFillGray(0.0)
    _text(canvas, str(balloon.number), float(balloon.x), float(balloon.text_y))
    canvas.restoreState()


def _word(canvas: Canvas, word: Word) -> None:
    """Along its line, a little over it."""
    x, y, turn = map(float, _NUMBERS.findall(word.transform))
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(turn)
    _text(canvas, word.text, 0.0, -4.0, halo=True)
    canvas.restoreState()


def _text(canvas: Canvas, text: str, x: float, y: float, *, halo: bool = False) -> None:
    """Words round a point, upright although the sheet's y goes down; a white rim keeps lines off them."""
    line = letters(text, BOLD)
    canvas.saveState()
    canvas.translate(x - width_of(line, BOLD, SIZE) / 2.0, y)
    canvas.scale(1.0, -1.0)
    if halo:
        canvas.setStrokeGray(1.0)
        canvas.setLineWidth(3.0)
        draw(canvas, 0.0, 0.0, line, BOLD, SIZE, mode=1)
    canvas.setFillGray(0.0)
    draw(canvas, 0.0, 0.0, line, BOLD, SIZE)
    canvas.restoreState()
