"""Orders and deliveries as a browser and a script see them. Today is Wednesday, 25 November 2026."""

from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from server.features.orders.tables import Delivery
from tests.asking import Browser, fresh_key, number_in

LATE = {
    "supplier": "Tarn Hose & Clamp",
    "ordered_on": "2026-11-10",
    "due_on": "2026-11-23",
    "postage": "4.90",
    "part_1": "101.6 to 80 mm reducer",
    "quantity_1": "1",
    "price_1": "24,50",
    "part_2": "T-bolt clamp",
    "quantity_2": "4",
    "price_2": "3.20",
}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def orders(browser: Browser, build: int) -> str:
    """The address of the orders, with one of two lines that is two days late."""
    address = f"/builds/{build}/orders"
    assert browser.post(address, LATE).status_code == 303
    return address


def delivered(engine: Engine) -> list[Delivery]:
    with Session(engine) as session:
        return list(session.exec(select(Delivery)))


def held_task(browser: Browser, build: int, title: str, part: int, quantity: int) -> str:
    """The address of a task that needs so many of a part."""
    form = {"title": title, "likely": "40 min"}
    task: str = browser.post(f"/builds/{build}/tasks", form).headers["location"]
    browser.post(f"{task}/needs", {"part_id": str(part), "quantity": str(quantity)})
    return task


def cards(browser: Browser, orders: str) -> Any:
    return browser.get_json(orders)["in_post"]


def test_an_empty_build_has_nothing_in_the_post(browser: Browser, build: int) -> None:
    assert "Nothing is in the post." in browser.get(f"/builds/{build}/orders").text


def test_a_late_order_says_how_late_and_what_it_cost(browser: Browser, orders: str) -> None:
    (card,) = cards(browser, orders)
    assert card["due"] == "2 days late"
    assert card["about"] == "ordered Tue 10 Nov · was due Mon 23 Nov · 42.20 EUR"
    assert [line["text"] for line in card["open_lines"]] == ["101.6 to 80 mm reducer", "4 × T-bolt clamp"]


def test_late_orders_stand_first_then_the_next_due_then_those_without_a_day(
    browser: Browser, orders: str
) -> None:
    for supplier, due in (
        ("Corvid Fasteners", ""),
        ("Millrace Tube", "2026-12-03"),
        ("Underhill", "2026-11-20"),
    ):
        browser.post(orders, {"supplier": supplier, "ordered_on": "2026-11-01", "due_on": due, "part_1": "x"})
    told = [(card["supplier"], card["due"]) for card in cards(browser, orders)]
    assert told == [
        ("Underhill", "5 days late"),
        ("Tarn Hose & Clamp", "2 days late"),
        ("Millrace Tube", "due Thu 3 Dec"),
        ("Corvid Fasteners", "no day promised"),
    ]


def test_a_new_order_is_told_with_the_way_back(browser: Browser, build: int) -> None:
    page = browser.follow(browser.post(f"/builds/{build}/orders", LATE)).text
    assert "Order noted: Tarn Hose &amp; Clamp, 2 lines, due Mon 23 Nov." in page
    assert f'action="/builds/{build}/orders/1/removal"' in page


def test_what_was_called_off_is_not_here(browser: Browser, build: int, orders: str) -> None:
    """Of four clamps one came and three will not; of the reducer nothing comes."""
    lines = f"/builds/{build}/order-lines"
    browser.post(f"{lines}/1/calling-off", {"quantity": "1"})
    page = browser.get(orders).text
    assert "Here already" not in page
    assert "101.6 to 80 mm reducer: 1 will not come" in page
    browser.post(f"{lines}/2/deliveries", {"quantity": "1", "condition": "right", "back": "orders"})
    browser.post(f"{lines}/2/calling-off", {"quantity": "3"})
    settled = browser.get(orders).text.split('id="settled"')[1]
    words = " ".join(settled.split())
    assert "T-bolt clamp ; 101.6" not in words
    assert "T-bolt clamp; 101.6 to 80 mm reducer: 1 will not come; T-bolt clamp: 3 will not come" in words


