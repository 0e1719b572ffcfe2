"""Whole parcels as a browser and a script see them. Today is Wednesday, 25 November 2026."""

from typing import Any

import httpx
import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, col, select

from server.db import write_session
from server.features.builds.store import touch
from server.features.orders.service import NewLine, place_order
from server.features.orders.tables import Delivery
from tests.asking import Browser, fresh_key, number_in
from tests.conftest import TEN_IN_THE_MORNING

ORDER = {
    "supplier": "Tarn Hose & Clamp",
    "ordered_on": "2026-11-10",
    "due_on": "2026-11-23",
    "part_1": "Reducer",
    "quantity_1": "1",
    "price_1": "24.50",
    "part_2": "T-bolt clamp",
    "quantity_2": "4",
    "price_2": "3.20",
    "part_3": "Elbow",
    "quantity_3": "2",
}
REDUCER, CLAMP, ELBOW = 1, 2, 3


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def order(browser: Browser, build: int) -> str:
    """The address of an order of three lines, two days late."""
    assert browser.post(f"/builds/{build}/orders", ORDER).status_code == 303
    return f"/builds/{build}/orders/1"


def came(browser: Browser, order: str, **fields: str) -> httpx.Response:
    return browser.post(f"{order}/parcels", {"back": "order", **fields})


def delivered(engine: Engine) -> list[tuple[int, int, str, bool]]:
    """Line, pieces, condition, and whether it counts; in the order of noting."""
    with Session(engine) as session:
        rows = session.exec(select(Delivery).order_by(col(Delivery.id))).all()
    return [(row.order_line_id, row.quantity, row.condition, row.withdrawn_at is None) for row in rows]


def needing(browser: Browser, build: int, title: str, part: int, quantity: int) -> str:
    form = {"title": title, "likely": "40 min"}
    task: str = browser.post(f"/builds/{build}/tasks", form).headers["location"]
    browser.post(f"{task}/needs", {"part_id": str(part), "quantity": str(quantity)})
    return task


def owed(browser: Browser, order: str) -> dict[str, int]:
    return {line["part"]["text"]: line["rest"] for line in browser.get_json(order)["lines"]}


def test_one_tap_notes_the_whole_parcel_in_one_go(browser: Browser, engine: Engine, order: str) -> None:
    page = browser.follow(came(browser, order, all="yes")).text
    assert "Noted from Tarn Hose &amp; Clamp: Reducer, 4 × T-bolt clamp, 2 × Elbow." in page
    assert "Nothing of this order is owed any more." in page
    assert [row[:3] for row in delivered(engine)] == [(1, 1, "right"), (2, 4, "right"), (3, 2, "right")]
    with Session(engine) as session:
        assert len({row.noted_at for row in session.exec(select(Delivery))}) == 1


def test_what_is_owed_stands_typed_already(browser: Browser, order: str) -> None:
    page = browser.get(order).text
    assert 'name="right_2" type="text" value="4"' in page
    came(browser, order, right_2="3")
    assert 'name="right_2" type="text" value="1"' in browser.get(order).text


def test_right_after_a_parcel_was_noted_a_second_tap_does_not_note_the_rest(
    browser: Browser, order: str
) -> None:
    fresh = browser.get(order).text
    assert '<details class="fold" id="parcel" open>' in fresh
    assert 'class="bar"' in fresh
    page = browser.follow(came(browser, order, right_2="1")).text
    assert "Still to come: Reducer, 3 × T-bolt clamp, 2 × Elbow." in page
    assert '<details class="fold" id="parcel">' in page, "what is left stands folded, with its own button"
    assert 'id="parcel-1">Note what came</button>' in page
    assert 'class="bar"' not in page


def test_a_part_that_came_short_stays_owed_and_says_so(browser: Browser, build: int, order: str) -> None:
    clamping = needing(browser, build, "Clamp the hoses", CLAMP, 4)
    fitting = needing(browser, build, "Fit the reducer", REDUCER, 1)
    page = browser.follow(came(browser, order, right_1="1", right_2="3", right_3="2")).text
    assert "Still to come: T-bolt clamp." in page
    assert f'Now ready: <a href="{fitting}">Fit the reducer</a>' in page
    assert "Still held: ‘Clamp the hoses’ by the T-bolt clamp, in the post, due Mon 23 Nov." in page
    assert browser.get_json(clamping)["line"]["word"] == "held"
    assert owed(browser, order) == {"Reducer": 0, "T-bolt clamp": 1, "Elbow": 0}


