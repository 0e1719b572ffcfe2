"""Many starts moved at once to where limits are kept, and then to where one measure is least.

A row is one start. Limits are numbers at or under 0 where they are kept.
"""

from collections.abc import Callable

import numpy as np

from server.core.tube.splice.pairs import Floats, Pairs
from server.core.tube.splice.problem import CLOSE

ROUNDS = 40
STEP = 1e-7
KEPT = 0.2 * CLOSE
"""What is still passed where a limit counts as kept [m]; as an angle it is no more than `CLOSE`."""
STUCK = 1e8
"""Damping at which a start moves no further [-]."""

Limits = Callable[[Pairs, Floats], Floats]
"""By how much each limit is passed [m], (n, limits), of pairs and variables, (n, variables)."""


def settle(limits: Limits, lines: Pairs, x: Floats, free: Floats) -> tuple[Floats, Floats]:
    """The rows moved to where the limits are kept, or nearly, and by how much they are passed there [m].

    free: how far each variable moves for a metre; 0 for one that stays. Source: Levenberg and Marquardt's
    method on the squares of what is passed; slopes by differences.
    """
    x = x.copy()
    moves = np.flatnonzero(free)
    steps = np.diag(free)[moves]
    damping = np.full(len(x), 1e-3)
    over = np.maximum(limits(lines, x), 0.0)
    for _ in range(ROUNDS):
        moving = np.flatnonzero((over.max(axis=1) > 0.5 * KEPT) & (damping < STUCK))
        if not len(moving):
            break
        some, at, gone = lines.take(moving), x[moving], over[moving]
        slopes = _slopes(limits, some, at, steps) * (gone > 0.0)[:, :, None]
        square = np.einsum("nij,nik->njk", slopes, slopes)
        pull = np.einsum("nij,ni->nj", slopes, gone)
        square = square + (damping[moving, None] + 1e-12)[:, :, None] * np.eye(len(moves))
        moved = at - np.linalg.solve(square, pull[:, :, None])[:, :, 0] @ steps
        now = np.maximum(limits(some, moved), 0.0)
        better = (now**2).sum(axis=1) < (gone**2).sum(axis=1)
        x[moving[better]], over[moving[better]] = moved[better], now[better]
        damping[moving] *= np.where(better, 0.1, 10.0)
    return x, over.max(axis=1)


def _slopes(value: Limits, lines: Pairs, x: Floats, steps: Floats) -> Floats:
    """Slopes of every value along every step, (n, values, steps); all of them in one look."""
    count, width = x.shape
    away = np.concatenate((np.zeros((1, width)), STEP * steps))
    rows = np.tile(np.arange(count), len(away))
    values = value(lines.take(rows), (x[None] + away[:, None]).reshape(-1, width))
    values = values.reshape(len(away), count, -1)
    slopes: Floats = np.moveaxis((values[1:] - values[0]) / STEP, 0, 2)
    return slopes


def lowered(
    limits: Limits, measure: Limits, lines: Pairs, x: Floats, free: Floats, floor: float, halvings: int
) -> Floats:
    """Rows that keep the limits, moved to where they still do and a measure is less; lengths in [m].

    measure: (n, measures), of which the greatest counts. floor: what it can't be under. Each row halves its
    own span so many times: it is asked to get under the middle, and moves there where it can.
    """

    def wanted(rows: Pairs, y: Floats) -> Floats:
        return np.concatenate((limits(rows, y[:, :-1]), measure(rows, y[:, :-1]) - y[:, -1:]), axis=1)

    best = measure(lines, x).max(axis=1)
    least = np.full(len(x), floor)
    held = np.append(free, 0.0)  # the bound stands beside the variables and stays
    for _ in range(halvings):
        bound = 0.5 * (least + best)
        moved, over = settle(wanted, lines, np.column_stack((x, bound)), held)
        there = measure(lines, moved[:, :-1]).max(axis=1)
        good = (over <= KEPT) & (there < best)
        x = np.where(good[:, None], moved[:, :-1], x)
        best, least = np.where(good, there, best), np.where(good, least, bound)
    return x
