"""`python -m tests.bench.bad_phone [runs]`: garage, design and shopping pages of the demo on a slow phone.

Slow 4G (562.5 ms, 1,474.6 kbit/s down, 675 kbit/s up: the mobile preset of Chromium's own audit tool) and a
quarter of this machine's processor. Stated: largest contentful paint, layout shift, and the longest event of
a tap (Event Timing), each the median of some runs, first and second visit, over plain HTTP and over HTTPS;
there also without signal, where the worker answers. The emulation does not slow a worker's own requests, so a
second visit over HTTPS with signal looks better than it is. Only a calm machine measures: the load is told.
"""

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext, Page, sync_playwright

from server.app import create_app
from server.settings import settings_for
from tests.bad_line import NAME, Certificate, make_certificate
from tests.conftest import TEN_IN_THE_MORNING
from tests.factories import load_demo
from tests.far_garage import Garage, a_garage_far_off, arguments, chromium_program, in_garage

PAGES = {"garage": "/builds/1/garage", "design": "/builds/1/designs/2", "shopping": "/builds/1/shopping"}
SLOW_4G = {
    "offline": False,
    "latency": 562.5,
    "downloadThroughput": 1_474_600 / 8,
    "uploadThroughput": 675_000 / 8,
}
SLOWER = 4
FIRST, SECOND, NO_SIGNAL = "first visit", "second visit", "without signal"
AIMS = {FIRST: 1500, SECOND: 800, NO_SIGNAL: 400}
"""Largest contentful paint [ms]; shift 0.02 and a tap 100 ms on every visit."""
WATCH = """
window.noted = { paint: 0, shift: 0, tap: 0 };
const watch = (type, note, more) => {
  const observer = new PerformanceObserver((list) => list.getEntries().forEach(note));
  observer.observe({ type, buffered: true, ...more });
};
watch("largest-contentful-paint", (entry) => { noted.paint = entry.startTime; });
watch("layout-shift", (entry) => { if (!entry.hadRecentInput) noted.shift += entry.value; });
watch("event", (entry) => { if (entry.interactionId) noted.tap = Math.max(noted.tap, entry.duration); },
  { durationThreshold: 16 });
"""


@dataclass(frozen=True, slots=True)
class Visit:
    """paint: largest contentful paint [ms]. shift: sum of layout shifts. tap: longest event of a tap [ms]."""

    paint: float
    shift: float
    tap: float


@contextmanager
def slow_page(context: BrowserContext) -> Iterator[Page]:
    """A page on a slow phone with a weak signal."""
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.add_init_script(WATCH)
    session = context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.emulateNetworkConditions", SLOW_4G)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    yield page
    page.close()


def visit(page: Page, address: str) -> Visit:
    """Open a page, let it settle, open and close the list of sheets by tapping."""
    page.goto(address)
    page.wait_for_timeout(1000)
    noted = page.evaluate("({ ...noted })")  # a tap ends the search for the largest paint
    for _ in range(2):
        page.locator(".sheets summary").tap()
        page.wait_for_timeout(400)
    return Visit(noted["paint"], noted["shift"], page.evaluate("noted.tap"))


def visits(chromium: Chromium, garage: Garage, address: str) -> dict[str, Visit]:
    """A phone that was never here before opens a page, comes back, and once more without signal."""
    found = {}
    with in_garage(chromium, garage) as context:
        with slow_page(context) as page:
            found[FIRST] = visit(page, address)
            page.wait_for_timeout(3000)  # a worker keeps what it keeps
        with slow_page(context) as page:
            found[SECOND] = visit(page, address)
        if garage.cookie["name"].startswith("__Host"):
            context.set_offline(True)
            with slow_page(context) as page:
                found[NO_SIGNAL] = visit(page, address)
    return found


def told(scheme: str, name: str, runs: list[dict[str, Visit]]) -> None:
    """Print the medians of one page, with a mark where an aim is missed."""
    for which in runs[0]:
        paint, shift, tap = (
            median(getattr(run[which], what) for run in runs) for what in ("paint", "shift", "tap")
        )
        missed = " MISSED" if paint > AIMS[which] or shift > 0.02 or tap > 100 else ""
        aim = AIMS[which]
        print(f"{scheme:5} {name:9}{which:15}{paint:7.0f} ms (aim {aim}){shift:8.3f}{tap:6.0f} ms{missed}")


def measure(chromium: Chromium, secure: Certificate | None, runs: int) -> None:
    """The table of one scheme. The server has made each page once before: its own time is `tests.bench`."""
    with tempfile.TemporaryDirectory() as folder:
        mine = settings_for(data=Path(folder) / "data", environment={})
        load_demo(mine, lambda: TEN_IN_THE_MORNING)
        app = create_app(replace(mine, extra_hosts=(NAME,)))
        with a_garage_far_off(app, secure) as garage:
            for name, address in PAGES.items():
                with in_garage(chromium, garage) as context:
                    context.new_page().goto(address)
                found = [visits(chromium, garage, address) for _ in range(runs)]
                told("HTTPS" if secure else "HTTP", name, found)
        app.state.engine.dispose()


def main(runs: int = 5) -> None:
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors; median of {runs}")
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        certificate = make_certificate(Path(folder))
        program = chromium_program(playwright)
        chromium = playwright.chromium.launch(executable_path=program, args=arguments(certificate))
        for secure in (None, certificate):
            measure(chromium, secure, runs)
        chromium.close()


if __name__ == "__main__":
    main(*(int(one) for one in sys.argv[1:2]))
