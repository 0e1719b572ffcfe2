"""Pages kept to read without signal, over HTTPS; over plain HTTP a browser allows no worker."""

import time
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext, Page, expect

from server.web import urls
from tests.bad_line import Certificate
from tests.far_garage import Garage, in_garage
from tests.garage_phone import KEPT, wait_until_kept

READY = "navigator.serviceWorker.ready.then(() => true)"


@pytest.fixture(params=["https"])
def secure(certificate: Certificate) -> Certificate:
    return certificate


@pytest.fixture
def context(garage: Garage, chromium: Chromium) -> Iterator[BrowserContext]:
    with in_garage(chromium, garage) as context:
        yield context


@pytest.fixture
def page(garage: Garage, context: BrowserContext) -> Page:
    """The sheet of the port, on its first visit, with the worker at work."""
    page = context.new_page()
    page.goto(garage.port)
    assert page.evaluate(READY)
    wait_until_kept(page, garage.port)
    return page


def test_the_page_of_the_first_visit_can_be_read_when_the_server_is_gone(garage: Garage, page: Page) -> None:
    garage.line.down = True
    page.reload()
    expect(page.locator("#copy")).to_contain_text("This is a copy of")
    expect(page.locator(".port-name")).to_contain_text("Air meter outlet")
    assert page.locator("#copy").evaluate("(notice) => getComputedStyle(notice).borderLeftWidth") == "6px"


def test_a_line_that_never_answers_shows_the_copy_within_two_seconds_or_so(
    garage: Garage, page: Page
) -> None:
    garage.line.silent = True
    start = time.monotonic()
    page.reload(wait_until="commit")
    expect(page.locator("#copy")).to_be_visible()
    assert time.monotonic() - start < 3.5


def test_with_signal_the_page_comes_from_the_server(page: Page) -> None:
    page.reload()
    expect(page.locator(".port-name")).to_be_visible()
    expect(page.locator("#copy")).to_have_count(0)


def test_pages_wanted_at_the_car_are_kept_before_anybody_asks_for_them(garage: Garage, page: Page) -> None:
    """Whoever opened one sheet of a build has them all; signing out drops them."""
    told = page.evaluate(f"fetch('/builds/{garage.build_id}/at-hand').then((one) => one.json())")
    assert {urls.garage(garage.build_id), urls.shopping(garage.build_id), garage.sheet} <= set(told["pages"])
    wait_until_kept(page, *told["pages"])
    kept = page.evaluate(KEPT)
    assert any(path.startswith("/static/page.") for path in kept)  # the outbox is one of its scripts
    garage.line.down = True
    page.goto(urls.garage(garage.build_id))
    expect(page.locator("#copy")).to_contain_text("This is a copy of")
    garage.line.down = False
    page.goto("/sign-in")
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_label("Passphrase")).to_be_visible()
    assert [path for path in page.evaluate(KEPT) if not path.startswith("/static/")] == []
