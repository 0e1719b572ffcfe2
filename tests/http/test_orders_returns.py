"""What goes back, what will not come, packs and money, orders set aside. Today is 25 November 2026."""

from typing import Any

import httpx
import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from server.db import write_session
from server.features.orders.service import NewLine, order_faces, place_order
from server.features.orders.tables import SentBack
from tests.asking import Browser, number_in
from tests.conftest import TEN_IN_THE_MORNING

ORDER = {
    "supplier": "Underhill Castings",
    "ordered_on": "2026-11-05",
    "due_on": "2026-11-22",
    "postage": "4.90",
    "part_1": "Oil drain flange",
    "quantity_1": "2",
    "price_1": "18.00",
}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def orders(browser: Browser, build: int) -> str:
    """The address of the orders: two flanges, one came right and one wrong."""
    address = f"/builds/{build}/orders"
    assert browser.post(address, ORDER).status_code == 303
    browser.post(f"{address}/1/parcels", {"right_1": "1", "wrong_1": "1"})
    return address


def line(browser: Browser, orders: str) -> Any:
    return browser.get_json(f"{orders}/1")["lines"][0]


def send(browser: Browser, orders: str, **fields: str) -> httpx.Response:
    form = {"quantity": "1", "condition": "wrong", "wants": "replacement", "sent_on": "2026-11-24"}
    return browser.post(orders.replace("/orders", "/order-lines/1/returns"), form | fields)


def in_hand(engine: Engine, build: int) -> tuple[int, int, int]:
    """Right pieces kept, unusable ones that lie here, pieces owed."""
    with Session(engine) as session:
        (order,) = order_faces(session, build)
    there_is = order.lines[0].ordered
    return there_is.right, there_is.unusable, there_is.owed


def test_a_wrong_piece_sent_back_for_a_replacement_stays_owed_until_that_comes(
    browser: Browser, engine: Engine, build: int, orders: str
) -> None:
    assert in_hand(engine, build) == (1, 1, 1)
    page = browser.follow(send(browser, orders)).text
    assert "Sent back: Oil drain flange; a replacement is asked for." in page
    assert in_hand(engine, build) == (1, 0, 1)
    browser.post(f"{orders}/1/parcels", {"all": "yes"})
    assert in_hand(engine, build) == (2, 0, 0)
    assert browser.get_json(orders)["settled"] == 1


def test_a_wrong_piece_sent_back_for_its_money_is_owed_no_more_and_waits_for_the_money(
    browser: Browser, engine: Engine, build: int, orders: str
) -> None:
    assert "It is no longer owed." in browser.follow(send(browser, orders, wants="refund")).text
    assert in_hand(engine, build) == (1, 0, 0)
    (card,) = browser.get_json(orders)["waiting"]
    assert card["waiting"] == ["Oil drain flange: 1 sent back Tue 24 Nov, wrong part; its money is asked for"]
    refund = f"/builds/{build}/returns/1/refund"
    page = browser.follow(browser.post(refund, {"refund": "18,00", "settled_on": "2026-11-25"})).text
    assert "18.00 EUR came back for Oil drain flange." in page
    listed = browser.get_json(orders)
    assert (listed["waiting"], listed["settled"]) == ([], 1)
    assert (listed["spent"], listed["came_back"]) == ("22.90 EUR", "18.00 EUR")
    browser.post(f"{refund}/removal", {})
    assert browser.get_json(orders)["spent"] == "40.90 EUR"


def test_right_pieces_that_are_not_wanted_leave_the_hand(
    browser: Browser, engine: Engine, build: int, orders: str
) -> None:
    send(browser, orders, condition="right", wants="refund")
    assert in_hand(engine, build) == (0, 1, 1), "the wrong one is still here, and owed"


def test_sending_back_can_be_undone_and_put_back(
    browser: Browser, engine: Engine, build: int, orders: str
) -> None:
    send(browser, orders, wants="refund")
    undo = f"/builds/{build}/returns/1/withdrawal"
    assert "was not sent back" in browser.follow(browser.post(undo, {"withdrawn": "yes"})).text
    assert in_hand(engine, build) == (1, 1, 1)
    browser.post(undo, {"withdrawn": "no"})
    assert in_hand(engine, build) == (1, 0, 0)


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"quantity": "2"}, "2 can&#39;t go back: 1 of it lie here wrong."),
        ({"condition": "damaged"}, "1 can&#39;t go back: none of it lie here damaged."),
        ({"quantity": "0"}, "0 is out of range"),
        ({"quantity": "-1"}, "-1 is out of range"),
        ({"quantity": ""}, "How many go back is missing"),
        ({"sent_on": "2026-11-26"}, "2026-11-26 is still to come"),
        ({"sent_on": "2999-01-01"}, "out of range"),
        ({"wants": "a hug"}, "replacement, refund"),
    ],
)
def test_what_can_t_go_back_stores_nothing_and_keeps_what_was_typed(
    browser: Browser, engine: Engine, orders: str, fields: dict[str, str], message: str
) -> None:
    answer = send(browser, orders, note="holes 44 mm apart", **fields)
    assert answer.status_code == 422
    assert message in answer.text
    assert "holes 44 mm apart" in answer.text
    with Session(engine) as session:
        assert session.exec(select(SentBack)).all() == []


