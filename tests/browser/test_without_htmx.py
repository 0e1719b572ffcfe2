"""A sheet that swaps no part of itself comes without htmx, and its outbox works all the same."""

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, expect

from tests.far_garage import Garage, in_garage
from tests.garage_phone import note_reading, signal_back, waiting


@pytest.mark.parametrize("secure", ["http"], indirect=True)
def test_it_sends_what_waits_and_shows_what_became_of_it(garage: Garage, chromium: Chromium) -> None:
    with in_garage(chromium, garage) as context:
        ports, port = context.new_page(), context.new_page()
        ports.goto(garage.port.rpartition("/")[0])
        assert ports.evaluate("window.htmx === undefined")
        port.goto(garage.port)
        garage.line.down = True
        note_reading(port, "57.1 mm")
        expect(waiting(port)).to_have_text("1 waiting to send")
        port.close()
        garage.line.good()
        signal_back(ports)
        expect(ports.locator("main")).to_contain_text("57.10 ±")
        expect(ports.locator("#status")).to_have_text("Sent.")


def test_the_garage_asks_for_its_parts_and_swaps_itself(demo_phone: Page) -> None:
    demo_phone.goto("/builds/1/garage")
    assert demo_phone.evaluate("window.htmx === undefined")
    expect(demo_phone.locator("#first-start").get_by_role("link", name="The plan")).to_be_visible()
    demo_phone.evaluate("window.stays = true")
    demo_phone.locator("#first-act").press("Enter")
    expect(demo_phone.locator(".news")).to_be_visible()
    expect(demo_phone.locator("#first-act")).to_be_focused()
    expect(demo_phone.locator("#first-start").get_by_role("link", name="The plan")).to_be_visible()
    assert demo_phone.evaluate("window.stays")
