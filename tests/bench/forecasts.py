"""`python -m tests.bench.forecasts`: processor time of a forecast of 1,000 draws, by the number of tasks.

The slope of log time on log (tasks × draws) is 1 where twice the tasks take twice the time.
"""

from math import log
from time import process_time

import numpy as np

from server.core.work.forecast.foresee import DRAWS, forecast
from server.core.work.plan.search import plan
from tests.plan_rules import evenings_of_work

SIZES = (60, 120, 240, 480, 960)
TURNS = 3


def main() -> None:
    """Print the table and the slope."""
    times = []
    print("tasks   milliseconds, the best of three")
    for count in SIZES:
        problem, doubts = evenings_of_work(count)
        schedule = plan(problem, 1)
        turns = []
        for seed in range(TURNS):
            began = process_time()
            forecast(problem, schedule, doubts, seed=seed)
            turns.append(process_time() - began)
        times.append(min(turns))
        print(f"{count:5} {1000 * min(turns):10.0f}", flush=True)
    slope = np.polyfit([log(count * DRAWS) for count in SIZES], [log(one) for one in times], 1)[0]
    print(f"slope {slope:.2f}")


if __name__ == "__main__":
    main()
