"""Why a part is bought from whom, and what that saves, in words."""

from collections.abc import Callable, Iterable, Sequence

from server.core.buying.choice import Ask, Chosen
from server.core.buying.offers import Offer, Seller
from server.core.buying.spares import Advice

Money = Callable[[int], str]
"""Whole minor units as a page shows them."""


def why_here(ask: Ask | None, chosen: Chosen, money: Money) -> str:
    """E.g. "0.20 EUR dearer than from Corvid, but saves a parcel"; nothing where there is no choice."""
    offer = chosen.offers.get(ask.key) if ask else None
    if ask is None or offer is None:
        return ""
    rivals = [one for one in ask.offers if one.supplier_id != offer.supplier_id]
    if not rivals:
        return ""
    if offer.preferred:
        return "bought here as you chose"
    sooner = _sooner(ask, offer, rivals, money)
    if sooner:
        return sooner
    timely = [one for one in rivals if one.in_time(ask.within)]
    rival = ask.cheapest(timely or rivals)
    if rival is None:
        return ""
    more = offer.cost(ask.pieces) - rival.cost(ask.pieces)
    if more <= 0:
        return f"{money(offer.cost(ask.pieces))} here, {money(rival.cost(ask.pieces))} from {rival.supplier}"
    used = {one.supplier_id for one in chosen.offers.values()}
    gain = (
        "brings this order to where postage is free"
        if rival.supplier_id in used
        else "saves a parcel from there"
    )
    return f"{money(more)} dearer than from {rival.supplier}, but {gain}"


def _sooner(ask: Ask, offer: Offer, rivals: Sequence[Offer], money: Money) -> str:
    """E.g. "3.00 EUR dearer than from Corvid, but that takes 9 days and it is needed in 4"."""
    late = ask.cheapest([one for one in rivals if not one.in_time(ask.within)])
    if late is None or ask.within is None:
        return ""
    more = offer.cost(ask.pieces) - late.cost(ask.pieces)
    if more <= 0:
        return ""
    wait = f"that takes {late.lead_days} days"
    if not offer.in_time(ask.within):
        return f"{money(more)} dearer than from {late.supplier}, but {wait}, and both are late for the plan"
    needed = "today" if ask.within == 0 else f"in {ask.within} days"
    return f"{money(more)} dearer than from {late.supplier}, but {wait} and it is needed {needed}"


def postage_words(seller: Seller, goods_minor: int, money: Money) -> str:
    """What postage comes to, and what would make it free."""
    if seller.free_from_minor is None or not seller.postage_minor:
        return f"Postage {money(seller.postage(goods_minor))}"
    if seller.postage(goods_minor) == 0:
        return f"Postage free from {money(seller.free_from_minor)} on"
    more = money(seller.free_from_minor - goods_minor)
    return f"Postage {money(seller.postage_minor)}, free with {more} more"


def saved_words(chosen: Chosen, money: Money) -> str:
    """What the choice saves against the plain ways to buy; nothing where it saves nothing."""
    if chosen.saved_minor <= 0:
        return ""
    ways: Iterable[tuple[str, int | None]] = (
        ("each part where it is cheapest", chosen.apart_minor),
        ("all of it from one supplier", chosen.together_minor),
    )
    told = [
        f"{way} would come to {money(minor)}"
        for way, minor in ways
        if minor is not None and minor > chosen.total_minor
    ]
    proof = "" if chosen.bound_minor >= chosen.total_minor else " A cheaper choice can't be ruled out."
    return f"With postage {money(chosen.total_minor)}; {', '.join(told)}.{proof}"


def advice_words(advice: Advice, money: Money) -> str:
    """E.g. "25 % that one more is needed. A wait of 14 days is worth 44.90, one too many costs 6.00"."""
    lost = "sent back, one too many costs" if advice.back else "one too many costs"
    wait = f"A wait of {advice.days} days" if advice.days != 1 else "A wait of a day"
    return (
        f"{100 * advice.needed:.0f} % that more is needed. {wait} and its postage are worth "
        f"{money(advice.wait_minor)} to you, {lost} {money(advice.lost_minor)}"
        f"{', with a parcel of its own' if advice.parcel else ''}."
    )
