"""An evening's work with nothing but the keyboard: from the garage to a reading, a tick and a mark-up."""

import re

from playwright.sync_api import Page, expect

IN_SIGHT = """() => {
  const { activeElement: at } = document;
  const box = at.getBoundingClientRect();
  const bar = document.querySelector("div.bar");
  const low = bar && !bar.contains(at) ? bar.getBoundingClientRect().top : innerHeight;
  return parseFloat(getComputedStyle(at).outlineWidth) >= 2 && box.bottom > 0 && box.top < low;
}"""
"""Whether what has the focus has a ring too, and is not under the bar."""


def tab_to(page: Page, wanted: str) -> None:
    """Press the Tab key until the control that a selector finds has the focus, which is seen at each stop."""
    for _ in range(120):
        page.keyboard.press("Tab")
        assert page.evaluate(IN_SIGHT), page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", wanted):
            return
    raise AssertionError(f"the Tab key does not lead to {wanted}")


def test_garage_stint_reading_tick_and_mark_up_by_keyboard_alone(demo_phone: Page) -> None:
    page = demo_phone
    page.goto("/builds/1/garage")
    tab_to(page, "a[href$='/stint']")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("stint")

    page.goto("/builds/1/ports/4?measure=bore")
    tab_to(page, "#reading-form [name=reading]")
    page.keyboard.type("80.2 mm")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status").first).to_have_text("Saved.")

    page.goto("/builds/1/work")
    tab_to(page, "button[aria-label^='Done: ']")
    title = page.evaluate("document.activeElement.ariaLabel").removeprefix("Done: ")
    page.keyboard.press("Enter")
    expect(page.locator(".news")).to_contain_text(title)

    page.goto("/builds/1/photos/1/marks")
    tab_to(page, "#marks")
    page.keyboard.press("Enter")
    expect(page.locator("#status")).to_contain_text("press Enter")
    for key in ("ArrowRight", "ArrowRight", "ArrowDown", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    expect(page.locator("#marked")).to_have_value(re.compile("marked.jpg$"))
    tab_to(page, "#marks-form [type=submit]")
    page.keyboard.press("Enter")
    expect(page.get_by_text(", marked")).to_be_visible()
