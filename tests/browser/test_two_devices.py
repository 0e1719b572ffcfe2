"""Two phones on one port, a thumb that taps twice, a server that goes away: nothing typed is lost."""

import re
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime

import pytest
from fastapi import FastAPI
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import Page, expect
from sqlalchemy import Engine

from server.db import write_session
from server.features.ports import service as ports
from server.web import urls
from tests.browser.conftest import NO_STORE, page_on, phone_at
from tests.factories import a_build
from tests.far_garage import PHONE
from tests.live import served

SPIGOT = {"role": "run end", "shape": "spigot", "medium": "air"}


@contextmanager
def phone_with_a_bad_line(chromium: Chromium, address: str) -> Iterator[Page]:
    """A phone whose requests may fail; only a script error is a fault."""
    context = chromium.new_context(base_url=address, viewport=PHONE, has_touch=True)
    page = context.new_page()
    page.set_default_timeout(10_000)
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    assert errors == []


@pytest.fixture
def port(engine: Engine, now: datetime) -> str:
    """The address of a port that nobody measured yet."""
    with write_session(engine) as session:
        build = a_build(session, now)
        number = ports.add_port(session, build.id, {"name": "Air meter outlet", **SPIGOT})
    return urls.port(build.id, number)


def open_sheet(page: Page, address: str) -> None:
    page.goto(address)
    page.locator("#port-sheet > summary").tap()


def save_port(page: Page) -> None:
    page.get_by_role("button", name="Save the port").tap()


def rename(page: Page, name: str) -> None:
    page.locator("#port-name").fill(name)


def test_the_second_of_two_editors_sees_both_values_and_can_save_again(
    chromium: Chromium, phone: Page, live: str, port: str
) -> None:
    first = phone
    with phone_at(chromium, live) as second:
        open_sheet(first, port)
        open_sheet(second, port)
        rename(first, "Meter housing outlet")
        save_port(first)
        expect(first.locator(".port-name")).to_contain_text("Meter housing outlet")
        rename(second, "Outlet of the air meter")
        save_port(second)
        told = second.get_by_role("alert")
        expect(told).to_contain_text("Somebody else changed this")
        row = told.locator("tbody tr").filter(has_text="Name")
        expect(row).to_contain_text("Meter housing outlet")
        expect(row).to_contain_text("Outlet of the air meter")
        expect(second.locator("#port-name")).to_have_value("Outlet of the air meter")
        first.reload()
        expect(first.locator(".port-name")).to_contain_text("Meter housing outlet")
        save_port(second)
        expect(second.locator(".port-name")).to_contain_text("Outlet of the air meter")


def test_two_tabs_of_one_sheet_are_two_forms_and_the_second_is_shown_what_clashed(
    phone: Page, port: str
) -> None:
    first = phone
    with page_on(first.context) as second:
        open_sheet(first, port)
        open_sheet(second, port)
        rename(first, "Meter housing outlet")
        save_port(first)
        expect(first.locator(".port-name")).to_contain_text("Meter housing outlet")
        rename(second, "Outlet of the air meter")
        save_port(second)
        expect(second.get_by_role("alert")).to_contain_text("Somebody else changed this")
        expect(second.get_by_role("alert")).to_be_in_viewport()
        expect(second.locator("#port-name")).to_have_value("Outlet of the air meter")


def test_the_back_button_tells_what_is_measured_by_now(phone: Page, port: str) -> None:
    phone.goto(port.rsplit("/", maxsplit=1)[0])
    expect(phone.locator("#ports")).to_contain_text("to measure: outside diameter")
    phone.get_by_role("link", name="Air meter outlet", exact=True).tap()
    phone.locator("#reading-form [name=reading]").fill("80.4 mm")
    phone.locator("#save-reading").tap()
    expect(phone.locator(".readings li")).to_have_count(1)
    phone.go_back()
    expect(phone.locator("#ports")).to_contain_text("outside diameter 80.4")


def test_readings_taken_on_two_phones_at_once_all_stay(
    chromium: Chromium, phone: Page, live: str, port: str
) -> None:
    first = phone
    with phone_at(chromium, live) as second:
        for one in (first, second):
            one.goto(port)
        for one, text in ((first, "80.1 mm"), (second, "80.3 mm")):
            one.locator("#reading-form [name=reading]").fill(text)
            one.locator("#save-reading").tap()
            expect(one.locator(".readings b").get_by_text(text, exact=True)).to_be_visible()
        expect(second.locator(".readings li")).to_have_count(2)
        first.reload()
        expect(first.locator(".readings li")).to_have_count(2)


def test_a_double_tap_acts_once(phone: Page, port: str) -> None:
    phone.goto(port)
    phone.locator("#reading-form [name=reading]").fill("80.4 mm")
    phone.locator("#save-reading").evaluate("(button) => { button.click(); button.click(); }")
    expect(phone.locator(".readings li")).to_have_count(1)
    phone.reload()
    expect(phone.locator(".readings li")).to_have_count(1)


def test_a_double_tap_on_a_plain_form_acts_once(phone: Page, port: str) -> None:
    build = port.split("/ports/", maxsplit=1)[0]
    phone.goto(f"{build}/subsystems")
    button = phone.get_by_role("button", name="Add it")
    button.evaluate("(button) => { button.click(); button.click(); }")
    expect(phone.get_by_role("heading", name="New design")).to_be_visible()
    phone.goto(f"{build}/subsystems")
    expect(phone.locator(".rows > li")).to_have_count(1)


def test_without_a_server_the_page_says_so_and_keeps_what_was_typed(
    chromium: Chromium, app: FastAPI, port: str
) -> None:
    """A browser that keeps nothing for a page; one that does sends it later by itself."""
    with ExitStack() as running:
        address = running.enter_context(served(app))
        with phone_with_a_bad_line(chromium, address) as phone:
            phone.add_init_script(NO_STORE)
            phone.goto(port)
            field = phone.locator("#reading-form [name=reading]")
            field.fill("80.6 mm")
            running.close()
            phone.locator("#save-reading").tap()
            expect(phone.get_by_role("status").first).to_contain_text(re.compile("^No connection"))
            expect(field).to_have_value("80.6 mm")
            with served(app, int(address.rsplit(":", 1)[1])):
                phone.locator("#save-reading").tap()
                expect(phone.locator(".readings b").get_by_text("80.6 mm", exact=True)).to_be_visible()
                expect(phone.locator(".readings li")).to_have_count(1)
