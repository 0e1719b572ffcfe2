"""What the builder types about orders and deliveries."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from server.core.buying.stock import Condition
from server.web.fields import Fields

NEW_LINES = 6
"""Lines that the form for a new order offers; more can be added on the order's own sheet."""
MOST_PIECES = 10_000


@dataclass(frozen=True, slots=True)
class OrderForm:
    """`postage_minor` is in whole minor units."""

    supplier: str
    ordered_on: date
    due_on: date | None
    postage_minor: int
    note: str


@dataclass(frozen=True, slots=True)
class LineForm:
    """So many of the part of that name; `price_minor` is for one."""

    part_name: str
    quantity: int
    price_minor: int


@dataclass(frozen=True, slots=True)
class NewOrder:
    form: OrderForm
    lines: tuple[LineForm, ...]


@dataclass(frozen=True, slots=True)
class OrderEdit:
    version: int
    form: OrderForm


@dataclass(frozen=True, slots=True)
class LineEdit:
    version: int
    quantity: int
    price_minor: int


@dataclass(frozen=True, slots=True)
class DeliveryForm:
    """What arrived of a line; `quantity` none for all that is still owed."""

    quantity: int | None
    condition: Condition
    note: str


def _order(fields: Fields, today: date) -> OrderForm:
    form = OrderForm(
        supplier=fields.text("supplier", "The supplier", most=80, required=True),
        ordered_on=fields.day("ordered_on", "Ordered on") or today,
        due_on=fields.day("due_on", "Due"),
        postage_minor=fields.money("postage", "Postage") or 0,
        note=fields.text("note", "Note", most=300),
    )
    if form.due_on and form.due_on < form.ordered_on:
        fields.refuse("due_on", "It can't be due before it was ordered.", "a day after the order's own")
    return form


def _line(fields: Fields, mark: str = "") -> LineForm:
    """The fields of one line; `mark` tells the lines of one form apart."""
    return LineForm(
        part_name=fields.text(f"part{mark}", "The part", most=120, required=True),
        quantity=fields.whole(f"quantity{mark}", "How many", least=1, most=MOST_PIECES) or 1,
        price_minor=fields.money(f"price{mark}", "Price for one") or 0,
    )


def new_order(typed: Mapping[str, str], today: date) -> NewOrder:
    """Lines without a part's name, number and price are left out. Raises BadInput."""
    fields = Fields(typed)
    form = _order(fields, today)
    marks = [f"_{number}" for number in range(1, NEW_LINES + 1)]
    filled = [
        mark for mark in marks if any(fields.raw(f"{name}{mark}") for name in ("part", "quantity", "price"))
    ]
    if not filled:
        fields.refuse("part_1", "An order has at least one part.", "the name of a part, new or known")
    lines = tuple(_line(fields, mark) for mark in filled)
    fields.done()
    return NewOrder(form, lines)


def order_edit(typed: Mapping[str, str], today: date) -> OrderEdit:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    form = _order(fields, today)
    fields.done()
    return OrderEdit(version, form)


def line_form(typed: Mapping[str, str]) -> LineForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = _line(fields)
    fields.done()
    return form


def line_edit(typed: Mapping[str, str]) -> LineEdit:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    quantity = fields.whole("quantity", "How many", least=0, most=MOST_PIECES, required=True)
    price = fields.money("price", "Price for one")
    fields.done()
    return LineEdit(version, quantity or 0, price or 0)


def delivery_form(typed: Mapping[str, str]) -> DeliveryForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = DeliveryForm(
        quantity=fields.whole("quantity", "How many arrived", least=1, most=MOST_PIECES),
        condition=Condition(
            fields.choice("condition", "Condition", [item.value for item in Condition], default="right")
        ),
        note=fields.text("note", "Note", most=200),
    )
    fields.done()
    return form


def withdrawn(typed: Mapping[str, str]) -> bool:
    """Whether a delivery is to count as withdrawn (`yes`) or put back (`no`). Raises BadInput."""
    fields = Fields(typed)
    answer = fields.choice("withdrawn", "Taken back", ("yes", "no"), default="yes")
    fields.done()
    return answer == "yes"
