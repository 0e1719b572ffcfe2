"""`make bench`: server time, size and queries of every page of the demo, then beside ten times its data."""

import argparse
import platform
import shutil
import tempfile
from collections.abc import Sequence
from datetime import datetime, timedelta, timezone
from pathlib import Path

from fastapi import FastAPI

from server.app import create_app
from server.db import make_engine
from server.serving import settle_memory
from server.settings import Settings, settings_for
from tests.asking import Browser
from tests.bench.edits import PIECES, edited, measured_after_reading, measured_next, moved
from tests.bench.measure import (
    BARE,
    LEAST_ROUNDS,
    Measured,
    Times,
    add_bare_page,
    first_visit,
    run,
    run_side_by_side,
)
from tests.bench.multiply import multiply
from tests.factories import load_demo

CLOCK = datetime(2026, 11, 25, 10, 0, tzinfo=timezone(timedelta(hours=1)))
TITLES = ("page", "warm ms", "p95", "× bare", "cold ms", "p95", "× bare", "queries", "cold", "gzip kB")


def row(page: Measured, bare: Measured) -> tuple[str, ...]:
    return (
        "a bare page, one row" if page.address == BARE else page.address.partition("?")[0],
        f"{page.warm.median * 1e3:.2f}",
        f"{page.warm.p95 * 1e3:.2f}",
        f"{page.warm.median / bare.warm.median:.1f}",
        f"{page.cold.median * 1e3:.2f}",
        f"{page.cold.p95 * 1e3:.2f}",
        f"{page.cold.median / bare.cold.median:.1f}",
        str(page.warm_queries),
        str(page.cold_queries),
        f"{page.size / 1000:.1f}",
    )


TEN = 10
LEAST_WAITS = 40
"""Rounds of what waits behind an edit: of ten, the 95th in a hundred is the slowest, a chance one."""
SIDE_TITLES = (
    "page",
    "warm ms",
    "× 10",
    "ratio",
    "cold ms",
    "× 10",
    "ratio",
    "queries",
    "× 10",
    "gzip kB",
    "× 10",
)


def side_row(one: Measured, ten: Measured) -> tuple[str, ...]:
    """Queries: warm and cold."""
    return (
        one.address.partition("?")[0],
        f"{one.warm.median * 1e3:.2f}",
        f"{ten.warm.median * 1e3:.2f}",
        f"{ten.warm.median / one.warm.median:.1f}",
        f"{one.cold.median * 1e3:.2f}",
        f"{ten.cold.median * 1e3:.2f}",
        f"{ten.cold.median / one.cold.median:.1f}",
        f"{one.warm_queries}, {one.cold_queries}",
        f"{ten.warm_queries}, {ten.cold_queries}",
        f"{one.size / 1000:.1f}",
        f"{ten.size / 1000:.1f}",
    )


WAIT_TITLES = ("what", "median ms", "p95", "× bare", "p95 × p95", "bare between", "× that")


def waits_of(app: FastAPI, rounds: int, bare: Times) -> list[tuple[str, ...]]:
    """What waits behind an edit, in rows, each beside the bare page of the pages' table.

    Beside the one between its rounds too, which follows on heavy work and takes longer for it.
    """
    # First the demo as it is, without the long run.
    first, built, again = measured_next(app, LEAST_WAITS)
    told = {
        "what to measure next in the whole demo, all anew": first,
        "the same built from answered checks": built,
        "the same after a write elsewhere": again,
        "the same after one more reading of a port": measured_after_reading(app, LEAST_WAITS),
        f"an edit of a run of {PIECES} pieces, saved and answered": edited(app, rounds),
        "a delivery date changed, the garage and the demo planned anew": moved(app, rounds),
    }
    return [
        (
            name,
            f"{taken.wait.median * 1e3:.1f}",
            f"{taken.wait.p95 * 1e3:.1f}",
            f"{taken.wait.median / bare.median:.0f}",
            f"{taken.wait.p95 / bare.p95:.0f}",
            f"{taken.bare.median * 1e3:.1f}",
            f"{taken.wait.median / taken.bare.median:.0f}",
        )
        for name, taken in told.items()
    ]


def ten_times(settings: Settings, folder: Path) -> FastAPI:
    """The application on a copy of that data, with ten times as much of everything."""
    shutil.copytree(settings.data, folder)
    mine = settings_for(data=folder, environment={})
    engine = make_engine(mine.database_url)
    multiply(engine, TEN)
    engine.dispose()
    return create_app(mine, lambda: CLOCK)


def show(rows: Sequence[tuple[str, ...]]) -> None:
    widths = [max(len(cells[at]) for cells in rows) for at in range(len(rows[0]))]
    for cells in rows:
        head = cells[0].ljust(widths[0])
        print(
            "  ".join([head, *(cell.rjust(width) for cell, width in zip(cells[1:], widths[1:], strict=True))])
        )


def main() -> None:
    asked = argparse.ArgumentParser(prog="make bench", description=__doc__)
    asked.add_argument("--rounds", type=int, default=40)
    asked.add_argument("--ten-rounds", type=int, default=8)
    rounds, ten_rounds = asked.parse_args().rounds, asked.parse_args().ten_rounds
    with tempfile.TemporaryDirectory() as folder:
        settings = settings_for(data=Path(folder, "demo"), environment={})
        begun = datetime.now()
        load_demo(settings, lambda: CLOCK)
        loaded = (datetime.now() - begun).total_seconds()
        app = create_app(settings, lambda: CLOCK)
        settle_memory()
        add_bare_page(app)
        pages = run(app, rounds)
        with Browser(app) as browser:
            visit = max(first_visit(browser.get(page.address).content) for page in pages)
        waits = waits_of(app, rounds, pages[0].warm)
        big = ten_times(settings, Path(folder, "ten"))
        beside = run_side_by_side((app, big), ten_rounds)
        app.state.engine.dispose()
        big.state.engine.dispose()
    print(
        f"Over ASGI in one process, Python {platform.python_version()}, up to {rounds} rounds, "
        f"no fewer than {LEAST_ROUNDS} where a page is slow; each page in turn."
    )
    print("Warm: derived values kept from the ask before. Cold: dropped before each ask, as in a process")
    print("just begun; a write drops less: see tests.bench.after_write.")
    print()
    show([TITLES, *(row(page, pages[0]) for page in pages)])
    print()
    print("What waits behind an edit, beside the warm bare page above, and the one asked for before each.")
    print()
    show([WAIT_TITLES, *waits])
    print()
    print(f"The demo beside {TEN} times its data, up to {ten_rounds} rounds. Queries: warm, cold.")
    print("Cold grows with the data: all tasks, parts and checks are worked out anew.")
    print()
    show([SIDE_TITLES, *(side_row(one, ten) for one, ten in zip(*beside, strict=True))])
    print()
    print(
        f"The demo, migration included, loads in {loaded:.2f} s. "
        f"Largest first visit: {visit / 1000:.1f} kB compressed."
    )


if __name__ == "__main__":
    main()
