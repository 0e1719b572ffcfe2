"""Suppliers and what they offer, as a browser and a script see them."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session

from server.features.builds.store import touch
from server.features.parts.service import offer_faces, supplier_faces, supplier_named
from server.features.parts.tables import Offer, Part, Supplier
from tests.asking import Browser, number_in

TARN = {
    "name": "Tarn Hose & Clamp",
    "postage": "6,50",
    "lead_days": "5",
    "contact": "01234 567890, ask for Jo",
}
CLAMP = {"supplier": "Tarn Hose & Clamp", "price": "24.50", "pack": "10", "code": "TB-80"}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def clamp(browser: Browser, build: int) -> str:
    """The address of a part that nobody offers yet."""
    browser.post(f"/builds/{build}/parts", {"name": "T-bolt clamp, 80 mm", "kind": "clamp"})
    return f"/builds/{build}/parts/1"


@contextmanager
def selects(engine: Engine) -> Iterator[list[str]]:
    found: list[str] = []

    def note(*args: Any) -> None:
        if args[2].lstrip().startswith("SELECT"):
            found.append(args[2])

    event.listen(engine, "before_cursor_execute", note)
    yield found
    event.remove(engine, "before_cursor_execute", note)


def offers(browser: Browser, part: str) -> Any:
    return browser.get_json(part)["offers"]


def test_a_build_without_suppliers_says_what_they_are_good_for(browser: Browser, build: int) -> None:
    assert "No supplier yet" in browser.get(f"/builds/{build}/suppliers").text


def test_a_supplier_is_listed_with_its_usual_terms(browser: Browser, build: int) -> None:
    assert browser.post(f"/builds/{build}/suppliers", TARN).status_code == 303
    (line,) = browser.get_json(f"/builds/{build}/suppliers")["suppliers"]
    assert line["name"] == "Tarn Hose & Clamp"
    assert line["about"] == "postage 6.50 EUR · 5 days"
    assert "Tarn Hose &amp; Clamp" in browser.get(f"/builds/{build}/suppliers").text


def test_bad_terms_keep_what_was_typed_and_store_nothing(browser: Browser, build: int) -> None:
    typed = {"name": "", "postage": "dear", "lead_days": "-1", "note": "<script>x</script>"}
    answer = browser.post(f"/builds/{build}/suppliers", typed)
    assert answer.status_code == 422
    for kept in ("dear", "-1", "&lt;script&gt;x&lt;/script&gt;", "an amount such as 24.50"):
        assert kept in answer.text
    assert browser.get_json(f"/builds/{build}/suppliers")["suppliers"] == []


def test_two_suppliers_of_one_name_are_refused_whatever_their_capitals(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/suppliers", TARN)
    answer = browser.post(f"/builds/{build}/suppliers", {"name": "TARN hose & clamp", "contact": "elsewhere"})
    assert answer.status_code == 422
    assert "There is a supplier called Tarn Hose &amp; Clamp already." in answer.text
    assert "elsewhere" in answer.text


def test_a_stale_edit_of_a_supplier_shows_both_values(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/suppliers", TARN)
    tarn = f"/builds/{build}/suppliers/1"
    assert browser.post(tarn, TARN | {"version": "1", "postage": "7.20"}).status_code == 303
    answer = browser.post(tarn, TARN | {"version": "1", "postage": "8.00"})
    assert answer.status_code == 412
    assert "7.20" in answer.text
    assert "8.00" in answer.text
    assert browser.get_json(tarn)["postage"] == "7.20"


def test_an_offer_names_its_supplier_and_takes_that_suppliers_usual_days(
    browser: Browser, build: int, clamp: str, engine: Engine
) -> None:
    browser.post(f"/builds/{build}/suppliers", TARN)
    browser.post(f"{clamp}/offers", CLAMP | {"supplier": "tarn HOSE & clamp"})
    (offer,) = offers(browser, clamp)
    assert offer["supplier"]["text"] == "Tarn Hose & Clamp"
    assert offer["told"] == "24.50 EUR for 10, 2.45 EUR each"
    assert offer["about"] == "5 days · their number TB-80"
    with Session(engine) as session:
        (face,) = offer_faces(session, build)
        assert (face.lead_days, face.own_lead_days, face.pack, face.price_minor) == (5, None, 10, 2450)
        assert len(supplier_faces(session, build)) == 1


def test_days_of_the_offer_itself_come_before_the_suppliers_usual(
    browser: Browser, build: int, clamp: str
) -> None:
    browser.post(f"/builds/{build}/suppliers", TARN)
    browser.post(f"{clamp}/offers", CLAMP | {"lead_days": "0"})
    assert offers(browser, clamp)[0]["about"].startswith("0 days")


def test_a_supplier_that_is_not_known_yet_becomes_one(browser: Browser, build: int, clamp: str) -> None:
    browser.post(f"{clamp}/offers", CLAMP)
    (line,) = browser.get_json(f"/builds/{build}/suppliers")["suppliers"]
    assert (line["name"], line["offers"]) == ("Tarn Hose & Clamp", 1)
    (offered,) = browser.get_json(f"/builds/{build}/suppliers/1")["offered"]
    assert offered["part"]["text"] == "T-bolt clamp, 80 mm"
    assert offered["told"] == "24.50 EUR for 10, TB-80"


def test_a_bad_offer_keeps_what_was_typed_in_its_own_form(browser: Browser, clamp: str) -> None:
    answer = browser.post(f"{clamp}/offers", {"supplier": "", "price": "", "pack": "0", "code": "<b>TB</b>"})
    assert answer.status_code == 422
    assert "&lt;b&gt;TB&lt;/b&gt;" in answer.text
    assert "Price of a pack is missing." in answer.text
    assert offers(browser, clamp) == []
    settings = answer.text.split("<h2>The part</h2>")[1]
    assert "Not saved yet" not in settings


def test_a_stale_edit_of_an_offer_shows_both_prices_in_the_buyers_own_money(
    browser: Browser, build: int, clamp: str
) -> None:
    browser.post(f"{clamp}/offers", CLAMP)
    offer = f"/builds/{build}/offers/1"
    assert browser.post(offer, {"version": "1", "price": "26.00", "pack": "10"}).status_code == 303
    answer = browser.post(offer, {"version": "1", "price": "22.00", "pack": "12"})
    assert answer.status_code == 412
    for text in ("26.00", "22.00", ">12<"):
        assert text in answer.text
    assert offers(browser, clamp)[0]["price"] == "26.00"


def test_an_edit_without_its_version_is_refused(browser: Browser, build: int, clamp: str) -> None:
    browser.post(f"{clamp}/offers", CLAMP)
    assert browser.post(f"/builds/{build}/offers/1", {"price": "26.00"}).status_code == 428


def test_only_one_offer_of_a_part_is_the_one_bought(browser: Browser, build: int, clamp: str) -> None:
    browser.post(f"{clamp}/offers", CLAMP)
    browser.post(f"{clamp}/offers", CLAMP | {"supplier": "Fell Motor Stores", "price": "21.00"})
    browser.post(f"/builds/{build}/offers/1/preference", {"preferred": "yes"})
    browser.post(f"/builds/{build}/offers/2/preference", {"preferred": "yes"})
    bought = {offer["supplier"]["text"]: offer["preferred"] for offer in offers(browser, clamp)}
    assert bought == {"Tarn Hose & Clamp": False, "Fell Motor Stores": True}
    browser.post(f"/builds/{build}/offers/2/preference", {"preferred": "no"})
    assert [offer["preferred"] for offer in offers(browser, clamp)] == [False, False]


def test_an_offer_set_aside_counts_nowhere_until_it_is_put_back(
    browser: Browser, build: int, clamp: str, engine: Engine
) -> None:
    browser.post(f"{clamp}/offers", CLAMP)
    shown = browser.follow(browser.post(f"/builds/{build}/offers/1/removal", {"aside": "yes"}))
    assert "Set aside: the offer of Tarn Hose &amp; Clamp." in shown.text
    assert "Put it back" in shown.text
    assert offers(browser, clamp) == []
    with Session(engine) as session:
        assert offer_faces(session, build) == ()
    browser.post(f"/builds/{build}/offers/1/removal", {"aside": "no"})
    assert len(offers(browser, clamp)) == 1


def test_offers_and_suppliers_of_another_build_are_not_found(browser: Browser, clamp: str) -> None:
    browser.post(f"{clamp}/offers", CLAMP)
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    assert browser.get(f"/builds/{other}/suppliers/1").status_code == 404
    assert browser.post(f"/builds/{other}/offers/1/removal", {"aside": "yes"}).status_code == 404
    assert browser.post(f"/builds/{other}/parts/1/offers", CLAMP).status_code == 404
    assert len(offers(browser, clamp)) == 1


def test_a_supplier_is_found_by_name_or_made(engine: Engine, build: int) -> None:
    with Session(engine) as session:
        first = supplier_named(session, build, "Fell Motor Stores")
        assert supplier_named(session, build, "FELL motor stores") == first
        assert supplier_named(session, build, "Tarn Hose & Clamp") != first


def test_ten_times_the_offers_cost_no_more_queries_and_are_folded(
    browser: Browser, build: int, engine: Engine
) -> None:
    def fill(first: int, count: int) -> None:
        with Session(engine) as session:
            for number in range(first, first + count):
                part = Part(build_id=build, name=f"Part {number}")
                supplier = Supplier(build_id=build, name=f"Supplier {number}")
                session.add_all((part, supplier))
                session.flush()
                session.add(Offer(part_id=part.key, supplier_id=supplier.key, price_minor=100))
                session.add(Offer(part_id=part.key, supplier_id=1, price_minor=120))
            touch(session, build)
            session.commit()

    fill(1, 5)
    for address in (f"/builds/{build}/suppliers", f"/builds/{build}/suppliers/1", f"/builds/{build}/parts/1"):
        browser.get(address)
        with selects(engine) as few:
            browser.get(address)
        fill(1 + 100 * len(address), 50)
        browser.get(address)
        with selects(engine) as many:
            answer = browser.get(address)
        assert answer.status_code == 200
        assert len(many) == len(few)
    assert browser.get_json(f"/builds/{build}/suppliers")["folded"]
    assert browser.get_json(f"/builds/{build}/suppliers/1")["folded"]
