"""Which of the routes found are worth a look: no shape twice, no more bends for nothing before others."""

import math
from collections.abc import Sequence

from server.core.tube.route.problem import Route

SHORTER = 0.95
"""So much shorter has one more bend to make a route [-]; common practice, no source."""
FEWEST = 3
"""Of so many there is a choice: where fewer say something new, others of another shape come after."""
ALIKE = math.radians(8.0)
"""Routes whose bends all turn by this nearly the same are one shape [rad]; common practice, no source."""


def worth_showing(routes: Sequence[Route]) -> tuple[Route, ...]:
    """Those that say something new, in their order. routes: fewest bends first, then the shortest [m]."""
    kept: list[Route] = []
    longer: list[Route] = []
    for route in routes:
        if any(_alike(route, one) for one in (*kept, *longer)):
            continue
        fewer = [one.length for one in kept if len(one.kinds) < len(route.kinds)]
        (longer if fewer and route.length > SHORTER * min(fewer) else kept).append(route)
    return (*kept, *longer[: max(FEWEST - len(kept), 0)])


def _alike(one: Route, other: Route) -> bool:
    """The same bends in the same order, in nearly the same planes."""
    if one.kinds != other.kinds:
        return False
    return all(
        abs(a.angle - b.angle) < ALIKE and abs(math.remainder(a.rotation - b.rotation, math.tau)) < ALIKE
        for a, b in zip(one.table.rows, other.table.rows, strict=True)
    )
