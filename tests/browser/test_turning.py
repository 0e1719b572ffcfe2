"""The isometric drawing under a finger: it turns, and what the script draws is what the server drew."""

import re

from playwright.sync_api import Page, expect

from tests.browser.conftest import wait_until

ADDRESS = "/builds/1/designs/4/isometric"
DRAWN = (
    "[...document.querySelectorAll('.iso [data-p]')]"
    ".map(part => part.getAttribute('d') ?? part.getAttribute('transform'))"
)


def numbers(text: str) -> list[float]:
    return [float(one) for one in re.findall(r"-?\d+\.?\d*(?:e-?\d+)?", text)]


def most_apart(one: list[str], other: list[str]) -> float:
    pairs = zip(one, other, strict=True)
    return max(abs(a - b) for p, q in pairs for a, b in zip(numbers(p), numbers(q), strict=True))


def test_turned_there_and_back_the_script_draws_what_the_server_drew(demo_phone: Page) -> None:
    """So the script's view is no mirror image either."""
    demo_phone.goto(ADDRESS)
    expect(demo_phone.locator("#iso-how")).to_contain_text("Drag it")
    before = demo_phone.evaluate(DRAWN)
    demo_phone.locator("svg.iso").focus()
    demo_phone.keyboard.press("ArrowLeft")
    expect(demo_phone.locator(".sides [aria-current]")).to_have_count(0)
    wait_until(demo_phone, f"{DRAWN}[0] !== {before[0]!r}")
    turned = demo_phone.evaluate(DRAWN)
    assert most_apart(before, turned) > 10.0
    demo_phone.keyboard.press("ArrowRight")
    wait_until(demo_phone, f"{DRAWN}[0] !== {turned[0]!r}")
    assert most_apart(before, demo_phone.evaluate(DRAWN)) < 0.5


def test_a_drag_sideways_turns_it_and_a_button_looks_from_another_side(demo_phone: Page) -> None:
    demo_phone.goto(ADDRESS)
    expect(demo_phone.locator("#iso-how")).to_contain_text("Drag it")
    before = demo_phone.evaluate(DRAWN)
    box = demo_phone.locator("svg.iso").bounding_box()
    assert box is not None
    demo_phone.mouse.move(box["x"] + 150, box["y"] + 100)
    demo_phone.mouse.down()
    demo_phone.mouse.move(box["x"] + 220, box["y"] + 105, steps=4)
    demo_phone.mouse.up()
    wait_until(demo_phone, f"{DRAWN}[0] !== {before[0]!r}")
    demo_phone.get_by_role("link", name="Above").click()
    expect(demo_phone.locator(".sides [aria-current]")).to_have_text("Above")
    assert demo_phone.locator("svg.iso title").text_content() is not None


def test_without_scripts_each_side_is_a_page(plain_demo: Page) -> None:
    plain_demo.goto(ADDRESS)
    plain_demo.get_by_role("link", name="Front").click()
    expect(plain_demo.locator(".sides [aria-current]")).to_have_text("Front")
    expect(plain_demo.locator("#iso-how")).to_contain_text("another side")
    expect(plain_demo.locator("table")).to_contain_text("mm")
