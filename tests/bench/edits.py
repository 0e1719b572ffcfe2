"""What waits behind one edit: a long run answered again, and what to measure next in the whole build.

Both over HTTP forms and pages, timed where the application is handed the request, in its own process.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
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


def edited(app: FastAPI, rounds: int) -> Times:
    """The time over one edit of a long run: the form that is sent, and the page with every check answered."""
    with watched(app) as (browser, watch):
        design, pieces = long_design(browser)
        taken = []
        for turn in range(rounds + 1):
            edit(browser, design, pieces[5 + turn % 12], 80.0 + 0.5 * turn)
            taken.append(sum(watch.taken[-2:]))
    return times(taken[1:])


def measured_next(app: FastAPI, rounds: int) -> tuple[Times, Times, Times]:
    """The time over what to measure next in the whole demo: in a new process, built from checks that are
    answered, and after a write elsewhere.
    """
    ways: tuple[Callable[[Engine], None], ...] = (drop_derived, _drop_readings, outdate)
    taken: tuple[list[float], ...] = ([], [], [])
    with watched(app) as (browser, watch):
        for _ in range(rounds):
            builds._by_input.clear()
            for kept, forget in zip(taken, ways, strict=True):
                forget(app.state.engine)
                assert browser.get(f"{BUILD}/measure").status_code == 200
                kept.append(watch.taken[-1])
    first, built, again = (times(kept) for kept in taken)
    return first, built, again


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


def measured_after_reading(app: FastAPI, rounds: int) -> Times:
    """The time over what to measure next in the whole demo, after one more reading of a port."""
    with watched(app) as (browser, watch):
        taken = []
        for turn in range(rounds + 1):
            read(browser, PORTS[turn % len(PORTS)], 60.0 + 0.1 * turn)
            assert browser.get(f"{BUILD}/measure").status_code == 200
            taken.append(watch.taken[-1])
    return times(taken[1:])


def moved(app: FastAPI, rounds: int) -> Times:
    """The time over a delivery date that is changed, the garage after it, and the plan made anew for it."""
    with watched(app) as (browser, watch):
        orders = browser.get_json(f"{BUILD}/orders")["in_post"]
        order = orders[-1]["href"]
        asked = {"hx-request": "true", "hx-target": "first-start"}
        taken = []
        for turn in range(rounds + 1):
            form = next(one for one in page_forms(browser.get(order).text) if one.address == order)
            begun = len(watch.taken)
            due = f"2026-12-{10 + turn % 18:02}"
            assert browser.post(order, {**dict(form.fields), "due_on": due}).status_code == 303
            assert browser.get(f"{BUILD}/garage").status_code == 200
            assert browser.get(f"{BUILD}/plan", headers=asked).status_code == 200
            taken.append(sum(watch.taken[begun:]))
        return times(taken[1:])


def bare(app: FastAPI, rounds: int) -> Times:
    """The time over the bare page, beside which the rest is told."""
    with watched(app) as (browser, watch):
        for _ in range(rounds + 1):
            assert browser.get(BARE).status_code == 200
        return times(watch.taken[1:])
