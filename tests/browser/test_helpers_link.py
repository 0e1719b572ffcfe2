"""A helper with a link and the builder, each with a phone: what one does the other sees, without a reload."""

from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, expect

from tests.browser.conftest import phone_at

TEN_SECONDS, A_MINUTE = 10_000, 60_000


def link_for(page: Page, name: str) -> str:
    page.goto("/builds/1/links")
    page.get_by_label("Who it is for").fill(name)
    page.get_by_label("It opens").select_option("the whole build")
    page.get_by_role("button", name="Make the link").tap()
    address = page.get_by_label("Address of the link").input_value()
    assert address.split("/s/")[0] == page.url.split("/builds")[0]
    expect(page.locator("figure.qr svg")).to_be_visible()
    return address


def test_what_the_helper_ticks_shows_on_the_builder_s_phone_and_a_withdrawn_link_is_dead_while_open(
    chromium: Chromium, live_demo: str
) -> None:
    with phone_at(chromium, live_demo) as builder, phone_at(chromium, live_demo) as helper:
        address = link_for(builder, "Sam")
        builder.clock.install()
        helper.clock.install()
        builder.goto("/builds/1/work")
        helper.goto(address)
        task = helper.locator("li:has(form.acts)").first
        title = task.locator("b").first.inner_text()
        task.get_by_role("button").first.tap()
        expect(helper.locator(".news")).to_contain_text(title)
        builder.evaluate("window.same = true")
        before = builder.locator("main").get_attribute("data-revision")
        builder.clock.fast_forward(TEN_SECONDS)
        expect(builder.locator(f"main:not([data-revision='{before}'])")).to_be_visible()
        assert builder.evaluate("window.same") is True  # the page was never loaded anew
        builder.goto("/builds/1/links")
        builder.get_by_role("button", name="Withdraw the link of Sam").tap()
        expect(builder.get_by_text("withdrawn")).to_be_attached()
        with helper.expect_navigation():
            helper.clock.fast_forward(A_MINUTE)
        expect(helper.get_by_text("Ask who gave it for a new one")).to_be_visible()


def test_the_page_waits_while_something_is_typed_on_it(chromium: Chromium, live_demo: str) -> None:
    with phone_at(chromium, live_demo) as builder, phone_at(chromium, live_demo) as other:
        builder.clock.install()
        builder.goto("/builds/1/log")
        builder.get_by_label("Note").first.fill("half a sent")
        other.goto("/builds/1/log")
        other.get_by_label("Note").first.fill("the flange is here")
        other.get_by_role("button", name="Put it in the log").tap()
        expect(other.get_by_text("the flange is here")).to_be_visible()
        with builder.expect_response("**/revision"):
            builder.clock.fast_forward(TEN_SECONDS)
        expect(builder.get_by_label("Note").first).to_have_value("half a sent")
        expect(builder.get_by_text("the flange is here")).not_to_be_visible()
        builder.get_by_label("Note").first.fill("")
        builder.clock.fast_forward(TEN_SECONDS)
        expect(builder.get_by_text("the flange is here")).to_be_visible()


def test_what_was_done_can_be_undone_after_the_page_has_followed_others(
    chromium: Chromium, live_demo: str
) -> None:
    with phone_at(chromium, live_demo) as builder:
        builder.clock.install()
        builder.goto("/builds/1/work")
        builder.locator("li:has(form.acts)").first.get_by_role("button").first.tap()
        expect(builder.locator(".news #undo")).to_be_visible()
        before = builder.locator("main").get_attribute("data-revision")
        builder.clock.fast_forward(TEN_SECONDS)
        expect(builder.locator(f"main:not([data-revision='{before}'])")).to_be_visible()
        expect(builder.locator(".news #undo")).to_be_visible()
