"""An order to one supplier, ready to be placed as the shopping list has it."""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import ClassVar

from server.core.buying.choice_words import Money
from server.core.buying.line_words import for_what, line_facts, price_of_one, spare_facts
from server.core.buying.listing import Basket, Line, Spare
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web.view import FormState, Page
from server.web.words import counted, money, plain_money


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of the order to be placed; `typed` is what stands in its field."""

    part_id: int
    name: str
    for_what: str
    facts: tuple[str, ...]
    each: str
    quantity: int
    spare: bool


@dataclass(frozen=True, kw_only=True)
class OrderSheetPage(Page):
    """An order to one supplier, ready to be placed as it stands. `listed` tells whether the list changed."""

    template: ClassVar[str] = "shopping/order.html"

    build_id: int
    supplier_id: int
    supplier: str
    currency: str
    ordered_on: date
    due_on: date | None
    wait: str
    postage: str
    total: str
    lines: tuple[OrderLine, ...]
    spares: tuple[OrderLine, ...]
    rest: int
    listed: str
    form: FormState


def _told(build: Face) -> Money:
    return partial(money, currency=build.currency)


def wait_text(days: int | None) -> str:
    return "" if days is None else f"about {counted(days, 'day')}"


def order_sheet(
    build: Face, basket: Basket, listed: str, most: int, today: date, refused: Refused | None
) -> OrderSheetPage:
    seller = basket.seller
    if seller is None:
        raise ValueError("a basket without a supplier has no order")
    days = basket.lead_days
    lines = tuple(_order_line(build, line) for line in basket.lines[:most])
    spares = tuple(_order_spare(build, spare) for spare in basket.spares[: most - len(lines)])
    return OrderSheetPage(
        **heading(build, "Order", today, within="Shopping", note=seller.name),
        build_id=build.id,
        supplier_id=seller.id,
        supplier=seller.name,
        currency=build.currency,
        ordered_on=today,
        due_on=None if days is None else today + timedelta(days=days),
        wait=wait_text(days),
        postage=plain_money(basket.postage_minor),
        total=money(basket.total_minor, build.currency),
        lines=lines,
        spares=spares,
        rest=len(basket.bought) - len(lines) - len(spares),
        listed=listed,
        form=FormState.of(refused),
    )


def _order_line(build: Face, line: Line) -> OrderLine:
    return OrderLine(
        line.part_id or 0,
        line.name,
        for_what(line.by),
        line_facts(line, build.system),
        price_of_one(line, _told(build)),
        line.quantity,
        spare=False,
    )


def _order_spare(build: Face, spare: Spare) -> OrderLine:
    return OrderLine(
        spare.part_id,
        spare.name,
        spare.reason,
        spare_facts(spare, _told(build)),
        price_of_one(spare, _told(build)),
        spare.quantity,
        spare=True,
    )
