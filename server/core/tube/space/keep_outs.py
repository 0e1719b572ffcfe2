"""What a pipe must stay clear of: balls, capsules and boxes, each with the gap that it needs.

Distances are from points to the surface, below zero inside. Source: geometry.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.core.tube.space.vectors import Vector, any_square_to, vector

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Capsule:
    """A round bar with round ends; a ball where both ends are one point.

    start, end: of its middle line [m], shape (3,). radius, gap: [m]; gap is what must stay free round it.
    """

    start: Vector
    end: Vector
    radius: float
    gap: float

    def distance(self, points: Floats) -> Floats:
        """From points, shape (..., 3) [m], to the surface, shape (...) [m]."""
        along = self.end - self.start
        square = float(along @ along)
        share = np.clip((points - self.start) @ along / square, 0.0, 1.0) if square > 0.0 else 0.0
        nearest = self.start + np.asarray(share)[..., None] * along
        return _length(points - nearest) - self.radius


def ball(centre: Vector, radius: float, gap: float) -> Capsule:
    """A ball. centre: [m], shape (3,). radius, gap: [m]."""
    return Capsule(centre, centre, radius, gap)


@dataclass(frozen=True, slots=True)
class Box:
    """A box. centre, half_sizes: [m], shape (3,). axes: its edges as unit rows, shape (3, 3) [-].

    gap: what must stay free round it [m].
    """

    centre: Vector
    half_sizes: Vector
    axes: Floats
    gap: float

    def distance(self, points: Floats) -> Floats:
        """From points, shape (..., 3) [m], to the surface, shape (...) [m]."""
        beyond = np.abs((points - self.centre) @ self.axes.T) - self.half_sizes
        return np.asarray(_length(np.maximum(beyond, 0.0)) + np.minimum(beyond.max(axis=-1), 0.0))


KeepOut = Capsule | Box


def _length(offsets: Floats) -> Floats:
    """Of each offset, shape (..., 3): a third of the time that numpy's norm takes."""
    return np.asarray(np.sqrt(np.einsum("...i,...i->...", offsets, offsets)))


@dataclass(frozen=True, slots=True)
class Solids:
    """Keep-outs as arrays, each a box with rounded edges: a capsule's has one size, a ball's none.

    centres, half_sizes: (n, 3) [m]. axes: unit rows, (n, 3, 3) [-]. rounding: (n,) [m]. gaps: (n,) [m].
    """

    centres: Floats
    half_sizes: Floats
    axes: Floats
    rounding: Floats
    gaps: Floats

    def room(self, points: Floats, half: float) -> Floats:
        """By how much each gap is more than held by a pipe through points, shape (n, ...) [m].

        points: x, y and z first, shape (3, n or 1, ...) [m]. half: half the outside diameter [m].
        """
        wide = (-1, *[1] * (points.ndim - 2))
        x, y, z = (part - centre.reshape(wide) for part, centre in zip(points, self.centres.T, strict=True))
        outside, deepest = np.zeros(x.shape), np.full(x.shape, -np.inf)
        for axis, size in zip(self.axes.transpose(1, 2, 0), self.half_sizes.T, strict=True):
            ahead, left, up = (part.reshape(wide) for part in axis)
            beyond = x * ahead
            beyond += y * left
            beyond += z * up
            np.abs(beyond, out=beyond)
            beyond -= size.reshape(wide)
            np.maximum(deepest, beyond, out=deepest)
            np.maximum(beyond, 0.0, out=beyond)
            beyond *= beyond
            outside += beyond
        asked = self.rounding + self.gaps + half
        found = np.sqrt(outside, out=outside)
        found += np.minimum(deepest, 0.0)
        found -= asked.reshape(wide)
        return found


def solids(keep_outs: Sequence[KeepOut]) -> Solids:
    """Keep-outs as arrays, so that all are looked at in one pass; one or more."""
    each = [_rounded(one) for one in keep_outs]
    centres, half_sizes, axes, rounding = (np.array(part) for part in zip(*each, strict=True))
    return Solids(centres, half_sizes, axes, rounding, np.array([one.gap for one in keep_outs]))


def _rounded(one: KeepOut) -> tuple[Vector, Vector, Floats, float]:
    """Centre, half sizes, axes and rounding of a keep-out."""
    if isinstance(one, Box):
        return one.centre, one.half_sizes, one.axes, 0.0
    along = one.end - one.start
    span = float(np.linalg.norm(along))
    way = along / span if span > 0.0 else vector([1.0, 0.0, 0.0])
    beside = any_square_to(way)
    axes = np.array([way, beside, np.cross(way, beside)])
    return 0.5 * (one.start + one.end), vector([0.5 * span, 0.0, 0.0]), axes, one.radius


def room(points: Floats, keep_outs: Sequence[KeepOut], half: float) -> Floats:
    """By how much each keep-out's gap is more than held by a pipe through these points [m].

    points: of the centre line, shape (..., points, 3) [m]. half: half the outside diameter [m]. Shape
    (..., keep-outs): the least over the points, below zero where the pipe is too near.
    """
    each = [shape.distance(points).min(axis=-1) - shape.gap - half for shape in keep_outs]
    return np.stack(each, axis=-1) if each else np.empty((*points.shape[:-2], 0))
