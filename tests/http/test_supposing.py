"""What the dates were, if: the dates then against those of now, and nothing changed by asking."""

from typing import Any

import pytest

from tests.asking import Browser
from tests.http import test_forecasts

build = test_forecasts.build
"""First start waits for three bends due on Friday 27 November; the garage is open on Thursdays."""


def suppose(browser: Browser, build: int, **asked: str) -> Any:
    answer = browser.get(f"/builds/{build}/suppose", params=asked, headers={"accept": "application/json"})
    return answer.json()


def dates(page: Any) -> list[tuple[str, str, str]]:
    return [(row["now"], row["then"], row["step"]) for row in page["rows"]]


def test_another_day_moves_the_date_and_changes_nothing(browser: Browser, build: int) -> None:
    page = suppose(browser, build, day="2026-11-28")
    assert page["lead"] == "By the plan: Sat 28 Nov 2026, 5 days earlier."
    assert dates(page)[0] == ("Thu 3 Dec 2026", "Sat 28 Nov 2026", "5 days earlier")
    assert page["supposed"] == ["One more day in the garage: Sat 28 Nov."]
    assert "Thu 3 Dec 2026" in browser.get_json(f"/builds/{build}/plan")["answer"]


def test_express_post_brings_what_is_owed_of_one_order(browser: Browser, build: int) -> None:
    test_forecasts.due(browser, build, "2026-12-11")
    page = suppose(browser, build, order="1")
    assert dates(page)[0] == ("Thu 17 Dec 2026", "Thu 3 Dec 2026", "14 days earlier")
    assert page["supposed"] == ["By express, here Fri 27 Nov at the latest: Millrace Tube: 76 mm bend."]


def test_a_helper_a_week_later_puts_off_what_waits_for_the_helper(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/stints/helpers", {"name": "Jo", "skills": "welds"})
    visit = {"helper_id": "1", "day": "2026-12-05", "begins": "09:00", "ends": "12:00"}
    browser.post(f"/builds/{build}/stints/visits", visit)
    edit = {"version": "1", "title": "First start", "likely": "1 h", "helper_skill": "welds"}
    browser.post(f"/builds/{build}/tasks/1", edit)
    [_, option] = suppose(browser, build)["visits"]
    page = suppose(browser, build, visit=option["value"])
    assert dates(page)[0] == ("Sat 5 Dec 2026", "Sat 12 Dec 2026", "7 days later")


def test_what_moves_nothing_says_so(browser: Browser, build: int) -> None:
    assert suppose(browser, build, day="2026-12-20")["lead"] == "That would move none of the dates."
    assert suppose(browser, build)["lead"] == "What if? Choose one thing or several."


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"day": "2026-11-01"}, "The plan does not reach that day."),
        ({"day": "soon"}, "is not a date"),
        ({"order": "99"}, "The order"),
    ],
)
def test_what_cannot_be_supposed_is_refused_beside_its_field(
    browser: Browser, build: int, asked: dict[str, str], words: str
) -> None:
    answer = browser.get(f"/builds/{build}/suppose", params=asked)
    assert answer.status_code == 422
    assert words in answer.text


def test_a_helper_a_week_earlier_too_brings_the_date_forward(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/stints/helpers", {"name": "Jo", "skills": "welds"})
    visit = {"helper_id": "1", "day": "2026-12-12", "begins": "09:00", "ends": "12:00"}
    browser.post(f"/builds/{build}/stints/visits", visit)
    edit = {"version": "1", "title": "First start", "likely": "1 h", "helper_skill": "welds"}
    browser.post(f"/builds/{build}/tasks/1", edit)
    page = suppose(browser, build, earlier="1")
    assert dates(page)[0] == ("Sat 12 Dec 2026", "Sat 5 Dec 2026", "7 days earlier")
    assert page["supposed"] == ["A week earlier too: Jo, before Sat 12 Dec."]
    soon = {"helper_id": "1", "day": "2026-11-28", "begins": "09:00", "ends": "12:00"}
    browser.post(f"/builds/{build}/stints/visits", soon)
    refused = browser.get(f"/builds/{build}/suppose", params={"earlier": "2"})
    assert refused.status_code == 422
    assert "A week before it is past." in refused.text


def test_a_late_order_says_by_how_much_it_moves_the_first_start(browser: Browser, build: int) -> None:
    assert browser.get_json(f"/builds/{build}/late")["lead"] == "No order is late."
    assert "/late" not in browser.get(f"/builds/{build}/orders").text
    test_forecasts.due(browser, build, "2026-11-23")
    page = browser.get_json(f"/builds/{build}/late")
    [late] = page["orders"]
    assert late["late"] == "2 days late"
    assert late["order"] == {"href": f"/builds/{build}/orders/1", "text": "Millrace Tube: 76 mm bend"}
    assert late["moves"].startswith("first start moves 7 days, to Thu 3 Dec; the four-in-five date moves ")
    for sheet in ("orders", "garage"):
        assert f'data-part="/builds/{build}/late"' in browser.get(f"/builds/{build}/{sheet}").text
    asked = {"hx-request": "true", "hx-target": "late-orders"}
    part = browser.get(f"/builds/{build}/late", headers=asked).text
    assert "2 days late" in part
    assert "<html" not in part
