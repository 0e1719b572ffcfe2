"""What can be done with orders, parcels and what goes back, and their pages."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby
from typing import Any

from sqlmodel import Session

from server.core.buying.cost import packs
from server.core.buying.exchange import Rate
from server.core.buying.order import LineFace, OrderFace
from server.core.buying.stock import Condition, Wanted
from server.errors import BadInput, FieldError, NotFound, Stale
from server.features.builds.service import build_face, clashes, kept
from server.features.builds.store import BuildFace
from server.features.orders import forms, page, store
from server.features.orders.tables import Delivery, Order, OrderLine
from server.features.parts.service import known_parts, part_named
from server.web import urls
from server.web.view import Happening, News, Undo
from server.web.words import counted, day_text, money, pieces, plain_money

TellNews = Callable[[Session, BuildFace, str, datetime], News | None]
"""Works out what a sheet begins with after an act. Tasks decide that, so it is handed in from above."""

FIRST_SHOWN = page.RefusedForm()
FROM_THE_TOP = page.From()


@dataclass(frozen=True, slots=True)
class NewLine:
    """So many pieces of a known part; `price_minor` is for a pack of `pack` pieces at `rate`."""

    part_id: int
    quantity: int
    price_minor: int = 0
    pack: int = 1
    rate: Rate | None = None


def order_faces(session: Session, build_id: int) -> tuple[OrderFace, ...]:
    """Every order that was not set aside, with lines, deliveries and returns, in two queries."""
    return tuple(order for order in store.orders(session, build_id) if not order.set_aside)


def known_orders(session: Session, build: BuildFace) -> tuple[OrderFace, ...]:
    """Every order, those set aside too; read once for each state of the build."""
    return kept(build, ("orders",), lambda: store.orders(session, build.id))


def _part_names(session: Session, build: BuildFace) -> tuple[str, ...]:
    return tuple(part.name for part in known_parts(session, build) if not part.set_aside)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What was ordered, arrived and went back, and what money came back, for the log, in two queries."""
    told = []
    for _, rows in groupby(store.told(session, build_id), key=lambda row: row.order.key):
        told += _told_of_order(build_id, list(rows))
    for sent in store.went_back(session, build_id):
        told += _told_of_return(sent, urls.order(build_id, sent.order_id))
    return tuple(told)


def _told_of_order(build_id: int, rows: Sequence[store.LineTold]) -> list[Happening]:
    """Of an order only the day is known: it was placed at noon, or before what came of it on that day."""
    order, where = rows[0].order, urls.order(build_id, rows[0].order.key)
    came = [(row.came, row.part) for row in rows if row.came is not None]
    first = min((one.noted_at for one, _ in came if one.noted_at.date() == order.ordered_on), default=None)
    noon = datetime.combine(order.ordered_on, time(12), UTC)
    placed = noon if first is None else min(noon, first - timedelta(seconds=1))
    lines = counted(len({row.line_id for row in rows}), "line")
    due = f", due {day_text(order.due_on)}" if order.due_on else ""
    text = f"Ordered from {order.supplier}: {lines}{due}"
    told = [Happening(one.noted_at, _arrival_text(one, part, order.supplier), where) for one, part in came]
    return [*told, Happening(placed, text, where, day_only=True)]


def _told_of_return(sent: store.SentBackTold, where: str) -> list[Happening]:
    row = sent.row
    what = pieces(row.quantity, sent.part)
    text = f"Sent back to {sent.supplier}: {what}{_as_it_came(row.condition)}"
    told = [Happening(row.noted_at, f"{text}; {page.WANTED_WORDS[Wanted(row.wants)]}", where)]
    if row.settled_on is not None:
        # Only the day is known: noon, and never before it was sent back.
        noon = datetime.combine(row.settled_on, time(12), UTC)
        text = f"{money(row.refund_minor, sent.currency)} came back from {sent.supplier}: {what}"
        told.append(Happening(max(noon, row.noted_at), text, where, day_only=True))
    return told


def _arrival_text(delivery: Delivery, part: str, supplier: str) -> str:
    what = pieces(delivery.quantity, part)
    return f"Arrived from {supplier}: {what}{_as_it_came(delivery.condition)}"


def _as_it_came(condition: str) -> str:
    return "" if condition == Condition.RIGHT else f", {condition}"


# orders


def place_order(
    session: Session,
    build_id: int,
    supplier: str,
    ordered_on: date,
    due_on: date | None,
    postage_minor: int,
    lines: Sequence[NewLine],
    note: str = "",
    tax_minor: int = 0,
    duty_minor: int = 0,
) -> int:
    """A new order of known parts; the number it got. Pieces are rounded up to whole packs.

    Raises NotFound.
    """
    build_face(session, build_id)
    order = Order(
        build_id=build_id,
        supplier=supplier,
        ordered_on=ordered_on,
        due_on=due_on,
        postage_minor=postage_minor,
        note=note,
        tax_minor=tax_minor,
        duty_minor=duty_minor,
    )
    order_id = store.add(session, order)
    for line in lines:
        _add_line(session, order_id, line)
    return order_id


