"""Points and directions in car axes: x forward, y left, z up, right-handed (ISO 8855). Lengths in [m]."""

import math

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
"""A point [m] or a direction [-], shape (3,)."""
Floats3x3 = NDArray[np.float64]
"""Three unit directions as rows, shape (3, 3) [-]."""


def vector(parts: tuple[float, ...] | list[float] | Vector) -> Vector:
    """Three numbers as a point [m] or a direction [-], shape (3,)."""
    return np.asarray(parts, dtype=np.float64)


def unit(direction: Vector) -> Vector:
    """The direction with length 1 [-]. Raises ValueError for one without length."""
    length = float(np.linalg.norm(direction))
    if not length > 0.0 or not math.isfinite(length):
        raise ValueError("a direction needs a length")
    return direction / length


def cross(one: Vector, other: Vector) -> Vector:
    """The vector product [the product of their units]; of two single vectors numpy's takes ten times as long.

    Source: geometry.
    """
    (a, b, c), (x, y, z) = one.tolist(), other.tolist()
    return np.array([b * z - c * y, c * x - a * z, a * y - b * x])


def angle_between(one: Vector, other: Vector) -> float:
    """Angle between two directions of any length, 0 to π [rad].

    By atan2 of what is across and what is along, which keeps its digits near 0 and π.
    """
    return math.atan2(float(np.linalg.norm(cross(one, other))), float(one @ other))


def rolled(axis: Vector, one: Vector, other: Vector) -> float:
    """Angle by which `one` is turned right-handed about `axis`, a unit vector, to lie over `other` [rad].

    Both are taken square to the axis; in (−π, π].
    """
    return math.atan2(float(axis @ cross(one, other)), float(across(one, axis) @ across(other, axis)))


def across(direction: Vector, axis: Vector) -> Vector:
    """The part of a direction [-] that is square to a unit axis."""
    return direction - (direction @ axis) * axis


def turn(direction: Vector, axis: Vector, angle: float) -> Vector:
    """A direction turned right-handed about a unit axis by an angle [rad]. Source: Rodrigues' formula."""
    return (
        math.cos(angle) * direction
        + math.sin(angle) * cross(axis, direction)
        + (1.0 - math.cos(angle)) * float(axis @ direction) * axis
    )


def any_square_to(direction: Vector) -> Vector:
    """A unit vector [-] square to a unit direction: along the least of its axes, so that digits are kept."""
    least = int(np.argmin(np.abs(direction)))
    axis = np.zeros(3)
    axis[least] = 1.0
    return unit(across(axis, direction))
