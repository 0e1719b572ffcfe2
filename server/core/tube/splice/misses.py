"""Where no splice is within the limits: which limit would have to give way, and how far."""

import numpy as np

from server.core.tube.splice.direct import direct_misses, direct_together
from server.core.tube.splice.pairs import Floats, Pairs
from server.core.tube.splice.pie_shape import excess
from server.core.tube.splice.pies import freedom, nearest, settled
from server.core.tube.splice.problem import CLOSE, REACH, SAW, STRAIGHTS, THROAT, Miss, Problem
from server.core.tube.splice.settle import lowered

RELEASED = {SAW: np.pi, THROAT: 10.0, STRAIGHTS: 10.0}
"""How far a limit is let go while it is sought how far it has to be [rad], [m]."""
NUMBERS = {SAW: 0, THROAT: 1, STRAIGHTS: 2}
TRIED = 10
HALVINGS = 12
LESS = 0.98
"""Once a least is found it is asked whether a little less would do, from every start [-]."""
NEVER = 1e-4
"""A throat under this is none: the two cuts would cross [m]."""


def misses(problem: Problem) -> tuple[Miss, ...]:
    """For each limit alone the least that it must give way, whatever the number of welds [m], [rad]."""
    found = direct_misses(problem)
    for pies in range(1, problem.most_pies + 1):
        found += [miss for limit in RELEASED if (miss := _pie_miss(problem, pies, limit))]
    least: dict[str, Miss] = {}
    for miss in found:
        if np.isfinite(miss.over) and (miss.limit not in least or miss.over < least[miss.limit].over):
            least[miss.limit] = miss
    return tuple(least.values())


def together(problem: Problem) -> tuple[Miss, ...]:
    """How far several limits are passed at once, by the joint that comes nearest [m], [rad]."""
    pies = problem.most_pies
    if not pies:
        return direct_together(problem)
    passed = nearest(problem, pies)
    saw, throat, ends = (float(part.max()) for part in _parts(np.maximum(passed[None], 0.0), pies))
    told = (
        Miss(SAW, problem.saw + saw / REACH, saw / REACH, pies),
        Miss(THROAT, problem.throat - throat, throat, pies),
        Miss(STRAIGHTS, ends, ends, pies),
    )
    return tuple(miss for miss in told if miss.over > CLOSE)


def _pie_miss(problem: Problem, pies: int, limit: str) -> Miss | None:
    """The least that a limit must give way with so many pie pieces; None where that alone is not enough."""
    over, give = np.inf, RELEASED[limit]
    while (found := _least(problem, pies, limit, give)) < over:
        over, give = found, LESS * found
    if not np.isfinite(over):
        return None
    if limit != THROAT:
        return Miss(limit, over + (problem.saw if limit == SAW else 0.0), over, pies)
    needs = problem.throat - over
    return Miss(limit, needs, over, pies) if needs > NEVER else None


def _least(problem: Problem, pies: int, limit: str, give: float) -> float:
    """The least that a limit must give way, sought from joints that pass it by no more than `give`."""
    lines, x = settled(problem, pies, {limit: give})
    if not len(x):
        return np.inf

    def others(rows: Pairs, y: Floats) -> Floats:
        return excess(problem, rows, y, {limit: RELEASED[limit]})

    def passed(rows: Pairs, y: Floats) -> Floats:
        return _parts(excess(problem, rows, y), pies)[NUMBERS[limit]]

    few = np.argsort(passed(lines, x).max(axis=1))[:TRIED]
    lines, x = lines.take(few), x[few]
    x = lowered(others, passed, lines, x, freedom(problem, pies), 0.0, HALVINGS)
    least = float(passed(lines, x).max(axis=1).min())
    return least / REACH if limit == SAW else least


def _parts(over: Floats, pies: int) -> list[Floats]:
    """What is passed, parted by limit: saw (as a length), throats, straights."""
    return np.split(over, (pies + 1, 2 * pies + 1), axis=1)
