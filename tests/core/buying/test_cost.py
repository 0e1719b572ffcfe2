"""What orders cost, and how suppliers keep their days. Definitions (counting); amounts in minor units."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from server.core.buying.cost import Lateness, Promise, lateness, line_total, order_total, packs

TODAY = date(2026, 11, 25)


def test_a_pack_that_is_begun_is_bought_whole() -> None:
    assert [packs(pieces, 10) for pieces in (0, 1, 10, 11)] == [0, 1, 1, 2]


def test_a_line_costs_its_packs() -> None:
    assert line_total(quantity=20, cancelled=0, pack=10, price_minor=499) == 998
    assert line_total(quantity=3, cancelled=0, pack=1, price_minor=2450) == 7350


def test_what_will_not_come_costs_nothing() -> None:
    assert line_total(quantity=4, cancelled=1, pack=1, price_minor=320) == 960
    assert line_total(quantity=4, cancelled=4, pack=1, price_minor=320) == 0


def test_an_order_costs_lines_and_postage_less_what_came_back() -> None:
    assert order_total((2450, 1280), 490, (320,)) == 3900


@given(st.integers(0, 500), st.integers(0, 500), st.integers(1, 50), st.integers(0, 10_000))
def test_packs_hold_the_pieces_with_less_than_one_pack_over(
    quantity: int, cancelled: int, pack: int, price: int
) -> None:
    wanted = max(quantity - cancelled, 0)
    assert 0 <= packs(wanted, pack) * pack - wanted < pack
    assert line_total(quantity, cancelled, pack, price) == packs(wanted, pack) * price


def test_a_supplier_is_as_late_as_the_middle_one_of_its_late_orders() -> None:
    kept = [
        Promise(date(2026, 10, 1), date(2026, 9, 30)),
        Promise(date(2026, 10, 1), date(2026, 10, 3)),
        Promise(date(2026, 10, 1), date(2026, 10, 6)),
        Promise(date(2026, 10, 1), date(2026, 10, 21)),
    ]
    assert lateness(kept, TODAY) == Lateness(orders=4, late=3, days=5)


def test_an_order_still_out_counts_once_its_day_is_past() -> None:
    out = [Promise(date(2026, 11, 23), None), Promise(date(2026, 12, 3), None)]
    assert lateness(out, TODAY) == Lateness(orders=1, late=1, days=2)


def test_a_supplier_of_whom_nothing_was_due_yet_has_no_record() -> None:
    assert lateness([Promise(TODAY, None)], TODAY) == Lateness(0, 0, 0)
