"""Many routes at once as arrays: corners to straights, angles, lengths and points along the way.

Rows are routes of one number of bends k. A row's unknowns are `a` and `b`, with three bends its middle corner
too: the first corner lies `a` ahead of the start, the last `b` before the end: every row meets both ends.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from server.core.tube.route.problem import LEAST_ANGLE, Asked, BendKind, End
from server.core.tube.space.keep_outs import Floats, Solids, solids

STEEPEST = np.pi - 1e-3
"""Angle up to which a corner still has a take-off [rad]."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What stays while routes are sought. near: the keep-outs, None without any. half: of the pipe [m]."""

    start: End
    end: End
    near: Solids | None
    half: float


def scene_of(asked: Asked) -> Scene:
    """The poses and keep-outs of a problem, made ready once."""
    near = solids(asked.keep_outs) if asked.keep_outs else None
    return Scene(asked.start, asked.end, near, 0.5 * asked.outside)


@dataclass(frozen=True, slots=True)
class Orders:
    """The bends of each row, in order. radii: (n, k) [m]. low, high: least and greatest angle, (n, k) [rad].

    least: what each straight must have, (n, k + 1) [m].
    """

    radii: Floats
    low: Floats
    high: Floats
    least: Floats

    def of(self, rows: NDArray[np.intp]) -> "Orders":
        """These rows, in this order; one may come more than once."""
        return Orders(self.radii[rows], self.low[rows], self.high[rows], self.least[rows])

    def with_(self, other: "Orders") -> "Orders":
        """These rows, then those."""
        return Orders(
            np.concatenate([self.radii, other.radii]),
            np.concatenate([self.low, other.low]),
            np.concatenate([self.high, other.high]),
            np.concatenate([self.least, other.least]),
        )


def orders_of(asked: Asked, orders: Sequence[tuple[BendKind, ...]]) -> Orders:
    """Orders of bends as arrays, a row each."""
    high = np.array([[kind.angle for kind in kinds] for kinds in orders])
    cut = np.array([[kind.may_cut_down for kind in kinds] for kinds in orders])
    return Orders(
        np.array([[kind.radius for kind in kinds] for kinds in orders]),
        np.where(cut, np.minimum(LEAST_ANGLE, high), high),
        high,
        np.array([least_straights(asked, kinds) for kinds in orders]),
    )


def least_straights(asked: Asked, kinds: Sequence[BendKind]) -> Floats:
    """What each straight must have: the shortest one, or the legs of the bends beside it if longer [m]."""
    legs_in = [*(kind.leg_in for kind in kinds), 0.0]
    legs_out = [0.0, *(kind.leg_out for kind in kinds)]
    return np.maximum(np.add(legs_in, legs_out), asked.shortest_straight)


@dataclass(frozen=True, slots=True)
class Paths:
    """Routes as arrays. corners: (3, n, k + 2) [m]. ways: unit directions of the legs, (3, n, k + 1).

    angles, radii, take_offs: (n, k) [rad], [m], [m]. straights: tangent point to tangent point,
    (n, k + 1) [m]. length: along the centre line, (n,) [m].
    """

    corners: Floats
    ways: Floats
    angles: Floats
    radii: Floats
    take_offs: Floats
    straights: Floats
    length: Floats

    def of(self, rows: NDArray[np.intp]) -> "Paths":
        """These rows, in this order."""
        return Paths(
            self.corners[:, rows],
            self.ways[:, rows],
            self.angles[rows],
            self.radii[rows],
            self.take_offs[rows],
            self.straights[rows],
            self.length[rows],
        )


def corners_of(scene: Scene, unknowns: Floats) -> Floats:
    """Corners with both ends, shape (3, n, k + 2), from unknowns of shape (n, 2) or (n, 5) [m].

    x, y and z come first: arrays whose last axis is short take numpy several times as long.
    """
    start, end = scene.start, scene.end
    corners = np.empty((3, len(unknowns), 4 if unknowns.shape[1] == 2 else 5))
    corners[:, :, 0], corners[:, :, -1] = start.point[:, None], end.point[:, None]
    corners[:, :, 1] = start.point[:, None] + unknowns[:, 0] * start.flow[:, None]
    corners[:, :, -2] = end.point[:, None] - unknowns[:, 1] * end.flow[:, None]
    if unknowns.shape[1] == 5:
        corners[:, :, 2] = unknowns[:, 2:].T
    return corners


def paths(scene: Scene, orders: Orders, unknowns: Floats) -> Paths:
    """Routes through these bends; the first and the last leg keep the poses' directions."""
    corners = corners_of(scene, unknowns)
    ways = corners[:, :, 1:] - corners[:, :, :-1]
    lengths = np.sqrt(_square(ways))
    ways /= np.maximum(lengths, 1e-12)
    ways[:, :, 0], ways[:, :, -1] = scene.start.flow[:, None], scene.end.flow[:, None]
    lengths[:, 0], lengths[:, -1] = unknowns[:, 0], unknowns[:, 1]
    apart, together = ways[:, :, 1:] - ways[:, :, :-1], ways[:, :, 1:] + ways[:, :, :-1]
    tangents = np.sqrt(_square(apart) / np.maximum(_square(together), 1e-12))
    angles = 2.0 * np.arctan(tangents)
    take_offs = orders.radii * np.minimum(tangents, np.tan(0.5 * STEEPEST))
    straights = lengths
    straights[:, :-1] -= take_offs
    straights[:, 1:] -= take_offs
    length = over_columns(straights) + over_columns(orders.radii * angles)
    return Paths(corners, ways, angles, orders.radii, take_offs, straights, length)


def _square(vectors: Floats) -> Floats:
    """Of each vector, x, y and z first, with itself."""
    x, y, z = vectors
    return np.asarray(x * x + y * y + z * z)


def over_columns(rows: Floats) -> Floats:
    """The sum of each row: column by column, as numpy takes several times as long over short rows."""
    return np.asarray(reduce(np.add, rows.T))


def points_at(found: Paths, shares: Floats) -> Floats:
    """Points at shares of each piece, shape (3, s, n, 2 k + 1) [m]: the straights in order, then the arcs.

    shares: from 0 to 1, shape (s, n or 1, 2 k + 1).
    """
    bends = found.angles.shape[1]
    before, after = found.ways[:, None, :, :-1], found.ways[:, None, :, 1:]
    inner = found.corners[:, None, :, 1:-1]
    into = inner - found.take_offs * before
    out_of = inner + found.take_offs * after
    begins = np.concatenate([found.corners[:, None, :, :1], out_of], axis=3)
    ends = np.concatenate([into, found.corners[:, None, :, -1:]], axis=3)
    points = np.empty((3, len(shares), begins.shape[2], 2 * bends + 1))
    straight, arc = points[..., : bends + 1], points[..., bends + 1 :]
    np.add(begins, shares[..., : bends + 1] * (ends - begins), out=straight)
    turned = shares[..., bends + 1 :] * found.angles
    inward = after - np.cos(found.angles) * before
    inward *= found.radii / np.maximum(np.sin(found.angles), 1e-12)
    np.add(into, np.sin(turned) * (found.radii * before), out=arc)
    arc += (1.0 - np.cos(turned)) * inward
    return points
