"""A real Chromium. Where there is none, these tests are skipped, naming the command that installs one."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import (
    BrowserContext,
    ConsoleMessage,
    Page,
    Playwright,
    Request,
    Response,
    sync_playwright,
)

from server.app import create_app
from server.settings import Settings, settings_for
from server.web.assets import static
from tests.access import phone_in
from tests.bad_line import NAME, Certificate, make_certificate
from tests.conftest import TEN_IN_THE_MORNING
from tests.far_garage import PHONE, Garage, Phone, a_garage_far_off, arguments, chromium_program
from tests.live import Stand, served


def in_a_browser(item: pytest.Item) -> bool:
    return item.nodeid.startswith("tests/browser/")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark the tests of this folder, and leave them to the end: they are the slowest.

    Where several processes share the work they come first, so that none is left with a long file at the end.
    """
    items.sort(key=in_a_browser, reverse=hasattr(config, "workerinput"))
    for item in filter(in_a_browser, items):
        item.add_marker("browser")


@pytest.fixture(scope="package")  # while it is open, its event loop keeps every other from running
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="package")
def chromium_path(playwright: Playwright) -> str:
    """Where the browser is on this machine."""
    found = chromium_program(playwright)
    if found is None:
        pytest.skip("no Chromium: install one with `make chromium`")
    return str(found)


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    return make_certificate(tmp_path_factory.mktemp("authority"))


@pytest.fixture(scope="package")
def chromium(playwright: Playwright, chromium_path: str, certificate: Certificate) -> Iterator[Chromium]:
    browser = playwright.chromium.launch(executable_path=chromium_path, args=arguments(certificate))
    yield browser
    browser.close()


@pytest.fixture(scope="package")
def stand() -> Stand:
    """Where each test puts an application of its own, with a database of its own."""
    return Stand()


@pytest.fixture(scope="package")
def address_of_the_stand(stand: Stand) -> Iterator[str]:
    """One address for all, so that the phones can be too: a new one costs more than most tests do on it."""
    with served(stand) as address:
        yield address


@pytest.fixture
def live(app: FastAPI, stand: Stand, address_of_the_stand: str) -> Iterator[str]:
    """The address of a server without a build."""
    with stand.holding(app):
        yield address_of_the_stand


@pytest.fixture
def live_demo(demo_app: FastAPI, stand: Stand, address_of_the_stand: str) -> Iterator[str]:
    """The address of a server with the demo."""
    with stand.holding(demo_app):
        yield address_of_the_stand


@pytest.fixture(scope="module")
def demo_of_the_file(tmp_path_factory: pytest.TempPathFactory, demo_folder: Path) -> Iterator[FastAPI]:
    """The application on one copy of the demo, for every test of a file."""
    settings = settings_for(data=tmp_path_factory.mktemp("file") / "data", environment={})
    shutil.copytree(demo_folder, settings.data)
    app = create_app(settings, lambda: TEN_IN_THE_MORNING)
    yield app
    app.state.engine.dispose()


@pytest.fixture(scope="module")
def address_of_the_file(demo_of_the_file: FastAPI) -> Iterator[str]:
    """Where it is served."""
    with served(demo_of_the_file) as address:
        yield address


@pytest.fixture(scope="module")
def still_phone(chromium: Chromium, address_of_the_file: str) -> Iterator[Page]:
    """A phone held still in front of it, for every test of a file."""
    with phone_in(chromium, address_of_the_file) as page:
        yield page


@pytest.fixture(scope="module")
def phone_of_the_file(chromium: Chromium, address_of_the_file: str) -> Iterator[BrowserContext]:
    """A phone in front of it, on which each test of a file opens a page: phones cost more than pages."""
    with a_phone(chromium, address_of_the_file) as phone:
        keep_one_page(phone)
        yield phone


def wait_until(page: Page, expression: str) -> None:
    """Until it is true there; playwright's own way would have to run a text, which our pages forbid."""
    for _ in range(200):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never came true: {expression}")


