"""Queries on orders, their lines and what arrived of them."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, and_, col, select, update

from server.core.buying.order import DeliveryFace, LineFace, OrderFace, SentBackFace
from server.core.buying.stock import Condition, Wanted
from server.errors import NotFound
from server.features.builds.tables import Build
from server.features.orders.tables import Delivery, Order, OrderLine, SentBack
from server.features.parts.tables import Part

__all__ = ["DeliveryFace", "LineFace", "OrderFace", "SentBackFace"]
"""The faces are values of the core; here they are filled."""


def orders(session: Session, build_id: int) -> tuple[OrderFace, ...]:
    """Every order of the build, those set aside too, with lines, deliveries and returns, in two queries."""
    ordered = session.exec(
        select(Order, OrderLine, Part.name, Delivery)
        .join(OrderLine, col(OrderLine.order_id) == Order.id, isouter=True)
        .join(Part, col(Part.id) == OrderLine.part_id, isouter=True)
        .join(Delivery, col(Delivery.order_line_id) == OrderLine.id, isouter=True)
        .where(Order.build_id == build_id)
        .order_by(col(Order.id), col(OrderLine.id), col(Delivery.id))
    ).all()
    returns = session.exec(
        select(SentBack)
        .join(OrderLine, col(OrderLine.id) == SentBack.order_line_id)
        .join(Order, col(Order.id) == OrderLine.order_id)
        .where(Order.build_id == build_id)
        .order_by(col(SentBack.id))
    ).all()
    arrived: defaultdict[int, list[DeliveryFace]] = defaultdict(list)
    for _, _, _, delivery in ordered:
        if delivery is not None:
            arrived[delivery.order_line_id].append(_delivery_face(delivery))
    gone: defaultdict[int, list[SentBackFace]] = defaultdict(list)
    for sent in returns:
        gone[sent.order_line_id].append(_sent_back_face(sent))
    rows = {}
    of_order: defaultdict[int, dict[int, LineFace]] = defaultdict(dict)
    for order, line, part_name, _ in ordered:
        rows[order.key] = order
        if line is not None and line.key not in of_order[order.key]:
            face = _line_face(order, line, part_name, arrived[line.key], gone[line.key])
            of_order[order.key][line.key] = face
    return tuple(_order_face(row, of_order[row.key].values()) for row in rows.values())


def _order_face(row: Order, lines: Iterable[LineFace]) -> OrderFace:
    return OrderFace(
        row.key,
        row.version,
        row.supplier,
        row.ordered_on,
        row.due_on,
        row.postage_minor,
        row.note,
        tuple(lines),
        row.removed_at is not None,
    )


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


def _line_face(
    order: Order, row: OrderLine, part_name: str, deliveries: list[DeliveryFace], gone: list[SentBackFace]
) -> LineFace:
    return LineFace(
        row.key,
        row.version,
        row.order_id,
        order.supplier,
        order.due_on,
        row.part_id,
        part_name,
        row.quantity,
        row.price_minor,
        row.pack,
        row.cancelled,
        tuple(deliveries),
        tuple(gone),
    )


def _delivery_face(row: Delivery) -> DeliveryFace:
    return DeliveryFace(
        row.key,
        row.quantity,
        Condition(row.condition),
        row.arrived_on,
        row.note,
        row.withdrawn_at is not None,
        row.noted_at,
    )


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
