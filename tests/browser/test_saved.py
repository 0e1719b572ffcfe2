"""A save that a field made as it was left: it is told where the thumb is, and can be undone there."""

from playwright.sync_api import Page, expect

from tests.browser.test_refusals import open_piece, save


def test_a_field_that_saves_itself_says_so_and_gives_its_former_value_back(demo_phone: Page) -> None:
    open_piece(demo_phone)
    leg = demo_phone.locator("#f-length_out")
    former = leg.input_value()
    leg.fill("41")
    demo_phone.locator("#f-length").focus()
    told = demo_phone.locator(".bar .saved")
    expect(told).to_contain_text(f"Leg after the bend {former} mm → 41 mm")
    expect(told.get_by_role("button", name="Undo")).to_be_in_viewport(ratio=1.0)
    told.get_by_role("button", name="Undo").tap()
    expect(told).to_contain_text(f"41 mm → {former} mm")
    expect(leg).to_have_value(former)


def test_without_scripts_a_saved_piece_says_so_and_can_be_undone(plain_demo: Page) -> None:
    open_piece(plain_demo)
    leg = plain_demo.locator("#f-length_out")
    former = leg.input_value()
    leg.fill("41")
    save(plain_demo)
    expect(plain_demo.locator(".bar .saved")).to_contain_text("→ 41 mm")
    expect(plain_demo.locator(".bar .saved")).to_be_in_viewport()
    plain_demo.get_by_role("button", name="Undo").click()
    expect(leg).to_have_value(former)
