"""Amounts in another currency: decimals by ISO 4217, turned at a line's rate, rounded once."""

from dataclasses import replace
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.buying.exchange import DECIMALS, MOST, Rate, plain, worth
from server.core.buying.order import LineFace, OrderFace
from server.core.buying.spending import by_subsystem
from server.core.buying.weekly import by_week
from tests.reference_values import Check, load

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize("check", [one for one in load("buying") if one.id.startswith("ISO-4217")], ids=str)
def test_every_currency_has_the_decimals_of_the_standard(check: Check) -> None:
    found = [code for code, count in DECIMALS.items() if count == check.inputs["decimals"]]
    assert sorted(found) == check.expected.split()


@pytest.mark.parametrize(
    ("minor", "currency", "told"),
    [(2450, "GBP", "24.50"), (1250, "JPY", "1250"), (750, "KWD", "0.750"), (-50, "EUR", "−0.50")],
)
def test_an_amount_is_told_with_the_decimals_of_its_currency(minor: int, currency: str, told: str) -> None:
    assert plain(minor, currency) == told


@pytest.mark.parametrize(
    "typed", ["0", "-1.2", "0.0", "1e3", "1.2.3", "about 1", "", "100001", "1.12345678901"]
)
def test_what_is_no_number_above_zero_is_no_rate(typed: str) -> None:
    assert worth(typed) is None


def test_a_rate_says_in_words_which_way_it_goes() -> None:
    assert Rate("EUR", Decimal("0.86"), "bank, 3 Dec").words("GBP") == "1 EUR = 0.86 GBP, bank, 3 Dec"


@pytest.mark.parametrize(
    ("currency", "worth_of_one", "minor", "own"),
    [
        ("GBP", "1.163", 2340, 2721),  # 27.2142
        ("JPY", "0.0061", 1250, 763),  # 7.625, half way and so up: Regulation (EC) No 1103/97, article 5
        ("KWD", "3.005", 500, 150),  # 1.5025
        ("USD", "0.5", 1, 1),  # half a cent
    ],
)
def test_worked_by_hand(currency: str, worth_of_one: str, minor: int, own: int) -> None:
    assert Rate(currency, Decimal(worth_of_one), "by hand").to_own(minor) == own


rates = st.builds(
    Rate,
    st.sampled_from(["GBP", "JPY", "KWD", "CLF"]),
    st.decimals(min_value="0.0000000001", max_value=MOST, places=10),
    st.just("drawn"),
)
lines = st.builds(
    lambda number, packs, pack, price, rate: LineFace(
        number, 1, 1, "Far away", None, number, "Part", packs * pack, price, pack, 0, (), (), rate
    ),
    *(st.integers(1, 99), st.integers(1, 40), st.integers(1, 12), st.integers(0, 10**9)),
    st.none() | rates,
)


@given(rates, st.integers(0, 10**13))
def test_rounding_is_that_of_decimal_arithmetic_to_the_last_unit(rate: Rate, minor: int) -> None:
    """Beside Python's decimal, which implements the General Decimal Arithmetic Specification."""
    with localcontext(prec=60):
        amount = rate.worth * Decimal(minor).scaleb(-DECIMALS[rate.currency])
        assert Decimal(rate.to_own(minor)) == amount.quantize(Decimal("0.01"), ROUND_HALF_UP) * 100


@given(
    st.lists(lines, min_size=1, max_size=6, unique_by=lambda one: one.id),
    *(st.integers(0, 10**7) for _ in range(3)),
)
def test_an_order_is_the_sum_of_its_lines_each_rounded_once_in_whatever_order_and_view(
    bought: list[LineFace], postage: int, tax: int, duty: int
) -> None:
    order = OrderFace(1, 1, "Far away", TODAY, TODAY, postage, "", tuple(bought), False, tax, duty)
    by_hand = sum(
        one.price_minor * (one.quantity // one.pack)
        if one.rate is None
        else one.rate.to_own(one.price_minor * (one.quantity // one.pack))
        for one in bought
    )
    assert order.total_minor == by_hand + postage + tax + duty
    assert replace(order, lines=tuple(reversed(bought))).total_minor == order.total_minor
    assert sum(row.total_minor for row in by_subsystem({}, (order,), ())) == order.total_minor
    assert sum(week.total_minor for week in by_week((order,), (), {}, TODAY)) == order.total_minor
