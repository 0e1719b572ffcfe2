"""Which supplier for which line: against trying every choice, and a worked case by enumeration."""

from itertools import product
from random import Random

import pytest

from server.core.buying.choice import Ask, choose, total
from server.core.buying.offers import Offer, Seller
from tests.reference_values import Check, load

RANDOM = 40
"""Of the 300 cases of `python -m tests.bench.supplier_choices`."""


def case(draw: Random) -> tuple[list[Ask], list[Seller]]:
    """Two to four suppliers, up to five parts, packs, thresholds and days."""
    sellers = [
        Seller(at, f"Seller {at}", draw.randint(0, 900), None, draw.choice([None, draw.randint(0, 9000)]))
        for at in range(1, draw.randint(3, 5))
    ]
    asks = []
    for key in range(draw.randint(1, 5)):
        offers = tuple(
            Offer(
                100 * key + n,
                seller.id,
                seller.name,
                draw.randint(50, 3000),
                draw.choice((1, 1, 5, 10)),
                lead_days=draw.choice((None, 3, 9, 20)),
                preferred=draw.random() < 0.05,
            )
            for n, seller in enumerate(draw.choices(sellers, k=draw.randint(1, 4)))
        )
        asks.append(Ask(key, draw.randint(1, 12), offers, draw.choice((None, None, 7, 14))))
    return asks, sellers


def by_trying_all(asks: list[Ask], sellers: list[Seller]) -> int:
    """The least over every choice of one allowed offer a part."""
    known = {one.id: one for one in sellers}
    choices = product(*(ask.open_to for ask in asks))
    keys = [ask.key for ask in asks]
    return min(total(asks, dict(zip(keys, one, strict=True)), known) for one in choices)


def test_the_choice_is_that_of_trying_everything() -> None:
    draw = Random(300)
    for _ in range(RANDOM):
        asks, sellers = case(draw)
        found = choose(asks, sellers)
        assert found.total_minor == found.bound_minor == by_trying_all(asks, sellers)
        assert found.total_minor <= found.apart_minor
        assert found.together_minor is None or found.total_minor <= found.together_minor


BASKETS = [check for check in load("buying") if check.id.startswith("BASKET")]


@pytest.mark.parametrize("known", BASKETS, ids=str)
def test_a_basket_split_with_free_postage_is_that_of_the_enumeration(known: Check) -> None:
    sellers = [
        Seller(at, name, postage, None, free)
        for at, (name, postage, free) in enumerate(known.inputs["sellers"], 1)
    ]
    asks = []
    for key, prices in enumerate(known.inputs["prices"]):
        offers = zip(sellers, prices, strict=True)
        asks.append(Ask(key, 1, tuple(Offer(0, one.id, one.name, price) for one, price in offers)))
    found = choose(asks, sellers)
    assert found.total_minor == known.expected
    assert found.apart_minor == 142
    assert {one.supplier for one in found.offers.values()} == {"Y"}


TARN, MILLRACE = Seller(1, "Tarn", 490, 5), Seller(2, "Millrace", 900, 12, 5000)


def test_a_part_is_bought_dearer_where_that_saves_a_parcel() -> None:
    """By hand: 1000 + 320 + 490 in one parcel against 1000 + 300 + 490 + 900 in two."""
    tube = Ask(1, 1, (Offer(1, 1, "Tarn", 1000),))
    clamp = Ask(2, 1, (Offer(2, 1, "Tarn", 320), Offer(3, 2, "Millrace", 300)))
    found = choose([tube, clamp], [TARN, MILLRACE])
    assert found.offers[2].supplier == "Tarn"
    assert (found.total_minor, found.apart_minor, found.saved_minor) == (1810, 2690, 880)


def test_a_late_offer_is_taken_only_where_none_is_in_time() -> None:
    quick, slow = Offer(1, 1, "Tarn", 900, lead_days=5), Offer(2, 2, "Millrace", 100, lead_days=30)
    assert choose([Ask(1, 1, (quick, slow), within=10)], [TARN, MILLRACE]).offers[1] is quick
    assert choose([Ask(1, 1, (quick, slow), within=2)], [TARN, MILLRACE]).offers[1] is quick
    assert choose([Ask(1, 9, (quick, slow))], [TARN, MILLRACE]).offers[1] is slow


def test_the_cheapest_offer_depends_on_how_many_are_bought() -> None:
    single, ten = Offer(1, 1, "Tarn", 100), Offer(2, 1, "Tarn", 850, pack=10)
    assert choose([Ask(1, 5, (single, ten))], [TARN]).offers[1] is single
    assert choose([Ask(1, 9, (single, ten))], [TARN]).offers[1] is ten
    assert choose([Ask(1, 3, ())], [TARN]).offers == {}


def test_a_preferred_offer_is_taken_whatever_the_others_ask() -> None:
    dear = Offer(1, 1, "Tarn", 900, preferred=True)
    assert choose([Ask(1, 1, (dear, Offer(2, 2, "Millrace", 50)))], [TARN, MILLRACE]).offers[1] is dear


def test_of_two_offers_at_one_price_the_sooner_is_taken() -> None:
    unsaid = Offer(1, 1, "Tarn", 100)
    slow, quick = Offer(2, 1, "Tarn", 100, lead_days=9), Offer(3, 1, "Tarn", 100, lead_days=2)
    assert choose([Ask(1, 1, (unsaid, slow, quick))], [TARN]).offers[1] is quick
