"""What the builder types about orders, and what arrived of a line."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from server.core.buying.exchange import DECIMALS, MOST, Rate, worth
from server.core.buying.stock import Condition
from server.web.fields import Fields, one_of_two

NEW_LINES = 6
"""Lines that the form for a new order offers; more can be added on the order's own sheet."""
MOST_PIECES = 10_000
MOST_AHEAD = timedelta(days=2 * 365)


@dataclass(frozen=True, slots=True)
class OrderForm:
    """Money in whole minor units; tax and duty as the bills say."""

    supplier: str
    ordered_on: date
    due_on: date | None
    postage_minor: int
    note: str
    tax_minor: int = 0
    duty_minor: int = 0


@dataclass(frozen=True, slots=True)
class LineForm:
    """So many pieces of the part of that name; `price_minor` is for a pack of `pack` pieces.

    It is in the currency of `rate`, in the build's own where there is none.
    """

    part_name: str
    quantity: int
    price_minor: int
    pack: int
    rate: Rate | None = None


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
    pack: int
    rate: Rate | None


@dataclass(frozen=True, slots=True)
class DeliveryForm:
    """What arrived of a line; `quantity` none for all that is still owed."""

    quantity: int | None
    condition: Condition
    note: str


def _order(fields: Fields, today: date) -> OrderForm:
    form = OrderForm(
        supplier=fields.text("supplier", "The supplier", most=80, required=True),
        ordered_on=past_day(fields, "ordered_on", "Ordered on", today),
        due_on=fields.day("due_on", "Due"),
        postage_minor=fields.money("postage", "Postage") or 0,
        note=fields.text("note", "Note", most=300),
        tax_minor=fields.money("tax", "Tax") or 0,
        duty_minor=fields.money("duty", "Duty") or 0,
    )
    if form.due_on and form.due_on < form.ordered_on:
        fields.refuse("due_on", "It can't be due before it was ordered.", "a day after the order's own")
    if form.due_on and form.due_on > today + MOST_AHEAD:
        fields.refuse("due_on", "That is more than two years ahead.", "a day within two years, or none")
    return form


def past_day(fields: Fields, name: str, label: str, today: date) -> date:
    """Today where nothing was typed; a day to come is refused."""
    day = fields.day(name, label) or today
    if day > today:
        fields.refuse(name, f"{label}: {day} is still to come.", "today, or a day before it")
    return day


def _line(fields: Fields, own: str, mark: str = "", above: Rate | None = None) -> LineForm:
    """above: the rate of the line before, which this one shares where it names that currency alone."""
    quantity, pack = _pieces(fields, mark, least=1)
    part_name = fields.text(f"part{mark}", "The part", most=120, required=True)
    price_minor, rate = _price(fields, own, mark, above)
    return LineForm(part_name, quantity, price_minor, pack, rate)


def _price(fields: Fields, own: str, mark: str = "", above: Rate | None = None) -> tuple[int, Rate | None]:
    """A price in minor units, with its rate where it is in another currency than the build's `own`."""
    code = fields.raw(f"currency{mark}").upper()
    if code and code not in DECIMALS:
        message = f"“{code[:12]}” is no currency code."
        fields.refuse(f"currency{mark}", message, f"three letters of ISO 4217, such as GBP; none for {own}")
        return 0, None
    foreign = "" if code == own else code
    minor = fields.money(f"price{mark}", "Price", currency=foreign) or 0
    typed, source = fields.raw(f"rate{mark}"), fields.raw(f"rate_source{mark}")
    if not foreign:
        if typed:
            message = f"{own} is the build's own currency." if code else "Which currency is this rate for?"
            fields.refuse(
                f"currency{mark}", message, f"another currency's code, or no rate: 1 {own} is 1 {own}"
            )
        return minor, None
    if above is not None and above.currency == foreign and not (typed or source):
        return minor, above
    return minor, _rate(fields, own, mark, foreign)


def _rate(fields: Fields, own: str, mark: str, foreign: str) -> Rate | None:
    source = fields.text(f"rate_source{mark}", "The rate's source", most=80, required=True)
    typed = fields.raw(f"rate{mark}")
    found = worth(typed)
    if found is None:
        such = f"what 1 {foreign} is worth in {own}: above zero, up to {MOST}, such as 1.163 or 0,0061"
        message = f"“{typed[:40]}” is no rate." if typed else f"What is 1 {foreign} worth in {own}?"
        fields.refuse(f"rate{mark}", message, such)
        return None
    return Rate(foreign, found, source)


def _pieces(fields: Fields, mark: str = "", *, least: int, required: bool = False) -> tuple[int, int]:
    """How many pieces, and how many come in a pack; only whole packs can be ordered."""
    pack = fields.whole(f"pack{mark}", "Pieces in a pack", least=1, most=MOST_PIECES) or 1
    quantity = fields.whole(f"quantity{mark}", "How many", least=least, most=MOST_PIECES, required=required)
    if quantity is None:
        return pack, pack
    if quantity % pack:
        whole = -(-quantity // pack) * pack
        message = f"{quantity} is no whole number of packs of {pack}."
        fields.refuse(f"quantity{mark}", message, f"pieces in whole packs, such as {whole}")
    return quantity, pack


def new_order(typed: Mapping[str, str], today: date, own: str) -> NewOrder:
    """Lines without a part's name, number and price are left out; `own`: the build's currency.

    Raises BadInput.
    """
    fields = Fields(typed)
    form = _order(fields, today)
    marks = [f"_{number}" for number in range(1, NEW_LINES + 1)]
    filled = [
        mark for mark in marks if any(fields.raw(f"{name}{mark}") for name in ("part", "quantity", "price"))
    ]
    if not filled:
        fields.refuse("part_1", "An order has at least one part.", "the name of a part, new or known")
    lines: list[LineForm] = []
    for mark in filled:
        lines.append(_line(fields, own, mark, lines[-1].rate if lines else None))
    fields.done()
    return NewOrder(form, tuple(lines))


def order_edit(typed: Mapping[str, str], today: date) -> OrderEdit:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    form = _order(fields, today)
    fields.done()
    return OrderEdit(version, form)


def line_form(typed: Mapping[str, str], own: str) -> LineForm:
    """`own`: the build's currency. Raises BadInput."""
    fields = Fields(typed)
    form = _line(fields, own)
    fields.done()
    return form


def line_edit(typed: Mapping[str, str], own: str) -> LineEdit:
    """`own`: the build's currency. Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    quantity, pack = _pieces(fields, least=0, required=True)
    price_minor, rate = _price(fields, own)
    fields.done()
    return LineEdit(version, quantity, price_minor, pack, rate)


def delivery_form(typed: Mapping[str, str]) -> DeliveryForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = DeliveryForm(
        quantity=fields.whole("quantity", "How many arrived", least=1, most=MOST_PIECES),
        condition=condition_of(fields),
        note=fields.text("note", "Note", most=200),
    )
    fields.done()
    return form


def condition_of(fields: Fields) -> Condition:
    allowed = [item.value for item in Condition]
    return Condition(fields.choice("condition", "Condition", allowed, default="right"))


def withdrawn(typed: Mapping[str, str]) -> bool:
    """Whether something is to count as taken back (`yes`) or as it was (`no`). Raises BadInput."""
    return one_of_two(typed, "withdrawn", "Taken back", usual="yes")
