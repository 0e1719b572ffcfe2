"""`python -m tests.bench.splices`: random splices cut from joints that are known, and some that have none.

300 known joints (direct with free rotation, direct at a bolt hole, one pie piece, two), each to be found with
no more welds, closed, and with every mitre in a straight; 100 problems with a proof that there is no answer,
where what would have to give way is tried too. Some minutes.
"""

import argparse
import sys
from collections import defaultdict
from statistics import median
from time import process_time

import numpy as np

from server.core.tube.splice.problem import Answer, Problem
from server.core.tube.splice.solve import splice
from tests.splice_problems import MM, all_of, faults
from tests.splices_that_miss import all_missed, wrong

SEED = 300


def timed(problem: Problem) -> tuple[Answer, float]:
    """The answer and the processor's time [s]."""
    begun = process_time()
    answer = splice(problem)
    return answer, process_time() - begun


def found_again(count: int, seed: int) -> list[str]:
    """Solves the known joints, prints the figures, and tells what is wrong."""
    told: list[str] = []
    times: dict[str, list[float]] = defaultdict(list)
    gaps, angles, welds = [0.0], [0.0], 0
    for at, known in enumerate(all_of(seed, count)):
        answer, took = timed(known.problem)
        times[known.kind].append(took)
        if not answer.splices:
            told.append(f"{at} {known.kind}: not found. {answer.reason}")
            continue
        best = answer.splices[0]
        told += [f"{at} {known.kind}: more welds"] if len(best.pies) > known.pies else []
        welds += len(best.pies) < known.pies
        for one in answer.splices:
            told += [f"{at} {known.kind}: {fault}" for fault in faults(known.problem, one)]
            gaps.append(one.closure / MM)
            angles.append(float(np.degrees(one.closure_angle)))
    print(f"{count} known joints: {_clean(count, told)} found again, {welds} of them with fewer welds")
    print(f"  left open at most {max(gaps):.2e} mm, {max(angles):.2e}°")
    _print_times(times)
    return told


def missed(count: int, seed: int) -> list[str]:
    """Solves the problems without an answer, prints the figures, and tells what is wrong."""
    told: list[str] = []
    times: dict[str, list[float]] = defaultdict(list)
    claims: dict[str, int] = defaultdict(int)
    for at, one in enumerate(all_missed(seed, count)):
        answer, took = timed(one.problem)
        times[f"{one.limit}, up to {one.problem.most_pies}"].append(took)
        told += [f"{at} {one.limit}: {fault}" for fault in wrong(one, answer)]
        for miss in answer.misses:
            claims[miss.limit] += 1
        claims["several at once"] += bool(answer.together)
    print(f"{count} problems without an answer: {_clean(count, told)} said so and by how much")
    print("  what would have to give way: " + ", ".join(f"{name} {n}" for name, n in sorted(claims.items())))
    _print_times(times)
    return told


def _clean(count: int, told: list[str]) -> int:
    """Problems about which nothing is told."""
    return count - len({line.split()[0] for line in told})


def _print_times(times: dict[str, list[float]]) -> None:
    for kind, took in sorted(times.items()):
        print(f"  {kind:18} {len(took):4}  median {median(took):.3f} s, most {max(took):.3f} s")
    every = [one for took in times.values() for one in took]
    print(f"  {'all':18} {len(every):4}  median {median(every):.3f} s, most {max(every):.3f} s")


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--known", type=int, default=300)
    reader.add_argument("--missed", type=int, default=100)
    reader.add_argument("--seed", type=int, default=SEED)
    asked = reader.parse_args()
    told = found_again(asked.known, asked.seed) + missed(asked.missed, asked.seed + 1)
    print("\n".join(told) or "nothing is wrong")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
