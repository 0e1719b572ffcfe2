"""Where the search for routes begins: many tries of every order of bends at once, most of their angles right.

Two bends: the first and the last corner slide along the poses' lines; an angle gives one from the other.
Three bends: the directions of the legs are chosen so that the angles fit, and their lengths follow from where
the end lies: one freedom is left, which is spent on the shortest that leaves every straight its least.
"""

import numpy as np
from numpy.typing import NDArray

from server.core.tube.route.path import Orders, over_columns
from server.core.tube.route.problem import Asked, End
from server.core.tube.space.keep_outs import Floats
from server.core.tube.space.vectors import any_square_to

NEAR_MISS = 0.05
"""How far angles may miss a triangle of directions and still be tried, the flattest one taken [-]."""


def tries(asked: Asked, orders: Orders, effort: int) -> tuple[NDArray[np.intp], Floats]:
    """Unknowns to begin with, shape (n, 2) or (n, 5) [m], and for each its row of the orders.

    effort: tries of each order with three bends; those with two take a fraction of it.
    """
    return _two(asked, orders, effort) if orders.radii.shape[1] == 2 else _three(asked, orders, effort)


def _spread(count: int, wide: int) -> Floats:
    """Points spread evenly over a cube, shape (count, wide). Source: additive recurrence on the roots of
    x^(wide + 1) = x + 1, as by Roberts' R sequence."""
    root = 2.0
    for _ in range(40):
        root = (1.0 + root) ** (1.0 / (wide + 1))
    steps = root ** -np.arange(1.0, wide + 1)
    return np.asarray((0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0)


def _reach(asked: Asked) -> float:
    """How far a corner may lie from its pose [m]."""
    apart = float(np.linalg.norm(asked.end.point - asked.start.point))
    longest = max(kind.radius + kind.leg_in + kind.leg_out for kind in asked.bends)
    return 1.2 * apart + 6.0 * (longest + asked.shortest_straight)


def _two(asked: Asked, orders: Orders, effort: int) -> tuple[NDArray[np.intp], Floats]:
    start, back = asked.start, End(asked.end.point, -asked.end.flow)
    count = len(orders.radii)
    rows = np.repeat(np.arange(count), effort)
    drawn = np.tile(_spread(effort, 2), (count, 1))
    angles = orders.low[rows] + drawn[:, :1] * (orders.high - orders.low)[rows]
    along = orders.least[rows][:, [0, 2]] + drawn[:, 1:] ** 1.5 * _reach(asked)
    from_end = np.stack([_corner(start, back, along[:, 1], angles[:, 0]), along[:, 1]], axis=1)
    from_start = np.stack([along[:, 0], _corner(back, start, along[:, 0], angles[:, 1])], axis=1)
    met = orders.low[rows] + drawn * (orders.high - orders.low)[rows]
    there, ways = _joined(asked.end.flow, np.broadcast_to(start.flow, (len(rows), 3)), met[:, 1], met[:, 0])
    apart, ways = np.tile(rows, 2)[there], ways[there]
    gap = asked.end.point - start.point
    cross, other = np.cross(ways, asked.end.flow), np.cross(start.flow, ways)
    whole = cross @ start.flow
    whole = np.where(np.abs(whole) < 1e-9, 1e-9, whole)
    joined = np.stack([cross @ gap / whole, other @ gap / whole], axis=1)
    return np.concatenate([rows, rows, apart]), np.concatenate([from_end, from_start, joined])


def _corner(near: End, far: End, along: Floats, angle: Floats) -> Floats:
    """How far ahead of one end its bend lies that turns by this angle to a place along the other's line."""
    offset = far.point + along[:, None] * far.flow - near.point
    ahead = offset @ near.flow
    beside = np.linalg.norm(offset - ahead[:, None] * near.flow, axis=1)
    return np.asarray(ahead - beside / np.tan(angle))


def _three(asked: Asked, orders: Orders, effort: int) -> tuple[NDArray[np.intp], Floats]:
    """Directions first, then the lengths that lead to the end."""
    count = len(orders.radii)
    rows = np.repeat(np.arange(count), effort)
    drawn = np.tile(_spread(effort, 4), (count, 1))
    angles = orders.low[rows] + drawn[:, :3] * (orders.high - orders.low)[rows]
    second = _cone(asked.start.flow, angles[:, 0], 2.0 * np.pi * drawn[:, 3])
    there, third = _joined(asked.end.flow, second, angles[:, 2], angles[:, 1])
    rows, second = np.tile(rows, 2)[there], np.tile(second, (2, 1))[there]
    return rows, _lengths(asked, orders.of(rows), second, third[there])


def _cone(axis: Floats, angle: Floats, turn: Floats) -> Floats:
    """Directions at an angle to an axis, turned round it; shape (n, 3)."""
    across = any_square_to(axis)
    beside = np.cross(axis, across)
    ring = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * beside
    return np.asarray(np.cos(angle)[:, None] * axis + np.sin(angle)[:, None] * ring)


def _joined(end: Floats, second: Floats, last: Floats, middle: Floats) -> tuple[NDArray[np.bool_], Floats]:
    """Directions at one angle to the end's and another to the second: both sides, and whether they are."""
    shared = second @ end
    square = np.maximum(1.0 - shared**2, 1e-9)
    from_second = (np.cos(middle) - np.cos(last) * shared) / square
    from_end = (np.cos(last) - np.cos(middle) * shared) / square
    left = 1.0 - from_second**2 - from_end**2 - 2.0 * from_second * from_end * shared
    out = np.sqrt(np.maximum(left, 0.0) / square)[:, None] * np.cross(second, end)
    flat = from_second[:, None] * second + from_end[:, None] * end
    both = np.concatenate([flat + out, flat - out])
    both /= np.maximum(np.linalg.norm(both, axis=1, keepdims=True), 1e-12)
    return np.tile(left >= -NEAR_MISS, 2), both


def _lengths(asked: Asked, orders: Orders, second: Floats, third: Floats) -> Floats:
    """Unknowns for legs with these directions: the lengths that reach the end, as short as they may be."""
    first, last = asked.start.flow, asked.end.flow
    gap = asked.end.point - asked.start.point
    least = orders.least.copy()
    for place, (before, after) in enumerate(((first, second), (second, third), (third, last))):
        cosine = np.clip(over_columns(before * after), -0.999, 1.0)
        take_off = orders.radii[:, place] * np.sqrt((1.0 - cosine) / (1.0 + cosine))
        least[:, place] += take_off
        least[:, place + 1] += take_off
    early, late = np.cross(first, second), np.cross(third, last)
    free = np.stack(
        [over_columns(second * late), -(late @ first), early @ last, -over_columns(early * third)], axis=1
    )
    free /= np.maximum(np.linalg.norm(free, axis=1, keepdims=True), 1e-12)
    some = _shortest_sum(first, second, third, last, gap)
    lengths = some + _slide(some, free, least)[:, None] * free
    corner = asked.start.point + lengths[:, :1] * first + lengths[:, 1:2] * second
    return np.column_stack([lengths[:, 0], lengths[:, 3], corner])


def _shortest_sum(first: Floats, second: Floats, third: Floats, last: Floats, gap: Floats) -> Floats:
    """The least lengths along four directions that lead over a gap, in the sense of least squares; (n, 4)."""
    outer = np.outer(first, first) + np.outer(last, last) + 1e-9 * np.eye(3)
    gram = outer + second[:, :, None] * second[:, None] + third[:, :, None] * third[:, None]
    x, y, z = gram[:, 0], gram[:, 1], gram[:, 2]
    yz, zx, xy = np.cross(y, z), np.cross(z, x), np.cross(x, y)
    weight = (gap[0] * yz + gap[1] * zx + gap[2] * xy) / over_columns(x * yz)[:, None]
    along = [weight @ first, over_columns(weight * second), over_columns(weight * third), weight @ last]
    return np.stack(along, axis=1)


def _slide(some: Floats, free: Floats, least: Floats) -> Floats:
    """How far along the free lengths to go: to the shortest that leaves each its least, else midway."""
    with np.errstate(divide="ignore", invalid="ignore"):
        bound = (least - some) / free
    low = np.where(free > 1e-9, bound, -np.inf).max(axis=1)
    high = np.where(free < -1e-9, bound, np.inf).min(axis=1)
    shortest = np.where(free.sum(axis=1) >= 0.0, low, high)
    with np.errstate(invalid="ignore"):  # no bound on either side
        midway = 0.5 * (low + high)
    slid = np.where(low <= high, shortest, midway)
    return np.asarray(np.nan_to_num(slid, nan=0.0, posinf=0.0, neginf=0.0))
