"""Many routes at once as arrays: corners to straights, angles, lengths and points along the way.

Rows are routes of one number of bends k. A row's unknowns are `a` and `b`, with three bends its middle corner
too: the first corner lies `a` ahead of the start, the last `b` before the end: every row meets both ends.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.core.tube.route.problem import LEAST_ANGLE, Asked, BendKind
from server.core.tube.space.keep_outs import Floats

STEEPEST = np.pi - 1e-3
"""Angle up to which a corner still has a take-off [rad]."""


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
    """Routes as arrays. corners: (n, k + 2, 3) [m]. ways: unit directions of the legs, (n, k + 1, 3).

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


def corners_of(asked: Asked, unknowns: Floats) -> Floats:
    """Corners with both ends, shape (n, k + 2, 3), from unknowns of shape (n, 2) or (n, 5) [m]."""
    start, end = asked.start, asked.end
    corners = np.empty((len(unknowns), 4 if unknowns.shape[1] == 2 else 5, 3))
    corners[:, 0], corners[:, -1] = start.point, end.point
    corners[:, 1] = start.point + unknowns[:, :1] * start.flow
    corners[:, -2] = end.point - unknowns[:, 1:2] * end.flow
    if unknowns.shape[1] == 5:
        corners[:, 2] = unknowns[:, 2:]
    return corners


def paths(asked: Asked, orders: Orders, unknowns: Floats) -> Paths:
    """Routes through these bends; the first and the last leg keep the poses' directions."""
    corners = corners_of(asked, unknowns)
    ways = corners[:, 1:] - corners[:, :-1]
    lengths = np.sqrt(np.einsum("nki,nki->nk", ways, ways))
    ways /= np.maximum(lengths, 1e-12)[..., None]
    ways[:, 0], ways[:, -1] = asked.start.flow, asked.end.flow
    lengths[:, 0], lengths[:, -1] = unknowns[:, 0], unknowns[:, 1]
    apart, together = ways[:, 1:] - ways[:, :-1], ways[:, 1:] + ways[:, :-1]
    tangents = np.sqrt(
        np.einsum("nki,nki->nk", apart, apart)
        / np.maximum(np.einsum("nki,nki->nk", together, together), 1e-12)
    )
    angles = 2.0 * np.arctan(tangents)
    take_offs = orders.radii * np.minimum(tangents, np.tan(0.5 * STEEPEST))
    straights = lengths.copy()
    straights[:, :-1] -= take_offs
    straights[:, 1:] -= take_offs
    length = straights.sum(axis=1) + (orders.radii * angles).sum(axis=1)
    return Paths(corners, ways, angles, orders.radii, take_offs, straights, length)


def points_at(found: Paths, shares: Floats) -> Floats:
    """Points at shares of each piece, shape (n, 2 k + 1, s, 3) [m]: the straights in order, then the arcs.

    shares: from 0 to 1, shape (n or 1, 2 k + 1, s).
    """
    bends = found.angles.shape[1]
    before, after = found.ways[:, :-1], found.ways[:, 1:]
    inner = found.corners[:, 1:-1]
    into = inner - found.take_offs[..., None] * before
    out_of = inner + found.take_offs[..., None] * after
    begins = np.concatenate([found.corners[:, :1], out_of], axis=1)
    ends = np.concatenate([into, found.corners[:, -1:]], axis=1)
    straight = begins[:, :, None] + shares[:, : bends + 1, :, None] * (ends - begins)[:, :, None]
    turned = shares[:, bends + 1 :] * found.angles[..., None]
    inward = after - np.cos(found.angles)[..., None] * before
    inward *= (found.radii / np.maximum(np.sin(found.angles), 1e-12))[..., None]
    arc = (
        into[:, :, None]
        + np.sin(turned)[..., None] * (found.radii[..., None] * before)[:, :, None]
        + (1.0 - np.cos(turned))[..., None] * inward[:, :, None]
    )
    return np.concatenate([straight, arc], axis=1)
