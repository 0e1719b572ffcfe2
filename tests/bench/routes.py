"""`python -m tests.bench.routes`: routes on problems built from a run, beside the run and a global search.

Each problem is built from a run of two or three bends, every other one with keep-outs that the run clears.
Every route is walked again from its bends and straights alone. The global search is scipy's differential
evolution over the same bends and where their corners lie, with a price on what is missing.
"""

import argparse
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Any

import numpy as np
from scipy.optimize import Bounds, differential_evolution

from server.core.tube.route.path import Orders, Scene, orders_of, paths, points_at, scene_of
from server.core.tube.route.problem import Asked
from server.core.tube.route.search import find_routes
from server.core.tube.space.keep_outs import Floats
from tests.route_problems import built, faults

PRICE = 20.0
"""What a metre that is missing costs in metres of length, in the global search."""
MISSING = 1e-3
"""How much may be missing in all before what it found is no route [m]."""
LOOKED_AT = np.linspace(0.0, 1.0, 13)[:, None, None]
FAR = 1.5
"""How far the first and the last corner may lie from the ends in the global search [m]."""
WITHIN, OF_GLOBAL = 1.02, 1.01


@dataclass(frozen=True, slots=True)
class Tried:
    """One problem. best: the shortest route found, infinite without [m]; run: what it was built from [m].

    seconds: of the processor. faults: of every route returned. other, other_seconds: of the global search.
    """

    seed: int
    best: float
    run: float
    seconds: float
    faults: tuple[str, ...]
    other: float | None = None
    other_seconds: float = 0.0


def tried(job: tuple[int, bool]) -> Tried:
    """A problem by its seed, and whether the global search is asked too."""
    seed, beside = job
    problem = built(seed)
    begun = time.process_time()
    found = find_routes(problem.asked).found
    seconds = time.process_time() - begun
    best = min((route.length for route in found), default=np.inf)
    wrong = tuple(fault for route in found for fault in faults(problem.asked, route))
    if not beside:
        return Tried(seed, best, problem.table.developed, seconds, wrong)
    begun = time.process_time()
    other = by_evolution(problem.asked)
    return Tried(seed, best, problem.table.developed, seconds, wrong, other, time.process_time() - begun)


def by_evolution(asked: Asked) -> float:
    """The shortest that differential evolution finds with two bends and with three [m]; infinite for none."""
    scene = scene_of(asked)
    found = np.inf
    for count in (2, 3):
        orders = orders_of(asked, list(product(asked.bends, repeat=count)))
        middle = 0.5 * (asked.start.point + asked.end.point)
        low, high = [0.0, 0.0, 0.0], [len(orders.radii) - 1e-9, FAR, FAR]
        if count == 3:
            low, high = [*low, *(middle - FAR)], [*high, *(middle + FAR)]
        answer = differential_evolution(
            partial(_cost, scene, orders), Bounds(low, high), seed=1, vectorized=True, updating="deferred",
            popsize=40, maxiter=1500, tol=1e-8, atol=1e-8, polish=False,
        )  # fmt: skip
        length, missing = _looked_at(scene, orders, answer.x[:, None])
        if float(missing[0]) < MISSING:
            found = min(found, float(length[0]))
    return found


def _cost(scene: Scene, orders: Orders, x: Any, /) -> Any:
    length, missing = _looked_at(scene, orders, x)
    return length + PRICE * missing


def _looked_at(scene: Scene, orders: Orders, x: Floats) -> tuple[Floats, Floats]:
    """Length, and all that is missing, of columns of order and corners."""
    these = orders.of(x[0].astype(np.intp))
    found = paths(scene, these, x[1:].T)
    short = [
        np.maximum(these.least - found.straights, 0.0),
        np.maximum(these.low - found.angles, 0.0) * these.radii,
        np.maximum(found.angles - these.high, 0.0) * these.radii,
    ]
    missing = sum(one.sum(axis=1) for one in short)
    if scene.near is not None:
        shares = np.broadcast_to(LOOKED_AT, (len(LOOKED_AT), 1, 2 * these.radii.shape[1] + 1))
        room = scene.near.room(points_at(found, shares)[:, None], scene.half).min(axis=(1, 3))
        missing = missing + np.maximum(-room, 0.0).sum(axis=0)
    return found.length, np.asarray(missing)


def show(found: Sequence[Tried]) -> None:
    """What is asked of the search, line by line, then every problem that is short of it."""
    seconds = 1e3 * np.array([one.seconds for one in found])
    ratio = np.array([one.best / one.run for one in found])
    print(f"{len(found)} problems: {int(np.isfinite(ratio).sum())} with a route")
    print(f"  faults of routes when walked again: {sum(len(one.faults) for one in found)}")
    print(
        f"  shortest route beside the run: within 2 % or shorter {int((ratio <= WITHIN).sum())}; "
        f"median {np.median(ratio):.3f}, worst {ratio.max():.3f}"
    )
    print(f"  processor: median {np.median(seconds):.0f} ms, 95 % under {np.quantile(seconds, 0.95):.0f} ms")
    beside = [one for one in found if one.other is not None]
    if beside:
        worse = np.array([one.best / one.other for one in beside if one.other is not None])
        times = np.array([one.other_seconds / one.seconds for one in beside])
        print(
            f"{len(beside)} beside differential evolution: over 1 % worse {int((worse > OF_GLOBAL).sum())}, "
            f"over 1 % better {int((worse < 1.0 / OF_GLOBAL).sum())}, worst {worse.max():.4f}; "
            f"median time {np.median(times):.0f} times ours"
        )
    for one in found:
        if one.faults or one.best > WITHIN * one.run or (one.other and one.best > OF_GLOBAL * one.other):
            print(f"  seed {one.seed}: {one.best:.4f}, run {one.run:.4f}, other {one.other}, {one.faults}")


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.bench.routes", description=__doc__)
    asked.add_argument("--problems", type=int, default=1000)
    asked.add_argument("--beside", type=int, default=50, help="of these, asked of the global search too")
    asked.add_argument("--workers", type=int, default=2)
    typed = asked.parse_args()
    jobs = [(seed, seed < typed.beside) for seed in range(typed.problems)]
    with ProcessPoolExecutor(typed.workers) as pool:
        show(list(pool.map(tried, jobs, chunksize=5)))


if __name__ == "__main__":
    main()