def test_wrong_and_damaged_pieces_are_noted_with_the_right_ones_and_are_owed(
    browser: Browser, engine: Engine, order: str
) -> None:
    page = browser.follow(came(browser, order, right_2="2", wrong_2="1", damaged_3="2", note="box torn")).text
    assert "2 × T-bolt clamp; wrong: T-bolt clamp; damaged: 2 × Elbow" in page
    assert "box torn" in page
    assert [row[:3] for row in delivered(engine)] == [(2, 2, "right"), (2, 1, "wrong"), (3, 2, "damaged")]
    assert owed(browser, order) == {"Reducer": 1, "T-bolt clamp": 2, "Elbow": 2}
    listed = browser.get_json(order.rsplit("/", 1)[0])
    assert listed["waiting"][0]["waiting"] == [
        "Wrong or damaged, still here: T-bolt clamp",
        "Wrong or damaged, still here: 2 × Elbow",
    ]


def test_pieces_of_many_lines_are_counted_with_the_damaged_ones(browser: Browser, build: int) -> None:
    names = ("Stud", "Nut", "Washer", "Bolt", "Gasket")
    ordered = {"supplier": "Corvid Fasteners"}
    for place, name in enumerate(names, 1):
        ordered |= {f"part_{place}": name, f"quantity_{place}": "10"}
    browser.post(f"/builds/{build}/orders", ordered)
    counts = {f"right_{line}": "10" for line in (1, 2, 3, 5)} | {"right_4": "9", "damaged_4": "1"}
    page = browser.follow(came(browser, f"/builds/{build}/orders/1", **counts)).text
    assert "Noted from Corvid Fasteners: 50 pieces of 5 parts, of them damaged: Bolt." in page


def test_more_than_was_ordered_is_kept_and_told(browser: Browser, build: int, order: str) -> None:
    page = browser.follow(came(browser, order, right_2="6")).text
    assert "More than ordered, kept: 2 × T-bolt clamp." in page
    parts = browser.get_json(f"/builds/{build}/parts/{CLAMP}")
    assert "6" in str(parts), "all six can be used"
    assert owed(browser, order)["T-bolt clamp"] == 0


def test_the_whole_parcel_can_be_undone_and_put_back(browser: Browser, engine: Engine, order: str) -> None:
    came(browser, order, right_2="1")
    came(browser, order, right_1="1", right_2="3")
    undo = f"{order}/parcels/2/withdrawal"
    page = browser.follow(browser.post(undo, {"withdrawn": "yes", "back": "order"})).text
    assert "Taken back: the parcel from Tarn Hose &amp; Clamp." in page
    assert delivered(engine) == [
        (2, 1, "right", True),
        (1, 1, "right", False),
        (2, 3, "right", False),
    ], "the parcel before it stays"
    browser.post(undo, {"withdrawn": "no", "back": "order"})
    assert [row[3] for row in delivered(engine)] == [True, True, True]


def test_one_line_of_a_parcel_can_be_taken_back_alone(browser: Browser, engine: Engine, order: str) -> None:
    build = order.removesuffix("/orders/1")
    came(browser, order, right_1="1", right_2="4")
    browser.post(f"{build}/deliveries/1/withdrawal", {"withdrawn": "yes", "back": "orders"})
    assert [row[3] for row in delivered(engine)] == [False, True]


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"right_2": "-1"}, "-1 is out of range"),
        ({"right_2": "a few"}, "is not a whole number"),
        ({"right_2": "10001"}, "out of range"),
        ({"right_1": "0", "right_2": "0"}, "Nothing of the order is in this parcel."),
        ({}, "Nothing of the order is in this parcel."),
    ],
)
def test_a_parcel_that_can_t_be_read_stores_nothing_and_keeps_what_was_typed(
    browser: Browser, engine: Engine, order: str, fields: dict[str, str], message: str
) -> None:
    for back in ("order", "orders"):
        answer = browser.post(f"{order}/parcels", {"back": back, "note": "box torn", **fields})
        assert answer.status_code == 422
        assert message in answer.text
        assert "box torn" in answer.text
    assert delivered(engine) == []


