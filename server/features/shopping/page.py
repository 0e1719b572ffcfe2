"""The shopping list, an order to one supplier, and the list for paper and for a spreadsheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import ClassVar

from server.core.buying.alike import Alike, alike_told
from server.core.buying.choice_words import Money, postage_words, saved_words, why_here
from server.core.buying.line_words import (
    beside_price,
    for_what,
    lengths_text,
    line_facts,
    spare_facts,
)
from server.core.buying.listing import Apart, Basket, Line, ShoppingList, Spare, Totals
from server.core.work.to_plan import UNKNOWN_LEAD
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.features.order_sheet.page import wait_text
from server.features.planning.page import order_by_text
from server.web import urls
from server.web.view import FormState, Link, Page
from server.web.words import counted, money

OPENED = 6
"""So many suppliers are shown with their lines; the others by their sums."""
LINES_SHOWN = 6
"""So many lines of a supplier stand on the list; all of them on the order's sheet."""
UNOFFERED_SHOWN = 8
APART_SHOWN = 15
ORIGIN_WORDS = {"make": "to make", "salvage": "to salvage", "borrowed": "to borrow and try on"}


@dataclass(frozen=True, slots=True)
class LineShown:
    """One part to buy. `count` goes into the balloon; `facts` say what the count is made of."""

    key: str
    href: str
    count: int
    name: str
    for_what: str
    facts: tuple[str, ...]
    each: str
    cost: str
    by_length: bool
    form: FormState
    wanted: int = 0
    by: str = ""
    """Until when it must be ordered for the plan, in words; nothing where no planned work waits for it."""


@dataclass(frozen=True, slots=True)
class BasketShown:
    """What is bought from one supplier. `rest` says how many lines are not shown here."""

    supplier_id: int
    supplier: str
    href: str
    about: str
    total: str
    postage: str
    posted: str
    wait: str
    lines: tuple[LineShown, ...]
    spares: tuple[LineShown, ...]
    rest: int
    unfolded: bool
    by: str = ""


@dataclass(frozen=True, slots=True)
class ApartShown:
    """Something that is called for and not bought now."""

    href: str
    count: str
    name: str
    for_what: str
    why: str


@dataclass(frozen=True, slots=True)
class Figure:
    """A sum, with its name."""

    label: str
    text: str
    accent: bool = False


@dataclass(frozen=True, slots=True)
class Merged:
    """A part that another is bought for."""

    part_id: int
    words: str


@dataclass(frozen=True, kw_only=True)
class ShoppingPage(Page):
    """All that is still to be bought, by supplier, spares apart; what is not bought, and what waits."""

    template: ClassVar[str] = "shopping/list.html"

    build_id: int
    currency: str
    figures: tuple[Figure, ...]
    over_budget: str
    saved: str
    no_week: bool
    alike: tuple[Alike, ...]
    merged: tuple[Merged, ...]
    main: Link | None
    sorted_by: str
    baskets: tuple[BasketShown, ...]
    unoffered: tuple[LineShown, ...]
    unoffered_count: int
    unoffered_more: Link | None
    not_bought: tuple[ApartShown, ...]
    not_bought_count: int
    not_bought_more: Link | None
    waiting: tuple[ApartShown, ...]
    waiting_count: int
    waiting_more: Link | None
    suppliers: tuple[str, ...]
    last_supplier: str


@dataclass(frozen=True, slots=True)
class At:
    """So many lines of each long part of the list stand before this sheet; the supplier named last."""

    unoffered: int = 0
    made: int = 0
    waiting: int = 0
    supplier: str = ""


def _told(build: Face) -> Money:
    return partial(money, currency=build.currency)


def _part_href(build: Face, part_id: int | None) -> str:
    return urls.part(build.id, part_id) if part_id else ""


@dataclass(frozen=True, slots=True)
class RefusedOffer:
    """The form for an offer that was refused, and the line that it belongs to."""

    refused: Refused | None = None
    key: str = ""

    def of(self, key: str) -> FormState:
        return FormState.of(self.refused if key == self.key else None)


