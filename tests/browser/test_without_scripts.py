"""The whole job with scripting switched off: every act is a plain form, and the back button is harmless."""

import re
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from playwright.sync_api import BrowserContext, Locator, Page, expect

from server.web import urls
from tests.asking import Browser, ask_aside
from tests.browser.conftest import emptied
from tests.http.intake_build import fill_engine_sheet, make_build, make_port

RATED = {"wall": "5", "rated_pressure": "4 bar", "rated_temperature": "150 °C"}


@pytest.fixture
def plain(plain_phone: BrowserContext, live: str) -> Iterator[Page]:
    """A phone that runs no script, in front of a server without a build."""
    with emptied(plain_phone, live) as page:
        yield page


def unfold(page: Page, words: str) -> None:
    """Open what is folded away under these words, where it is not open already."""
    fold = page.locator("details").filter(has=page.locator("summary", has_text=re.compile(words)))
    if fold.first.get_attribute("open") is None:
        fold.first.locator("summary").first.click()


def press(where: Page | Locator, name: str) -> None:
    where.get_by_role("button", name=name, exact=True).first.click()


def go(page: Page, sheet: str) -> None:
    page.get_by_text("Sheets", exact=True).click()
    page.get_by_role("navigation", name="Sheets").get_by_role("link", name=sheet, exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(sheet)


def start_build(page: Page) -> None:
    page.goto("/")
    page.locator("#f-name").fill("The grey saloon")
    press(page, "Start this build")
    page.get_by_role("link", name=re.compile("^Start empty")).click()
    page.locator("[name=displacement]").fill("2100 cc")
    page.locator("[name=redline]").fill("6600")
    page.locator("[name=boost]").fill("14.5 psi")
    page.get_by_role("button", name=re.compile("^Save")).first.click()
    expect(page.locator(".plot svg")).to_be_visible()


def add_port(page: Page, name: str, bore: str) -> None:
    go(page, "Ports")
    unfold(page, "One more port")
    page.locator("#new-name").fill(name)
    press(page, "Add it and measure")
    pick = page.locator(".picks a").filter(has_text=re.compile("^outside diameter", re.I)).first
    if not pick.is_visible():
        unfold(page, "Measure something else")
    pick.click()
    page.locator("#reading-form [name=reading]").fill(bore)
    press(page, "Save this reading")
    expect(page.locator(".readings b").get_by_text(bore, exact=True)).to_be_visible()


def add_piece(page: Page, kind: str, sizes: dict[str, str]) -> None:
    page.locator(".kinds").get_by_role("link", name=kind, exact=True).click()
    for field, text in sizes.items():
        page.locator(f"#editor [name={field}]").fill(text)
    press(page, "Add the piece")


def start_design(page: Page) -> None:
    go(page, "Subsystems")
    press(page, "Add it")
    page.locator("#f-name").fill("Bought elbow")
    page.locator("#f-start_port_id").select_option(label="Air meter outlet")
    page.locator("#f-end_port_id").select_option(label="Compressor inlet")
    press(page, "Start the design")


@pytest.fixture
def engine_sheet(plain: Page, app: FastAPI) -> Page:
    """The engine sheet of a build that was started before."""

    def make(asking: Browser) -> int:
        build = make_build(asking)
        fill_engine_sheet(asking, build)
        return build

    plain.goto(urls.engine(ask_aside(app, make)))
    return plain


@pytest.fixture
def port_sheet(plain: Page, app: FastAPI) -> Page:
    """The sheet of a port with one reading, reached from the list of ports."""

    def make(asking: Browser) -> int:
        build = make_build(asking)
        make_port(asking, build, {"outside_diameter": "80 mm"}, name="Air meter outlet", role="run end")
        return build

    plain.goto(urls.ports(ask_aside(app, make)))
    plain.get_by_role("link", name="Air meter outlet", exact=True).click()
    return plain


@pytest.fixture
def designed(plain: Page) -> Page:
    """A build with a measured run of two pieces, made by plain forms, its design on the screen."""
    start_build(plain)
    add_port(plain, "Air meter outlet", "80 mm")
    add_port(plain, "Compressor inlet", "4 in")
    start_design(plain)
    add_piece(plain, "coupler", {"bore": "80 mm", "length": "3 in", **RATED})
    add_piece(plain, "tube", {"outside_diameter": "80", "wall": "2", "length": "150"})
    expect(plain.locator(".pieces li")).to_have_count(2)
    return plain


def test_a_run_is_edited_moved_taken_out_and_put_back_by_plain_forms(designed: Page) -> None:
    pieces = designed.locator(".pieces li")
    pieces.nth(1).get_by_role("link").click()
    designed.locator("#f-length").fill("6 1/2 in")
    press(designed, "Save the piece")
    expect(designed.locator("#f-length")).to_have_value(re.compile("6 1/2 in|165"))
    press(designed, "Earlier")
    expect(pieces.nth(0)).to_contain_text(re.compile("tube", re.I))
    press(designed, "Take it out")
    expect(pieces).to_have_count(1)
    press(designed, "Put it back")
    expect(pieces).to_have_count(2)
    expect(designed.locator("#checks")).to_be_visible()


def test_an_order_is_noted_and_arrives_by_plain_forms(plain: Page) -> None:
    start_build(plain)
    go(plain, "Orders")
    unfold(plain, "New order")
    plain.locator("[name=supplier]").fill("Tarn Hose & Clamp")
    plain.locator("[name=part_1]").fill("80 mm coupler")
    plain.locator("[name=quantity_1]").fill("2")
    plain.locator("[name=price_1]").fill("18,40")
    press(plain, "Note this order")
    go(plain, "Orders")
    plain.get_by_role("button", name=re.compile("^Arrived")).first.click()
    expect(plain.locator(".news")).to_contain_text(re.compile("80 mm coupler"))
    expect(plain.get_by_role("button", name=re.compile("^Arrived"))).to_have_count(0)


def test_a_refused_form_says_beside_each_field_what_is_wrong_and_keeps_what_was_typed(
    engine_sheet: Page,
) -> None:
    plain = engine_sheet
    plain.locator("[name=displacement]").fill("two litres or so")
    plain.locator("[name=boost]").fill("1 furlong")
    plain.get_by_role("button", name=re.compile("^Save")).first.click()
    expect(plain.get_by_role("alert")).to_contain_text("2 fields need another look")
    for name, typed in (("displacement", "two litres or so"), ("boost", "1 furlong")):
        field = plain.locator(f"[name={name}]")
        expect(field).to_have_value(typed)
        expect(field).to_have_attribute("aria-invalid", "true")
        message = plain.locator(f"#{field.get_attribute('aria-describedby')}")
        expect(message).to_contain_text("Accepted")


def test_back_after_a_stored_form_shows_the_page_before_and_sends_nothing_again(port_sheet: Page) -> None:
    plain = port_sheet
    plain.locator("#reading-form [name=reading]").fill("80.2 mm")
    press(plain, "Save this reading")
    expect(plain.locator(".readings li")).to_have_count(2)
    plain.go_back()
    expect(plain.locator("#reading-form")).to_be_visible()
    plain.reload()
    expect(plain.locator(".readings li")).to_have_count(2)
    go(plain, "Ports")
    expect(plain.locator(".rows li")).to_have_count(1)


def test_the_same_form_sent_again_from_the_page_before_acts_once(port_sheet: Page) -> None:
    """A browser shows the old page with its old key when one goes back: pressing again changes nothing."""
    plain = port_sheet
    sent: list[str] = []
    plain.on("request", lambda asked: sent.append(asked.url) if asked.method == "POST" else None)
    plain.locator("#reading-form [name=reading]").fill("80.2 mm")
    old_key = plain.locator("#reading-form [name=operation_key]").get_attribute("value")
    press(plain, "Save this reading")
    expect(plain.locator(".readings li")).to_have_count(2)
    plain.go_back()
    if plain.locator("#reading-form [name=operation_key]").get_attribute("value") == old_key:
        plain.locator("#reading-form [name=reading]").fill("80.2 mm")
        press(plain, "Save this reading")
        assert len(sent) == 2
        expect(plain.locator(".readings li")).to_have_count(2)
    else:
        assert plain.locator(".readings li").count() == 2
        assert len(sent) == 1


def test_back_after_a_refused_form_leaves_a_page_that_can_be_used(engine_sheet: Page) -> None:
    plain = engine_sheet
    plain.locator("[name=displacement]").fill("two litres or so")
    plain.get_by_role("button", name=re.compile("^Save")).first.click()
    expect(plain.get_by_role("alert")).to_be_visible()
    plain.go_back()
    expect(plain.get_by_role("heading", level=1)).to_contain_text("Engine")
    expect(plain.get_by_role("alert")).to_have_count(0)
    plain.locator("[name=displacement]").fill("2.2 l")
    plain.get_by_role("button", name=re.compile("^Save")).first.click()
    expect(plain.get_by_role("alert")).to_have_count(0)
    plain.reload()
    expect(plain.locator("[name=displacement]")).to_have_value(re.compile("2.2"))
