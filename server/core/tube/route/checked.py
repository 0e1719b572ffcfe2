"""A route as rebuilt from its bends and straights alone, and looked at finely."""

from collections.abc import Sequence

import numpy as np

from server.core.tube.route.path import Paths, least_straights, points_at
from server.core.tube.route.problem import LEAST_ANGLE, Asked, BendKind, Route
from server.core.tube.space.bend_table import corners_of, table_of
from server.core.tube.space.keep_outs import Floats, solids
from server.core.tube.space.vectors import Vector, angle_between, any_square_to, cross, unit

CLOSED, CLOSED_ANGLE = 2e-5, 3e-4
"""How far a route may be off when rebuilt [m], [rad]."""
SLACK = 1e-8
"""How far a straight or an angle may fall short through rounding [m], [rad]."""
SHARES, CLOSER = np.linspace(0.0, 1.0, 65), np.linspace(-1.0, 1.0, 33)
"""Shares of a piece at which it is looked at, and again between the neighbours of the nearest."""
ZOOMS = 3


def checked(asked: Asked, kinds: tuple[BendKind, ...], corners: Sequence[Vector]) -> list[Route]:
    """The route through these corners, if it is one."""
    try:
        table = table_of(corners, [kind.radius for kind in kinds])
    except ValueError:
        return []
    straights = np.array([*(row.straight for row in table.rows), table.last_straight])
    if (straights < least_straights(asked, kinds) - SLACK).any():
        return []
    for row, kind in zip(table.rows, kinds, strict=True):
        low = LEAST_ANGLE if kind.may_cut_down else kind.angle
        if not low - SLACK <= row.angle <= kind.angle + SLACK:
            return []
    way = asked.start.flow
    normal = cross(way, corners[2] - corners[1]) if kinds else any_square_to(way)
    built = corners_of(table, asked.start.point, way, unit(normal))
    route = Route(
        tuple(corners),
        kinds,
        table,
        float(np.linalg.norm(built[-1] - asked.end.point)),
        angle_between(built[-1] - built[-2], asked.end.flow),
    )
    if route.closure > CLOSED or route.closure_angle > CLOSED_ANGLE:
        return []
    return [route] if not asked.keep_outs or float(room_of(asked, route).min()) >= 0.0 else []


def room_of(asked: Asked, route: Route) -> Floats:
    """The room left beside each keep-out, (keep-outs,) [m]; a piece is looked at again where it is near."""
    found, near = _paths_of(route), solids(asked.keep_outs)
    shapes, pieces = len(asked.keep_outs), 2 * len(route.kinds) + 1
    shares = np.broadcast_to(SHARES[:, None], (shapes, len(SHARES), pieces))
    step = 1.0 / (len(SHARES) - 1)
    for _ in range(ZOOMS):
        points = points_at(found, shares.reshape(-1, 1, pieces)).reshape(3, *shares.shape)
        left = near.room(points, 0.5 * asked.outside)
        nearest = np.take_along_axis(shares, left.argmin(axis=1, keepdims=True), axis=1)
        shares = np.clip(nearest + step * CLOSER[:, None], 0.0, 1.0)
        step *= 2.0 / (len(CLOSER) - 1)
    return np.asarray(left.min(axis=(1, 2)))


def _paths_of(route: Route) -> Paths:
    corners = np.array(route.corners).T[:, None]
    ways = np.diff(corners, axis=2)
    ways /= np.linalg.norm(ways, axis=0)
    rows = route.table.rows
    radii = np.array([[row.radius for row in rows]])
    angles = np.array([[row.angle for row in rows]])
    straights = np.array([[*(row.straight for row in rows), route.table.last_straight]])
    return Paths(
        corners, ways, angles, radii, radii * np.tan(0.5 * angles), straights, np.array([route.length])
    )