@dataclass(frozen=True, slots=True)
class When:
    """Until when each part must be here for the plan, by its number; none for what no planned work needs."""

    today: date
    here_by: Mapping[int, date]

    def order_by(self, one: Line | Spare) -> date | None:
        """The last day to order a line where it is bought; spares hold up no work."""
        here_by = self.here_by.get(one.part_id or 0) if isinstance(one, Line) else None
        if here_by is None:
            return None
        told = one.offer.lead_days if one.offer else None
        days = UNKNOWN_LEAD if told is None else told
        return max(here_by - timedelta(days=days), self.today)

    def first(self, basket: Basket) -> date | None:
        """Of all its lines."""
        return min((day for line in basket.lines if (day := self.order_by(line))), default=None)

    def text(self, day: date | None) -> str:
        return order_by_text(day, self.today) if day else ""


def _line(build: Face, line: Line, found: ShoppingList, refused: RefusedOffer, when: When) -> LineShown:
    why = why_here(found.asked.get(line.part_id or 0), found.chosen, _told(build))
    return LineShown(
        line.key,
        _part_href(build, line.part_id),
        line.quantity,
        line.name,
        for_what(line.by),
        line_facts(line, build.system, why),
        beside_price(line, _told(build)),
        money(line.cost_minor, build.currency),
        line.cutting is not None,
        refused.of(line.key),
        by=when.text(when.order_by(line)),
    )


def _spare(build: Face, spare: Spare, refused: RefusedOffer) -> LineShown:
    return LineShown(
        spare.key,
        _part_href(build, spare.part_id),
        spare.quantity,
        spare.name,
        f"Spare: {spare.reason}" if spare.reason else "Spare",
        spare_facts(spare, _told(build)),
        beside_price(spare, _told(build)),
        money(spare.cost_minor, build.currency),
        False,
        refused.of(spare.key),
        spare.wanted,
    )


def _size_text(basket: Basket, currency: str) -> str:
    """E.g. "6 lines, 84.20 EUR", spares and postage in the sum."""
    return f"{counted(len(basket.bought), 'line')}, {money(basket.total_minor, currency)}"


def _basket(
    build: Face, basket: Basket, place: int, found: ShoppingList, refused: RefusedOffer, when: When
) -> BasketShown:
    seller = basket.seller
    if seller is None:
        raise ValueError("a basket without a supplier has no order")
    many = LINES_SHOWN if place < OPENED else 0
    lines = tuple(_line(build, line, found, refused, when) for line in basket.lines[:many])
    spares = tuple(_spare(build, spare, refused) for spare in basket.spares[:many])
    return BasketShown(
        seller.id,
        seller.name,
        urls.shopping_order(build.id, seller.id),
        _size_text(basket, build.currency),
        money(basket.total_minor, build.currency),
        money(basket.postage_minor, build.currency),
        postage_words(seller, basket.goods_minor + basket.spares_minor, _told(build)),
        wait_text(basket.lead_days),
        lines,
        spares,
        len(basket.bought) - len(lines) - len(spares),
        place == 0,
        when.text(when.first(basket)),
    )


def _apart(build: Face, one: Apart) -> ApartShown:
    many = f"{one.quantity}" if one.quantity else ""
    cut = lengths_text(one.lengths, build.system)
    return ApartShown(
        _part_href(build, one.part_id),
        many,
        f"{one.name}, {cut}" if cut else one.name,
        for_what(one.by),
        one.why or ORIGIN_WORDS.get(one.origin, one.origin),
    )


def first_to_order(baskets: Sequence[Basket], when: When) -> tuple[Basket, ...]:
    """What the plan can wait for least, then what takes longest to come, then what costs most."""
    return tuple(
        sorted(
            baskets,
            key=lambda one: (when.first(one) or date.max, -(one.lead_days or 0), -one.total_minor),
        )
    )


