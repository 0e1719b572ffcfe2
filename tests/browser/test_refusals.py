"""A form that was refused: what is wrong stands in view with the cursor in it, with scripts and without."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.browser.conftest import a_plain_phone, keep_one_page, page_on

BEND = "/builds/1/designs/2?piece=8#editor"


@pytest.fixture(scope="module")
def plain_phone(chromium: Chromium, address_of_the_file: str) -> Iterator[BrowserContext]:
    """A phone that runs no script."""
    with a_plain_phone(chromium, address_of_the_file) as phone:
        keep_one_page(phone)
        yield phone


@pytest.fixture
def demo_phone(phone_of_the_file: BrowserContext) -> Iterator[Page]:
    """A page in front of the demo that the tests of this file share: they change little, none the same."""
    with page_on(phone_of_the_file) as page:
        yield page


@pytest.fixture(params=["phone_of_the_file", "plain_phone"], ids=["with scripts", "without scripts"])
def either_phone(request: pytest.FixtureRequest) -> Iterator[Page]:
    """The same, with its scripts on or off."""
    with page_on(request.getfixturevalue(request.param)) as page:
        yield page


def open_piece(page: Page) -> None:
    page.goto(BEND)
    expect(page.locator("#piece-form")).to_be_visible()


def save(page: Page) -> None:
    page.get_by_role("button", name="Save the piece").click()


def has_the_cursor_in_view(field: Locator) -> None:
    expect(field).to_be_focused()
    expect(field).to_be_in_viewport(ratio=1.0)


def test_a_size_that_cant_be_read_is_shown_and_the_bar_says_that_it_is_not_saved(either_phone: Page) -> None:
    open_piece(either_phone)
    either_phone.locator("#f-wall").fill("abc")
    save(either_phone)
    expect(either_phone.locator(".bar")).to_contain_text("Not saved yet")
    has_the_cursor_in_view(either_phone.locator("#f-wall"))
    expect(either_phone.locator("#f-wall-problem")).to_be_in_viewport()


def test_a_size_that_looks_like_another_unit_is_answered_with_a_tap(either_phone: Page) -> None:
    open_piece(either_phone)
    either_phone.locator("#f-wall").fill("15")
    save(either_phone)
    expect(either_phone.locator("#f-wall-problem")).to_contain_text("Did you mean 1.5 mm")
    has_the_cursor_in_view(either_phone.locator("#f-wall"))
    answer = either_phone.get_by_label("1.5 mm (0.0591 in)")
    assert (answer.locator("..").bounding_box() or {"height": 0.0})["height"] >= 48.0
    answer.check()
    save(either_phone)
    expect(either_phone.locator(".bar")).not_to_contain_text("Not saved yet")
    expect(either_phone.locator("#f-wall")).to_have_value("1.5 mm")


def test_what_two_tabs_changed_is_shown_to_the_second(phone_of_the_file: BrowserContext) -> None:
    with page_on(phone_of_the_file) as first, page_on(phone_of_the_file) as second:
        open_piece(first)
        open_piece(second)
        first.locator("#f-length_out").fill("35")
        save(first)
        expect(first.locator("#status")).to_have_text("Saved.")
        second.locator("#f-length_out").fill("40")
        save(second)
        notice = second.locator("#refused")
        expect(notice).to_contain_text("Somebody else changed this")
        has_the_cursor_in_view(notice)
        expect(second.locator(".bar")).to_contain_text("Not saved yet")


def test_a_refusal_while_the_next_field_is_typed_leaves_the_cursor_there(demo_phone: Page) -> None:
    open_piece(demo_phone)
    demo_phone.locator("#f-wall").fill("abc")
    demo_phone.locator("#f-length").focus()
    expect(demo_phone.locator("#f-wall-problem")).to_be_visible()
    has_the_cursor_in_view(demo_phone.locator("#f-length"))


def test_a_side_port_that_is_refused_is_shown_in_its_fold(either_phone: Page) -> None:
    open_piece(either_phone)
    either_phone.locator("#new-bung summary").click()
    either_phone.locator("#b-name").fill("boost signal")
    either_phone.locator("#b-at").fill("10")
    either_phone.locator("#b-bore").fill("wide")
    either_phone.get_by_role("button", name="Add the side port").click()
    has_the_cursor_in_view(either_phone.locator("#b-bore"))


@pytest.mark.parametrize("typed", ["80.3 mm", "wide"], ids=["saved", "refused"])
def test_the_button_of_a_reading_is_ready_again_once_the_answer_is_there(
    demo_phone: Page, typed: str
) -> None:
    demo_phone.goto("/builds/1/ports/1?measure=outside_diameter")
    demo_phone.locator("#take-reading, #f-reading").fill(typed)
    button = demo_phone.locator("#save-reading")
    button.tap()
    expect(demo_phone.locator("#status")).to_have_text(re.compile("Saved|Not saved"))
    expect(button).not_to_have_class(re.compile("sending"))
    expect(button).to_have_css("opacity", "1")


def test_a_picture_chosen_for_a_reading_that_is_refused_stays_and_goes_with_the_next(
    demo_phone: Page, tmp_path: Path
) -> None:
    picture = tmp_path / "bead.png"
    Image.new("RGB", (40, 30), (120, 90, 60)).save(picture)
    demo_phone.goto("/builds/1/ports/1?measure=bore")
    before = demo_phone.locator("#measuring .readings img").count()
    demo_phone.locator("#take-more > summary").tap()
    demo_phone.locator("#take-photo").set_input_files(picture)
    demo_phone.locator("#f-reading").fill("57 mm")
    demo_phone.locator("#f-doubt").fill("-3")
    demo_phone.locator("#save-reading").tap()
    has_the_cursor_in_view(demo_phone.locator("#f-doubt"))
    assert demo_phone.locator("#take-photo").evaluate("field => field.files[0].name") == "bead.png"
    expect(demo_phone.get_by_text("Choose the picture again")).to_have_count(0)
    demo_phone.locator("#f-doubt").fill("0.1 mm")
    demo_phone.locator("#save-reading").tap()
    expect(demo_phone.locator("#measuring .readings img")).to_have_count(before + 1)


def test_a_message_in_a_narrow_column_has_the_whole_row(demo_phone: Page) -> None:
    open_piece(demo_phone)
    demo_phone.locator("#f-wall").fill("abc")
    save(demo_phone)
    message = demo_phone.locator("#f-wall-problem").bounding_box()
    form = demo_phone.locator("#piece-form").bounding_box()
    assert message is not None
    assert form is not None
    assert message["width"] == form["width"]


def test_how_the_sizes_are_known_is_read_whole_on_a_phone(demo_phone: Page) -> None:
    open_piece(demo_phone)
    known = demo_phone.locator("#f-known_by")
    known.select_option("measured")
    words = """field => {
        const pen = document.createElement("canvas").getContext("2d");
        const style = getComputedStyle(field);
        pen.font = style.font;
        const room = field.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
        return [pen.measureText(field.selectedOptions[0].text).width, room];
    }"""
    wanted, room = known.evaluate(words)
    assert wanted <= room
