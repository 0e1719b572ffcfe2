"""Acts made without signal are sent once and only once, over plain HTTP and over HTTPS.

Plain HTTP is asked under a made-up name: a browser gives 127.0.0.1 what it gives no other plain address.
`WITNESS_MARK_OUTBOX_RUNS` sets how many random runs there are of each kind.
"""

import io
import os
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import pytest
from fastapi import FastAPI
from PIL import Image
from playwright._impl._api_structures import SetCookieParam
from playwright.sync_api import (
    BrowserContext,
    BrowserType,
    FilePayload,
    Locator,
    Page,
    Playwright,
    expect,
)
from sqlalchemy import Engine
from sqlmodel import Session, col, func, select

from server.app import create_app
from server.core.work.tasks import TaskState
from server.db import write_session
from server.features.photos.tables import Photo
from server.features.ports import service as ports
from server.features.ports.tables import Reading
from server.features.sharing import service as sharing
from server.features.sharing.page import cookie_name
from server.features.work import service as work
from server.features.work.tables import Task
from server.once import OperationKey
from server.settings import Settings
from server.web import urls
from tests.bad_line import NAME, BadLine, Certificate, bad_line, make_certificate
from tests.browser.conftest import PHONE, QUIET
from tests.factories import a_build
from tests.live import served

RUNS = int(os.environ.get("WITNESS_MARK_OUTBOX_RUNS", "2"))
IMPATIENT = (
    "const limit = AbortSignal.timeout; AbortSignal.timeout = (ms) => limit.call(AbortSignal, ms / 30);"
)
"""A try of 15 s takes half a second."""

TASKS = ("Cut the tube", "Bead the ends")


@dataclass(frozen=True)
class Garage:
    """A served build, the bad line to it, and one signed-in phone."""

    app: FastAPI
    engine: Engine
    line: BadLine
    port: str
    sheet: str
    cookie: SetCookieParam
    build_id: int


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return make_certificate(tmp_path_factory.mktemp("authority"))


@pytest.fixture(params=["http", "https"])
def secure(request: pytest.FixtureRequest, certificate: Certificate) -> Certificate | None:
    return certificate if request.param == "https" else None


@pytest.fixture
def open_app(settings: Settings) -> Iterator[FastAPI]:
    """The application with a door, as other machines reach it, on this machine's clock."""
    application = create_app(replace(settings, extra_hosts=(NAME,)))
    yield application
    application.state.engine.dispose()


@pytest.fixture
def garage(open_app: FastAPI, secure: Certificate | None) -> Iterator[Garage]:
    clock, engine = open_app.state.clock, open_app.state.engine
    with write_session(engine) as session:
        build = a_build(session, clock())
        spigot = {"role": "run end", "shape": "spigot", "medium": "air"}
        port = ports.add_port(session, build.id, {"name": "Air meter outlet", **spigot})
        token = sharing.sign_in(session, clock())
    with served(open_app) as address, bad_line(int(address.rsplit(":", 1)[1]), secure) as line:
        cookie: SetCookieParam = {
            "name": cookie_name(secure is not None),
            "value": token,
            "url": line.address,
            "secure": secure is not None,
            "httpOnly": True,
            "sameSite": "Lax",
            "expires": time.time() + 3600,
        }
        yield Garage(open_app, engine, line, urls.port(build.id, port), urls.work(build.id), cookie, build.id)


@dataclass(frozen=True)
class Phone:
    """Starts the browser of one phone, whose store outlives it."""

    kind: BrowserType
    program: str
    profile: Path

    @contextmanager
    def on(self, garage: Garage) -> Iterator[BrowserContext]:
        """Switched on and signed in; leaving kills it."""
        trusted = garage.line.certificate
        context = self.kind.launch_persistent_context(
            self.profile,
            executable_path=self.program,
            args=[
                *QUIET,
                f"--host-resolver-rules=MAP {NAME} 127.0.0.1",
                *([f"--ignore-certificate-errors-spki-list={trusted.digest}"] if trusted else []),
            ],
            base_url=garage.line.address,
            viewport=PHONE,
            has_touch=True,
            locale="en-GB",
        )
        context.set_default_timeout(10_000)
        context.add_init_script(IMPATIENT)
        context.add_cookies([garage.cookie])
        yield context
        context.close()


@pytest.fixture
def phone(playwright: Playwright, chromium_path: str, tmp_path: Path) -> Phone:
    return Phone(playwright.chromium, chromium_path, tmp_path / "phone")