def figures(totals: Totals, currency: str) -> tuple[Figure, ...]:
    beside = (("Spares", totals.spares_minor), ("Postage", totals.postage_minor))
    found = [
        Figure("Parts", money(totals.goods_minor, currency)),
        *(Figure(label, money(minor, currency)) for label, minor in beside if minor),
        Figure("To buy", money(totals.to_buy_minor, currency)),
        Figure("Spent so far", money(totals.purse.spent_minor, currency)),
    ]
    if totals.unpriced:
        found.append(Figure("Without a price", counted(totals.unpriced, "line")))
    if totals.purse.budget_minor is not None:
        found.append(Figure("Budget", money(totals.purse.budget_minor, currency)))
    left = totals.left_minor
    if left is not None:
        over = left < 0
        found.append(Figure("Over budget" if over else "Left", money(abs(left), currency), over))
    return tuple(found)


def _over_budget(totals: Totals, currency: str) -> str:
    left = totals.left_minor
    if left is None or left >= 0:
        return ""
    words = f"All of it comes to {money(-left, currency)} more than the budget. Nothing was left out."
    spares = f" Without the spares it would be {money(totals.spares_minor, currency)} less."
    return words + (spares if totals.spares_minor else "")


def shopping_page(
    build: Face,
    found: ShoppingList,
    suppliers: tuple[str, ...],
    when: When,
    at: At,
    refused: RefusedOffer,
    merged: tuple[Merged, ...],
) -> ShoppingPage:
    baskets = first_to_order(found.baskets, when)
    unoffered: tuple[Line | Spare, ...] = (*found.unoffered.lines, *found.unoffered.spares)
    return ShoppingPage(
        **heading(build, "Shopping", when.today),
        build_id=build.id,
        currency=build.currency,
        figures=figures(found.totals, build.currency),
        over_budget=_over_budget(found.totals, build.currency),
        saved=saved_words(found.chosen, _told(build)),
        no_week=build.week_minor is None,
        alike=alike_told(found.baskets, _told(build)),
        merged=merged,
        main=_main_act(build, baskets),
        sorted_by="soonest to order first" if any(map(when.first, baskets)) else "longest wait first",
        baskets=tuple(_basket(build, one, place, found, refused, when) for place, one in enumerate(baskets)),
        unoffered=tuple(
            _spare(build, one, refused) if isinstance(one, Spare) else _line(build, one, found, refused, when)
            for one in unoffered[at.unoffered : at.unoffered + UNOFFERED_SHOWN]
        ),
        unoffered_count=len(unoffered),
        unoffered_more=_more(build, len(unoffered), "unoffered", at.unoffered, UNOFFERED_SHOWN),
        not_bought=tuple(_apart(build, one) for one in found.not_bought[at.made : at.made + APART_SHOWN]),
        not_bought_count=len(found.not_bought),
        not_bought_more=_more(build, len(found.not_bought), "made", at.made, APART_SHOWN),
        waiting=tuple(_apart(build, one) for one in found.waiting[at.waiting : at.waiting + APART_SHOWN]),
        waiting_count=len(found.waiting),
        waiting_more=_more(build, len(found.waiting), "waiting", at.waiting, APART_SHOWN),
        suppliers=suppliers,
        last_supplier=at.supplier if at.supplier in suppliers else "",
    )


def _main_act(build: Face, baskets: Sequence[Basket]) -> Link | None:
    if not baskets or baskets[0].seller is None:
        return None
    seller = baskets[0].seller
    words = f"Order from {seller.name} ({_size_text(baskets[0], build.currency)})"
    return Link(urls.shopping_order(build.id, seller.id), words)


def _more(build: Face, count: int, name: str, at: int, shown: int) -> Link | None:
    """The way to the rest of a long list, and from its end back to its beginning."""
    after = at + shown
    if after < count:
        return Link(
            f"{urls.shopping(build.id)}?{name}={after}#{name}", f"The next {min(shown, count - after)}"
        )
    return Link(f"{urls.shopping(build.id)}#{name}", "From the top") if at else None
