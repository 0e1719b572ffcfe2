"""A real Chromium. Where there is none, these tests are skipped, naming the command that installs one."""

import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from fastapi import FastAPI
from playwright._impl._api_structures import SetCookieParam
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import (
    BrowserContext,
    BrowserType,
    ConsoleMessage,
    Page,
    Playwright,
    Request,
    Response,
    ViewportSize,
    sync_playwright,
)
from sqlalchemy import Engine

from server.app import create_app
from server.db import write_session
from server.features.ports import service as ports
from server.features.sharing import service as sharing
from server.features.sharing.page import cookie_name
from server.settings import Settings
from server.web import urls
from tests.bad_line import NAME, BadLine, Certificate, bad_line, make_certificate
from tests.factories import a_build
from tests.live import served

NAMES = ("chromium", "chromium-browser")
QUIET = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
PHONE: ViewportSize = {"width": 390, "height": 844}


def in_a_browser(item: pytest.Item) -> bool:
    return Path(__file__).parent in item.path.parents


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark the tests of this folder, and leave them to the end: they are the slowest.

    Where several processes share the work they come first, so that none is left with a long file at the end.
    """
    items.sort(key=in_a_browser, reverse=hasattr(config, "workerinput"))
    for item in filter(in_a_browser, items):
        item.add_marker("browser")


@pytest.fixture(scope="module")  # while it is open, its event loop keeps every other from running
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="module")
def chromium_path(playwright: Playwright) -> str:
    """Where the browser is on this machine."""
    named = os.environ.get("WITNESS_MARK_CHROMIUM")
    found = named or next((path for name in NAMES if (path := shutil.which(name))), None)
    found = found or playwright.chromium.executable_path
    if not Path(found).is_file():
        pytest.skip("no Chromium: install one with `make chromium`")
    return found


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return make_certificate(tmp_path_factory.mktemp("authority"))


def arguments(certificate: Certificate) -> list[str]:
    """What Chromium is started with: it finds the garage's server, and trusts its certificate."""
    return [
        *QUIET,
        f"--host-resolver-rules=MAP {NAME} 127.0.0.1",
        f"--ignore-certificate-errors-spki-list={certificate.digest}",
    ]


@pytest.fixture(scope="module")
def chromium(playwright: Playwright, chromium_path: str, certificate: Certificate) -> Iterator[Chromium]:
    browser = playwright.chromium.launch(executable_path=chromium_path, args=arguments(certificate))
    yield browser
    browser.close()


@pytest.fixture
def live(app: FastAPI) -> Iterator[str]:
    """The address of a server without a build."""
    with served(app) as address:
        yield address


@pytest.fixture
def live_demo(demo_app: FastAPI) -> Iterator[str]:
    """The address of a server with the demo."""
    with served(demo_app) as address:
        yield address


@contextmanager
def phone_at(chromium: Chromium, address: str) -> Iterator[Page]:
    """A page the size of a phone, `/` being the server's home page.

    The test fails on any script error, refused content, failed request or error of the server.
    """
    context = chromium.new_context(
        base_url=address, viewport=PHONE, has_touch=True, locale="en-GB", timezone_id="Europe/Berlin"
    )
    page = context.new_page()
    page.set_default_timeout(10_000)
    trouble: list[str] = []

    def note_refused(said: ConsoleMessage) -> None:
        if "Content Security Policy" in said.text:
            trouble.append(said.text)

    def note_error(answer: Response) -> None:
        if answer.status >= 500:
            trouble.append(f"{answer.status} {answer.url}")

    def note_failed(asked: Request) -> None:
        # A file that is kept instead of shown ends its request so; what came of it the test reads back.
        kept = asked.is_navigation_request() and asked.failure == "net::ERR_ABORTED" and ".pdf" in asked.url
        if not kept:
            trouble.append(f"failed: {asked.url} {asked.failure}")

    page.on("pageerror", lambda error: trouble.append(f"script error: {error}"))
    page.on("requestfailed", note_failed)
    page.on("console", note_refused)
    page.on("response", note_error)
    yield page
    context.close()
    assert trouble == []


@pytest.fixture
def phone(chromium: Chromium, live: str) -> Iterator[Page]:
    """A phone in front of a server without a build."""
    with phone_at(chromium, live) as page:
        yield page


@pytest.fixture
def demo_phone(chromium: Chromium, live_demo: str) -> Iterator[Page]:
    """A phone in front of the demo."""
    with phone_at(chromium, live_demo) as page:
        yield page


@pytest.fixture
def plain_demo(chromium: Chromium, live_demo: str) -> Iterator[Page]:
    """A phone that runs no script, in front of the demo."""
    context = chromium.new_context(base_url=live_demo, viewport=PHONE, java_script_enabled=False)
    page = context.new_page()
    page.set_default_timeout(10_000)
    yield page
    context.close()


NO_STORE = "IDBFactory.prototype.open = () => { throw new DOMException('not here'); };"
"""A browser that keeps nothing for a page, as some do in private windows."""

IMPATIENT = (
    "const limit = AbortSignal.timeout; AbortSignal.timeout = (ms) => limit.call(AbortSignal, ms / 30);"
)
"""A try of 15 s takes half a second."""


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


@contextmanager
def signed_in(context: BrowserContext, garage: Garage) -> Iterator[BrowserContext]:
    """A browser at the door of a garage, let in."""
    context.set_default_timeout(10_000)
    context.add_cookies([garage.cookie])
    yield context
    context.close()


@contextmanager
def in_garage(chromium: Chromium, garage: Garage) -> Iterator[BrowserContext]:
    """A phone that nobody switches off."""
    context = chromium.new_context(
        base_url=garage.line.address, viewport=PHONE, has_touch=True, locale="en-GB"
    )
    with signed_in(context, garage):
        yield context


@dataclass(frozen=True)
class Phone:
    """Starts the browser of one phone, whose store outlives it. It gives up a try after half a second."""

    kind: BrowserType
    program: str
    profile: Path
    arguments: list[str]

    @contextmanager
    def on(self, garage: Garage) -> Iterator[BrowserContext]:
        """Switched on; leaving kills it."""
        context = self.kind.launch_persistent_context(
            self.profile,
            executable_path=self.program,
            args=self.arguments,
            base_url=garage.line.address,
            viewport=PHONE,
            has_touch=True,
            locale="en-GB",
        )
        context.add_init_script(IMPATIENT)
        with signed_in(context, garage):
            yield context


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


@pytest.fixture
def kept_phone(playwright: Playwright, chromium_path: str, certificate: Certificate, tmp_path: Path) -> Phone:
    return Phone(playwright.chromium, chromium_path, tmp_path / "phone", arguments(certificate))
