"""What the builder types about a parcel, and about what goes back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from server.core.buying.stock import Condition, Wanted
from server.features.orders.forms import MOST_PIECES, condition_of, past_day
from server.web.fields import Fields


@dataclass(frozen=True, slots=True)
class ParcelForm:
    """What one parcel brought: pieces by line and condition; none where it brought all that was owed.

    `seen`: pieces of the order that had been noted when the form was shown; none where that is not said.
    """

    came: Mapping[tuple[int, Condition], int] | None
    note: str
    seen: int | None


@dataclass(frozen=True, slots=True)
class SendingBack:
    """Pieces that go back, as they came."""

    quantity: int
    condition: Condition
    wants: Wanted
    sent_on: date
    note: str


@dataclass(frozen=True, slots=True)
class Refund:
    """Money that came back, in whole minor units."""

    minor: int
    on: date


def parcel_form(typed: Mapping[str, str], line_ids: Sequence[int]) -> ParcelForm:
    """How many of each line came right, wrong and damaged. Raises BadInput."""
    fields = Fields(typed)
    note = fields.text("note", "Note", most=200)
    seen = fields.whole("seen", "Pieces noted before", least=0)
    if fields.flag("all"):
        fields.done()
        return ParcelForm(None, note, seen)
    came = {}
    for line_id in line_ids:
        for condition in Condition:
            name = f"{condition.value}_{line_id}"
            quantity = fields.whole(name, f"How many came {condition.value}", least=0, most=MOST_PIECES)
            if quantity:
                came[line_id, condition] = quantity
    if not came and not fields.errors:
        first = f"right_{line_ids[0]}" if line_ids else "note"
        fields.refuse(first, "Nothing of the order is in this parcel.", "at least one piece of one line")
    fields.done()
    return ParcelForm(came, note, seen)


def sending_back(typed: Mapping[str, str], today: date) -> SendingBack:
    """Raises BadInput."""
    fields = Fields(typed)
    form = SendingBack(
        quantity=fields.whole("quantity", "How many go back", least=1, most=MOST_PIECES, required=True) or 0,
        condition=condition_of(fields),
        wants=Wanted(fields.choice("wants", "You want", [item.value for item in Wanted])),
        sent_on=past_day(fields, "sent_on", "Sent on", today),
        note=fields.text("note", "Note", most=200),
    )
    fields.done()
    return form


def refund(typed: Mapping[str, str], today: date) -> Refund:
    """Raises BadInput."""
    fields = Fields(typed)
    minor = fields.money("refund", "What came back", required=True)
    on = past_day(fields, "settled_on", "It came on", today)
    fields.done()
    return Refund(minor or 0, on)


def pieces_cancelled(typed: Mapping[str, str], least: int, most: int) -> int:
    """How many pieces will not come. Raises BadInput."""
    fields = Fields(typed)
    quantity = fields.whole("quantity", "How many will not come", least=least, most=most, required=True)
    fields.done()
    return quantity or 0
