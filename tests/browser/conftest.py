"""A real Chromium. Where there is none, these tests are skipped, naming the command that installs one."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import ConsoleMessage, Page, Playwright, Response, ViewportSize, sync_playwright

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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the tests of this folder, and leave them to the end: they are the slowest."""
    items.sort(key=in_a_browser)
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


@pytest.fixture(scope="module")
def chromium(playwright: Playwright, chromium_path: str) -> Iterator[Chromium]:
    browser = playwright.chromium.launch(executable_path=chromium_path, args=list(QUIET))
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

    page.on("pageerror", lambda error: trouble.append(f"script error: {error}"))
    page.on("requestfailed", lambda asked: trouble.append(f"failed: {asked.url} {asked.failure}"))
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
