"""What can be done with parcels: note one, take it back, send pieces back, say what will not come."""

from collections.abc import Mapping
from datetime import datetime

from sqlmodel import Session

from server.core.buying.order import OrderFace, parcel_of
from server.core.buying.stock import Condition, Wanted
from server.errors import BadInput, Clash, FieldError, Stale
from server.features.orders import store
from server.features.orders.service import (
    line_face,
    note_arrivals,
    order_face,
    order_of_line,
    refused_act,
    take_back,
)
from server.features.orders.tables import SentBack
from server.features.parcels import forms
from server.web.words import plain_money


def order_of_return(session: Session, build_id: int, sent_id: int) -> int:
    """The number of the order that pieces sent back came with. Raises NotFound."""
    return order_of_line(session, build_id, store.load_sent_back(session, build_id, sent_id).order_line_id)


def note_parcel(
    session: Session, build_id: int, order_id: int, typed: Mapping[str, str], now: datetime
) -> int | None:
    """Note a whole parcel; the number of its first delivery, or of the last one where nothing was owed.

    Raises NotFound, BadInput, and Stale where something of the order was noted since the form was shown.
    """
    order = order_face(session, build_id, order_id)
    form = forms.parcel_form(typed, [line.id for line in order.lines])
    if form.came is None:
        owed = {(line.id, Condition.RIGHT): line.rest for line in order.lines if line.rest}
        if not owed:
            return max((one.id for line in order.lines for one in line.counted), default=None)
        return note_arrivals(session, order, owed, form.note, now)
    if form.seen not in (None, order.noted):
        raise Stale(_noted_meanwhile(order, form.came), typed)
    return note_arrivals(session, order, form.came, form.note, now)


def _noted_meanwhile(order: OrderFace, came: Mapping[tuple[int, Condition], int]) -> tuple[Clash, ...]:
    lines = {line.id: line for line in order.lines}
    return tuple(
        Clash(
            f"{condition.value}_{line_id}",
            lines[line_id].part_name,
            f"{lines[line_id].rest} owed",
            f"{quantity} came {condition.value}",
        )
        for (line_id, condition), quantity in came.items()
    )


def withdraw_parcel(
    session: Session, build_id: int, delivery_id: int, withdrawn: bool, now: datetime
) -> None:
    """Take back everything that came in the same parcel as a delivery, or let all of it count again.

    Raises NotFound, and BadInput where pieces of it were sent back.
    """
    store.load_delivery(session, build_id, delivery_id)
    parcel = parcel_of(store.orders(session, build_id), delivery_id)
    if parcel is not None:
        changed = [one.id for _, one in parcel.came if one.withdrawn != withdrawn]
        take_back(session, parcel.order, changed, withdrawn, now)


# what goes back, and what will not come


def send_back(
    session: Session,
    build_id: int,
    line_id: int,
    form: forms.SendingBack,
    typed: Mapping[str, str],
    now: datetime,
) -> int:
    """Send pieces of a line back; the number it got. Raises NotFound, BadInput where fewer are here."""
    _, line = line_face(session, build_id, line_id)
    here = line.ordered.kept(form.condition)
    if form.quantity > here:
        message = f"{form.quantity} can't go back: {here or 'none'} of it lie here {form.condition.value}."
        accepts = f"1 to {here}" if here > 1 else "1" if here else "pieces that came so"
        raise BadInput((FieldError("quantity", message, accepts),), typed)
    row = SentBack(
        order_line_id=line_id,
        quantity=form.quantity,
        condition=form.condition.value,
        wants=form.wants.value,
        sent_on=form.sent_on,
        noted_at=now,
        note=form.note,
    )
    return store.add(session, row)


def withdraw_return(session: Session, build_id: int, sent_id: int, withdrawn: bool, now: datetime) -> None:
    """It was not sent back after all, or it was. Raises NotFound, BadInput where those pieces are gone."""
    sent = store.load_sent_back(session, build_id, sent_id)
    if withdrawn == (sent.withdrawn_at is not None):
        return
    _, line = line_face(session, build_id, sent.order_line_id)
    if not withdrawn and line.ordered.kept(Condition(sent.condition)) < sent.quantity:
        raise refused_act("So many of it no longer lie here.", "send back those that do")
    store.withdraw_sent_back(session, sent_id, now if withdrawn else None)


def note_refund(session: Session, build_id: int, sent_id: int, form: forms.Refund) -> None:
    """Money came back for pieces sent back. Raises NotFound, BadInput where it was not asked for."""
    sent = store.load_sent_back(session, build_id, sent_id)
    if sent.withdrawn_at is not None or sent.wants != Wanted.REFUND:
        raise refused_act("No money was asked for these pieces.", "pieces sent back for their money")
    if sent.settled_on is not None and (sent.refund_minor, sent.settled_on) != (form.minor, form.on):
        was = f"{plain_money(sent.refund_minor)} came back on {sent.settled_on}"
        raise refused_act(f"It was noted already that {was}.", "another amount, once that is taken back")
    store.set_refund(session, sent_id, form.minor, form.on)


def no_refund(session: Session, build_id: int, sent_id: int) -> None:
    """The money did not come back after all. Raises NotFound."""
    store.load_sent_back(session, build_id, sent_id)
    store.set_refund(session, sent_id, None, None)


def call_off(session: Session, build_id: int, line_id: int, typed: Mapping[str, str]) -> None:
    """So many of what is owed will not come. Raises NotFound, BadInput."""
    _, line = line_face(session, build_id, line_id)
    if not line.rest:
        raise refused_act("Nothing of it is owed any more.", "a line of which something is owed")
    more = forms.pieces_cancelled(typed, 1, line.rest)
    store.set_cancelled(session, line_id, line.cancelled + more)


def expect_again(session: Session, build_id: int, line_id: int) -> None:
    """What was called off of a line will come after all. Raises NotFound."""
    store.load_line(session, build_id, line_id)
    store.set_cancelled(session, line_id, 0)
