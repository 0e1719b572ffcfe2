"""An order in another currency: a rate for each line, named with its source. Today is 25 November 2026."""

from typing import Any

import pytest

from tests.asking import Browser, number_in

ABROAD = {
    "supplier": "Underhill Castings",
    "ordered_on": "2026-11-20",
    "postage": "12.00",
    "tax": "9.31",
    "duty": "4.00",
    "part_1": "oil drain flange",
    "quantity_1": "3",
    "price_1": "7.80",
    "currency_1": "gbp",
    "rate_1": "1,163",
    "rate_source_1": "card bill of 3 Dec",
    "part_2": "drain gasket",
    "quantity_2": "2",
    "price_2": "1.05",
    "currency_2": "GBP",
    "part_3": "drain hose",
    "quantity_3": "1",
    "price_3": "18.00",
}


@pytest.fixture
def build(browser: Browser) -> int:
    form = {"name": "The saloon", "budget": "100"}
    return number_in(browser.post("/builds", form).headers["location"])


@pytest.fixture
def order(browser: Browser, build: int) -> str:
    assert browser.post(f"/builds/{build}/orders", ABROAD).status_code == 303
    return f"/builds/{build}/orders/1"


def lines(browser: Browser, order: str) -> list[Any]:
    return [(one["price"], one["foreign"], one["total"]) for one in browser.get_json(order)["lines"]]


def test_each_line_shows_its_price_as_billed_its_rate_in_words_and_what_that_is(
    browser: Browser, order: str
) -> None:
    told = "1 GBP = 1.163 EUR, card bill of 3 Dec"
    assert lines(browser, order) == [
        ("7.80 GBP each", f"23.40 GBP at {told}", "27.21 EUR"),  # 27.2142
        ("1.05 GBP each", f"2.10 GBP at {told}", "2.44 EUR"),  # 2.4423, at the rate of the line above
        ("18.00 EUR each", "", "18.00 EUR"),
    ]


def test_tax_and_duty_stand_as_typed_and_every_view_has_the_same_sum(
    browser: Browser, build: int, order: str
) -> None:
    assert browser.get_json(order)["total"] == "72.96 EUR"  # 27.21 + 2.44 + 18.00 + 12.00 + 9.31 + 4.00
    page = browser.get(order).text
    assert "each line rounded once to the last decimal, a half up" in page
    assert browser.get_json(f"/builds/{build}/orders")["spent"] == "72.96 EUR"
    shopping = browser.get_json(f"/builds/{build}/shopping")
    assert {one["label"]: one["text"] for one in shopping["figures"]}["Left"] == "27.04 EUR"
    assert "72.96" in browser.get(f"/builds/{build}/shopping/money").text


@pytest.mark.usefixtures("order")
def test_a_part_first_named_on_such_an_order_is_priced_in_the_builds_own_currency(
    browser: Browser, build: int
) -> None:
    assert browser.get_json(f"/builds/{build}/parts/1")["price"] == "9.07"  # 7.80 at 1.163 is 9.0714


REFUSED = [
    ({"currency": "GPB"}, "currency", "“GPB” is no currency code."),
    ({"currency": "GBP", "rate": "", "rate_source": "bank"}, "rate", "What is 1 GBP worth in EUR?"),
    ({"currency": "GBP", "rate": "0", "rate_source": "bank"}, "rate", "“0” is no rate."),
    ({"currency": "GBP", "rate": "-1", "rate_source": "bank"}, "rate", "“-1” is no rate."),
    (
        {"currency": "GBP", "rate": "1.2", "rate_source": ""},
        "rate_source",
        "The rate's source is missing.",
    ),
    ({"rate": "1.2"}, "currency", "Which currency is this rate for?"),
    ({"currency": "EUR", "rate": "1.2"}, "currency", "EUR is the build's own currency."),
    (
        {"currency": "JPY", "rate": "0.0061", "rate_source": "bank"},
        "price",
        "Price: “7.80” is not an amount of JPY.",
    ),
]


@pytest.mark.parametrize(("typed", "field", "message"), REFUSED, ids=[text for _, _, text in REFUSED])
def test_what_is_wrong_with_a_rate_is_said_beside_its_field_and_what_was_typed_stays(
    browser: Browser, order: str, typed: dict[str, str], field: str, message: str
) -> None:
    answer = browser.post(f"{order}/lines", {"part": "stud", "price": "7.80", **typed})
    assert answer.status_code == 422
    page = answer.text
    assert message.replace("'", "&#39;") in page
    assert f'name="{field}"' in page
    for value in filter(None, typed.values()):
        assert f'value="{value}"' in page


@pytest.mark.parametrize(
    ("currency", "price", "rate", "told", "own"),
    [
        ("JPY", "1250", "0.0061", "1250 JPY each", "7.63 EUR"),  # 7.625, half way and so up
        ("IDR", "125000", "0.0000612", "125000.00 IDR each", "7.65 EUR"),
        ("KWD", "0.750", "3.005", "0.750 KWD each", "2.25 EUR"),  # 2.25375
    ],
)
def test_currencies_without_decimals_and_with_three(
    browser: Browser, order: str, currency: str, price: str, rate: str, told: str, own: str
) -> None:
    form = {"part": "stud", "price": price, "currency": currency, "rate": rate, "rate_source": "bank"}
    assert browser.post(f"{order}/lines", form).status_code == 303
    last = browser.get_json(order)["lines"][-1]
    assert (last["price"], last["rate"]["worth"], last["total"]) == (told, rate, own)
    assert f'value="{rate}"' in browser.get(order).text


def test_a_line_goes_back_to_the_builds_own_currency_and_a_stale_edit_shows_both_rates(
    browser: Browser, order: str
) -> None:
    line = "/builds/1/order-lines/1"
    own = {"version": "1", "quantity": "3", "price": "9.10", "currency": "", "rate": "", "rate_source": ""}
    assert browser.post(line, own).status_code == 303
    assert lines(browser, order)[0] == ("9.10 EUR each", "", "27.30 EUR")
    late = {
        "version": "1",
        "quantity": "3",
        "price": "7.80",
        "currency": "GBP",
        "rate": "1.2",
        "rate_source": "x",
    }
    answer = browser.post(line, late)
    assert answer.status_code == 412
    assert "Currency" in answer.text
    assert "9.10" in answer.text


def test_money_that_came_back_is_proposed_in_the_builds_own_currency(browser: Browser, order: str) -> None:
    browser.post("/builds/1/order-lines/1/deliveries", {"quantity": "3", "condition": "damaged"})
    browser.post(
        "/builds/1/order-lines/1/returns", {"condition": "damaged", "wants": "refund", "quantity": "1"}
    )
    (back,) = browser.get_json(order)["lines"][0]["went_back"]
    assert back["refund"] == "9.07"
