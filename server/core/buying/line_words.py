"""What a line of the shopping list is for, and what its count is made of, in words."""

from collections.abc import Iterable, Sequence

from server.core.buying.choice_words import Money, advice_words
from server.core.buying.lengths import Bar, CutPlan, Saw
from server.core.buying.listing import Line, Spare
from server.core.buying.offers import Offer
from server.core.buying.wants import Who
from server.core.units import Kind, System, show


def for_what(by: Sequence[Who]) -> str:
    """E.g. "Intake: run A, piece 1; Charge pipe: ‘Fit the charge pipe’"."""
    of: dict[str, list[str]] = {}
    for who in by:
        of.setdefault(who.subsystem, []).append(who.words)
    told = [f"{name}: {', '.join(words)}" if name else ", ".join(words) for name, words in of.items()]
    return "; ".join(told)


def lengths_text(lengths: Iterable[float], system: System) -> str:
    """Lengths [m] in the build's units, longest first, the same ones counted: "2 × 450 mm, 300 mm"."""
    texts = [_length(length, system) for length in sorted(lengths, reverse=True)]
    return ", ".join(
        f"{texts.count(text)} × {text}" if texts.count(text) > 1 else text for text in dict.fromkeys(texts)
    )


def _length(length: float, system: System) -> str:
    return show(length, Kind.length, system).text


def line_facts(line: Line, system: System, why: str = "") -> tuple[str, ...]:
    """What is there already, why it is bought there, how it is sold, which cuts come out of which length."""
    facts = []
    if line.in_hand or line.on_order:
        there_is = [f"{line.in_hand} in the garage"] if line.in_hand else []
        there_is += [f"{line.on_order} on order"] if line.on_order else []
        facts.append(f"{line.needed} needed, {', '.join(there_is)}")
    facts += [why] if why else []
    return (*facts, *_pack_facts(line.offer, line.left_over), *_cutting_facts(line.cutting, system))


def spare_facts(spare: Spare, money: Money | None = None) -> tuple[str, ...]:
    """What the rule rests on, where it was asked and amounts can be told; how it is sold."""
    rule = (advice_words(spare.advice, money),) if spare.advice and money else ()
    return (*rule, *_pack_facts(spare.offer, spare.quantity - spare.wanted))


def _pack_facts(offer: Offer | None, left_over: int) -> tuple[str, ...]:
    if offer is None or offer.pack == 1:
        return ()
    return (f"sold in {offer.pack}s: {left_over} left over" if left_over else f"sold in {offer.pack}s",)


def _cutting_facts(plan: CutPlan | None, system: System) -> tuple[str, ...]:
    if plan is None:
        return ()
    facts = [_bar_text(bar, plan.saw, system) for bar in plan.bars]
    if plan.too_long:
        facts.append(f"to be had cut to length: {lengths_text(plan.too_long, system)}")
    if not plan.is_least:
        facts.append(f"{plan.least} might do, laid out otherwise")
    return tuple(facts)


def _bar_text(bar: Bar, saw: Saw, system: System) -> str:
    kind = "off-cut" if bar.from_shelf else "length"
    kept = bar.kept(saw)
    left = f"; {_length(kept, system)} left for the shelf" if kept else ""
    return f"{kind} of {_length(bar.length, system)}: cut {lengths_text(bar.cuts, system)}{left}"


def price_of_one(one: Line | Spare, money: Money) -> str:
    """The price of one, or of a pack, or what one is thought to cost."""
    if one.offer is not None:
        return money(one.offer.price_minor) + (f" for {one.offer.pack}" if one.offer.pack > 1 else " each")
    return "" if one.cost_minor is None else f"about {money(one.cost_minor // max(one.quantity, 1))} each"


def beside_price(one: Line | Spare, money: Money) -> str:
    """The price of one beside a cost; of a single piece it would be said twice."""
    return "" if one.quantity == 1 else price_of_one(one, money)
