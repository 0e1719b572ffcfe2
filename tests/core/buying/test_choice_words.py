"""Why a part is bought where, as it stands on the list."""

from server.core.buying.choice import Ask, choose
from server.core.buying.choice_words import advice_words, postage_words, saved_words, why_here
from server.core.buying.offers import Offer, Seller
from server.core.buying.spares import advised

TARN, MILLRACE = Seller(1, "Tarn", 490, 5), Seller(2, "Millrace", 900, 12, 5000)


def euros(minor: int) -> str:
    return f"{minor / 100:.2f}"


def test_a_dearer_line_says_what_it_is_good_for_and_the_list_what_is_saved() -> None:
    tube = Ask(1, 1, (Offer(1, 1, "Tarn", 1000),))
    clamp = Ask(2, 1, (Offer(2, 1, "Tarn", 320), Offer(3, 2, "Millrace", 300)))
    found = choose([tube, clamp], [TARN, MILLRACE])
    assert why_here(tube, found, euros) == ""
    assert why_here(clamp, found, euros) == "0.20 dearer than from Millrace, but saves a parcel from there"
    assert saved_words(found, euros) == (
        "With postage 18.10; each part where it is cheapest would come to 26.90."
    )


def test_a_cheaper_line_names_the_price_elsewhere() -> None:
    ask = Ask(1, 2, (Offer(1, 1, "Tarn", 1000), Offer(2, 2, "Millrace", 3000)))
    found = choose([ask], [TARN, MILLRACE])
    assert why_here(ask, found, euros) == "20.00 here, 60.00 from Millrace"
    assert saved_words(choose([], []), euros) == ""


def test_postage_says_what_would_make_it_free() -> None:
    assert postage_words(TARN, 100, euros) == "Postage 4.90"
    assert postage_words(MILLRACE, 4500, euros) == "Postage 9.00, free with 5.00 more"
    assert postage_words(MILLRACE, 5000, euros) == "Postage free from 50.00 on"


def test_a_spare_by_the_rule_gives_its_numbers() -> None:
    found = advised(
        1, 0.25, "", price_minor=600, days=14, week_minor=2000, postage_minor=490, takes_back=False
    )
    assert advice_words(found, euros) == (
        "25 % that more is needed. A wait of 14 days and its postage are worth 44.90 to you, "
        "one too many costs 6.00."
    )


def test_a_sooner_offer_says_what_the_wait_would_have_saved_and_when_it_is_needed() -> None:
    quick = Offer(1, 1, "Tarn", 1000, lead_days=3)
    slow = Offer(2, 2, "Millrace", 800, lead_days=9)
    for within, words in (
        (4, "and it is needed in 4 days"),
        (0, "and both are late for the plan"),
    ):
        ask = Ask(1, 1, (quick, slow), within)
        found = choose([ask], [TARN, MILLRACE])
        told = why_here(ask, found, euros)
        assert told.startswith("2.00 dearer than from Millrace, but that takes 9 days")
        assert told.endswith(words)