def test_a_delivery_whose_pieces_went_back_is_not_taken_back_before_them(
    browser: Browser, engine: Engine, build: int, orders: str
) -> None:
    send(browser, orders)
    taken = {"withdrawn": "yes", "back": "orders"}
    answers = [
        browser.post(f"/builds/{build}/deliveries/2/withdrawal", taken),
        browser.post(f"{orders}/1/parcels/1/withdrawal", taken),
    ]
    for answer in answers:
        assert answer.status_code == 422
        assert "Some of it was sent back already: Oil drain flange." in answer.text
    assert in_hand(engine, build) == (1, 0, 1)


def test_money_is_noted_once_and_only_where_it_was_asked_for(
    browser: Browser, build: int, orders: str
) -> None:
    send(browser, orders)
    refund = f"/builds/{build}/returns/1/refund"
    assert "No money was asked" in browser.post(refund, {"refund": "18"}).text
    browser.post(f"/builds/{build}/returns/1/withdrawal", {"withdrawn": "yes"})
    send(browser, orders, wants="refund")
    refund = f"/builds/{build}/returns/2/refund"
    assert browser.post(refund, {"refund": "-3"}).status_code == 422
    assert browser.post(refund, {"refund": ""}).status_code == 422
    assert browser.post(refund, {"refund": "18"}).status_code == 303
    assert browser.post(refund, {"refund": "18"}).status_code == 303, "a second phone says the same"
    answer = browser.post(refund, {"refund": "12"})
    assert answer.status_code == 422
    assert "18.00 came back on 2026-11-25" in answer.text


def test_the_rest_that_will_not_come_is_no_longer_owed_or_paid_for(
    browser: Browser, engine: Engine, build: int, orders: str
) -> None:
    off = f"/builds/{build}/order-lines/1/calling-off"
    page = browser.follow(browser.post(off, {"quantity": "1"})).text
    assert "Will not come: Oil drain flange." in page
    assert in_hand(engine, build) == (1, 1, 0)
    assert browser.get_json(orders)["spent"] == "22.90 EUR"
    assert "Nothing of it is owed any more." in browser.post(off, {"quantity": "1"}).text
    browser.post(off, {"withdrawn": "yes"})
    assert in_hand(engine, build) == (1, 1, 1)
    for wrong in ("0", "-1", "2", "", "some"):
        assert browser.post(off, {"quantity": wrong}).status_code == 422
    assert in_hand(engine, build) == (1, 1, 1)


def test_the_log_tells_what_came_went_back_and_was_paid_back(
    browser: Browser, build: int, orders: str
) -> None:
    send(browser, orders, wants="refund")
    browser.post(f"/builds/{build}/returns/1/refund", {"refund": "18"})
    page = browser.get(f"/builds/{build}/log").text
    assert "Ordered from Underhill Castings: " in page
    assert "Arrived from Underhill Castings: Oil drain flange, wrong" in page
    assert "Sent back to Underhill Castings: Oil drain flange, wrong; its money is asked for" in page
    assert "18.00 EUR came back from Underhill Castings: Oil drain flange" in page


# packs and money


def test_packs_are_ordered_whole_and_paid_by_the_pack(browser: Browser, build: int) -> None:
    orders = f"/builds/{build}/orders"
    typed = {"supplier": "Corvid Fasteners", "part_1": "Nut M8", "quantity_1": "12", "pack_1": "10"}
    answer = browser.post(orders, typed | {"price_1": "4.99"})
    assert answer.status_code == 422
    assert "12 is no whole number of packs of 10." in answer.text
    assert "such as 20" in answer.text
    browser.post(orders, typed | {"price_1": "4.99", "quantity_1": "20", "postage": "3"})
    sheet = browser.get_json(f"{orders}/1")
    assert (sheet["total"], sheet["lines"][0]["total"]) == ("12.98 EUR", "9.98 EUR")
    assert sheet["lines"][0]["price"] == "4.99 EUR for 10"
    edit = {"version": "1", "quantity": "30", "pack": "10", "price": "4.99"}
    browser.post(f"/builds/{build}/order-lines/1", edit)
    assert browser.get_json(f"{orders}/1")["total"] == "17.97 EUR"
    assert "packs of 7" in browser.post(f"/builds/{build}/order-lines/1", edit | {"pack": "7"}).text


