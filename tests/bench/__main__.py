"""`make bench`: server time, size and queries of every page of the demo, as a table."""

import argparse
import platform
import tempfile
from datetime import datetime, timedelta, timezone
from pathlib import Path

from server.app import create_app
from server.settings import settings_for
from tests.asking import Browser
from tests.bench.measure import BARE, Measured, add_bare_page, first_visit, run
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


def show(rows: list[tuple[str, ...]]) -> None:
    widths = [max(len(cells[at]) for cells in rows) for at in range(len(TITLES))]
    for cells in rows:
        head = cells[0].ljust(widths[0])
        print(
            "  ".join([head, *(cell.rjust(width) for cell, width in zip(cells[1:], widths[1:], strict=True))])
        )


def main() -> None:
    asked = argparse.ArgumentParser(prog="make bench", description=__doc__)
    asked.add_argument("--rounds", type=int, default=60)
    rounds = asked.parse_args().rounds
    with tempfile.TemporaryDirectory() as folder:
        settings = settings_for(data=Path(folder), environment={})
        begun = datetime.now()
        load_demo(settings, lambda: CLOCK)
        loaded = (datetime.now() - begun).total_seconds()
        app = create_app(settings, lambda: CLOCK)
        add_bare_page(app)
        pages = run(app, rounds)
        with Browser(app) as browser:
            visit = max(first_visit(browser.get(page.address).content) for page in pages)
        app.state.engine.dispose()
    print(
        f"Over ASGI in one process, Python {platform.python_version()}, {rounds} rounds, each page in turn."
    )
    print("Warm: derived values kept from the ask before. Cold: dropped before each ask, as after a write.")
    print()
    show([TITLES, *(row(page, pages[0]) for page in pages)])
    print()
    print(
        f"The demo, migration included, loads in {loaded:.2f} s. "
        f"Largest first visit: {visit / 1000:.1f} kB compressed."
    )


if __name__ == "__main__":
    main()
