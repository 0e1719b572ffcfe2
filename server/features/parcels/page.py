"""What a sheet begins with after an order or a parcel was noted, or pieces were sent back or called off."""

import re
from collections.abc import Sequence
from dataclasses import replace

from server.core.buying.order import DeliveryFace, LineFace, OrderFace, ParcelFace, SentBackFace, parcel_of
from server.core.buying.stock import Condition, Wanted
from server.features.builds.page import Face
from server.features.orders.page import WANTED_WORDS
from server.web import urls
from server.web.view import News, Undo
from server.web.words import counted, day_text, money, pieces

NAMED = 3
"""So many lines of a parcel are named; more are counted."""
TOLD = re.compile(r"(ordered|parcel|back|refund|off)-([0-9]{1,9})")


def news_of(build: Face, orders: Sequence[OrderFace], told: str) -> News | None:
    """`told` names what was done: "ordered-4", "parcel-7" by its first delivery, "back-3", "refund-3", and
    "off-9" by the line.

    Which tasks became ready is not known here.
    """
    named = TOLD.fullmatch(told)
    if named is None:
        return None
    kind, number = named[1], int(named[2])
    if kind == "ordered":
        return next((_ordered(build, order) for order in orders if order.id == number), None)
    if kind == "parcel":
        parcel = parcel_of(orders, number)
        return None if parcel is None else news_of_parcel(build, parcel)
    for line in (line for order in orders for line in order.lines):
        if kind == "off" and line.id == number:
            return _called_off(build, line)
        for sent in line.sent_back if kind != "off" else ():
            if sent.id == number:
                return _went_back(build, line, sent) if kind == "back" else _refunded(build, line, sent)
    return None


def _ordered(build: Face, order: OrderFace) -> News:
    """E.g. "Order noted: Millrace Tube, 3 lines, due Thu 3 Dec."; undone as long as nothing of it came."""
    due = f", due {day_text(order.due_on)}" if order.due_on else ""
    text = f"Order noted: {order.supplier}, {counted(len(order.lines), 'line')}{due}."
    undo = Undo(urls.order_removal(build.id, order.id), (("withdrawn", "yes"),), "Undo")
    return News(text, "It counts as on order from now on.", undo=undo if order.untouched else None)


def news_of_parcel(build: Face, parcel: ParcelFace) -> News:
    """What came, what did not, and the way back."""
    order = parcel.order
    where = urls.parcel_withdrawal(build.id, order.id, parcel.ids[0])
    came = [(line, one) for line, one in parcel.came if not one.withdrawn]
    if not came:
        undo = Undo(where, (("withdrawn", "no"),), "It is here after all")
        return News(f"Taken back: the parcel from {order.supplier}.", "It counts as not arrived.", undo=undo)
    undo = Undo(where, (("withdrawn", "yes"),), "Undo the whole parcel" if len(came) > 1 else "Undo")
    return News(f"Noted from {order.supplier}: {_what_came(parcel)}.", _what_is_open(parcel), undo=undo)


def _what_came(parcel: ParcelFace) -> str:
    """E.g. "4 × T-bolt clamp; wrong: elbow"; of many lines "41 pieces of 6 parts, of them damaged: bolt"."""
    came = [(line, one) for line, one in parcel.came if not one.withdrawn]
    right = [(line, one) for line, one in came if one.condition is Condition.RIGHT]
    others = []
    for condition in (Condition.WRONG, Condition.DAMAGED):
        found = [(line, one) for line, one in came if one.condition is condition]
        others += [f"{condition.value}: {_named_or_counted(found)}"] if found else []
    if len(right) > NAMED and others:
        return f"{_named_or_counted(came)}, of them {'; '.join(others)}"
    return "; ".join([_named_or_counted(right), *others] if right else others)


def _named_or_counted(came: Sequence[tuple[LineFace, DeliveryFace]]) -> str:
    if len(came) <= NAMED:
        return ", ".join(pieces(one.quantity, line.part_name) for line, one in came)
    number = sum(one.quantity for _, one in came)
    return f"{counted(number, 'piece')} of {counted(len({line.part_id for line, _ in came}), 'part')}"


def _what_is_open(parcel: ParcelFace) -> str:
    """What the order still owes, and of what more came than was ordered."""
    owed = [line for line in parcel.order.lines if line.rest]
    over = dict.fromkeys(line for line, one in parcel.came if not one.withdrawn and line.ordered.over)
    told = []
    if owed:
        names = ", ".join(pieces(line.rest, line.part_name) for line in owed[:3])
        more = f" and {len(owed) - 3} more" if len(owed) > 3 else ""
        told.append(f"Still to come: {names}{more}.")
        due = parcel.order.due_on
        counts = f"It counts as due {day_text(due)}" if due else "No day is noted for it"
        told.append(f"{counts}; say another under ‘Change the order’ on the order's sheet.")
    else:
        told.append("Nothing of this order is owed any more.")
    if over:
        names = ", ".join(pieces(line.ordered.over, line.part_name) for line in over)
        told.append(f"More than ordered, kept: {names}.")
    return " ".join(told)


def _went_back(build: Face, line: LineFace, sent: SentBackFace) -> News:
    what = pieces(sent.quantity, line.part_name)
    where = urls.return_withdrawal(build.id, sent.id)
    if sent.withdrawn:
        undo = Undo(where, (("withdrawn", "no"),), "It was sent back after all")
        return News(f"Taken back: {what} was not sent back.", undo=undo)
    undo = Undo(where, (("withdrawn", "yes"),), "Undo")
    owed = "It is owed again." if sent.wants is Wanted.REPLACEMENT else "It is no longer owed."
    return News(f"Sent back: {what}; {WANTED_WORDS[sent.wants]}.", owed, undo=undo)


def _refunded(build: Face, line: LineFace, sent: SentBackFace) -> News:
    if sent.settled_on is None:
        return News(f"The money for {pieces(sent.quantity, line.part_name)} is still to come back.")
    undo = Undo(urls.refund_removal(build.id, sent.id), (), "Undo")
    came = money(sent.refund_minor, build.currency)
    return News(f"{came} came back for {pieces(sent.quantity, line.part_name)}.", undo=undo)


def _called_off(build: Face, line: LineFace) -> News:
    where = urls.calling_off(build.id, line.id)
    if not line.cancelled:
        return News(f"{pieces(line.rest or line.quantity, line.part_name)} will come after all.")
    undo = Undo(where, (("withdrawn", "yes"),), "Undo")
    return News(
        f"Will not come: {pieces(line.cancelled, line.part_name)}.", "It is no longer owed.", undo=undo
    )


def without(orders: Sequence[OrderFace], delivery_ids: Sequence[int]) -> tuple[OrderFace, ...]:
    """The orders as they would stand had these deliveries not come."""

    def line(whole: LineFace) -> LineFace:
        left = tuple(one for one in whole.deliveries if one.id not in delivery_ids)
        return replace(whole, deliveries=left)

    return tuple(replace(order, lines=tuple(line(row) for row in order.lines)) for order in orders)
