"""The first page after a write, page by page and by kind of write, beside the same at ten times the data.

Each write is a form posted as a browser would; then one page is asked for, the first that is shown after it.
Processor time is told, not the clock's: others may be at work on the same machine.
"""

import argparse
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from fastapi import FastAPI

from server.app import create_app
from server.serving import settle_memory
from server.settings import settings_for
from tests.asking import Browser
from tests.bench.__main__ import CLOCK, TEN, show, ten_times
from tests.bench.measure import counting
from tests.factories import load_demo
from tests.page_forms import PageForm, page_forms

BUILD = "/builds/1"
PAGES = (
    "garage",
    "work",
    "parts",
    "shelf",
    "shopping",
    "shopping/print",
    "orders",
    "ports",
    "subsystems",
    "designs/6",
    "subsystems/1/compare",
    "measure",
    "tasks/21",
    "log",
    "start",
)


Write = Callable[[Browser, int], None]
"""One write, told apart from the last one of its kind by its turn."""


def _form(browser: Browser, page: str, address: str) -> PageForm:
    return next(one for one in page_forms(browser.get(BUILD + page).text) if one.address == BUILD + address)


def _send(browser: Browser, form: PageForm) -> str:
    """Where the server leads next."""
    answer = browser.post(form.address, dict(form.fields))
    assert answer.status_code == 303, f"{form.address}: {answer.status_code} {answer.text[-1500:]}"
    return answer.headers["location"]


def tick(browser: Browser, turn: int) -> None:
    """A task is done, or it is not after all."""
    state = "in hand" if turn % 2 else "done"
    _send(browser, PageForm(f"{BUILD}/tasks/21/state", (("state", state),)))


def note(browser: Browser, turn: int) -> None:
    _send(browser, PageForm(f"{BUILD}/log", (("text", f"Note {turn}"),)))


def reading(browser: Browser, turn: int) -> None:
    form = _form(browser, "/ports/1", "/ports/1/readings")
    _send(browser, form.having(dimension="length", reading=f"{40 + turn / 100:.2f} mm"))


def parcel(browser: Browser, turn: int) -> None:
    """One piece of what is owed comes, or it did not after all."""
    if turn % 2:
        number = browser.told_delivery  # type: ignore[attr-defined]
        withdrawn = PageForm(f"{BUILD}/deliveries/{number}/withdrawal", (("withdrawn", "yes"),))
        _send(browser, withdrawn)
        return
    came = _send(browser, PageForm(f"{BUILD}/order-lines/35/deliveries", (("quantity", "1"),)))
    browser.told_delivery = came.partition("delivery-")[2].partition("#")[0]  # type: ignore[attr-defined]


def piece(browser: Browser, turn: int) -> None:
    form = _form(browser, "/designs/6?piece=24", "/designs/6/pieces/24")
    _send(browser, form.having(length=f"{120 + turn / 10:.1f} mm"))


WRITES: dict[str, Write] = {
    "tick a task": tick,
    "add a note": note,
    "write a reading": reading,
    "take in a parcel": parcel,
    "edit a piece": piece,
}


@dataclass(frozen=True, slots=True)
class First:
    """The least processor time over the first page after a write [s], and its queries."""

    time: float
    queries: int


def first_page(app: FastAPI, browser: Browser, write: Write, page: str, rounds: int) -> First:
    taken = []
    for turn in range(rounds):
        write(browser, turn)
        with counting(app.state.engine) as sent:
            begun = time.process_time()
            answer = browser.get(f"{BUILD}/{page}")
            taken.append(time.process_time() - begun)
        assert answer.status_code == 200, page
    return First(min(taken), len(sent))


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--rounds", type=int, default=4, help="an even number, so that each write is undone")
    rounds = asked.parse_args().rounds
    with tempfile.TemporaryDirectory() as folder:
        settings = settings_for(data=Path(folder, "demo"), environment={})
        load_demo(settings, lambda: CLOCK)
        apps = create_app(settings, lambda: CLOCK), ten_times(settings, Path(folder, "ten"))
        settle_memory()
        rows = []
        with Browser(apps[0]) as one, Browser(apps[1]) as ten:
            for browser in (one, ten):
                for page in PAGES:
                    assert browser.get(f"{BUILD}/{page}").status_code == 200, page
            for name, write in WRITES.items():
                for page in PAGES:
                    before = first_page(apps[0], one, write, page, rounds)
                    after = first_page(apps[1], ten, write, page, rounds)
                    rows.append(
                        (
                            f"{name}: {page}",
                            f"{before.time * 1e3:.0f}",
                            f"{after.time * 1e3:.0f}",
                            f"{after.time / before.time:.1f}",
                            str(before.queries),
                            str(after.queries),
                        )
                    )
    show([("first page after", "ms", f"× {TEN}", "ratio", "queries", f"× {TEN}"), *rows])


if __name__ == "__main__":
    main()
