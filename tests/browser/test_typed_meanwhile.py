"""Fields that save themselves over a slow line: what is typed before the answer comes is not lost."""

import re

from playwright.sync_api import Page, Route, expect


def test_a_refusal_that_comes_late_leaves_what_was_typed_meanwhile(demo_phone: Page) -> None:
    under_way: list[Route] = []
    demo_phone.goto("/builds/1/subsystems")
    demo_phone.get_by_role("link", name="Charge pipe", exact=True).tap()
    demo_phone.locator(".design-card a").first.tap()
    demo_phone.locator(".pieces a").first.tap()
    fold = demo_phone.locator("#editor details").filter(has_text=re.compile("Joint 1, to "))
    fold.locator("summary").tap()
    demo_phone.route("**/joints/*", lambda route: under_way.append(route))
    fold.locator("[name=holds_origin]").fill("")
    overlap = fold.locator("[name=overlap]")
    overlap.focus()
    expect(demo_phone.locator(".htmx-request")).not_to_have_count(0)
    overlap.fill("33,5")
    assert len(under_way) == 1
    under_way[0].continue_()
    expect(demo_phone.get_by_text("Say where the figure comes from.")).to_be_visible()
    expect(overlap).to_have_value("33,5")
