"""`python -m tests.bench.cut_plans`: 500 random cutting problems of up to twelve different lengths.

Each plan is counted again from its bars, has to meet its own bound, and small ones are compared with a plain
search that tries everything. A minute or so.
"""

import argparse
import sys
from statistics import median
from time import process_time

from server.core.buying.cutting import plan_cuts
from tests.cut_problems import faults, least_cost, problems


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--count", type=int, default=500)
    reader.add_argument("--seed", type=int, default=500)
    asked = reader.parse_args()
    told, took, proved, small = [], [], 0, 0
    for at, problem in enumerate(problems(asked.seed, asked.count)):
        begun = process_time()
        plan = plan_cuts(problem.stock, problem.pieces, problem.kerf)
        took.append(process_time() - begun)
        told += [f"{at}: {fault}" for fault in faults(problem, plan)]
        proved += plan.is_best
        if not plan.is_best:
            told.append(f"{at}: costs {plan.cost}, bound {plan.lower_bound}")
        if problem.small:
            small += 1
            if plan.cost != least_cost(problem):
                told.append(f"{at}: costs {plan.cost}, the plain search has {least_cost(problem)}")
    print(f"{asked.count} problems: {proved} proved the cheapest, {small} compared with a plain search")
    print(f"  median {median(took):.3f} s, most {max(took):.3f} s")
    print("\n".join(told) or "nothing is wrong")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
