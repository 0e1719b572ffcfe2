"""The two bars that tell whether a pattern came out at full size: 100 mm and 4 in."""

from server.core.tube.cutting.pattern import Layer, Line, Note
from server.core.units import INCH

METRIC, INCHES = 0.1, 4.0 * INCH
"""Lengths of the bars [m]."""
TICK = 0.0015
"""Half the height of a bar's end mark [m]."""
BELOW = 20.0
"""Room that both take under a pattern in a file without sheets [mm]."""


def bar(x: float, y: float, length: float, upright: bool = False) -> Line:
    """A bar with an end mark at either end, in one stroke, from its left or lower end [m]."""
    return Line(
        Layer.MARK,
        tuple(
            (x + across, y + a) if upright else (x + a, y + across)
            for a, across in (
                (0.0, TICK), (0.0, -TICK), (0.0, 0.0), (length, 0.0), (length, TICK), (length, -TICK),
            )
        ),
    )  # fmt: skip


def scale_lines(left: float, bottom: float) -> tuple[Line, Line]:
    """Both bars under a pattern, one under the other; its lower left corner [mm]."""
    x, y = left * 1e-3, bottom * 1e-3
    return bar(x, y - 0.008, METRIC), bar(x, y - 0.015, INCHES)


def scale_notes(left: float, bottom: float) -> tuple[Note, Note]:
    """What the bars are, over each."""
    x, y = left * 1e-3, bottom * 1e-3
    return Note("100 mm", (x + 0.002, y - 0.0072), 0.003), Note("4 in", (x + 0.002, y - 0.0142), 0.003)
