"""One or two pie pieces between a straight of each pipe: many starts settled at once, the best made cheaper.

One pie piece always closes two skew lines: its axis joins a point on each, and both points are free along
their lines. So the question is never whether it closes but whether the limits are kept.
"""

import numpy as np
from scipy.stats import qmc

from server.core.tube.splice.pairs import Floats, Pairs, Whole, pairs_of
from server.core.tube.splice.pie_shape import Eased, cost, excess, shapes
from server.core.tube.splice.problem import REACH, Choice, Problem
from server.core.tube.splice.settle import KEPT, lowered, settle

SEED = 20
STARTS = 256
"""Starts looked at for each pair of straights."""
MOST_SETTLED = 480
"""Starts that are settled, the best of each pair and clocking first."""
POLISHED = 4
"""Rows of each pair of straights that are made cheaper."""
MOST_PAIRS = 4
HALVINGS = 9


def with_pies(problem: Problem, pies: int) -> list[Choice]:
    """Ways to join with so many pie pieces, the cheapest first, one a pair of straights. Lengths in [m]."""
    lines, x = settled(problem, pies)
    if not len(x):
        return []
    few = _cheapest_of_each(lines, cost(problem, lines, x))
    lines, x = lines.take(few), x[few]
    x = lowered(
        lambda some, y: excess(problem, some, y),
        lambda some, y: cost(problem, some, y)[:, None],
        lines,
        x,
        freedom(problem, pies),
        0.0,
        HALVINGS,
    )
    best = _cheapest_of_each(lines, cost(problem, lines, x), 1)
    return [_choice(problem, lines.take(best[at : at + 1]), x[best[at]]) for at in range(len(best))]


def _cheapest_of_each(lines: Pairs, costs: Floats, most: int = POLISHED) -> Whole:
    """The cheapest rows of each pair of straights, the cheapest pair first."""
    kept: dict[tuple[int, int], list[int]] = {}
    for at in np.argsort(costs, kind="stable"):
        places = kept.setdefault((int(lines.fixed[at]), int(lines.turning[at])), [])
        if len(places) < most:
            places.append(int(at))
    return np.array([at for places in list(kept.values())[:MOST_PAIRS] for at in places])


def _choice(problem: Problem, line: Pairs, x: Floats) -> Choice:
    turned = float(x[2] % (2.0 * np.pi))
    return Choice(
        int(line.fixed[0]),
        int(line.turning[0]),
        round(turned / (2.0 * np.pi) * problem.holes) % problem.holes if problem.holes else None,
        turned,
        float(x[0]),
        float(x[1]),
        tuple(shapes(line, x[None], problem.outside).points[0]),
    )


def _starts(problem: Problem, pairs: Pairs, pies: int) -> tuple[Pairs, Floats]:
    """Where the search starts, spread over every pair, clocking and rotation. The inner corner of two pie
    pieces is set out by the ways of the two pipes, so that turning the car changes nothing.
    """
    drawn = qmc.Sobol(6, seed=SEED).random(STARTS)
    rows = np.repeat(np.arange(len(pairs)), STARTS)
    lines, u = pairs.take(rows), np.tile(drawn, (len(pairs), 1))
    x = np.zeros((len(rows), 3 * pies))
    x[:, 0], x[:, 1] = u[:, 0] * lines.fixed_length, u[:, 1] * lines.turning_length
    clockings = np.array(problem.clockings)
    x[:, 2] = clockings[(u[:, 2] * problem.holes).astype(int)] if problem.holes else 2.0 * np.pi * u[:, 2]
    if pies == 2:
        first = lines.start + x[:, :1] * lines.way
        way = lines.turning_way.at(x[:, 2])
        last = lines.turning_start.at(x[:, 2]) + x[:, 1:2] * way
        apart = np.linalg.norm(last - first, axis=1)[:, None]
        x[:, 3:] = (
            first + u[:, 3:4] * (last - first) + 0.7 * apart * (u[:, 4:5] * lines.way + u[:, 5:6] * way)
        )
    return lines, x


def _nearest_of_each(problem: Problem, lines: Pairs, x: Floats, eased: Eased) -> Whole:
    """The starts to settle: the nearest of each pair and clocking first, then the next of each."""
    off = (np.maximum(excess(problem, lines, x, eased), 0.0) ** 2).sum(axis=1)
    turns = np.round(x[:, 2] / (2.0 * np.pi) * (problem.holes or 4)).astype(int)
    kinds = (lines.fixed * 1000 + lines.turning) * 1000 + turns
    order = np.lexsort((off, kinds))
    begins = np.r_[True, np.diff(kinds[order]) != 0]
    place = np.arange(len(order)) - np.maximum.accumulate(np.where(begins, np.arange(len(order)), 0))
    return order[np.lexsort((off[order], place))][:MOST_SETTLED]


def settled(problem: Problem, pies: int, eased: Eased = None) -> tuple[Pairs, Floats]:
    """Joints with so many pie pieces that keep the limits: rows of the search, as in `pie_shape`.

    eased: how far limits give way, angles [rad], lengths [m]. No rows where no start leads to one.
    """
    lines, x, over = _settled(problem, pies, eased)
    good = np.flatnonzero(over <= KEPT)
    return lines.take(good), x[good]


def nearest(problem: Problem, pies: int) -> Floats:
    """By how much each limit is passed by the joint that comes nearest [m], as `excess` orders them."""
    lines, x, _ = _settled(problem, pies, None)
    passed = excess(problem, lines, x)
    best: Floats = passed[(np.maximum(passed, 0.0) ** 2).sum(axis=1).argmin()]
    return best


def _settled(problem: Problem, pies: int, eased: Eased) -> tuple[Pairs, Floats, Floats]:
    lines, x = _starts(problem, pairs_of(problem), pies)
    rows = _nearest_of_each(problem, lines, x, eased)
    lines = lines.take(rows)
    x, over = settle(lambda some, y: excess(problem, some, y, eased), lines, x[rows], freedom(problem, pies))
    return lines, x, over


def freedom(problem: Problem, pies: int) -> Floats:
    """How far each variable of a search moves for a metre: an angle far more, a clocking not at all."""
    free = np.ones(3 * pies)
    free[2] = 0.0 if problem.holes else 1.0 / REACH
    return free
