"""Bends as a parts list words them: outside, wall, angle and radius read back from the words."""

import math
import re
from dataclasses import dataclass

_TUBE = re.compile(r"(\d+(?:[.,]\d+)?) ?(?:mm)? ?[×x] ?(\d+(?:[.,]\d+)?)(?: ?mm)?")
_ANGLE = re.compile(r"(\d+(?:[.,]\d+)?) ?°")
_RADIUS = re.compile(r"(?:\bradius|\bR) ?(\d+(?:[.,]\d+)?)", re.IGNORECASE)
_LEGS = re.compile(r"\blegs? (\d+(?:[.,]\d+)?)(?: and (\d+(?:[.,]\d+)?))?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class BoughtBend:
    """A bend of a parts list. outside, wall, radius, leg_in, leg_out: [m]. angle: [rad]."""

    outside: float
    wall: float
    angle: float
    radius: float
    leg_in: float = 0.0
    leg_out: float = 0.0


def bend_of(words: str) -> BoughtBend | None:
    """The bend that a part's words tell, lengths in mm; None where they don't tell all of it.

    >>> bend_of("Aluminium bend 60 × 1.5 mm, 90°, R 90").radius
    0.09
    """
    tube, angle, radius = (one.search(words) for one in (_TUBE, _ANGLE, _RADIUS))
    if tube is None or angle is None or radius is None:
        return None
    bend, turn = _mm(radius[1]), math.radians(_number(angle[1]))
    outside, wall = _mm(tube[1]), _mm(tube[2])
    if not (0.0 < turn < math.pi and 2.0 * wall < outside < 2.0 * bend):
        return None
    legs = _LEGS.search(words)
    leg_in = _mm(legs[1]) if legs else 0.0
    return BoughtBend(outside, wall, turn, bend, leg_in, _mm(legs[2]) if legs and legs[2] else leg_in)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _mm(text: str) -> float:
    return _number(text) / 1000.0
