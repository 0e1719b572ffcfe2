"""A picture that is too large is told before it is sent; one at its full size is not made smaller first."""

import io
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect

from tests.pictures import picture, saved

LARGEST = 12 * 1024 * 1024


def test_a_picture_is_weighed_as_it_will_be_sent(demo_phone: Page, tmp_path: Path) -> None:
    small, large = tmp_path / "small.jpg", tmp_path / "large.jpg"
    small.write_bytes(saved(picture(2000, 1500)))
    large.write_bytes(small.read_bytes() + bytes(LARGEST))  # no picture needs what stands behind it
    demo_phone.goto("/builds/1/log/11")
    demo_phone.locator("#new-photo summary").tap()
    form, told = demo_phone.locator("#photo-form"), demo_phone.locator("#too-large")
    original = form.get_by_label("Keep the original too")
    field, send = form.locator("[name=photo]"), form.get_by_role("button", name="Keep this photo")
    field.set_input_files(large)
    expect(original).not_to_be_checked()
    original.check()
    expect(told).to_have_text(
        "This picture has 12.1 MB, 12 MB is the most. Without its original it may be small enough."
    )
    send.tap()
    expect(demo_phone.locator(".photos a.further")).to_have_count(0)
    original.uncheck()
    expect(told).to_have_count(0)  # it is made smaller on the phone
    original.check()
    field.set_input_files(small)
    expect(told).to_have_count(0)
    send.tap()
    link = demo_phone.locator(".photos a.further")
    expect(link).to_contain_text("original, ")
    whole = demo_phone.request.get(link.get_attribute("href") or "").body()
    assert Image.open(io.BytesIO(whole)).size == (2000, 1500)
