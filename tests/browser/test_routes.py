"""On a phone: where two ports are, routes between them, one of them taken, its checks and its cut sheet.

Screenshots of each step are kept where `WITNESS_MARK_SHOTS` names a folder.
"""

from playwright.sync_api import Page, expect

from tests.browser.test_journey import shot


def read_place(page: Page, forward: str, left: str, up: str) -> None:
    for name, text in (("forward", forward), ("left", left), ("up", up)):
        page.locator(f"#f-{name}").fill(text)
    page.locator("#save-place").tap()
    expect(page.locator("#placing .readings").get_by_text("Offsets from the datum")).to_be_visible()


def read_facing(page: Page, level: str, tilt: str) -> None:
    """The form asks for the facing by itself once the place is known."""
    page.get_by_label("Seen from above, it faces").select_option(level)
    page.get_by_label("Seen from the side").select_option(tilt)
    page.locator("#save-place").tap()
    expect(page.locator("#placing .readings").get_by_text("In words, by eye")).to_be_visible()


def test_two_poses_lead_to_a_design_with_its_checks(demo_phone: Page) -> None:
    page = demo_phone
    page.goto("/builds/1/subsystems/3")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Cooler pipe")
    page.get_by_role("link", name="Find routes between its ports").tap()
    expect(page.get_by_text("First read where its ports are")).to_be_visible()
    routes = page.url

    page.get_by_role("link", name="Read Cooler outlet").tap()
    read_place(page, "28 in", "-330", "20 mm")
    read_facing(page, "right", "level")
    shot(page, "routes-01-place")
    page.goto(routes)
    page.get_by_role("link", name="Read Throttle inlet").tap()
    read_place(page, "240", "-90", "410")
    read_facing(page, "forward", "15° below level")

    page.goto(routes)
    expect(page.get_by_text("First read where")).to_have_count(0)
    page.locator("#f-outside").fill("63.5")
    page.locator("#find-routes").tap()
    expect(page.locator(".route-card").first).to_contain_text("R 95 mm")
    expect(page.locator(".route-card svg").first).to_be_visible()
    shot(page, "routes-02-found")

    page.locator("#take-1").tap()
    expect(page.locator(".from-to")).to_contain_text("Cooler outlet")
    pieces = page.locator(".pieces li")
    expect(pieces.first).to_contain_text("Coupler at the start")
    expect(pieces.last).to_contain_text("Reducer at the end")
    expect(pieces.filter(has_text="Bend 1")).to_have_count(1)
    expect(page.locator("#checks")).to_be_visible()
    shot(page, "routes-03-taken")

    page.get_by_role("link", name="Cut sheet").tap()
    bend = page.locator("section").filter(has=page.get_by_role("heading", name="Bend 1"))
    expect(bend.locator("svg")).to_be_visible(timeout=30_000)  # a drawing a piece, the first time
    bend.scroll_into_view_if_needed()
    shot(page, "routes-04-cut-sheet")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
