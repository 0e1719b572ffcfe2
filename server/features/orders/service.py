"""What can be done with orders and deliveries, and their pages."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import datetime

from sqlmodel import Session

from server.core.buying.stock import Condition
from server.errors import NotFound, Stale
from server.features.builds.service import build_face, clashes
from server.features.builds.store import BuildFace
from server.features.orders import forms, page, store
from server.features.orders.store import OrderFace
from server.features.orders.tables import Delivery, Order, OrderLine
from server.features.parts.service import part_faces, part_named
from server.web import urls
from server.web.view import Happening, News
from server.web.words import pieces, plain_money

TellNews = Callable[[Session, BuildFace, str, datetime], News | None]
"""Works out what a sheet begins with after an act. Tasks decide that, so it is handed in from above."""

FIRST_SHOWN = page.RefusedForm()


def order_faces(session: Session, build_id: int) -> tuple[OrderFace, ...]:
    """Every order of the build with lines and deliveries, in three queries."""
    return store.orders(session, build_id)


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """What arrived, for the log, in one query."""
    return tuple(
        Happening(
            delivery.noted_at,
            _arrival_text(delivery, part, supplier),
            urls.orders(build_id),
        )
        for delivery, part, supplier in store.arrived(session, build_id)
    )


def _arrival_text(delivery: Delivery, part: str, supplier: str) -> str:
    condition = "" if delivery.condition == Condition.RIGHT else f", {delivery.condition}"
    return f"Arrived from {supplier}: {pieces(delivery.quantity, part)}{condition}"


def add_order(session: Session, build_id: int, new: forms.NewOrder) -> int:
    """A new order; parts it names that are not known yet become parts to buy. Raises NotFound."""
    build_face(session, build_id)
    order_id = store.add(session, Order(build_id=build_id, **asdict(new.form)))
    for line in new.lines:
        _add_line(session, build_id, order_id, line)
    return order_id


def add_line(session: Session, build_id: int, order_id: int, form: forms.LineForm) -> int:
    """Raises NotFound."""
    store.load_order(session, build_id, order_id)
    return _add_line(session, build_id, order_id, form)


def _add_line(session: Session, build_id: int, order_id: int, form: forms.LineForm) -> int:
    price = form.price_minor or None
    part_id = part_named(session, build_id, form.part_name, price_minor=price)
    line = OrderLine(order_id=order_id, part_id=part_id, quantity=form.quantity, price_minor=form.price_minor)
    return store.add(session, line)


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
    minor = values["postage_minor"]
    due = values["due_on"] or ""
    return {**values, "due_on": due, "postage": plain_money(minor if isinstance(minor, int) else None)}


def edit_line(
    session: Session, build_id: int, line_id: int, edit: forms.LineEdit, typed: Mapping[str, str]
) -> None:
    """Raises NotFound, Stale with both values of every field that differs."""
    stands = store.load_line(session, build_id, line_id)
    values: dict[str, object] = {"quantity": edit.quantity, "price_minor": edit.price_minor}
    if not store.edit_line(session, line_id, edit.version, values):
        there = {"quantity": stands.quantity, "price": plain_money(stands.price_minor)}
        wanted = {"quantity": edit.quantity, "price": plain_money(edit.price_minor)}
        raise Stale(clashes(page.LINE_LABELS, wanted, there), typed)
    session.expire(stands)


def order_of_line(session: Session, build_id: int, line_id: int) -> int:
    """The number of the order that a line belongs to. Raises NotFound."""
    return store.load_line(session, build_id, line_id).order_id


def deliver(
    session: Session, build_id: int, line_id: int, form: forms.DeliveryForm, now: datetime
) -> int | None:
    """Note what arrived of a line; the delivery's number, or none where all of it had arrived before.

    Raises NotFound.
    """
    store.load_line(session, build_id, line_id)
    line = _line_of(store.orders(session, build_id), line_id)
    quantity = form.quantity or line.rest
    if not quantity:
        return line.counted[-1].id if line.counted else None
    row = Delivery(
        order_line_id=line_id,
        quantity=quantity,
        condition=form.condition.value,
        arrived_on=now.date(),
        noted_at=now,
        note=form.note,
    )
    return store.add(session, row)


def _line_of(orders: tuple[OrderFace, ...], line_id: int) -> store.LineFace:
    return next(line for order in orders for line in order.lines if line.id == line_id)


def withdraw(session: Session, build_id: int, delivery_id: int, withdrawn: bool, now: datetime) -> None:
    """Take a delivery back, or let it count again. Raises NotFound."""
    delivery = store.load_delivery(session, build_id, delivery_id)
    if withdrawn != (delivery.withdrawn_at is not None):
        store.set_withdrawn(session, delivery_id, now if withdrawn else None)


def orders_page(
    session: Session,
    build_id: int,
    now: datetime,
    news: News | None = None,
    refused: page.RefusedForm = FIRST_SHOWN,
) -> page.OrdersPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    names = tuple(part.name for part in part_faces(session, build_id))
    orders = store.orders(session, build_id)
    return page.orders_page(build, orders, names, forms.NEW_LINES, now.date(), news, refused)


def order_page(
    session: Session,
    build_id: int,
    order_id: int,
    now: datetime,
    refused: page.RefusedForm = FIRST_SHOWN,
) -> page.OrderPage:
    """Raises NotFound."""
    build = build_face(session, build_id)
    order = next((one for one in store.orders(session, build_id) if one.id == order_id), None)
    if order is None:
        raise NotFound("There is no such order in this build.")
    names = tuple(part.name for part in part_faces(session, build_id))
    return page.order_page(build, order, names, now.date(), refused)
