"""How the date moved: said on the plan and on the garage, with what moved it, and kept day by day."""

from datetime import timedelta
from typing import Any

import pytest
from fastapi import FastAPI

from tests.asking import Browser, number_in
from tests.conftest import TEN_IN_THE_MORNING
from tests.http.test_work import a_task

PART = {"part": "76 mm bend", "quantity": "3", "kind": "bend", "origin": "buy"}


@pytest.fixture
def build(browser: Browser) -> int:
    """Stints on Thursdays and a task that waits for three bends, due on the Friday."""
    number = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    stint = {"kind": "weekly", "weekday": "Thursday", "begins": "18:00", "ends": "21:00"}
    browser.post(f"/builds/{number}/stints", stint)
    order = {
        "supplier": "Millrace Tube",
        "ordered_on": "2026-11-18",
        "due_on": "2026-11-27",
        "part_1": "76 mm bend",
        "quantity_1": "3",
        "price_1": "20",
    }
    browser.post(f"/builds/{number}/orders", order)
    task = a_task(browser, number, "First start", likely="1 h")
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "3"})
    return number


def history(browser: Browser, build: int) -> Any:
    return browser.get_json(f"/builds/{build}/plan")["history"]


def due(browser: Browser, build: int, day: str) -> None:
    order = {"version": "1", "supplier": "Millrace Tube", "ordered_on": "2026-11-18", "due_on": day}
    browser.post(f"/builds/{build}/orders/1", order)


def test_a_parcel_that_comes_later_is_named_as_what_moved_the_first_start(
    browser: Browser, build: int
) -> None:
    assert history(browser, build)["moved"] == ""
    due(browser, build, "2026-12-11")
    for _ in ("before it is written down", "and after"):
        told = history(browser, build)
        assert told["moved"] == (
            "The date by the plan moved from Thu 3 Dec to Thu 17 Dec, 14 days later, at 10:00, because of:"
        )
        [why] = told["why"]
        assert why == {
            "href": f"/builds/{build}/parts/1",
            "text": "3 × 76 mm bend: now expected Fri 11 Dec, not Fri 27 Nov.",
        }
    part = browser.get(f"/builds/{build}/plan", headers={"hx-request": "true", "hx-target": "first-start"})
    assert "now expected Fri 11 Dec" in part.text


def test_the_garage_shows_the_date_as_it_was_worked_out_last_and_asks_for_the_new_one(
    browser: Browser, build: int
) -> None:
    garage = f"/builds/{build}/garage"
    assert browser.get_json(garage)["first_start"] == ""
    history(browser, build)
    due(browser, build, "2026-12-11")
    stood = browser.get_json(garage)["first_start"]
    assert stood.startswith("As it stood at 10:00: by the plan Thu 3 Dec 2026")
    assert f'data-part="/builds/{build}/plan"' in browser.get(garage).text
    history(browser, build)
    assert "by the plan Thu 17 Dec 2026" in browser.get_json(garage)["first_start"]


def test_dates_are_kept_by_day_and_told_against_those_of_a_week_ago(
    app: FastAPI, browser: Browser, build: int
) -> None:
    history(browser, build)
    history(browser, build)
    app.state.clock = lambda: TEN_IN_THE_MORNING + timedelta(days=8)
    due(browser, build, "2026-12-11")
    page = browser.get_json(f"/builds/{build}/plan")
    told = page["history"]
    assert told["week"].startswith(
        "Since a week ago (Wed 25 Nov): the date by the plan was Thu 3 Dec, 14 days later now;"
    )
    assert [row["name"] for row in told["days"]] == ["Thu 3 Dec", "Wed 25 Nov"]
    assert [row["dates"][0] for row in told["days"]] == ["Thu 17 Dec 2026", "Thu 3 Dec 2026"]
    curve = told["curve"]
    assert curve["now"] != curve["ago"]
    assert [row["dates"] for row in curve["rows"] if row["name"] == "50 %"] == [
        ["Thu 17 Dec 2026", "Thu 3 Dec 2026"]
    ]


def test_a_part_to_order_is_told_with_its_day_and_what_it_is_for(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Fit the flange", likely="1 h")
    browser.post(f"/builds/{build}/parts", {"name": "Flange", "origin": "buy", "kind": "flange"})
    browser.post(f"{task}/needs", {"part_id": "2", "quantity": "1"})
    [one] = browser.get_json(f"/builds/{build}/plan")["to_order"]
    assert one["by"] == "Order by Thu 26 Nov"
    assert one["why"] == "for ‘Fit the flange’ on Thu 3 Dec; the post takes 7 days, as assumed"


def test_the_shopping_list_says_until_when_to_order_and_takes_who_is_in_time(
    browser: Browser, build: int
) -> None:
    """Needed on the evening of Thursday 3 December; three days by post."""
    task = a_task(browser, build, "Fit the flange", likely="1 h")
    browser.post(f"/builds/{build}/parts", {"name": "Flange", "origin": "buy", "kind": "flange"})
    browser.post(f"{task}/needs", {"part_id": "2", "quantity": "1"})
    for supplier, price, days in (("Tarn Hose & Clamp", "30", "3"), ("Underhill Castings", "10", "20")):
        offer = {"supplier": supplier, "price": price, "lead_days": days}
        browser.post(f"/builds/{build}/parts/2/offers", offer)
    page = browser.get_json(f"/builds/{build}/shopping")
    assert page["sorted_by"] == "soonest to order first"
    [basket] = page["baskets"]
    assert (basket["supplier"], basket["by"]) == ("Tarn Hose & Clamp", "Order by Mon 30 Nov")
    [line] = basket["lines"]
    assert line["by"] == "Order by Mon 30 Nov"
    assert "20.00 EUR dearer than from Underhill Castings, but that takes 20 days" in line["facts"][-1]