def test_bad_input_keeps_what_was_typed_and_stores_nothing(browser: Browser, build: int) -> None:
    address = f"/builds/{build}/orders"
    typed = {"supplier": "", "due_on": "soon", "quantity_1": "many", "price_3": "12.345"}
    answer = browser.post(address, typed)
    assert answer.status_code == 422
    for text in ("soon", "many", "12.345", "a date, such as 2026-11-25", "The part is missing."):
        assert text in answer.text
    assert cards(browser, address) == []
    assert browser.post(address, {"supplier": "Tarn"}).status_code == 422
    backwards = LATE | {"ordered_on": "2026-11-24"}
    assert "due before it was ordered" in browser.post(address, backwards).text


def test_a_line_takes_a_known_part_by_its_name_and_makes_a_new_one_otherwise(
    browser: Browser, build: int, orders: str
) -> None:
    again = {"supplier": "Corvid Fasteners", "part_1": "t-bolt CLAMP", "part_2": "Gasket"}
    browser.post(orders, again)
    parts = browser.get_json(f"/builds/{build}/parts")["others"]
    assert [part["name"] for part in parts] == ["101.6 to 80 mm reducer", "Gasket", "T-bolt clamp"]


@pytest.mark.usefixtures("orders")
def test_one_tap_marks_the_whole_rest_as_arrived_and_says_which_task_is_ready_now(
    browser: Browser, build: int
) -> None:
    task = held_task(browser, build, "Fit the intake", 1, 1)
    assert "in the post" in browser.get(task).text
    answer = browser.post(f"/builds/{build}/order-lines/1/deliveries", {"back": "orders"})
    page = browser.follow(answer)
    assert "Arrived: 101.6 to 80 mm reducer." in page.text
    assert f'Now ready: <a href="{task}">Fit the intake</a>' in page.text
    first = browser.get_json(f"/builds/{build}/garage")["now"][0]
    assert (first["title"], first["word"]) == ("Fit the intake", "ready")


def test_in_page_the_answer_is_the_same_without_a_second_request(
    browser: Browser, build: int, orders: str
) -> None:
    task = held_task(browser, build, "Fit the intake", 1, 1)
    in_page = {"hx-request": "true", "hx-target": "order-list"}
    answer = browser.post(f"/builds/{build}/order-lines/1/deliveries", {"back": "orders"}, headers=in_page)
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="order-list">')
    assert f'Now ready: <a href="{task}">Fit the intake</a>' in answer.text
    assert (
        orders
        in browser.post(f"/builds/{build}/order-lines/2/deliveries", {"back": "orders"}).headers["location"]
    )


@pytest.mark.usefixtures("orders")
def test_five_taps_on_arrived_act_once(browser: Browser, engine: Engine, build: int) -> None:
    fields = {"back": "orders", "operation_key": fresh_key()}
    answers = browser.post_at_once(f"/builds/{build}/order-lines/2/deliveries", fields, 5)
    assert {answer.status_code for answer in answers} == {303}
    assert [row.quantity for row in delivered(engine)] == [4]


@pytest.mark.usefixtures("orders")
def test_a_second_phone_that_says_arrived_too_adds_nothing(
    browser: Browser, engine: Engine, build: int
) -> None:
    for _ in range(2):
        answer = browser.post(f"/builds/{build}/order-lines/2/deliveries", {"back": "orders"})
        assert "Arrived: 4 × T-bolt clamp." in browser.follow(answer).text
    assert len(delivered(engine)) == 1


@pytest.mark.usefixtures("orders")
def test_a_delivery_taken_back_holds_the_task_again_and_can_be_put_back(browser: Browser, build: int) -> None:
    held_task(browser, build, "Fit the intake", 1, 1)
    browser.post(f"/builds/{build}/order-lines/1/deliveries", {"back": "garage"})
    undo = browser.post(f"/builds/{build}/deliveries/1/withdrawal", {"withdrawn": "yes", "back": "garage"})
    page = browser.follow(undo)
    assert "Taken back: 101.6 to 80 mm reducer." in page.text
    garage = browser.get_json(f"/builds/{build}/garage")
    assert garage["now"] == []
    assert [task["title"] for task in garage["held"]] == ["Fit the intake"]
    again = browser.post(f"/builds/{build}/deliveries/1/withdrawal", {"withdrawn": "no", "back": "garage"})
    assert "Now ready:" in browser.follow(again).text


