"""Queries on orders, their lines and what arrived of them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any

from sqlalchemy import bindparam
from sqlalchemy import select as select_columns
from sqlmodel import Session, and_, col, select, update

from server.core.buying.exchange import Rate
from server.core.buying.order import DeliveryFace, LineFace, OrderFace, SentBackFace
from server.core.buying.stock import Condition, Wanted
from server.db import plain_rows
from server.errors import NotFound
from server.features.builds.tables import Build
from server.features.orders.tables import Delivery, Order, OrderLine, SentBack
from server.features.parts.tables import Part

__all__ = ["DeliveryFace", "LineFace", "OrderFace", "SentBackFace"]
"""The faces are values of the core; here they are filled."""


def orders(session: Session, build_id: int) -> tuple[OrderFace, ...]:
    """Every order of the build, those set aside too, with lines, deliveries and returns, in two queries."""
    ordered = plain_rows(session, ORDERED, build=build_id)
    returns = session.exec(RETURNS, params={"build": build_id}).all()
    told: dict[int, tuple[Any, ...]] = {}
    lines: defaultdict[int, dict[int, tuple[Any, ...]]] = defaultdict(dict)
    arrived: defaultdict[int, list[DeliveryFace]] = defaultdict(list)
    for values in ordered:
        order, line, delivery = values[:LINE_AT], values[LINE_AT:DELIVERY_AT], values[DELIVERY_AT:]
        told[order[0]] = order
        if line[0] is not None:
            lines[order[0]][line[0]] = line
        if delivery[0] is not None:
            arrived[line[0]].append(_delivery_face(*delivery))
    gone: defaultdict[int, list[SentBackFace]] = defaultdict(list)
    for sent in returns:
        gone[sent.order_line_id].append(_sent_back_face(sent))
    faces = {
        number: tuple(
            _line_face(*line[:RATE_AT], tuple(arrived[key]), tuple(gone[key]), _rate(*line[RATE_AT:]))
            for key, line in own.items()
        )
        for number, own in lines.items()
    }
    return tuple(_order_face(order, faces.get(number, ())) for number, order in told.items())


def _order_face(told: tuple[Any, ...], lines: tuple[LineFace, ...]) -> OrderFace:
    number, version, supplier, ordered_on, due_on, postage, note, removed_at, tax, duty = told
    aside = removed_at is not None
    return OrderFace(number, version, supplier, ordered_on, due_on, postage, note, lines, aside, tax, duty)


def _columns(table: type[Order | OrderLine | Delivery], *names: str) -> tuple[Any, ...]:
    return tuple(getattr(table, name) for name in names)


ORDER = (
    *_columns(Order, "id", "version", "supplier", "ordered_on", "due_on", "postage_minor", "note"),
    *_columns(Order, "removed_at", "tax_minor", "duty_minor"),
)
LINE = (
    *_columns(OrderLine, "id", "version", "order_id"),
    *_columns(Order, "supplier", "due_on"),
    *(OrderLine.part_id, Part.name),
    *_columns(OrderLine, "quantity", "price_minor", "pack", "cancelled"),
    *_columns(OrderLine, "currency", "rate", "rate_source"),
)
DELIVERY = _columns(Delivery, "id", "quantity", "condition", "arrived_on", "note", "withdrawn_at", "noted_at")
"""Columns as their faces have them; read as they come: a mapped object of each takes most of the time."""
ORDERED = (
    select_columns(*ORDER, *LINE, *DELIVERY)
    .join(OrderLine, col(OrderLine.order_id) == Order.id, isouter=True)
    .join(Part, col(Part.id) == OrderLine.part_id, isouter=True)
    .join(Delivery, col(Delivery.order_line_id) == OrderLine.id, isouter=True)
    .where(col(Order.build_id) == bindparam("build"))
    .order_by(col(Order.id), col(OrderLine.id), col(Delivery.id))
)
RETURNS = (
    select(SentBack)
    .join(OrderLine, col(OrderLine.id) == SentBack.order_line_id)
    .join(Order, col(Order.id) == OrderLine.order_id)
    .where(col(Order.build_id) == bindparam("build"))
    .order_by(col(SentBack.id))
)
LINE_AT, DELIVERY_AT = len(ORDER), len(ORDER) + len(LINE)
RATE_AT = len(LINE) - 3

_line_face = lru_cache(maxsize=8192)(LineFace)
"""Most lines say what they said before: then it is the same value again, and what rests on it stands."""


@lru_cache(maxsize=256)
def _rate(currency: str, worth: str, source: str) -> Rate | None:
    return Rate(currency, Decimal(worth), source) if currency else None


@lru_cache(maxsize=8192)
def _delivery_face(
    number: int,
    quantity: int,
    condition: str,
    arrived_on: date,
    note: str,
    withdrawn_at: datetime | None,
    noted_at: datetime,
) -> DeliveryFace:
    withdrawn = withdrawn_at is not None
    return DeliveryFace(number, quantity, Condition(condition), arrived_on, note, withdrawn, noted_at)


@dataclass(frozen=True, slots=True)
class LineTold:
    """A line of an order with the name of its part, and what arrived of it in one go, if anything did."""

    order: Order
    line_id: int
    part: str
    came: Delivery | None


def told(session: Session, build_id: int) -> list[LineTold]:
    """Every line of the orders that were not set aside, once for each delivery that was not taken back.

    In one query.
    """
    counts = and_(col(Delivery.order_line_id) == OrderLine.id, col(Delivery.withdrawn_at).is_(None))
    query = (
        select(Order, OrderLine.id, Part.name, Delivery)
        .join(OrderLine, col(OrderLine.order_id) == Order.id)
        .join(Part, col(Part.id) == OrderLine.part_id)
        .join(Delivery, counts, isouter=True)
        .where(Order.build_id == build_id, col(Order.removed_at).is_(None))
        .order_by(col(Order.id), col(OrderLine.id), col(Delivery.id))
    )
    return [LineTold(order, line_id or 0, part, came) for order, line_id, part, came in session.exec(query)]


@dataclass(frozen=True, slots=True)
class SentBackTold:
    """Something that went back, with what its log entry names."""

    row: SentBack
    part: str
    supplier: str
    order_id: int
    currency: str


def went_back(session: Session, build_id: int) -> list[SentBackTold]:
    """Everything that went back and was not taken back, in one query."""
    query = (
        select(SentBack, Part.name, Order, Build.currency)
        .join(OrderLine, col(OrderLine.id) == SentBack.order_line_id)
        .join(Order, col(Order.id) == OrderLine.order_id)
        .join(Part, col(Part.id) == OrderLine.part_id)
        .join(Build, col(Build.id) == Order.build_id)
        .where(Order.build_id == build_id, col(SentBack.withdrawn_at).is_(None))
    )
    return [
        SentBackTold(row, part, order.supplier, order.key, currency)
        for row, part, order, currency in session.exec(query)
    ]


def _sent_back_face(row: SentBack) -> SentBackFace:
    return SentBackFace(
        row.key,
        row.quantity,
        Condition(row.condition),
        Wanted(row.wants),
        row.sent_on,
        row.refund_minor,
        row.settled_on,
        row.note,
        row.withdrawn_at is not None,
    )


def load_order(session: Session, build_id: int, order_id: int) -> Order:
    """Raises NotFound."""
    row = session.get(Order, order_id)
    if row is None or row.build_id != build_id:
        raise NotFound("There is no such order in this build.")
    return row


def load_line(session: Session, build_id: int, line_id: int) -> OrderLine:
    """Raises NotFound."""
    row = session.get(OrderLine, line_id)
    if row is None:
        raise NotFound("There is no such order line in this build.")
    load_order(session, build_id, row.order_id)
    return row


def load_delivery(session: Session, build_id: int, delivery_id: int) -> Delivery:
    """Raises NotFound."""
    row = session.get(Delivery, delivery_id)
    if row is None:
        raise NotFound("There is no such delivery in this build.")
    load_line(session, build_id, row.order_line_id)
    return row


def load_sent_back(session: Session, build_id: int, sent_id: int) -> SentBack:
    """Raises NotFound."""
    row = session.get(SentBack, sent_id)
    if row is None:
        raise NotFound("Nothing of this build was sent back under that number.")
    load_line(session, build_id, row.order_line_id)
    return row


def add(session: Session, row: Order | OrderLine | Delivery | SentBack) -> int:
    """Store a new row; the number it got."""
    session.add(row)
    session.flush()
    return row.key


def edit_order(session: Session, order_id: int, version: int, values: dict[str, object]) -> bool:
    """Change an order made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(Order)
        .where(col(Order.id) == order_id, col(Order.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def edit_line(session: Session, line_id: int, version: int, values: dict[str, object]) -> bool:
    """Change a line made on `version`; false when somebody else changed it meanwhile."""
    result = session.exec(
        update(OrderLine)
        .where(col(OrderLine.id) == line_id, col(OrderLine.version) == version)
        .values(version=version + 1, **values)
    )
    return bool(result.rowcount)


def set_removed(session: Session, order_id: int, at: datetime | None) -> None:
    """Set an order aside (`at` says when), or put it back (none)."""
    session.exec(update(Order).where(col(Order.id) == order_id).values(removed_at=at))


def set_cancelled(session: Session, line_id: int, pieces: int) -> None:
    """So many pieces of the line will not come."""
    session.exec(update(OrderLine).where(col(OrderLine.id) == line_id).values(cancelled=pieces))


def set_withdrawn(session: Session, delivery_ids: Sequence[int], at: datetime | None) -> None:
    """Take deliveries back (`at` says when), or let them count again (none)."""
    session.exec(update(Delivery).where(col(Delivery.id).in_(delivery_ids)).values(withdrawn_at=at))


def withdraw_sent_back(session: Session, sent_id: int, at: datetime | None) -> None:
    """It was not sent back after all (`at` says when that was said), or it was (none)."""
    session.exec(update(SentBack).where(col(SentBack.id) == sent_id).values(withdrawn_at=at))


def set_refund(session: Session, sent_id: int, minor: int | None, on: date | None) -> None:
    """What came back for pieces sent back, and when; none and none where it did not come after all."""
    session.exec(
        update(SentBack).where(col(SentBack.id) == sent_id).values(refund_minor=minor, settled_on=on)
    )
