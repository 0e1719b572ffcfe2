"""`python -m tests.bench.without_signal`: acts made without signal, in 200 random runs of each of two kinds.

Each run is a car of its own (`tests/without_signal.py`). Over HTTPS the pages come from the worker, and the
page dies while everything waits; over plain HTTP under a name that is not loopback three pages stay open.
Then the signal comes back: three requests in ten are lost before the server hears of them, three in ten
after it has acted. Half an hour on two idle cores.

`python -m tests.bench.without_signal http 50 101`: fifty runs of one kind, from seed 101.
"""

import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path
from statistics import median
from time import monotonic

from playwright.sync_api import Playwright, expect, sync_playwright

from server.app import create_app
from server.migrate import make_data_folder, upgrade
from server.settings import settings_for
from tests.bad_line import NAME, Certificate, make_certificate
from tests.far_garage import Garage, Phone, Pocket, a_garage_far_off, arguments, chromium_program
from tests.without_signal import ACTS, one_run

RUNS = 200


@contextmanager
def a_garage(folder: Path, secure: Certificate | None) -> Iterator[Garage]:
    """A server with an empty database, at the end of a bad line."""
    mine = replace(settings_for(data=folder / "data", environment={}), extra_hosts=(NAME,))
    make_data_folder(mine)
    upgrade(mine)
    app = create_app(mine)
    with a_garage_far_off(app, secure) as garage:
        yield garage
    app.state.engine.dispose()


def play(playwright: Playwright, kind: str, seeds: Iterable[int]) -> bool:
    """The runs of one kind; whether every act of all of them was recorded once."""
    took, wrong = [], []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        folder = Path(name)
        certificate = make_certificate(folder)
        secure = certificate if kind == "https" else None
        program = str(chromium_program(playwright))
        with a_garage(folder, secure) as garage, ExitStack() as carried:
            pocket: Pocket | None = None
            for seed in seeds:
                began = monotonic()
                if pocket is None:
                    phone = Phone(
                        playwright.chromium, program, folder / f"phone-{seed}", arguments(certificate)
                    )
                    pocket = carried.enter_context(Pocket(phone, garage))
                    pocket.context.set_default_timeout(60_000)
                try:
                    one_run(pocket, seed, killed=secure is not None)
                except Exception as problem:
                    wrong.append(seed)
                    print(f"{kind}, seed {seed}: {problem}", flush=True)
                    garage.line.good()
                    carried.close()
                    pocket = None  # the next run has a new phone, on which nothing waits
                took.append(monotonic() - began)
                if len(took) % 10 == 0:
                    print(f"{kind}: {len(took)} runs, {len(wrong)} wrong", flush=True)
            seen = {fate.name: count for fate, count in sorted(garage.line.seen.items())}
    print(f"{kind}: {len(took)} runs of {ACTS} acts, {len(wrong)} wrong {wrong or ''}; "
          f"a run took {median(took):.1f} s; writes: {seen}", flush=True)  # fmt: skip
    return not wrong


def main(kinds: tuple[str, ...] = ("https", "http"), runs: int = RUNS, first: int = 1) -> int:
    expect.set_options(timeout=60_000)  # a busy machine is no fault of the phone
    with sync_playwright() as playwright:
        right = [play(playwright, kind, range(first, first + runs)) for kind in kinds]
    return 0 if all(right) else 1


if __name__ == "__main__":
    asked = sys.argv[1:]
    sys.exit(main(tuple(asked[:1]) or ("https", "http"), *(int(one) for one in asked[1:3])))
