"""Reads a PDF back as a printer does: its lines in millimetres from the sheet's lower left, and its words."""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from pypdf import PageObject, PdfReader

MM = 25.4 / 72.0
"""Millimetres to the point (ISO 32000-1, 8.3.2.3, from memory)."""
Flat = tuple[float, float]
Matrix = tuple[float, float, float, float, float, float]
STRAIGHT: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
STEPS = 16
"""Into how many straights a Bézier curve is parted."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line as drawn: its points, how far it can be seen (left, bottom, right, top) [mm], its dashes."""

    points: tuple[Flat, ...]
    window: tuple[float, float, float, float]
    dashed: bool

    @property
    def seen(self) -> list[Flat]:
        left, bottom, right, top = self.window
        return [(x, y) for x, y in self.points if left <= x <= right and bottom <= y <= top]

    @property
    def length(self) -> float:
        """From its first point to its farthest along either axis [mm]."""
        across, up = ([point[axis] for point in self.points] for axis in (0, 1))
        return max(max(across) - min(across), max(up) - min(up))


@dataclass(slots=True)
class Sheet:
    """One page: its size [mm], lines drawn on it, areas filled, its words."""

    wide: float
    high: float
    strokes: list[Stroke] = field(default_factory=list)
    text: str = ""
    fills: list[tuple[Flat, ...]] = field(default_factory=list)


def sheets(content: bytes) -> list[Sheet]:
    return [_sheet(page) for page in PdfReader(io.BytesIO(content)).pages]


def print_scaling(content: bytes) -> str:
    """What the file asks of a printer about its scale."""
    root: Any = PdfReader(io.BytesIO(content)).trailer["/Root"]
    return str(root["/ViewerPreferences"]["/PrintScaling"])


def _sheet(page: PageObject) -> Sheet:
    box = page.mediabox
    found = Sheet(float(box.width) * MM, float(box.height) * MM, text=page.extract_text())
    for stroke, filled in _painted(page, (0.0, 0.0, found.wide, found.high)):
        if filled:
            found.fills.append(stroke.points)
        else:
            found.strokes.append(stroke)
    return found


def _painted(page: PageObject, whole: tuple[float, float, float, float]) -> Iterator[tuple[Stroke, bool]]:
    """Every line, and whether it is the edge of what is filled and no more.

    Under the matrix, the clip and the dashes that hold where it is drawn.
    """
    contents = page.get_contents()
    assert contents is not None
    state: tuple[Matrix, tuple[float, float, float, float], bool] = (STRAIGHT, whole, False)
    kept: list[tuple[Matrix, tuple[float, float, float, float], bool]] = []
    paths: list[list[Flat]] = []
    for operands, operator in contents.operations:
        matrix, window, dashed = state
        numbers = [float(one) for one in operands if isinstance(one, int | float)]
        match operator:
            case b"q":
                kept.append(state)
            case b"Q":
                state = kept.pop()
            case b"cm":
                a, b, c, d, e, f = numbers
                state = (_times((a, b, c, d, e, f), matrix), window, dashed)
            case b"d":
                state = (matrix, window, bool(operands[0]))
            case b"m":
                paths.append([_at(matrix, numbers)])
            case b"l":
                paths[-1].append(_at(matrix, numbers))
            case b"c":
                paths[-1] += _curve(paths[-1][-1], [_at(matrix, numbers[k : k + 2]) for k in (0, 2, 4)])
            case b"h":
                paths[-1].append(paths[-1][0])
            case b"re":
                x, y, w, h = numbers
                corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y))
                paths.append([_at(matrix, list(corner)) for corner in corners])
            case b"W" | b"W*":
                across, up = zip(*paths[-1], strict=True)
                state = (matrix, (min(across), min(up), max(across), max(up)), dashed)
            case b"n":
                paths = []
            case b"S" | b"s" | b"B" | b"b" | b"f" | b"f*":
                yield from ((Stroke(tuple(path), window, dashed), operator[:1] == b"f") for path in paths)
                paths = []


def _times(one: Matrix, other: Matrix) -> Matrix:
    a, b, c, d, e, f = one
    p, q, r, s, t, u = other
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


def _at(matrix: Matrix, point: list[float]) -> Flat:
    a, b, c, d, e, f = matrix
    x, y = point
    return (a * x + c * y + e) * MM, (b * x + d * y + f) * MM


def _curve(start: Flat, ends: list[Flat]) -> list[Flat]:
    """Points on a Bézier curve after its start."""
    found = []
    for step in range(1, STEPS + 1):
        t = step / STEPS
        parts = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x, y = (
            sum(p * point[axis] for p, point in zip(parts, (start, *ends), strict=True)) for axis in (0, 1)
        )
        found.append((x, y))
    return found