def a_photo() -> FilePayload:
    written = io.BytesIO()
    Image.effect_noise((1900, 40), 60).save(written, "JPEG")
    return {"name": "outlet.jpg", "mimeType": "image/jpeg", "buffer": written.getvalue()}


def note_reading(page: Page, text: str) -> None:
    page.locator("#reading-form [name=reading]").fill(text)
    page.locator("#save-reading").click()


def note_photo(page: Page) -> None:
    page.locator("#new-photo > summary").click()
    page.locator("#photo-file").set_input_files(a_photo())
    page.locator("#save-photo").click()


def tick(page: Page, title: str) -> None:
    page.get_by_role("button", name=f"Done: {title}", exact=True).click()


def waiting(page: Page) -> Locator:
    return page.locator("#waiting")


def signal_back(*pages: Page) -> None:
    """The phone notices its signal again and again until nothing waits."""
    end = time.monotonic() + 30
    while time.monotonic() < end:
        for page in pages:
            page.evaluate("dispatchEvent(new Event('online'))")
        pages[0].wait_for_timeout(50)
        if all(page.locator(".outbox details").is_hidden() for page in pages):
            return
    raise AssertionError(f"still: {waiting(pages[0]).inner_text()}")


def open_both(context: BrowserContext, garage: Garage) -> tuple[Page, Page]:
    """The sheet of the port and the list of work, in two tabs."""
    first = context.pages[0]
    second = context.pages[1] if len(context.pages) > 1 else context.new_page()
    first.goto(garage.port)
    second.goto(garage.sheet)
    return first, second


def recorded(garage: Garage) -> tuple[list[str], int, list[str], int]:
    """Readings as typed, photos, tasks done, and acts in all."""
    with Session(garage.engine) as session:
        typed = list(session.exec(select(Reading.typed).order_by(col(Reading.id))))
        photos = session.exec(select(func.count()).select_from(Photo)).one()
        done = list(session.exec(select(Task.title).where(Task.state == "done").order_by(col(Task.id))))
        acts = session.exec(select(func.count()).select_from(OperationKey)).one()
    return typed, photos, done, acts


def more_tasks(garage: Garage, run: int) -> list[str]:
    """Two more tasks, in hand."""
    titles = [f"{title} {run}" for title in TASKS]
    with write_session(garage.engine) as session:
        for title in titles:
            task = work.add_task(session, garage.build_id, {"title": title, "likely": "20 min"})
            work.set_state(session, garage.build_id, task, TaskState.IN_HAND, datetime.now().astimezone())
        garage.app.state.after_write(session, {"build_id": garage.build_id})
    return titles


@pytest.mark.parametrize("killed", [True, False], ids=["phone killed", "page left open"])
def test_acts_made_without_signal_are_recorded_once_each_however_bad_the_line_is(
    garage: Garage, phone: Phone, killed: bool
) -> None:
    """Three readings, two ticks and a photo per run; fates of the line drawn by the run's number."""
    readings: list[str] = []
    tasks: list[str] = []
    with ExitStack() as switched_on:
        context = switched_on.enter_context(phone.on(garage))
        for run in range(RUNS):
            titles = more_tasks(garage, run)
            port, sheet = open_both(context, garage)
            garage.line.down = True
            port.bring_to_front()
            typed = [f"{57 + run / 100 + number / 1000:.3f} mm" for number in range(3)]
            for number, text in enumerate(typed, 1):
                note_reading(port, text)
                expect(waiting(port)).to_have_text(f"{number} waiting to send")
            note_photo(port)
            expect(waiting(port)).to_have_text("4 waiting to send")
            sheet.bring_to_front()
            for number, title in enumerate(titles, 5):
                tick(sheet, title)
                expect(waiting(sheet)).to_have_text(f"{number} waiting to send")
            if killed:
                switched_on.pop_all().close()
                context = switched_on.enter_context(phone.on(garage))
            garage.line.good()
            garage.line.flaky(run)
            if killed:
                port, sheet = open_both(context, garage)
            signal_back(sheet)
            garage.line.good()
            readings += typed
            tasks += titles
            assert recorded(garage) == (readings, run + 1, tasks, 6 * (run + 1)), f"run {run}"
    print(f"{RUNS} runs, {garage.line.address.split(':')[0]}: {dict(garage.line.seen)}")
