"""The first minute: a new build on a phone."""

import re

from playwright.sync_api import Page, expect


def test_a_new_build_is_started_with_the_thumb(phone: Page) -> None:
    phone.goto("/builds")
    expect(phone.get_by_text("No build yet")).to_be_visible()
    phone.get_by_label("Name of the build").fill("The saloon")
    phone.get_by_role("button", name="Start this build").click()
    expect(phone).to_have_url(re.compile("/builds/1/start$"))


def test_a_forgotten_name_is_asked_for_and_nothing_typed_is_lost(phone: Page) -> None:
    phone.goto("/builds")
    phone.get_by_label("The car", exact=False).first.fill("1999 saloon, 2.1 litre")
    phone.get_by_role("button", name="Start this build").click()
    expect(phone.get_by_text("The build's name is missing.")).to_be_visible()
    expect(phone.get_by_label("The car", exact=False).first).to_have_value("1999 saloon, 2.1 litre")


def test_pages_fit_a_phone_and_its_buttons_fit_a_thumb(phone: Page) -> None:
    phone.goto("/builds")
    assert phone.evaluate("document.documentElement.scrollWidth") <= 390
    box = phone.get_by_role("button", name="Start this build").bounding_box()
    assert box is not None
    assert box["height"] >= 48
