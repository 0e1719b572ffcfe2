"""A pattern at full size: what is cut, what is marked, and words, ready for paper or a cutter.

Lengths in [m], x to the right, y up. Layers part what a blade follows from what a pencil does.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

Flat = tuple[float, float]
"""A point of the pattern [m]."""


class Layer(StrEnum):
    """What a line is for; the value names its layer in files."""

    CUT = "CUT"
    MARK = "MARK"


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points [m]."""

    layer: Layer
    points: tuple[Flat, ...]
    closed: bool = False
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle: centre and radius [m]."""

    layer: Layer
    centre: Flat
    radius: float
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """A word on the pattern.

    at: its baseline's start, middle or end [m], as `anchor` says; size: height of capitals and a little
    more [m]; upright: read from below, or from the right where it is not.
    """

    text: str
    at: Flat
    size: float = 0.003
    anchor: str = "start"
    upright: bool = True


@dataclass(frozen=True, slots=True)
class Pattern:
    """Everything on a pattern. told: what a reader must know to use it, a sentence each."""

    title: str
    told: tuple[str, ...]
    lines: tuple[Line, ...]
    rings: tuple[Ring, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top of all lines and circles [m]."""
        points = list(self._corners())
        across, up = [x for x, _ in points], [y for _, y in points]
        return min(across), min(up), max(across), max(up)

    def _corners(self) -> Iterator[Flat]:
        for line in self.lines:
            yield from line.points
        for ring in self.rings:
            (x, y), r = ring.centre, ring.radius
            yield from ((x - r, y - r), (x + r, y + r))


def mm(value: float) -> str:
    """A length as a rule reads it, with its unit [from m].

    >>> mm(0.0635), mm(0.12), mm(0.199805)
    ('63.5 mm', '120 mm', '199.8 mm')
    """
    return f"{plain(value * 1e3, 1)} mm"


def degree(angle: float) -> str:
    """An angle to a twentieth of a degree or finer [from °].

    >>> degree(11.25), degree(45.0)
    ('11.25°', '45°')
    """
    return f"{plain(angle, 2)}°"


def plain(value: float, places: int) -> str:
    """A figure without noughts that say nothing.

    >>> plain(2.50, 2), plain(-0.001, 1), plain(100.0, 1)
    ('2.5', '0', '100')
    """
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text.replace("-", "−")
