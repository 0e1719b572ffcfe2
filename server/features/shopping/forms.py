"""What the builder types on the shopping list."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from server.core.units import Kind
from server.errors import BadInput
from server.features.suppliers.forms import NewOffer, new_offer
from server.web.fields import Fields

MOST_PIECES = 10_000


@dataclass(frozen=True, slots=True)
class OfferedForm:
    """An offer for the thing that `key` names; stock_length: one as sold [m], for what is sold by length."""

    key: str
    offer: NewOffer
    stock_length: float | None


@dataclass(frozen=True, slots=True)
class Asked:
    """One line of the order's sheet: the part, how it is sold, and whether it is a spare."""

    part_id: int
    name: str
    pack: int
    spare: bool


@dataclass(frozen=True, slots=True)
class OrderForm:
    """pieces: how many of each part, by its number, lines and spares together."""

    ordered_on: date
    due_on: date | None
    postage_minor: int
    note: str
    pieces: Mapping[int, int]


def offered_form(typed: Mapping[str, str]) -> OfferedForm:
    """Raises BadInput, with every message of the form."""
    fields = Fields(typed)
    length = fields.quantity(
        "stock_length", "One length", Kind.length, least=0.01, most=20.0, accepts="such as 2 m or 6 ft"
    )
    try:
        offer = new_offer(typed)
    except BadInput as refused:
        raise BadInput((*refused.errors, *fields.errors), typed) from refused
    fields.done()
    return OfferedForm(fields.raw("key"), offer, length.value if length else None)


@dataclass(frozen=True, slots=True)
class SparesForm:
    """So many spares of the part, none where the rule is to say."""

    part_id: int
    spares: int | None


def spares_form(typed: Mapping[str, str]) -> SparesForm:
    """Raises BadInput."""
    fields = Fields(typed)
    spares = fields.whole("spares", "Spares to have", least=0, most=MOST_PIECES)
    fields.done()
    number = fields.raw("key").removeprefix("part:")
    return SparesForm(
        int(number) if number.isascii() and number.isdigit() and len(number) < 10 else 0, spares
    )


@dataclass(frozen=True, slots=True)
class MergeForm:
    """The part, and the one that is bought in its place; none where it is bought itself again."""

    part_id: int
    same_as: int | None


def merge_form(typed: Mapping[str, str]) -> MergeForm:
    """Raises BadInput."""
    fields = Fields(typed)
    part_id = fields.whole("part_id", "The part", least=1, most=MOST_NUMBER, required=True)
    same_as = fields.whole("same_as", "Bought as", least=1, most=MOST_NUMBER)
    fields.done()
    return MergeForm(part_id or 0, same_as)


MOST_NUMBER = 10**9


def quantity_field(asked: Asked) -> str:
    """The name of the field that says how many."""
    return f"{'spares' if asked.spare else 'quantity'}_{asked.part_id}"


def tick_field(part_id: int) -> str:
    """The name of the tick that puts a spare on the order."""
    return f"spare_{part_id}"


def order_form(typed: Mapping[str, str], asked: Sequence[Asked], listed: str, today: date) -> OrderForm:
    """`listed` tells the list as it is now; the sheet says which one it was made from. Raises BadInput."""
    fields = Fields(typed)
    ordered_on = fields.day("ordered_on", "Ordered on") or today
    due_on = fields.day("due_on", "Due")
    if due_on and due_on < ordered_on:
        fields.refuse("due_on", "It can't be due before it was ordered.", "a day after the order's own")
    postage = fields.money("postage", "Postage") or 0
    note = fields.text("note", "Note", most=300)
    pieces: dict[int, int] = {}
    for one in asked:
        count = _pieces(fields, one)
        if count:
            pieces[one.part_id] = pieces.get(one.part_id, 0) + count
    if not pieces and not fields.errors:
        fields.refuse("lines", "An order has at least one line.", "a number of pieces on a line")
    if fields.raw("listed") != listed:
        fields.refuse("lines", _overtaken(fields, asked), "the sheet sent once more")
    fields.done()
    return OrderForm(ordered_on, due_on, postage, note, pieces)


def _overtaken(fields: Fields, asked: Sequence[Asked]) -> str:
    """What is told where the list is no longer the one that the sheet was made from."""
    here = {quantity_field(one) for one in asked}
    gone = [name for name in fields.typed if name.startswith(("quantity_", "spares_")) and name not in here]
    message = "The list changed since this sheet was opened. What you typed stands here; look it over."
    if gone:
        lines = "One line is" if len(gone) == 1 else f"{len(gone)} lines are"
        message += f" {lines} no longer bought here: on order already, or cheaper elsewhere."
    return message


def _pieces(fields: Fields, asked: Asked) -> int:
    if asked.spare and not fields.flag(tick_field(asked.part_id)):
        return 0
    name = quantity_field(asked)
    count = fields.whole(name, asked.name, least=0, most=MOST_PIECES) or 0
    if count % asked.pack:
        fewer, more = count // asked.pack * asked.pack, -(-count // asked.pack) * asked.pack
        fields.refuse(name, f"{asked.name} is sold in {asked.pack}s.", f"{fewer} or {more}")
    return count
