"""What is done at the car without signal beside readings and ticks: hoses that come off, marks on photos.

Over plain HTTP, where a browser gives least.
"""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, expect
from sqlmodel import Session, func, select

from server.features.ledger.tables import LedgerLine
from server.features.photos.tables import Photo
from server.web import urls
from tests.browser.conftest import wait_until
from tests.far_garage import Garage, in_garage
from tests.garage_phone import note_photo, signal_back, waiting


@pytest.fixture
def secure() -> None:
    """Plain HTTP."""


@pytest.fixture
def page(garage: Garage, chromium: Chromium) -> Iterator[Page]:
    """The sheet of the port, loaded while there was a signal."""
    with in_garage(chromium, garage) as context:
        page = context.new_page()
        page.goto(garage.port)
        yield page


def test_each_new_hose_that_waits_has_a_number_of_its_own(garage: Garage, page: Page) -> None:
    page.goto(urls.ledger.pull(garage.build_id))
    garage.line.down = True
    for number, end in enumerate(("Boost gauge", "Flap box", "Valve cover"), 1):
        expect(page.locator("[name=tag]")).to_have_value(str(number))
        page.locator("[name=first]").fill("Manifold nipple")
        page.locator("[name=second]").fill(end)
        page.locator("[name=medium]").select_option("manifold vacuum")
        page.get_by_role("button", name="It is off").click()
        expect(waiting(page)).to_have_text(f"{number} waiting to send")
    expect(page.locator("[name=tag]")).to_have_value("4")
    garage.line.good()
    signal_back(page)
    with Session(garage.engine) as session:
        assert sorted(session.exec(select(LedgerLine.tag))) == [1, 2, 3]


def test_photos_are_drawn_on_without_signal_each_from_the_photo_as_it_was(garage: Garage, page: Page) -> None:
    note_photo(page)
    page.locator(".photos a").click()
    page.get_by_role("link", name="Draw on it").click()
    marks = page.locator("#marks")
    marks.scroll_into_view_if_needed()
    page.wait_for_load_state("networkidle")
    blank = marks.evaluate("(canvas) => canvas.toDataURL()")
    garage.line.down = True
    for number in (1, 2):
        box = marks.bounding_box()
        assert box is not None
        page.mouse.click(box["x"] + 50, box["y"] + 2)
        page.mouse.click(box["x"] + 250, box["y"] + 5)
        wait_until(page, "document.getElementById('marked').files.length === 1")
        page.get_by_role("button", name="Keep the marked photo").click()
        expect(waiting(page)).to_have_text(f"{number} waiting to send")
        assert marks.evaluate("(canvas) => canvas.toDataURL()") == blank
    garage.line.good()
    signal_back(page)
    with Session(garage.engine) as session:
        assert session.exec(select(func.count()).select_from(Photo)).one() == 3
