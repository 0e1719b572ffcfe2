"""Where a point is, from three tapes to three known points: two answers, one on each side of their plane."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from server.core.tube.space.vectors import Vector
from server.core.units import Kind, System, show

FLATTEST = 1e-3
"""Sine of the least angle that three points may make to be a triangle [-]; about a twentieth of a degree."""


@dataclass(frozen=True, slots=True)
class Tape:
    """One distance. point: where the tape is hooked, shape (3,) [m]. distance, doubt: [m]."""

    point: Vector
    distance: float
    doubt: float


@dataclass(frozen=True, slots=True)
class Fix:
    """One of the two places. point: [m]. doubt: one standard uncertainty along each axis, shape (3,) [m].

    worst: the greatest one in any direction [m].
    """

    point: Vector
    doubt: Vector
    worst: float


@dataclass(frozen=True, slots=True)
class Fixes:
    """What three tapes tell. fixes: two, above the plane of the points first; one where they meet in it; none
    with the reason. short: by how much the tapes miss each other [m]. notes: what to know.
    """

    fixes: tuple[Fix, ...]
    reason: str = ""
    short: float = 0.0
    notes: tuple[str, ...] = ()


def fixes(tapes: Sequence[Tape]) -> Fixes:
    """The two places that three tapes leave.

    tapes: three. The first of the two lies on the side from which the points are seen counter-clockwise in
    their order. Source: geometry, three spheres; doubt by JCGM 100:2008, 5.1.2: the tapes' directions are the
    rows of the Jacobian. Near the plane of the points the doubt across it grows without end, and is told so.
    """
    first, second, third = (tape.point for tape in tapes)
    along = second - first
    span = float(np.linalg.norm(along))
    beside = third - first
    reach = float(np.linalg.norm(beside))
    if span == 0.0 or reach == 0.0 or np.linalg.norm(np.cross(along, beside)) < FLATTEST * span * reach:
        return Fixes((), _IN_LINE)
    x_axis = along / span
    offset = float(beside @ x_axis)
    y_axis = beside - offset * x_axis
    height = float(np.linalg.norm(y_axis))
    y_axis = y_axis / height
    r1, r2, r3 = (tape.distance for tape in tapes)
    x = (r1**2 - r2**2 + span**2) / (2.0 * span)
    y = (r1**2 - r3**2 + offset**2 + height**2 - 2.0 * offset * x) / (2.0 * height)
    left = r1**2 - x**2 - y**2
    foot = first + x * x_axis + y * y_axis
    if left < 0.0:
        return _no_meeting(tapes, foot)
    z = math.sqrt(left) * np.cross(x_axis, y_axis)
    if left == 0.0:
        return Fixes((Fix(foot, np.full(3, math.inf), math.inf),), notes=(_IN_PLANE,))
    both = (_fix(tapes, foot + z), _fix(tapes, foot - z))
    flat = any(one.worst > 10.0 * max(tape.doubt for tape in tapes) > 0.0 for one in both)
    return Fixes(both, notes=(_NEAR_PLANE,) if flat else ())


_IN_LINE = "The three points stand in one line, or two are the same: choose them as a triangle."
_IN_PLANE = "The place lies in the plane of the three points: across it the tapes tell nothing."
_NEAR_PLANE = "The place lies near the plane of the three points, so a small error of a tape moves it far."


def _no_meeting(tapes: Sequence[Tape], foot: Vector) -> Fixes:
    gaps = [float(np.linalg.norm(foot - tape.point)) - tape.distance for tape in tapes]
    short = max(gaps)
    shown = show(short, Kind.length, System.metric).text
    return Fixes((), f"The tapes don't meet: they miss each other by {shown}. Read them again.", short)


def _fix(tapes: Sequence[Tape], point: Vector) -> Fix:
    """The place with its doubt: the tapes pull along their own directions."""
    pulls = np.array([(point - tape.point) / tape.distance for tape in tapes])
    doubts = np.array([tape.doubt for tape in tapes])
    moved = np.linalg.solve(pulls, np.diag(doubts))
    spread = moved @ moved.T
    return Fix(point, np.sqrt(np.diag(spread)), float(np.sqrt(np.linalg.eigvalsh(spread)[-1])))
