"""The shopping list: bought once, in whole packs, from the best offer, spares apart."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.buying.cost import Purse
from server.core.buying.listing import (
    ShoppingList,
    Stocked,
    shopping_list,
)
from server.core.buying.offers import Offer, Seller
from server.core.buying.stock import OnOrder, Supply
from server.core.buying.wants import Want, Who

TARN = Seller(1, "Tarn Hose & Clamp", 490, 5)
MILLRACE = Seller(2, "Millrace Tube", 900, 12)
INTAKE = Who(1, "Intake", "run A, pieces 1 and 3")
CHARGE = Who(2, "Charge pipe", "‘Fit the charge pipe’")


def want(
    part_id: int | None = 1,
    quantity: int = 1,
    *,
    lengths: tuple[float, ...] = (),
    origin: str = "buy",
    unsure: str = "",
    by: tuple[Who, ...] = (INTAKE,),
) -> Want:
    key = f"part:{part_id}" if part_id else "silicone coupler, 80 mm bore"
    return Want(key, part_id, "", "T-bolt clamp", "clamp", origin, quantity, lengths, unsure, by)


def offer(price: int, *, pack: int = 1, seller: Seller = TARN, **more: object) -> Offer:
    return Offer(price + pack, seller.id, seller.name, price, pack, **more)  # type: ignore[arg-type]


def supply(in_hand: int = 0, owed: int = 0, unrecorded: int = 0) -> Supply:
    coming = (OnOrder(1, 1, "Tarn Hose & Clamp", owed, date(2026, 12, 3), 0),) if owed else ()
    return Supply(1, in_hand, coming, 0, (), 0, 0, unrecorded)


def listed(
    wanted: tuple[Want, ...],
    part: Stocked,
    there_is: Supply | None = None,
    purse: Purse | None = None,
) -> ShoppingList:
    supplies = {part.part_id: there_is} if there_is else {}
    return shopping_list(wanted, [part], supplies, [TARN, MILLRACE], purse or Purse())


def test_what_is_in_hand_or_on_order_is_not_bought_again() -> None:
    part = Stocked(1, "T-bolt clamp", offers=(offer(320),))
    (basket,) = listed((want(quantity=8),), part, supply(in_hand=3, owed=2)).baskets
    (line,) = basket.lines
    assert (line.needed, line.in_hand, line.on_order, line.quantity, line.cost_minor) == (8, 3, 2, 3, 960)
    assert listed((want(quantity=5),), part, supply(in_hand=3, owed=2)).baskets == ()


def test_what_was_used_and_never_put_down_is_taken_off_what_is_on_order() -> None:
    part = Stocked(1, "T-bolt clamp", offers=(offer(320),))
    (basket,) = listed((want(quantity=2),), part, supply(owed=3, unrecorded=2)).baskets
    assert basket.lines[0].on_order == 1
    assert basket.lines[0].quantity == 1


def test_a_pack_is_bought_whole_and_says_how_many_are_left_over() -> None:
    part = Stocked(1, "M8 nut", offers=(offer(250, pack=10),))
    (basket,) = listed((want(quantity=16),), part).baskets
    (line,) = basket.lines
    assert (line.quantity, line.left_over, line.cost_minor) == (20, 4, 500)


def test_what_is_left_over_of_a_pack_counts_as_spares() -> None:
    part = Stocked(1, "M8 nut", spares=6, spare_reason="they drop", offers=(offer(250, pack=10),))
    (basket,) = listed((want(quantity=16),), part).baskets
    (spare,) = basket.spares
    assert (spare.wanted, spare.quantity, spare.cost_minor, spare.reason) == (2, 10, 250, "they drop")
    few = Stocked(1, "M8 nut", spares=4, offers=(offer(250, pack=10),))
    assert listed((want(quantity=16),), few).baskets[0].spares == ()


def test_spares_are_bought_even_where_nothing_is_needed_any_more() -> None:
    part = Stocked(1, "Turbine gasket", spares=1, spare_reason="crushes once", offers=(offer(600),))
    (basket,) = listed((), part).baskets
    assert basket.lines == ()
    assert [spare.quantity for spare in basket.spares] == [1]
    assert listed((), part, supply(in_hand=1)).baskets == ()


def test_lines_stand_by_supplier_with_postage_once_and_the_longest_wait() -> None:
    clamp = Stocked(1, "T-bolt clamp", offers=(offer(320),))
    nut = Stocked(2, "M8 nut", offers=(offer(250, pack=10, lead_days=8),))
    tube = Stocked(3, "Tube", offers=(offer(2400, seller=MILLRACE),))
    wanted = [want(1, 4), want(2, 3), want(3, 1)]
    found = shopping_list(wanted, [clamp, nut, tube], {}, [TARN, MILLRACE], Purse())
    assert [basket.seller for basket in found.baskets] == [MILLRACE, TARN]
    millrace, tarn = found.baskets
    assert (tarn.goods_minor, tarn.postage_minor, tarn.total_minor) == (1280 + 250, 490, 2020)
    assert (tarn.lead_days, millrace.lead_days) == (8, 12)
    assert found.totals.to_buy_minor == tarn.total_minor + millrace.total_minor


def test_one_part_for_two_subsystems_is_one_line_that_names_both() -> None:
    part = Stocked(1, "T-bolt clamp", offers=(offer(320),))
    (basket,) = listed((want(quantity=6, by=(INTAKE, CHARGE)),), part).baskets
    assert [line.by for line in basket.lines] == [(INTAKE, CHARGE)]


def test_what_nobody_offers_stands_apart_and_is_told_as_unpriced() -> None:
    found = shopping_list([want(None, 2), want(1, 1)], [Stocked(1, "Clamp")], {}, [TARN], Purse())
    assert [line.name for line in found.unoffered.lines] == ["T-bolt clamp", "T-bolt clamp"]
    assert found.totals.unpriced == 2
    assert found.totals.to_buy_minor == 0


def test_a_price_without_a_supplier_counts_but_nobody_is_named() -> None:
    found = listed((want(quantity=3),), Stocked(1, "Clamp", price_minor=200))
    assert found.baskets == ()
    assert found.unoffered.lines[0].cost_minor == 600
    assert (found.totals.goods_minor, found.totals.unpriced) == (600, 0)


@pytest.mark.parametrize("origin", ["make", "salvage", "borrowed"])
def test_what_is_made_salvaged_or_borrowed_is_not_bought(origin: str) -> None:
    part = Stocked(1, "Half pipe", origin=origin, spares=1, offers=(offer(320),))
    found = listed((want(origin=origin, quantity=2),), part)
    assert found.baskets == ()
    assert [(one.quantity, one.origin) for one in found.not_bought] == [(2, origin)]
    assert listed((want(origin=origin),), part, supply(in_hand=1)).not_bought == ()


def test_what_can_t_be_ordered_yet_waits_with_its_reason() -> None:
    part = Stocked(1, "Heater hose", offers=(offer(320),))
    found = listed((want(unsure="not offered up yet", lengths=(0.4,), quantity=0),), part)
    assert found.baskets == ()
    assert [(one.why, one.lengths) for one in found.waiting] == [("not offered up yet", (0.4,))]


def test_tube_is_bought_in_lengths_after_the_off_cuts() -> None:
    part = Stocked(1, "63.5 mm tube", stock_length=1.0, off_cuts=(0.35,), offers=(offer(2400),))
    found = listed((want(lengths=(0.3, 0.45, 0.45), quantity=0),), part)
    (line,) = found.baskets[0].lines
    assert line.quantity == 1
    assert line.cutting is not None
    assert [bar.from_shelf for bar in line.cutting.bars] == [True, False]
    assert listed((want(lengths=(0.3,), quantity=0),), part).baskets == ()


def test_the_budget_is_told_and_cuts_nothing() -> None:
    part = Stocked(1, "Clamp", spares=1, offers=(offer(320),))
    found = listed((want(quantity=4),), part, purse=Purse(spent_minor=20_000, budget_minor=21_000))
    assert found.baskets[0].lines[0].quantity == 4
    assert found.totals.to_buy_minor == 4 * 320 + 320 + 490
    assert found.totals.left_minor == 21_000 - 20_000 - (4 * 320 + 320 + 490)
    assert listed((), part).totals.left_minor is None


counts = st.integers(min_value=0, max_value=40)
packs = st.integers(min_value=1, max_value=12)
prices = st.integers(min_value=0, max_value=10_000)


@given(counts, counts, counts, counts, packs, prices)
def test_never_too_few_and_never_a_pack_too_many(
    needed: int, in_hand: int, owed: int, spares: int, pack: int, price: int
) -> None:
    part = Stocked(1, "Clamp", spares=spares, offers=(offer(price, pack=pack),))
    found = listed((want(quantity=needed),), part, supply(in_hand, owed))
    lines = [line for basket in found.baskets for line in basket.lines]
    bought = sum(one.quantity for basket in found.baskets for one in basket.bought)
    missing = max(needed + spares - in_hand - owed, 0)
    assert missing <= bought < missing + pack
    assert bought % pack == 0
    assert found.totals.goods_minor + found.totals.spares_minor == bought // pack * price
    assert sum(line.left_over for line in lines) == max(
        sum(line.quantity for line in lines) - max(needed - in_hand - owed, 0), 0
    )


WEEK = Purse(week_minor=2000)


def test_spares_go_by_the_rule_where_the_builder_said_nothing_and_a_week_is_worth_something() -> None:
    gasket = Stocked(1, "Turbine gasket", "gasket", offers=(offer(600, lead_days=14),))
    (basket,) = listed((want(),), gasket, purse=WEEK).baskets
    (spare,) = basket.spares
    assert (spare.quantity, spare.reason) == (1, "it crushes once, and a second try takes a new one")
    assert spare.advice is not None
    assert listed((want(),), gasket).baskets[0].spares == ()
    none = Stocked(1, "Turbine gasket", "gasket", spares=0, offers=(offer(600, lead_days=14),))
    assert listed((want(),), none, purse=WEEK).baskets[0].spares == ()


def test_a_spare_that_would_need_a_parcel_of_its_own_carries_it() -> None:
    nipple = Stocked(1, "Nipple", "fitting", offers=(offer(310, seller=MILLRACE, lead_days=12),))
    there = supply(in_hand=1)
    assert listed((want(),), nipple, there, purse=Purse(week_minor=3500)).baskets == ()
    assert listed((want(),), nipple, there, purse=Purse(week_minor=50_000)).baskets[0].spares


def test_suppliers_are_chosen_together_with_their_postage() -> None:
    tube = Stocked(1, "Tube", offers=(offer(1000),))
    clamp = Stocked(2, "Clamp", offers=(offer(320), offer(300, seller=MILLRACE)))
    found = shopping_list((want(1), want(2)), [tube, clamp], {}, [TARN, MILLRACE], Purse())
    assert [one.seller for one in found.baskets] == [TARN]
    assert found.totals.to_buy_minor == found.chosen.total_minor == 1000 + 320 + 490
