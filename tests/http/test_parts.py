"""Parts as a browser and a script see them: the count in the garage, what is needed and what is short."""

from typing import Any

import pytest

from tests.asking import Browser, fresh_key, number_in

ELBOW = {"name": "76 mm elbow", "kind": "bend", "price": "31,50", "count": "2"}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def elbow(browser: Browser, build: int) -> str:
    """The address of a part with two pieces in the garage."""
    assert browser.post(f"/builds/{build}/parts", ELBOW).status_code == 303
    return f"/builds/{build}/parts/1"


def counts(browser: Browser, part: str) -> Any:
    return browser.get_json(part)["counts"]


def test_a_build_without_parts_says_what_a_part_is(browser: Browser, build: int) -> None:
    assert "No part yet" in browser.get(f"/builds/{build}/parts").text


def test_a_new_part_is_listed_with_its_price_and_its_count(browser: Browser, build: int, elbow: str) -> None:
    (line,) = browser.get_json(f"/builds/{build}/parts")["others"]
    assert line["about"] == "bend · to buy · 31.50 EUR"
    assert line["counts"]["in_hand"] == 2
    assert line["href"] == elbow


def test_bad_input_keeps_what_was_typed_and_stores_nothing(browser: Browser, build: int) -> None:
    answer = browser.post(
        f"/builds/{build}/parts", {"name": "", "price": "cheap", "count": "-3", "note": "<script>x</script>"}
    )
    assert answer.status_code == 422
    for kept in ("cheap", "-3", "&lt;script&gt;x&lt;/script&gt;", "an amount such as 24.50"):
        assert kept in answer.text
    assert browser.get_json(f"/builds/{build}/parts")["others"] == []


def test_one_more_and_one_less_change_the_count_by_one(browser: Browser, elbow: str) -> None:
    browser.post(f"{elbow}/shelf", {"change": "+1"})
    assert counts(browser, elbow)["in_hand"] == 3
    browser.post(f"{elbow}/shelf", {"change": "-1"})
    browser.post(f"{elbow}/shelf", {"change": "-1"})
    assert counts(browser, elbow)["in_hand"] == 1


def test_five_taps_on_the_same_button_count_once(browser: Browser, elbow: str) -> None:
    fields = {"change": "+1", "operation_key": fresh_key()}
    answers = browser.post_at_once(f"{elbow}/shelf", fields, 5)
    assert {answer.status_code for answer in answers} == {303}
    assert counts(browser, elbow)["in_hand"] == 3


def test_none_can_be_taken_from_none(browser: Browser, elbow: str) -> None:
    browser.post(f"{elbow}/shelf", {"count": "0"})
    answer = browser.post(f"{elbow}/shelf", {"change": "-1"})
    assert answer.status_code == 422
    assert "There is no 76 mm elbow in the garage to take away." in answer.text


def test_in_page_the_list_alone_comes_back_with_the_new_count(
    browser: Browser, build: int, elbow: str
) -> None:
    answer = browser.post(
        f"{elbow}/shelf", {"change": "+1"}, headers={"hx-request": "true", "hx-target": "part-list"}
    )
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="part-list">')
    assert "<b>3</b> in the garage" in answer.text
    assert "<b>3</b> in the garage" in browser.get(f"/builds/{build}/parts").text


def test_a_count_stands_whatever_arrived_or_was_used_before(browser: Browser, build: int, elbow: str) -> None:
    order = {"supplier": "Tarn Hose & Clamp", "part_1": "76 mm ELBOW", "quantity_1": "4"}
    browser.post(f"/builds/{build}/orders", order)
    browser.post(f"/builds/{build}/order-lines/1/deliveries", {})
    assert counts(browser, elbow)["in_hand"] == 6
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "5"})
    browser.post(f"{task}/state", {"state": "done"})
    assert counts(browser, elbow)["in_hand"] == 1
    browser.post(f"{elbow}/shelf", {"count": "3"})
    assert counts(browser, elbow)["in_hand"] == 3
    browser.post(f"{elbow}/shelf", {"count": "0"})
    assert counts(browser, elbow)["in_hand"] == 0


def test_a_count_of_a_part_of_which_more_was_used_than_recorded_begins_afresh(
    browser: Browser, build: int, elbow: str
) -> None:
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "5"})
    browser.post(f"{task}/state", {"state": "done"})
    assert counts(browser, elbow)["in_hand"] == 0
    browser.post(f"{elbow}/shelf", {"count": "2"})
    assert counts(browser, elbow)["in_hand"] == 2


@pytest.mark.usefixtures("elbow")
def test_what_is_needed_and_under_way_nowhere_is_short_and_stands_first(browser: Browser, build: int) -> None:
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "3"})
    (short,) = browser.get_json(f"/builds/{build}/parts")["short"]
    assert (short["counts"]["needed"], short["counts"]["short"]) == (3, 1)
    assert '<b class="late">1 short</b>' in browser.get(f"/builds/{build}/parts").text


def test_a_stale_edit_shows_both_values_and_loses_nothing(browser: Browser, elbow: str) -> None:
    edit = {"version": "1", "kind": "bend", "origin": "buy"}
    assert browser.post(elbow, edit | {"name": "76 mm elbow, 90°", "price": "31.50"}).status_code == 303
    answer = browser.post(elbow, edit | {"name": "76 mm elbow, long leg", "price": "33.00"})
    assert answer.status_code == 412
    for text in ("76 mm elbow, 90°", "76 mm elbow, long leg", "31.50", "33.00"):
        assert text in answer.text
    assert browser.get_json(elbow)["name"] == "76 mm elbow, 90°"


def test_a_borrowed_part_begins_as_not_tried_on(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/parts", {"name": "Outlet of another car", "origin": "borrowed"})
    (line,) = browser.get_json(f"/builds/{build}/parts")["others"]
    assert line["about"] == "borrowed to try · not tried on yet"


def test_a_part_of_another_build_is_not_found(browser: Browser, elbow: str) -> None:
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    assert browser.get(f"/builds/{other}/parts/1").status_code == 404
    assert browser.post(f"/builds/{other}/parts/1/shelf", {"change": "+1"}).status_code == 404
    assert browser.get(elbow).status_code == 200