def _add_line(session: Session, order_id: int, line: NewLine) -> int:
    row = OrderLine(
        order_id=order_id,
        part_id=line.part_id,
        quantity=packs(line.quantity, line.pack) * line.pack,
        price_minor=line.price_minor,
        pack=line.pack,
        currency=line.rate.currency if line.rate else "",
        rate=line.rate.number if line.rate else "",
        rate_source=line.rate.source if line.rate else "",
    )
    return store.add(session, row)


def add_order(session: Session, build_id: int, new: forms.NewOrder) -> int:
    """A new order; parts it names that are not known yet become parts to buy. Raises NotFound."""
    lines = [_of_named_part(session, build_id, line) for line in new.lines]
    return place_order(session, build_id, **asdict(new.form), lines=lines)


def add_line(session: Session, build_id: int, order_id: int, form: forms.LineForm) -> int:
    """Raises NotFound."""
    store.load_order(session, build_id, order_id)
    return _add_line(session, order_id, _of_named_part(session, build_id, form))


def _of_named_part(session: Session, build_id: int, form: forms.LineForm) -> NewLine:
    own_minor = form.price_minor if form.rate is None else form.rate.to_own(form.price_minor)
    for_one = round(own_minor / form.pack) or None
    part_id = part_named(session, build_id, form.part_name, price_minor=for_one)
    return NewLine(part_id, form.quantity, form.price_minor, form.pack, form.rate)