def test_five_taps_on_all_of_it_came_act_once(browser: Browser, engine: Engine, order: str) -> None:
    fields = {"all": "yes", "back": "orders", "operation_key": fresh_key()}
    answers = browser.post_at_once(f"{order}/parcels", fields, 5)
    assert {answer.status_code for answer in answers} == {303}
    assert len(delivered(engine)) == 3


def test_a_second_phone_that_says_all_of_it_came_adds_nothing(
    browser: Browser, engine: Engine, order: str
) -> None:
    for _ in range(2):
        assert "Noted from Tarn" in browser.follow(came(browser, order, all="yes")).text
    assert len(delivered(engine)) == 3


def test_counts_typed_before_another_phone_noted_the_parcel_are_shown_beside_what_stands(
    browser: Browser, engine: Engine, order: str
) -> None:
    came(browser, order, seen="0", right_2="4")
    answer = came(browser, order, seen="0", right_2="4")
    assert answer.status_code == 412
    assert "T-bolt clamp: 0 owed now; you typed 4 came right" in answer.text
    assert len(delivered(engine)) == 1
    assert came(browser, order, seen="4", right_2="4").status_code == 303, "another parcel after all"


def test_in_page_the_list_is_swapped_and_begins_with_the_news(browser: Browser, order: str) -> None:
    headers = {"hx-request": "true", "hx-target": "order-list"}
    fields = {"all": "yes", "back": "orders"}
    answer = browser.post(f"{order}/parcels", fields, headers=headers)
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="order-list">')
    assert "Noted from Tarn" in answer.text
    assert "Undo the whole parcel" in answer.text


def test_forms_that_note_deliveries_are_marked_for_the_outbox(browser: Browser, order: str) -> None:
    orders = order.rsplit("/", 1)[0]
    listed = browser.get(orders).text
    assert listed.count("data-outbox") == 5, "three lines, all of it, and the counts"
    page = browser.get(order).text
    assert page.count("data-outbox") == 1, "the counts, with what is owed typed already"
    assert 'form="came-1">Note what came</button>' in page, "their button stands at the foot"


def test_parcels_of_another_build_are_not_found(browser: Browser, engine: Engine, order: str) -> None:
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    assert browser.post(f"/builds/{other}/orders/1/parcels", {"all": "yes"}).status_code == 404
    came(browser, order, all="yes")
    undo = f"/builds/{other}/orders/1/parcels/1/withdrawal"
    assert browser.post(undo, {"withdrawn": "yes"}).status_code == 404
    assert len(delivered(engine)) == 3


def many_orders(engine: Engine, build: int, number: int) -> None:
    """Orders of four parts each, every second of them with all of it here."""
    with write_session(engine) as session:
        for count in range(number):
            day = TEN_IN_THE_MORNING.date()
            lines = [NewLine(part, 2, 100) for part in (REDUCER, CLAMP, ELBOW)]
            place_order(session, build, f"Supplier {count % 4}", day, day, 490, lines)
        touch(session, build)
        session.commit()


def questions(browser: Browser, engine: Engine, address: str) -> int:
    asked: list[str] = []

    def note(*about: Any) -> None:
        asked.append(about[2])

    event.listen(engine, "before_cursor_execute", note)
    assert browser.get(address).status_code == 200
    event.remove(engine, "before_cursor_execute", note)
    return len(asked)


def test_eighty_orders_take_the_same_questions_and_are_shown_a_few_at_a_time(
    browser: Browser, engine: Engine, build: int, order: str
) -> None:
    orders = f"/builds/{build}/orders"
    few = questions(browser, engine, orders)
    many_orders(engine, build, 80)
    assert questions(browser, engine, orders) == few
    assert questions(browser, engine, order) <= few
    first = browser.get_json(orders)
    assert (first["coming"], len(first["in_post"])) == (81, 8)
    assert first["more_coming"]["text"] == "The next 8 of 81"
    second = browser.get_json(first["more_coming"]["href"])
    assert not {card["id"] for card in second["in_post"]} & {card["id"] for card in first["in_post"]}
    for card in range(2, 82):
        browser.post(f"{orders}/{card}/parcels", {"all": "yes", "back": "orders"})
    settled = browser.get_json(orders)
    assert (settled["settled"], len(settled["arrived"])) == (80, 20)
    assert len(browser.get_json(settled["more_settled"]["href"])["arrived"]) == 20
