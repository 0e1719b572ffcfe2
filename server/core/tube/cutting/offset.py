"""Two equal fittings that take a pipe from one line to another beside and above it: a rolling offset."""

from dataclasses import dataclass
from math import atan2, hypot, sin, tan


@dataclass(frozen=True, slots=True)
class RollingOffset:
    """The way between two parallel lines.

    true_offset: distance between the lines [m]. travel: corner to corner [m]. advance: how far it goes along
    the lines [m]. roll: of the plane it lies in, from level [rad].
    """

    true_offset: float
    travel: float
    advance: float
    roll: float


def rolling_offset(rise: float, offset: float, fitting: float) -> RollingOffset:
    """The way between two parallel lines through two equal fittings.

    rise: up [m]; offset: sideways [m], either sign. fitting: turn of each [rad], over 0 and up to a right
    angle, where it goes straight across. Source: pipe fitters' rule; geometry.

    >>> from math import radians
    >>> found = rolling_offset(12.0, 16.0, radians(45.0))
    >>> found.true_offset, round(found.travel, 4), round(found.advance, 4)
    (20.0, 28.2843, 20.0)
    """
    apart = hypot(rise, offset)
    return RollingOffset(apart, apart / sin(fitting), apart / tan(fitting), atan2(rise, offset))