def edit_order(
    session: Session, build_id: int, order_id: int, edit: forms.OrderEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, Stale with both values of every field that differs."""
    stands = store.load_order(session, build_id, order_id)
    values = asdict(edit.form)
    if not store.edit_order(session, order_id, edit.version, values):
        raise Stale(clashes(page.LABELS, _as_shown(values), _as_shown(stands.model_dump())), typed)
    session.expire(stands)


def _as_shown(values: Mapping[str, object]) -> dict[str, object]:
    shown: dict[str, object] = {**values, "due_on": values["due_on"] or ""}
    for name in ("postage", "tax", "duty"):
        minor = values[f"{name}_minor"]
        shown[name] = plain_money(minor if isinstance(minor, int) else None)
    return shown


def edit_line(
    session: Session, build_id: int, line_id: int, edit: forms.LineEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, Stale with both values of every field that differs."""
    stands = store.load_line(session, build_id, line_id)
    values: dict[str, object] = {
        "quantity": edit.quantity,
        "price_minor": edit.price_minor,
        "pack": edit.pack,
        "currency": edit.rate.currency if edit.rate else "",
        "rate": edit.rate.number if edit.rate else "",
        "rate_source": edit.rate.source if edit.rate else "",
    }
    if not store.edit_line(session, line_id, edit.version, values):
        raise Stale(clashes(page.LINE_LABELS, _line_shown(values), _line_shown(stands.model_dump())), typed)
    session.expire(stands)


def _line_shown(values: Mapping[str, Any]) -> dict[str, object]:
    return {**values, "price": plain_money(values["price_minor"], values["currency"])}


def order_of_line(session: Session, build_id: int, line_id: int) -> int:
    """The number of the order that a line belongs to. Raises NotFound."""
    return store.load_line(session, build_id, line_id).order_id


def order_of_delivery(session: Session, build_id: int, delivery_id: int) -> int:
    """The number of the order that a delivery was of. Raises NotFound."""
    return order_of_line(session, build_id, store.load_delivery(session, build_id, delivery_id).order_line_id)


def set_aside(session: Session, build_id: int, order_id: int, aside: bool, now: datetime) -> None:
    """Set an order aside that was typed by mistake, or put it back.

    Raises NotFound, and BadInput where something of it arrived.
    """
    order = order_face(session, build_id, order_id)
    if aside and not order.untouched:
        message = "Something of this order arrived, so it is not set aside."
        raise refused_act(message, "an order of which nothing came")
    if aside != order.set_aside:
        store.set_removed(session, order_id, now if aside else None)


def refused_act(message: str, accepts: str) -> BadInput:
    """One tap that can't be done; the message stands at the head of the sheet."""
    return BadInput((FieldError("withdrawn", message, accepts),), {"withdrawn": ""})


def order_face(session: Session, build_id: int, order_id: int) -> OrderFace:
    """Raises NotFound."""
    return _order_of(store.orders(session, build_id), order_id)


def _order_of(orders: Sequence[OrderFace], order_id: int) -> OrderFace:
    """Raises NotFound."""
    order = next((one for one in orders if one.id == order_id), None)
    if order is None:
        raise NotFound("There is no such order in this build.")
    return order


def line_face(session: Session, build_id: int, line_id: int) -> tuple[OrderFace, LineFace]:
    """Raises NotFound."""
    order = order_face(session, build_id, order_of_line(session, build_id, line_id))
    return order, next(line for line in order.lines if line.id == line_id)


# what arrives


def deliver(
    session: Session, build_id: int, line_id: int, form: forms.DeliveryForm, now: datetime
) -> int | None:
    """Note what arrived of a line; the delivery's number, or none where all of it had arrived before.

    Raises NotFound.
    """
    order, line = line_face(session, build_id, line_id)
    quantity = form.quantity or line.rest
    if not quantity:
        return line.counted[-1].id if line.counted else None
    return note_arrivals(session, order, {(line_id, form.condition): quantity}, form.note, now)


def note_arrivals(
    session: Session,
    order: OrderFace,
    came: Mapping[tuple[int, Condition], int],
    note: str,
    now: datetime,
) -> int:
    """Store one parcel: all its rows share a moment that no other parcel of the order has."""
    if order.set_aside:  # what arrives was ordered after all
        store.set_removed(session, order.id, None)
    before = {one.noted_at for line in order.lines for one in line.deliveries}
    moment = now
    while moment in before:
        moment += timedelta(microseconds=1)
    rows = [
        Delivery(
            order_line_id=line_id,
            quantity=quantity,
            condition=condition.value,
            arrived_on=now.date(),
            noted_at=moment,
            note=note,
        )
        for (line_id, condition), quantity in came.items()
    ]
    return min([store.add(session, row) for row in rows])


def withdraw(session: Session, build_id: int, delivery_id: int, withdrawn: bool, now: datetime) -> None:
    """Take a delivery back, or let it count again.

    Raises NotFound, and BadInput where pieces of it were sent back.
    """
    delivery = store.load_delivery(session, build_id, delivery_id)
    if withdrawn != (delivery.withdrawn_at is not None):
        order, _ = line_face(session, build_id, delivery.order_line_id)
        take_back(session, order, [delivery_id], withdrawn, now)


def take_back(
    session: Session, order: OrderFace, delivery_ids: Sequence[int], withdrawn: bool, now: datetime
) -> None:
    for line in order.lines:
        if withdrawn and line.needs(delivery_ids):
            message = f"Some of it was sent back already: {line.part_name}."
            raise refused_act(message, "undo the sending back first, on the order's sheet")
    if not withdrawn and order.set_aside:  # as in `note_arrivals`
        store.set_removed(session, order.id, None)
    store.set_withdrawn(session, delivery_ids, now if withdrawn else None)


# pages


def orders_page(
    session: Session,
    build_id: int,
    now: datetime,
    news: News | None = None,
    refused: page.RefusedForm = FIRST_SHOWN,
    told: str = "",
    start: page.From = FROM_THE_TOP,
) -> page.OrdersPage:
    """`news` as tasks tell it; where they have none, what an order knows of `told`. Raises NotFound."""
    build = build_face(session, build_id)
    news = news or _news_of_order(build, known_orders(session, build), told)

    def make() -> page.OrdersPage:
        orders, names = known_orders(session, build), _part_names(session, build)
        return page.orders_page(build, orders, names, forms.NEW_LINES, now.date(), None, refused, start)

    if refused.refused is not None:
        return replace(make(), news=news)
    return replace(kept(build, ("orders page", now.date(), start), make), news=news)


def _news_of_order(build: BuildFace, orders: Sequence[OrderFace], told: str) -> News | None:
    """After an order was set aside ("order-7") or put back."""
    order = next((one for one in orders if told == f"order-{one.id}"), None)
    if order is None:
        return None
    where = urls.order_removal(build.id, order.id)
    if order.set_aside:
        undo = Undo(where, (("withdrawn", "no"),), "Put it back")
        return News(f"Set aside: the order from {order.supplier}.", "Nothing of it counts.", undo=undo)
    undo = Undo(where, (("withdrawn", "yes"),), "Set it aside")
    return News(f"Put back: the order from {order.supplier}.", undo=undo)


def order_page(
    session: Session,
    build_id: int,
    order_id: int,
    now: datetime,
    news: News | None = None,
    refused: page.RefusedForm = FIRST_SHOWN,
) -> page.OrderPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    names = _part_names(session, build)
    order = _order_of(known_orders(session, build), order_id)
    return page.order_page(build, order, names, now.date(), refused, news)