def test_an_order_placed_from_a_list_rounds_up_to_whole_packs(
    browser: Browser, engine: Engine, build: int
) -> None:
    browser.post(f"/builds/{build}/parts", {"name": "Nut M8"})
    today = TEN_IN_THE_MORNING.date()
    with write_session(engine) as session:
        line = NewLine(part_id=1, quantity=12, price_minor=499, pack=10)
        number = place_order(session, build, "Corvid Fasteners", today, None, 300, [line], "from the list")
        session.commit()
    sheet = browser.get_json(f"/builds/{build}/orders/{number}")
    assert (sheet["lines"][0]["quantity"], sheet["total"]) == (20, "12.98 EUR")


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"quantity_1": "0"}, "0 is out of range"),
        ({"quantity_1": "-2"}, "-2 is out of range"),
        ({"pack_1": "0"}, "0 is out of range"),
        ({"ordered_on": "2026-11-26"}, "still to come"),
        ({"due_on": "2031-01-01"}, "more than two years ahead"),
        ({"price_1": "1e400"}, "is not an amount"),
    ],
)
def test_an_order_that_can_t_be_is_refused_with_what_would_be_accepted(
    browser: Browser, build: int, fields: dict[str, str], message: str
) -> None:
    answer = browser.post(f"/builds/{build}/orders", ORDER | fields)
    assert answer.status_code == 422
    assert message in answer.text
    assert browser.get_json(f"/builds/{build}/orders")["coming"] == 0


# the list


def test_an_order_typed_by_mistake_is_set_aside_and_put_back(
    browser: Browser, engine: Engine, build: int
) -> None:
    orders = f"/builds/{build}/orders"
    browser.post(orders, ORDER)
    page = browser.follow(browser.post(f"{orders}/1/removal", {"withdrawn": "yes"})).text
    assert "Set aside: the order from Underhill Castings." in page
    listed = browser.get_json(orders)
    assert (listed["coming"], listed["spent"], len(listed["set_aside"])) == (0, "", 1)
    with Session(engine) as session:
        assert order_faces(session, build) == ()
    assert "This order is set aside." in browser.get(f"{orders}/1").text
    browser.post(f"{orders}/1/removal", {"withdrawn": "no"})
    assert browser.get_json(orders)["coming"] == 1


def test_an_order_of_which_something_came_is_not_set_aside(browser: Browser, orders: str) -> None:
    answer = browser.post(f"{orders}/1/removal", {"withdrawn": "yes"})
    assert answer.status_code == 422
    assert "Something of this order arrived, so it is not set aside." in answer.text
    assert browser.get_json(orders)["set_aside"] == []


def test_what_arrives_of_an_order_set_aside_was_ordered_after_all(browser: Browser, build: int) -> None:
    orders = f"/builds/{build}/orders"
    browser.post(orders, ORDER)
    browser.post(f"{orders}/1/removal", {"withdrawn": "yes"})
    assert browser.post(f"/builds/{build}/order-lines/1/deliveries", {"back": "orders"}).status_code == 303
    listed = browser.get_json(orders)
    assert (listed["set_aside"], listed["settled"]) == ([], 1)


def test_a_delivery_that_counts_again_puts_its_order_back(
    browser: Browser, engine: Engine, build: int
) -> None:
    orders = f"/builds/{build}/orders"
    browser.post(orders, ORDER)
    browser.post(f"{orders}/1/parcels", {"all": "yes"})
    browser.post(f"{orders}/1/parcels/1/withdrawal", {"withdrawn": "yes"})
    assert browser.post(f"{orders}/1/removal", {"withdrawn": "yes"}).status_code == 303
    assert browser.post(f"{orders}/1/parcels/1/withdrawal", {"withdrawn": "no"}).status_code == 303
    assert in_hand(engine, build) == (2, 0, 0), "what lies here counts, and so does what it cost"


def test_a_supplier_that_was_late_before_is_told_so_on_its_next_order(browser: Browser, build: int) -> None:
    orders = f"/builds/{build}/orders"
    for _ in range(2):
        browser.post(orders, ORDER)
        number = len(browser.get_json(orders)["arrived"]) + 1
        browser.post(f"{orders}/{number}/parcels", {"all": "yes"})
    browser.post(orders, ORDER | {"due_on": "2026-12-03"})
    (card,) = browser.get_json(orders)["in_post"]
    assert card["habit"] == "2 of 2 orders late, 3 days as a rule"


def test_returns_of_another_build_are_not_found(browser: Browser, orders: str) -> None:
    send(browser, orders, wants="refund")
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    for address in (
        "returns/1/withdrawal",
        "returns/1/refund",
        "returns/1/refund/removal",
        "order-lines/1/returns",
        "order-lines/1/calling-off",
        "orders/1/removal",
    ):
        assert browser.post(f"/builds/{other}/{address}", {"withdrawn": "yes"}).status_code == 404
