"""The dates of a build as a calendar program gets them."""

import re

from fastapi import FastAPI
from icalendar import Calendar

from tests.asking import Browser, number_in
from tests.calendar_lines import Properties, read
from tests.conftest import TEN_IN_THE_MORNING
from tests.http.test_work import a_task

ORDERED = re.compile(r".+: \d+ days? to the door(, assumed: nobody offers it)?; for ‘.+’, .+ by the plan")
PARIS = {"version": "0", "zone": "Europe/Paris", "raising": "40 min", "lowering": "20 min"}


def a_build(browser: Browser) -> str:
    number = number_in(browser.post("/builds", {"name": "The saloon, blue"}).headers["location"])
    return f"/builds/{number}"


def events(browser: Browser, build: str) -> list[Properties]:
    answer = browser.get(f"{build}/calendar.ics")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    return read(answer.content)[1]


def told(event: Properties) -> tuple[str, str]:
    return event["DTSTART"].value, event["SUMMARY"].text


def test_a_visit_stands_in_utc_with_its_last_day_to_call_off(browser: Browser) -> None:
    build = a_build(browser)
    browser.post(f"{build}/stints/garage", PARIS)
    browser.post(f"{build}/stints/helpers", {"name": "Jo; the welder", "skills": "welds"})
    visit = {"helper_id": "1", "day": "2027-07-03", "begins": "09:00", "ends": "15:00"}
    visit |= {"cancel_by": "2027-06-30", "note": "Brings gas, tell her"}
    browser.post(f"{build}/stints/visits", visit)
    comes, last = events(browser, build)
    assert told(comes) == ("20270703T070000Z", "Jo; the welder comes")
    assert comes["DTEND"].value == "20270703T130000Z"
    assert comes["DESCRIPTION"].text == (
        "Able to do: welds.\nCan be called off until Wed 30 Jun.\nBrings gas, tell her"
    )
    assert comes["URL"].value.startswith(f"http://127.0.0.1:8000{build}/")
    assert told(last) == ("20270630", "Last day to call off: Jo; the welder, Sat 3 Jul")
    assert last["DTSTART"].parameters == ";VALUE=DATE"


def test_what_was_set_aside_is_gone_and_what_stands_keeps_its_name(browser: Browser) -> None:
    build = a_build(browser)
    browser.post(f"{build}/stints/helpers", {"name": "Jo"})
    for day in ("2026-12-05", "2026-12-12"):
        visit = {"helper_id": "1", "day": day, "begins": "09:00", "ends": "15:00"}
        browser.post(f"{build}/stints/visits", visit)
    first, second = events(browser, build)
    browser.post(f"{build}/stints/visits/1/removal", {"to": "aside"})
    [left] = events(browser, build)
    assert left == second
    assert first["UID"] != second["UID"]


def test_the_plan_gives_its_first_start_and_an_empty_build_says_what_to_note(browser: Browser) -> None:
    build = a_build(browser)
    [nothing] = events(browser, build)
    assert told(nothing) == ("20261125", "Nothing with a date yet")
    stint = {"kind": "weekly", "weekday": "Thursday", "begins": "18:00", "ends": "21:00"}
    browser.post(f"{build}/stints", stint)
    a_task(browser, number_in(build), "First start", likely="4 h")
    [start] = events(browser, build)
    assert told(start) == ("20261203T170000Z", "First start by the plan")
    assert start["DTEND"].value == "20261203T181000Z"


def test_it_is_sent_again_only_where_it_changed(browser: Browser) -> None:
    address = f"{a_build(browser)}/calendar.ics"
    tag = browser.get(address).headers["etag"]
    assert browser.get(address, headers={"if-none-match": tag}).status_code == 304
    assert browser.get(address).headers["cache-control"] == "private, no-cache"
    assert browser.get("/builds/99/calendar.ics").status_code == 404


def test_the_demo_s_post_and_days_to_order_by_stand_there(demo: Browser) -> None:
    content = demo.get("/builds/1/calendar.ics").content
    found = read(content)[1]
    titles = [event["SUMMARY"].text for event in found]
    ordered = [event for event in found if event["SUMMARY"].text.startswith("Order by today: ")]
    told_lines = [line for event in ordered for line in event["DESCRIPTION"].text.split("\n")]
    assert len(told_lines) > 3
    assert [line for line in told_lines if not ORDERED.fullmatch(line)] == []
    assert "The fabricator comes" in titles
    assert any(title.startswith("Late from ") for title in titles)
    assert any(title.startswith("Expected from ") for title in titles)
    assert "First start by the plan" in titles
    names = [event["UID"].value for event in found]
    assert len(set(names)) == len(names)
    by_package = Calendar.from_ical(content).walk("VEVENT")
    assert [str(event["uid"]) for event in by_package] == names
    assert [str(event["summary"]) for event in by_package] == titles


def test_a_stint_begins_on_its_minute_whatever_second_it_is_asked_at(app: FastAPI, browser: Browser) -> None:
    app.state.clock = lambda: TEN_IN_THE_MORNING.replace(second=31)
    build = a_build(browser)
    stint = {"kind": "weekly", "weekday": "Thursday", "begins": "18:00", "ends": "21:00"}
    browser.post(f"{build}/stints", stint)
    a_task(browser, number_in(build), "First start", likely="1 h")
    [start] = events(browser, build)
    assert start["DTSTART"].value == "20261126T170000Z"
