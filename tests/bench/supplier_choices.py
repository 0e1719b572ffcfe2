"""`python -m tests.bench.supplier_choices`: 300 random choices of suppliers beside trying everything."""

import sys
from random import Random
from statistics import median
from time import process_time

from server.core.buying.choice import choose
from tests.core.buying.test_choice import by_trying_all, case

COUNT, SEED = 300, 300


def main() -> int:
    draw = Random(SEED)
    wrong, took = 0, []
    for _ in range(COUNT):
        asks, sellers = case(draw)
        begun = process_time()
        found = choose(asks, sellers)
        took.append(process_time() - begun)
        wrong += not found.total_minor == found.bound_minor == by_trying_all(asks, sellers)
    print(f"{COUNT} choices: {COUNT - wrong} as cheap as trying everything")
    print(f"  median {1e3 * median(took):.1f} ms, most {1e3 * max(took):.1f} ms")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
