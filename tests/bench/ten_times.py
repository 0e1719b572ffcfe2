"""`python -m tests.bench.ten_times`: the main pages of the demo beside the same at ten times the data.

Each page asked for again without a write between, and as the first page after a write. Processor time is
told, the least of some rounds: others may be at work on the same machine. The bare page is measured between.
"""

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from fastapi import FastAPI

from server.app import create_app
from server.serving import settle_memory
from server.settings import settings_for
from tests.asking import Browser
from tests.bench.__main__ import CLOCK, TEN, show, ten_times
from tests.bench.after_write import BUILD, PAGES, WRITES, Write
from tests.bench.measure import BARE, add_bare_page
from tests.factories import load_demo

MAIN = (
    *PAGES,
    "engine",
    "subsystems/1",
    "designs/6/cuts",
    "shopping/suppliers/1",
    "orders/1",
    "plan",
    "stint",
    "stints",
    "visits/1",
    "lines",
    "lines/2",
    "line-map",
    "first-start",
    "leak-test",
    "suppose",
)
TITLES = ("page", "reload ms", f"× {TEN}", "ratio", "after write ms", f"× {TEN}", "ratio")


def least(ask: Callable[[], object], rounds: int, before: Callable[[int], object] | None = None) -> float:
    """The least processor time of some rounds [s]; what comes before each is not counted."""
    taken = []
    for turn in range(rounds):
        if before is not None:
            before(turn)
        begun = time.process_time()
        ask()
        taken.append(time.process_time() - begun)
    return min(taken)


def measured(browser: Browser, address: str, write: Write, rounds: int) -> tuple[float, float]:
    """A page asked for again, and as the first after a write [s]."""

    def ask() -> None:
        answer = browser.get(address)
        assert answer.status_code == 200, address

    after = least(ask, rounds, lambda turn: write(browser, turn))
    return least(ask, rounds), after


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.bench.ten_times", description=__doc__)
    asked.add_argument("--rounds", type=int, default=4, help="an even number, so that each write is undone")
    asked.add_argument("--write", choices=sorted(WRITES), default="tick a task")
    typed = asked.parse_args()
    write, rounds = WRITES[typed.write], typed.rounds
    with tempfile.TemporaryDirectory() as folder:
        settings = settings_for(data=Path(folder, "demo"), environment={})
        load_demo(settings, lambda: CLOCK)
        apps: tuple[FastAPI, FastAPI] = (
            create_app(settings, lambda: CLOCK),
            ten_times(settings, Path(folder, "ten")),
        )
        add_bare_page(apps[0])
        settle_memory()
        rows, bare = [], []
        with Browser(apps[0]) as one, Browser(apps[1]) as ten:
            for page in MAIN:
                for browser in (one, ten):
                    assert browser.get(f"{BUILD}/{page}").status_code == 200, page
            for page in MAIN:
                bare.append(least(lambda: one.get(BARE), rounds))
                both = [measured(browser, f"{BUILD}/{page}", write, rounds) for browser in (one, ten)]
                reload, after = zip(*both, strict=True)
                rows.append((page, *_cells(*reload), *_cells(*after)))
    show([TITLES, *rows])
    print(f"The write: {typed.write}. The bare page: {min(bare) * 1e3:.1f} to {max(bare) * 1e3:.1f} ms.")


def _cells(one: float, ten: float) -> tuple[str, str, str]:
    return f"{one * 1e3:.0f}", f"{ten * 1e3:.0f}", f"{ten / one:.1f}"


if __name__ == "__main__":
    main()