@pytest.mark.usefixtures("orders")
def test_what_came_short_leaves_the_rest_owed(browser: Browser, build: int) -> None:
    task = held_task(browser, build, "Clamp it", 2, 4)
    answer = browser.post(f"/builds/{build}/order-lines/2/deliveries", {"back": "orders", "quantity": "3"})
    page = browser.follow(answer)
    assert "1 still to come." in page.text
    assert "Now ready" not in page.text
    assert "T-bolt clamp, in the post, due Mon 23 Nov, 2 days late" in browser.get(task).text
    browser.post(f"/builds/{build}/order-lines/2/deliveries", {"back": "orders"})
    assert browser.get_json(task)["line"]["word"] == "ready"


@pytest.mark.parametrize("condition", ["wrong", "damaged"])
def test_what_came_wrong_or_damaged_is_owed_still_and_frees_nothing(
    browser: Browser, build: int, orders: str, condition: str
) -> None:
    task = held_task(browser, build, "Fit the intake", 1, 1)
    form = {"back": "orders", "quantity": "1", "condition": condition, "note": "cone crushed"}
    page = browser.follow(browser.post(f"/builds/{build}/order-lines/1/deliveries", form))
    assert f"Noted: 101.6 to 80 mm reducer came {condition}." in page.text
    assert "cone crushed" in page.text
    assert browser.get_json(task)["line"]["word"] == "held"
    assert cards(browser, orders)[0]["open_lines"][0]["rest"] == 1


@pytest.mark.usefixtures("orders")
def test_a_delivery_that_can_t_be_read_stays_in_its_own_fields(
    browser: Browser, engine: Engine, build: int
) -> None:
    form = {"back": "orders", "quantity": "a few", "note": "box torn"}
    answer = browser.post(f"/builds/{build}/order-lines/2/deliveries", form)
    assert answer.status_code == 422
    assert answer.text.count("a few") == 2, "once in its field, once in its message"
    assert "box torn" in answer.text
    assert delivered(engine) == []


def test_an_order_that_is_all_here_is_folded_away(browser: Browser, build: int, orders: str) -> None:
    for line in (1, 2):
        browser.post(f"/builds/{build}/order-lines/{line}/deliveries", {"back": "orders"})
    listed = browser.get_json(orders)
    assert listed["in_post"] == []
    assert [card["supplier"] for card in listed["arrived"]] == ["Tarn Hose & Clamp"]


def test_a_stale_edit_of_an_order_shows_both_values(browser: Browser, orders: str) -> None:
    edit = {"version": "1", "supplier": "Tarn Hose & Clamp", "ordered_on": "2026-11-10", "postage": "4.90"}
    assert browser.post(f"{orders}/1", edit | {"due_on": "2026-12-01"}).status_code == 303
    answer = browser.post(f"{orders}/1", edit | {"due_on": "2026-12-04"})
    assert answer.status_code == 412
    assert "2026-12-01" in answer.text
    assert "2026-12-04" in answer.text
    assert "<td>Postage</td>" not in answer.text, "only what differs is told"


def test_lines_can_be_added_and_changed(browser: Browser, build: int, orders: str) -> None:
    browser.post(f"{orders}/1/lines", {"part": "Gasket", "quantity": "2", "price": "1.10"})
    assert browser.get_json(f"{orders}/1")["total"] == "44.40 EUR"
    browser.post(f"/builds/{build}/order-lines/3", {"version": "1", "quantity": "0", "price": "1.10"})
    assert browser.get_json(f"{orders}/1")["total"] == "42.20 EUR"
    stale = browser.post(f"/builds/{build}/order-lines/3", {"version": "1", "quantity": "5", "price": "1.10"})
    assert stale.status_code == 412
    assert "Stands now" in stale.text


def test_orders_lines_and_deliveries_of_another_build_are_not_found(
    browser: Browser, engine: Engine, orders: str
) -> None:
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    assert browser.get(f"/builds/{other}/orders/1").status_code == 404
    assert browser.post(f"/builds/{other}/order-lines/1/deliveries", {}).status_code == 404
    assert browser.post(f"/builds/{other}/deliveries/1/withdrawal", {}).status_code == 404
    assert delivered(engine) == []
    assert browser.get(orders).status_code == 200
