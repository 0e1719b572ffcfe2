"""Photos on a printed sheet, so many in a row, each with its words."""

import io
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from server.web.paper import LEADING, PAD, SMALL, Strip
from server.web.paper_text import PLAIN, broken, draw

IN_A_ROW = 3
TALLEST = 1.0
"""Of a photo's height, to the width of its place: an upright one is made narrower."""
LINES = 3
"""Of a photo's words, at most."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture (JPEG) and its words. width, height: [pixels]."""

    content: bytes
    width: int
    height: int
    words: str

    @property
    def inside(self) -> str:
        """The picture as an address that holds it whole (RFC 2397)."""
        return f"data:image/jpeg;base64,{b64encode(self.content).decode()}"


@dataclass(frozen=True, slots=True)
class Photos:
    """Rows of photos, so many across."""

    photos: tuple[Photo, ...]
    across: int = IN_A_ROW

    def strips(self, wide: float) -> list[Strip]:
        """A strip a row: a photo is never torn apart."""
        place = wide / self.across - PAD
        found = []
        for first in range(0, len(self.photos), self.across):
            row = self.photos[first : first + self.across]
            tall = max(_size(photo, place)[1] for photo in row)
            said = max(len(broken(photo.words, PLAIN, SMALL, place)[:LINES]) for photo in row)
            height = tall + said * LEADING + 3 * PAD
            found.append(Strip(height, partial(_paint, row, place, tall)))
        return found


def _size(photo: Photo, place: float) -> tuple[float, float]:
    """Width and height on the sheet [pt]."""
    scale = min(place / photo.width, TALLEST * place / photo.height)
    return photo.width * scale, photo.height * scale


def _paint(
    row: Sequence[Photo], place: float, tall: float, canvas: Canvas, x: float, top: float, _wide: float
) -> None:
    for number, photo in enumerate(row):
        left = x + number * (place + PAD)
        width, height = _size(photo, place)
        picture = ImageReader(io.BytesIO(photo.content))
        canvas.drawImage(picture, left, top - PAD - height, width, height)
        for line, text in enumerate(broken(photo.words, PLAIN, SMALL, place)[:LINES], start=1):
            draw(canvas, left, top - PAD - tall - line * LEADING, text, PLAIN, SMALL)
