"""Keys for what a phone's number pad lacks: units, and the parts of an inch."""

from playwright.sync_api import Page, expect


def test_inches_are_typed_with_a_number_pad_and_keys(demo_phone: Page) -> None:
    demo_phone.goto("/builds/1/ports/4?measure=bore")
    field = demo_phone.get_by_label("Bore", exact=False).first
    expect(field).to_have_attribute("inputmode", "decimal")

    def press(name: str) -> None:
        demo_phone.get_by_role("button", name=name, exact=True).tap()

    field.press_sequentially("3")
    press("and: and a part of an inch")
    field.press_sequentially("5")
    press("/16: sixteenths")
    expect(field).to_have_value("3 5/16 in")
    press("/8: eighths")
    expect(field).to_have_value("3 5/8 in")
    demo_phone.get_by_role("button", name="Save this reading").tap()
    expect(demo_phone.locator("#measuring")).to_contain_text("92.08")
    field.press_sequentially("92,1")
    press("in: inches")
    press("mm: millimetres")
    expect(field).to_have_value("92,1 mm")
    box = demo_phone.locator(".keys").bounding_box()
    assert box is not None
    assert box["x"] + box["width"] <= 390
