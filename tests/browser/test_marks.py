"""Drawing on a photo with a finger: dragged, or tapped where it begins and ends; the photo itself stays."""

import io

from PIL import Image, ImageChops
from playwright.sync_api import Page, expect

from tests.browser.conftest import wait_until


def test_a_photo_is_drawn_on_and_kept_beside_the_one_it_was_made_from(demo_phone: Page) -> None:
    demo_phone.goto("/builds/1/photos/1/sheet")
    before = demo_phone.locator(".whole-photo img").get_attribute("src")
    demo_phone.get_by_role("link", name="Draw on it").tap()
    canvas = demo_phone.locator("#marks")
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    assert box is not None

    def at(x: float, y: float) -> tuple[float, float]:
        return box["x"] + x * box["width"], box["y"] + y * box["height"]

    demo_phone.mouse.move(*at(0.2, 0.2))
    demo_phone.mouse.down()
    demo_phone.mouse.move(*at(0.6, 0.6))
    demo_phone.mouse.up()
    demo_phone.get_by_role("button", name="Circle").tap()
    demo_phone.touchscreen.tap(*at(0.3, 0.7))
    demo_phone.touchscreen.tap(*at(0.8, 0.3))
    demo_phone.get_by_role("button", name="Dimension").tap()
    demo_phone.touchscreen.tap(*at(0.1, 0.9))
    demo_phone.touchscreen.tap(*at(0.9, 0.9))
    expect(demo_phone.locator("#status")).to_have_text("Type first what it says.")
    demo_phone.get_by_label("Words").fill("101.6")
    demo_phone.touchscreen.tap(*at(0.9, 0.9))
    wait_until(demo_phone, "document.getElementById('marked').files.length === 1")
    demo_phone.get_by_role("button", name="Keep the marked photo").tap()
    expect(demo_phone.get_by_text(", marked")).to_be_visible()
    after = demo_phone.locator(".whole-photo img").get_attribute("src")
    assert before is not None
    assert after is not None
    assert before != after
    first, second = (
        Image.open(io.BytesIO(demo_phone.request.get(address).body())).convert("RGB")
        for address in (before, after)
    )
    assert first.size == second.size
    changed = ImageChops.difference(first, second).convert("L").point(lambda level: 255 * (level > 60))
    assert changed.histogram()[255] > 1000
