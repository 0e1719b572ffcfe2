"""Turns of a pipe after its first bend, as they are typed: what a row holds, and what no pipe does."""

from collections.abc import Sequence
from math import pi, radians

from server.core.checks.figures import Column
from server.core.units import Kind

TURN_COLUMNS = (
    Column("roll", Kind.angle, "deg"),
    Column("angle", Kind.angle, "deg"),
    Column("radius", Kind.length, "mm"),
    Column("straight after it", Kind.length, "mm"),
)
"""Of a row as it is typed."""
TURN_HINTS = (
    "as 90°; 45°; 95 mm; 120 mm",
    "a roll up to 360°, an angle up to 170°, a radius up to 2 m or 0 for a mitre, a straight up to 5 m",
)
"""A row as typed, and what is accepted."""
MOST_TURN, WIDEST, LONGEST = radians(170.0), 2.0, 5.0
"""Angle [rad], radius and straight [m] that no pipe under a car goes beyond; common practice, no source."""


def turn_fault(rows: Sequence[Sequence[float]]) -> str | None:
    """Why rows of roll, angle [rad], radius, straight [m] are no turns; None where they are."""
    for number, (roll, angle, radius, straight) in enumerate(rows, 1):
        if not 0.0 < angle <= MOST_TURN + 1e-9:
            return f"Row {number} does not turn, or turns back on itself."
        if roll > 2.0 * pi + 1e-9 or radius > WIDEST or straight > LONGEST:
            return f"Row {number} is out of all measure."
    return None
