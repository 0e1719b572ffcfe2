"""Acts made without signal are sent once and only once, over plain HTTP and over HTTPS.

Plain HTTP is asked under a made-up name: a browser gives 127.0.0.1 what it gives no other plain address.
What an origin can't change is shown on plain HTTP alone, where a browser gives least.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Locator, Page, expect
from sqlmodel import Session, col, func, select

from server.core.work.tasks import TaskState
from server.db import write_session
from server.features.photos.tables import Photo
from server.features.ports.tables import Reading
from server.features.trimming import service as trimming
from server.features.work import service as work
from server.features.work.tables import Task
from server.once import OperationKey
from tests.bad_line import Fate
from tests.browser.conftest import NO_STORE
from tests.far_garage import PHONE, Garage, Phone, Pocket, in_garage
from tests.garage_phone import note_reading, open_both, signal_back, tick, waiting
from tests.without_signal import a_car, one_run

AXE = Path(__file__).parent / "vendor" / "axe-4.14.1.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
TASKS = ("Cut the tube", "Bead the ends")

on_plain_http = pytest.mark.parametrize("secure", ["http"], indirect=True)


def recorded(garage: Garage) -> tuple[list[str], int, list[str], int]:
    """Readings as typed, photos, tasks done, and acts in all."""
    with Session(garage.engine) as session:
        typed = list(session.exec(select(Reading.typed).order_by(col(Reading.id))))
        photos = session.exec(select(func.count()).select_from(Photo)).one()
        done = list(session.exec(select(Task.title).where(Task.state == "done").order_by(col(Task.id))))
        acts = session.exec(select(func.count()).select_from(OperationKey)).one()
    return typed, photos, done, acts


def more_tasks(garage: Garage, run: int) -> list[str]:
    """Two more tasks, in hand."""
    titles = [f"{title} {run}" for title in TASKS]
    with write_session(garage.engine) as session:
        for title in titles:
            task = work.add_task(session, garage.build_id, {"title": title, "likely": "20 min"})
            work.set_state(session, garage.build_id, task, TaskState.IN_HAND, datetime.now().astimezone())
        garage.app.state.after_write(session, {"build_id": garage.build_id})
    return titles


@pytest.mark.parametrize("secure", ["http", "https"], ids=["page left open", "page killed"], indirect=True)
def test_acts_made_without_signal_are_recorded_once_each_however_bad_the_line_is(
    garage: Garage, kept_phone: Phone
) -> None:
    """One run of each kind; two hundred: `python -m tests.bench.without_signal`."""
    with Pocket(kept_phone, garage) as pocket:
        one_run(pocket, 10, killed=garage.line.certificate is not None)


@pytest.fixture
def page(garage: Garage, chromium: Chromium) -> Iterator[Page]:
    """The sheet of the port, loaded while there was a signal."""
    with in_garage(chromium, garage) as context:
        page = context.new_page()
        page.goto(garage.port)
        yield page


def show_list(page: Page) -> Locator:
    """The list of what waits, unfolded."""
    if page.locator(".outbox details").get_attribute("open") is None:
        page.locator(".outbox summary").click()
    return page.locator("#outbox-list li")


def test_with_signal_a_form_acts_as_it_always_did(garage: Garage, page: Page) -> None:
    note_reading(page, "57.1 mm")
    expect(page.locator(".readings b").get_by_text("57.1 mm", exact=True)).to_be_visible()
    expect(page.get_by_role("status").first).to_have_text("Saved.")
    expect(page.locator(".outbox details")).to_be_hidden()
    note_reading(page, "a thumb")
    expect(page.locator("#reading-form [aria-invalid=true]")).to_be_focused()
    expect(page.locator("#reading-form [name=reading]")).to_have_value("a thumb")
    expect(page.locator(".outbox details")).to_be_hidden()
    assert recorded(garage) == (["57.1 mm"], 0, [], 1)


@on_plain_http
def test_what_waits_is_listed_in_words_and_shown_on_the_page_once_it_is_sent(
    garage: Garage, page: Page
) -> None:
    garage.line.down = True
    note_reading(page, "57.1 mm")
    expect(waiting(page)).to_have_text("1 waiting to send")
    expect(page.locator("#reading-form [name=reading]")).to_have_value("")
    expect(show_list(page)).to_contain_text("of Air meter outlet")
    expect(show_list(page)).to_contain_text("57.1 mm")
    garage.line.good()
    show_list(page).get_by_role("button", name="Send now").click()
    expect(page.locator(".readings b").get_by_text("57.1 mm", exact=True)).to_be_visible()
    expect(waiting(page)).to_have_text("")


@on_plain_http
def test_a_tick_made_without_signal_says_so_in_its_row(garage: Garage, chromium: Chromium) -> None:
    title, _ = more_tasks(garage, 1)
    with in_garage(chromium, garage) as context:
        page = context.new_page()
        page.goto(garage.sheet)
        garage.line.down = True
        tick(page, title)
        expect(page.locator(".waits")).to_have_text("Done, waiting to send")
        expect(page.get_by_role("button", name=f"Done: {title}", exact=True)).to_be_hidden()
        garage.line.good()
        page.reload()
        signal_back(page)
        expect(page.locator(".waits")).to_have_count(0)
    assert recorded(garage)[2] == [title]


def test_two_tabs_that_send_the_same_acts_send_each_once(garage: Garage, chromium: Chromium) -> None:
    with in_garage(chromium, garage) as context:
        first, second = open_both(context, garage.port, garage.sheet)
        garage.line.down = True
        first.bring_to_front()
        typed = [f"57.{number} mm" for number in range(1, 5)]
        for number, text in enumerate(typed, 1):
            note_reading(first, text)
            expect(waiting(first)).to_have_text(f"{number} waiting to send")
        garage.line.good()
        for tab in (first, second):
            tab.evaluate("Object.defineProperty(document, 'visibilityState', { value: 'visible' })")
        for tab in (first, second):
            tab.evaluate("dispatchEvent(new Event('online'))")
        signal_back(first, second)
    assert garage.line.seen[Fate.through] >= 4
    assert recorded(garage) == (typed, 0, [], 4)


@on_plain_http
def test_what_is_typed_while_an_act_is_written_down_stays(garage: Garage, page: Page) -> None:
    """A slow phone empties the form late: the next reading, begun meanwhile, is not wiped away."""
    garage.line.down = True
    page.evaluate(
        """() => {
          const form = document.querySelector("#reading-form"), field = form.elements.namedItem("reading");
          field.value = "57.1 mm";
          form.requestSubmit(document.querySelector("#save-reading"));
          field.value = "57.2 mm";
        }"""
    )
    expect(waiting(page)).to_have_text("1 waiting to send")
    expect(page.locator("#reading-form [name=reading]")).to_have_value("57.2 mm")
    page.locator("#save-reading").click()
    expect(waiting(page)).to_have_text("2 waiting to send")
    garage.line.good()
    signal_back(page)
    assert recorded(garage) == (["57.1 mm", "57.2 mm"], 0, [], 2)


def note_two_at_once(page: Page, first: str, second: str) -> None:
    """Two readings, the second saved before anything became of the first; then its tap once more."""
    page.evaluate(
        """readings => {
          const form = document.querySelector("#reading-form");
          const button = document.querySelector("#save-reading");
          for (const reading of readings) {
            form.elements.namedItem("reading").value = reading;
            form.requestSubmit(button);
          }
          form.requestSubmit(button);
        }""",
        [first, second],
    )


def test_an_entry_saved_while_the_one_before_is_being_sent_goes_too(garage: Garage, page: Page) -> None:
    """A second tap on one entry sends nothing, but the next entry is not taken for one."""
    note_two_at_once(page, "57.1 mm", "57.2 mm")
    expect(page.locator(".readings b").get_by_text("57.2 mm", exact=True)).to_be_visible()
    expect(page.locator("#reading-form [name=reading]")).to_have_value("")
    assert recorded(garage) == (["57.1 mm", "57.2 mm"], 0, [], 2)
    garage.line.down = True
    note_two_at_once(page, "57.3 mm", "57.4 mm")
    expect(waiting(page)).to_have_text("2 waiting to send")
    expect(page.locator("#reading-form [name=reading]")).to_have_value("")
    garage.line.good()
    signal_back(page)
    assert recorded(garage) == (["57.1 mm", "57.2 mm", "57.3 mm", "57.4 mm"], 0, [], 4)


@on_plain_http
def test_an_act_the_server_refuses_waits_for_a_person_who_opens_its_form_again(
    garage: Garage, page: Page
) -> None:
    garage.line.down = True
    note_reading(page, "a thumb")
    note_reading(page, "57.2 mm")
    expect(waiting(page)).to_have_text("2 waiting to send")
    garage.line.good()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(waiting(page)).to_have_text("1 needs your eye")
    expect(show_list(page)).to_contain_text("Accepted:")
    assert recorded(garage) == (["57.2 mm"], 0, [], 1)
    show_list(page).get_by_role("button", name="Open the form again").click()
    expect(page.locator("#reading-form [name=reading]")).to_have_value("a thumb")
    note_reading(page, "57.3 mm")
    expect(page.locator(".outbox details")).to_be_hidden()
    assert recorded(garage) == (["57.2 mm", "57.3 mm"], 0, [], 2)


@on_plain_http
def test_an_edit_of_something_changed_meanwhile_is_shown_with_both_values(garage: Garage, page: Page) -> None:
    """Two of them sawed the same tube."""
    car, now = a_car(garage), garage.app.state.clock()
    ids = (car.build_id, car.design_id, car.piece_id)
    with write_session(garage.engine) as session:
        trim = trimming.offer_up(session, ids, {"excess": "14", "read_with": "rule"}, now, "builder")
    page.goto(car.trims)
    page.locator("[name=taken_off]").fill("6")
    garage.line.down = True
    page.get_by_role("button", name="It is off").click()
    expect(waiting(page)).to_have_text("1 waiting to send")
    with write_session(garage.engine) as session:
        trimming.take_off(session, ids, trim, {"taken_off": "4", "version": "1"}, "Jo")
    garage.line.good()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(waiting(page)).to_have_text("1 needs your eye")
    expect(show_list(page)).to_contain_text("Taken off: 4 mm now; you typed 6 mm")
    show_list(page).get_by_role("button", name="Discard").click()
    expect(waiting(page)).to_have_text("")
    show_list(page).get_by_role("button", name="Put it back").click()
    expect(waiting(page)).to_have_text("1 needs your eye")
    show_list(page).get_by_role("button", name="Discard").click()
    page.reload()
    expect(page.locator(".outbox details")).to_be_hidden()


@on_plain_http
def test_a_form_that_swaps_no_part_of_its_page_is_refused_as_a_plain_form_is(
    garage: Garage, page: Page
) -> None:
    """The page comes again with the messages and what was typed."""
    page.locator("#reading-form").evaluate("(form) => form.removeAttribute('data-swaps')")
    note_reading(page, "a thumb")
    expect(page.locator("#reading-form [aria-invalid=true]")).to_be_focused()
    expect(page.locator("#reading-form [name=reading]")).to_have_value("a thumb")
    expect(page.get_by_role("alert")).to_contain_text("Not saved yet")
    expect(page.locator(".outbox details")).to_be_hidden()
    page.locator("#reading-form").evaluate("(form) => form.removeAttribute('data-swaps')")
    note_reading(page, "57.3 mm")
    expect(page.locator(".readings b").get_by_text("57.3 mm", exact=True)).to_be_visible()
    assert recorded(garage) == (["57.3 mm"], 0, [], 1)


@on_plain_http
def test_a_browser_without_a_store_sends_its_forms_as_it_always_did(garage: Garage, page: Page) -> None:
    page.add_init_script(NO_STORE)
    page.reload()
    note_reading(page, "57.1 mm")
    expect(page.locator(".readings b").get_by_text("57.1 mm", exact=True)).to_be_visible()
    assert recorded(garage) == (["57.1 mm"], 0, [], 1)


@on_plain_http
def test_a_refusal_that_comes_late_is_told_in_the_list(garage: Garage, page: Page) -> None:
    page.add_init_script("AbortSignal.timeout = () => new AbortController().signal;")
    page.reload()
    garage.line.silent = True
    note_reading(page, "a thumb")
    expect(waiting(page)).to_have_text("1 waiting to send")
    garage.line.good()
    expect(waiting(page)).to_have_text("1 needs your eye")
    expect(show_list(page)).to_contain_text("Accepted:")


@on_plain_http
def test_taps_while_the_line_is_slow_all_count_and_a_double_tap_counts_once(
    garage: Garage, chromium: Chromium
) -> None:
    titles = more_tasks(garage, 1)
    with in_garage(chromium, garage) as context:
        page = context.new_page()
        page.goto(garage.sheet)
        garage.line.silent = True
        first, second = (page.get_by_role("button", name=f"Done: {title}", exact=True) for title in titles)
        first.evaluate("(button) => { button.click(); button.click(); }")
        second.click()
        expect(page.locator(".waits")).to_have_text("Done, waiting to send")
        garage.line.good()
        for button in (first, second):
            expect(button).to_have_count(0)
        expect(page.locator(".outbox details")).to_be_hidden()
    assert recorded(garage) == ([], 0, titles, 2)


@on_plain_http
def test_with_signal_a_tick_tells_its_news_and_the_enter_key_sends_a_form(
    garage: Garage, chromium: Chromium
) -> None:
    title, _ = more_tasks(garage, 1)
    with in_garage(chromium, garage) as context:
        page = context.new_page()
        page.goto(garage.sheet)
        tick(page, title)
        expect(page.locator(".news")).to_contain_text(title)
        page.locator("#undo").click()
        expect(page.get_by_role("button", name=f"Done: {title}", exact=True)).to_be_visible()
        page.goto(garage.port)
        page.locator("#reading-form [name=reading]").fill("57.1 mm")
        page.locator("#reading-form [name=reading]").press("Enter")
        expect(page.locator(".readings b").get_by_text("57.1 mm", exact=True)).to_be_visible()
        page.go_back()
        expect(page.get_by_role("button", name=f"Done: {title}", exact=True)).to_be_visible()
    assert recorded(garage)[0] == ["57.1 mm"]


@on_plain_http
def test_what_waits_for_more_than_a_day_is_spoken_of(garage: Garage, page: Page) -> None:
    garage.line.down = True
    note_reading(page, "57.1 mm")
    expect(waiting(page)).to_have_text("1 waiting to send")
    garage.line.down = False
    garage.line.fate = lambda: Fate.refused
    page.clock.set_system_time(datetime.now() + timedelta(hours=25))
    page.reload()
    expect(waiting(page)).to_contain_text("1 waiting to send, the oldest since")


def test_a_sign_in_that_ends_keeps_what_waits_until_the_next(garage: Garage, page: Page) -> None:
    garage.line.down = True
    note_reading(page, "57.1 mm")
    expect(waiting(page)).to_have_text("1 waiting to send")
    page.context.clear_cookies()
    garage.line.good()
    page.evaluate("dispatchEvent(new Event('online'))")
    expect(waiting(page)).to_have_text("1 waiting to send, sign in to send")
    expect(show_list(page).get_by_role("link", name="Sign in")).to_be_visible()
    assert recorded(garage)[0] == []
    page.context.add_cookies([garage.cookie])
    page.goto(garage.port)
    signal_back(page)
    assert recorded(garage) == (["57.1 mm"], 0, [], 1)


@on_plain_http
def test_signing_out_is_refused_while_something_waits(garage: Garage, page: Page) -> None:
    page.goto("/sign-in")
    garage.line.down = True
    page.evaluate("""() => { const form = document.createElement("form");
      form.method = "post"; form.action = "/builds/1/ports/1/readings"; form.dataset.outbox = "";
      form.innerHTML = '<input name="operation_key" type="hidden" value="a-key-of-its-own">';
      document.body.append(form); form.requestSubmit(); }""")
    expect(waiting(page)).to_have_text("1 waiting to send")
    garage.line.down = False
    garage.line.fate = lambda: Fate.refused
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("status").first).to_contain_text("Not signed out: 1 waiting to send")


@on_plain_http
def test_an_act_counts_from_when_it_was_made(garage: Garage, page: Page) -> None:
    garage.line.down = True
    before = datetime.now(UTC)
    note_reading(page, "57.1 mm")
    expect(waiting(page)).to_have_text("1 waiting to send")
    after = datetime.now(UTC)
    page.wait_for_timeout(1500)
    garage.line.good()
    signal_back(page)
    with Session(garage.engine) as session:
        taken_at = session.exec(select(Reading.taken_at)).one()
    assert before - timedelta(seconds=1) <= taken_at <= after


@on_plain_http
def test_the_list_of_what_waits_is_within_everyones_reach(garage: Garage, page: Page) -> None:
    garage.line.down = True
    note_reading(page, "57.1 mm")
    show_list(page)
    page.evaluate(AXE.read_text())
    found = page.evaluate(
        "(options) => axe.run('.outbox', options)", {"runOnly": {"type": "tag", "values": RULES}}
    )
    assert [f"{one['id']}: {one['help']}" for one in found["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
