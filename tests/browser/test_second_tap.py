"""A thumb that taps a second time where it tapped: what stands there by then is not pressed."""

import pytest
from playwright.sync_api import Locator, Page, expect

LATER = 800
"""What a second tap does shows by then [ms]."""
PATIENT = 30_000
"""The first answers of a server on a busy machine [ms]."""


@pytest.fixture
def phone(demo_phone: Page) -> Page:
    """A phone in front of the demo, which has shown its sheets once."""
    demo_phone.set_default_timeout(PATIENT)
    for sheet in ("shopping", "orders", "orders/7", "garage"):
        demo_phone.goto(f"/builds/1/{sheet}", wait_until="networkidle")
    return demo_phone


def middle(button: Locator) -> tuple[float, float]:
    """Where on the screen a button is tapped."""
    button.scroll_into_view_if_needed()
    box = button.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def tapped_twice(page: Page, button: Locator) -> None:
    """The second tap comes once the page tells what the first one did."""
    where = middle(button)
    page.touchscreen.tap(*where)
    expect(page.locator(".news")).to_be_visible(timeout=PATIENT)
    page.touchscreen.tap(*where)
    page.wait_for_timeout(LATER)


def test_an_order_that_is_noted_by_two_taps_has_not_arrived(phone: Page) -> None:
    phone.goto("/builds/1/shopping")
    phone.get_by_role("link", name="Order from").first.tap()
    tapped_twice(phone, phone.get_by_role("button", name="Note this order"))
    phone.goto("/builds/1/orders/9")
    expect(phone.locator("#parcels")).to_have_count(0)
    expect(phone.get_by_role("button", name="Note what came")).to_be_visible()


def test_a_short_parcel_that_is_noted_by_two_taps_stays_short(phone: Page) -> None:
    phone.goto("/builds/1/orders/7")
    counts = phone.locator("[name^=right_]")
    assert counts.first.input_value() == "3"
    for place in range(counts.count()):
        counts.nth(place).fill("1" if place == 0 else "0")
    tapped_twice(phone, phone.get_by_role("button", name="Note what came"))
    phone.goto("/builds/1/orders/7")
    expect(counts.first).to_have_value("2")
    expect(phone.locator("#parcels summary")).to_have_text("Parcels (1)")


def test_two_taps_on_one_order_of_the_list_note_no_other(phone: Page) -> None:
    phone.goto("/builds/1/orders")
    whole = phone.get_by_role("button", name="All of it came")
    before = whole.count()
    tapped_twice(phone, whole.first)
    expect(whole).to_have_count(before - 1)


def test_two_taps_on_the_garage_s_main_act_do_one_thing(phone: Page) -> None:
    phone.goto("/builds/1/garage")
    act = phone.locator("#first-act")
    words = act.inner_text()
    assert words.startswith("Done: ")
    tapped_twice(phone, act)
    expect(phone.locator(".news")).to_contain_text(f"Done: ‘{words.removeprefix('Done: ')}’")
    expect(act).to_contain_text("Start: ")