def a_phone(chromium: Chromium, address: str) -> BrowserContext:
    """A browser the size of a phone, `/` being the server's home page."""
    return chromium.new_context(
        base_url=address, viewport=PHONE, has_touch=True, locale="en-GB", timezone_id="Europe/Berlin"
    )


def a_plain_phone(chromium: Chromium, address: str) -> BrowserContext:
    """One that runs no script."""
    return chromium.new_context(base_url=address, viewport=PHONE, java_script_enabled=False)


@contextmanager
def phone_at(chromium: Chromium, address: str) -> Iterator[Page]:
    """A page of a phone that nobody used before."""
    with a_phone(chromium, address) as phone, page_on(phone) as page:
        yield page


@contextmanager
def page_on(phone: BrowserContext) -> Iterator[Page]:
    """A page of its own.

    The test fails on any script error, refused content, failed request or error of the server.
    """
    page = phone.new_page()
    page.set_default_timeout(10_000)
    trouble: list[str] = []

    def note_refused(said: ConsoleMessage) -> None:
        if "Content Security Policy" in said.text:
            trouble.append(said.text)

    def note_error(answer: Response) -> None:
        if answer.status >= 500:
            trouble.append(f"{answer.status} {answer.url}")

    def note_failed(asked: Request) -> None:
        # So ends a request for a file that is kept instead of shown, and what a page that is left asked for.
        if asked.failure != "net::ERR_ABORTED":
            trouble.append(f"failed: {asked.url} {asked.failure}")

    page.on("pageerror", lambda error: trouble.append(f"script error: {error}"))
    page.on("requestfailed", note_failed)
    page.on("console", note_refused)
    page.on("response", note_error)
    try:
        yield page
    finally:
        page.close()
    assert trouble == []


@pytest.fixture(scope="package")
def first_phone(chromium: Chromium, address_of_the_stand: str) -> Iterator[BrowserContext]:
    """A phone that the tests use one after the other, each on an emptied page."""
    with a_phone(chromium, address_of_the_stand) as phone:
        keep_one_page(phone)
        yield phone


@pytest.fixture(scope="package")
def plain_phone(chromium: Chromium, address_of_the_stand: str) -> Iterator[BrowserContext]:
    """One that runs no script."""
    with a_plain_phone(chromium, address_of_the_stand) as phone:
        keep_one_page(phone)
        yield phone


def keep_one_page(phone: BrowserContext) -> None:
    """A page at its server that stays: who closes the last page of a phone closes more than the page.

    It is a picture, which runs nothing beside the tests.
    """
    phone.new_page().goto(static("icon.svg"))


@contextmanager
def emptied(phone: BrowserContext, address: str) -> Iterator[Page]:
    """A page of a phone on which nothing is left of the test before: no cookie, nothing stored or kept."""
    phone.clear_cookies()
    with page_on(phone) as page:
        session = phone.new_cdp_session(page)
        session.send("Storage.clearDataForOrigin", {"origin": address, "storageTypes": "all"})
        session.send("Network.clearBrowserCache")
        session.detach()
        yield page


@pytest.fixture
def phone(first_phone: BrowserContext, live: str) -> Iterator[Page]:
    """A phone in front of a server without a build."""
    with emptied(first_phone, live) as page:
        yield page


@pytest.fixture
def demo_phone(first_phone: BrowserContext, live_demo: str) -> Iterator[Page]:
    """A phone in front of the demo."""
    with emptied(first_phone, live_demo) as page:
        yield page


@pytest.fixture
def plain_demo(plain_phone: BrowserContext, live_demo: str) -> Iterator[Page]:
    """A phone that runs no script, in front of the demo."""
    with emptied(plain_phone, live_demo) as page:
        yield page


NO_STORE = "IDBFactory.prototype.open = () => { throw new DOMException('not here'); };"
"""A browser that keeps nothing for a page, as some do in private windows."""


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
    with a_garage_far_off(open_app, secure) as garage:
        yield garage


@pytest.fixture
def kept_phone(playwright: Playwright, chromium_path: str, certificate: Certificate, tmp_path: Path) -> Phone:
    return Phone(playwright.chromium, chromium_path, tmp_path / "phone", arguments(certificate))
