"""What waits behind one edit: a long run answered again, and what to measure next in the whole build.

Both over HTTP forms and pages, timed where the application is handed the request, in its own process. Before
each of them the bare page is asked for, so that both meet the machine in the same mood.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, cast

import httpx
from fastapi import FastAPI
from sqlalchemy import Engine

from server.features.builds import service as builds
from tests.asking import Browser, number_in
from tests.bench.measure import BARE, Times, drop_derived, outdate, times
from tests.page_forms import page_forms

PIECES = 25
BUILD = "/builds/1"
HOSE = {
    "kind": "coupler",
    "bore": "57",
    "wall": "5",
    "rated_pressure": "4 bar",
    "rated_temperature": "150 °C",
}
METAL = {"outside_diameter": "57", "wall": "1.5", "inlet_end": "bead", "outlet_end": "bead"}
BENT = {"bend_angle": "45", "bend_radius": "86", "length": "60", "length_out": "60"}


PORTS = (4, 18)
"""Of the demo: their bores are the readings that would settle most."""


class Stopwatch:
    """The application with the time it takes over each request, up to the last byte of the answer [s]."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app
        self.taken: list[float] = []

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        begun = time.perf_counter()
        await self._app(scope, receive, send)
        self.taken.append(time.perf_counter() - begun)


@contextmanager
def watched(app: FastAPI) -> Iterator[tuple[Browser, Stopwatch]]:
    """A browser of the application, and the watch that times what it asks."""
    watch = Stopwatch(app)
    with Browser(cast(FastAPI, watch)) as browser:
        yield browser, watch


def _stored(answer: httpx.Response) -> int:
    assert answer.status_code == 303, answer.text[:1000]
    return number_in(answer.headers["location"].split("#")[0])


def long_design(browser: Browser, pieces: int = PIECES) -> tuple[str, list[int]]:
    """The address of a new charge pipe of so many pieces in the demo, and the numbers of its pieces."""
    subsystem = _stored(
        browser.post(f"{BUILD}/subsystems", {"kind": "charge pipe", "name": "Long way round"})
    )
    named = {"name": "One long run"}
    design = f"{BUILD}/designs/{_stored(browser.post(f'{BUILD}/subsystems/{subsystem}/designs', named))}"
    numbers = []
    for at in range(pieces):
        fields = {**HOSE, "length": "76", "material": "silicone"}
        if at % 2:
            bent = {"kind": "bend", **BENT} if at % 4 == 1 else {"kind": "tube", "length": "150"}
            fields = {**METAL, **bent, "material": "aluminium"}
        numbers.append(_stored(browser.post(f"{design}/pieces", fields)))
    return design, numbers


def edit(browser: Browser, design: str, piece: int, length: float) -> None:
    """The length of a piece typed anew, saved, and the design's page that answers."""
    page = browser.get(f"{design}?piece={piece}").text
    form = next(one for one in page_forms(page) if one.address == f"{design}/pieces/{piece}")
    answer = browser.post(form.address, {**dict(form.fields), "length": f"{length:.1f} mm"})
    shown = browser.follow(answer)
    assert shown.status_code == 200


@dataclass(frozen=True, slots=True)
class Beside:
    """Server times of a wait, and of the bare page asked for before each time [s]."""

    wait: Times
    bare: Times


@dataclass(slots=True)
class _Beside:
    """Those times as they are taken; the first round only warms up."""

    watch: Stopwatch
    browser: Browser
    waits: list[float] = field(default_factory=list)
    bares: list[float] = field(default_factory=list)

    def bare(self) -> None:
        assert self.browser.get(BARE).status_code == 200
        self.bares.append(self.watch.taken[-1])

    def waited(self, requests: int) -> None:
        """The last so many requests were the wait."""
        self.waits.append(sum(self.watch.taken[-requests:]))

    def told(self) -> Beside:
        return Beside(times(self.waits[1:]), times(self.bares[1:]))


def edited(app: FastAPI, rounds: int) -> Beside:
    """The time over one edit of a long run: the form that is sent, and the page with every check answered."""
    with watched(app) as (browser, watch):
        design, pieces = long_design(browser)
        taken = _Beside(watch, browser)
        for turn in range(rounds + 1):
            taken.bare()
            edit(browser, design, pieces[5 + turn % 12], 80.0 + 0.5 * turn)
            taken.waited(2)
    return taken.told()


def measured_next(app: FastAPI, rounds: int) -> tuple[Beside, ...]:
    """The time over what to measure next in the whole demo: in a new process, built from checks that are
    answered, and after a write elsewhere.
    """
    ways: tuple[Callable[[Engine], None], ...] = (drop_derived, _drop_readings, outdate)
    with watched(app) as (browser, watch):
        taken = tuple(_Beside(watch, browser) for _ in ways)
        for _ in range(rounds + 1):
            builds._by_input.clear()
            for kept, forget in zip(taken, ways, strict=True):
                kept.bare()
                forget(app.state.engine)
                assert browser.get(f"{BUILD}/measure").status_code == 200
                kept.waited(1)
    return tuple(kept.told() for kept in taken)


def _drop_readings(engine: Engine) -> None:
    """No reading that would settle a check is known, and all else was written to; checks stay answered."""
    for key in [key for key in builds._of_steps if "next readings" in key]:
        del builds._of_steps[key]
    outdate(engine)


def read(browser: Browser, port: int, bore: float) -> None:
    """The bore of a port measured once more, by the form of its page."""
    page = browser.get(f"{BUILD}/ports/{port}?measure=bore").text
    form = next(one for one in page_forms(page) if one.address.endswith("/readings"))
    _stored(browser.post(form.address, {**dict(form.fields), "reading": f"{bore:.1f} mm"}))


def measured_after_reading(app: FastAPI, rounds: int) -> Beside:
    """The time over what to measure next in the whole demo, after one more reading of a port."""
    with watched(app) as (browser, watch):
        taken = _Beside(watch, browser)
        for turn in range(rounds + 1):
            taken.bare()
            read(browser, PORTS[turn % len(PORTS)], 60.0 + 0.1 * turn)
            assert browser.get(f"{BUILD}/measure").status_code == 200
            taken.waited(1)
    return taken.told()


def moved(app: FastAPI, rounds: int) -> Beside:
    """The time over a delivery date that is changed, the garage after it, and the plan made anew for it."""
    with watched(app) as (browser, watch):
        orders = browser.get_json(f"{BUILD}/orders")["in_post"]
        order = orders[-1]["href"]
        asked = {"hx-request": "true", "hx-target": "first-start"}
        taken = _Beside(watch, browser)
        for turn in range(rounds + 1):
            form = next(one for one in page_forms(browser.get(order).text) if one.address == order)
            taken.bare()
            due = f"2026-12-{10 + turn % 18:02}"
            assert browser.post(order, {**dict(form.fields), "due_on": due}).status_code == 303
            assert browser.get(f"{BUILD}/garage").status_code == 200
            assert browser.get(f"{BUILD}/plan", headers=asked).status_code == 200
            taken.waited(3)
    return taken.told()
