"""Queries on orders, their lines and what arrived of them."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select, update

from server.core.buying.stock import Arrival, Condition, OrderedPart
from server.errors import NotFound
from server.features.orders.tables import Delivery, Order, OrderLine
from server.features.parts.tables import Part


@dataclass(frozen=True, slots=True)
class DeliveryFace:
    """What arrived of a line in one go."""

    id: int
    quantity: int
    condition: Condition
    arrived_on: date
    note: str
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class LineFace:
    """One line of an order. `price_minor` is for one."""

    id: int
    version: int
    part_id: int
    part_name: str
    quantity: int
    price_minor: int
    deliveries: tuple[DeliveryFace, ...]

    @property
    def counted(self) -> tuple[DeliveryFace, ...]:
        """Deliveries that were not taken back."""
        return tuple(one for one in self.deliveries if not one.withdrawn)

    @property
    def rest(self) -> int:
        """Pieces that the supplier still owes; wrong and damaged ones are owed."""
        right = sum(one.quantity for one in self.counted if one.condition is Condition.RIGHT)
        return max(self.quantity - right, 0)


@dataclass(frozen=True, slots=True)
class OrderFace:
    """An order as the other features see it."""

    id: int
    version: int
    supplier: str
    ordered_on: date
    due_on: date | None
    postage_minor: int
    note: str
    lines: tuple[LineFace, ...]

    @property
    def is_open(self) -> bool:
        """Something of it is still owed."""
        return any(line.rest for line in self.lines)

    def late_days(self, today: date) -> int:
        """Days past the promised day; 0 when in time, undated, or all here."""
        if self.due_on is None or not self.is_open:
            return 0
        return max((today - self.due_on).days, 0)

    def ordered(self) -> tuple[OrderedPart, ...]:
        """Its lines as the sums on stock take them."""
        return tuple(
            OrderedPart(
                line.id,
                self.id,
                line.part_id,
                self.supplier,
                line.quantity,
                self.due_on,
                tuple(Arrival(one.quantity, one.condition) for one in line.counted),
            )
            for line in self.lines
        )


def orders(session: Session, build_id: int) -> tuple[OrderFace, ...]:
    """Every order of the build with its lines and deliveries, in three queries."""
    rows = session.exec(select(Order).where(Order.build_id == build_id).order_by(col(Order.id))).all()
    lines = session.exec(
        select(OrderLine, Part.name)
        .join(Order, col(Order.id) == OrderLine.order_id)
        .join(Part, col(Part.id) == OrderLine.part_id)
        .where(Order.build_id == build_id)
        .order_by(col(OrderLine.id))
    ).all()
    deliveries = session.exec(
        select(Delivery)
        .join(OrderLine, col(OrderLine.id) == Delivery.order_line_id)
        .join(Order, col(Order.id) == OrderLine.order_id)
        .where(Order.build_id == build_id)
        .order_by(col(Delivery.id))
    ).all()
    arrived: defaultdict[int, list[DeliveryFace]] = defaultdict(list)
    for delivery in deliveries:
        arrived[delivery.order_line_id].append(_delivery_face(delivery))
    of_order: defaultdict[int, list[LineFace]] = defaultdict(list)
    for line, part_name in lines:
        of_order[line.order_id].append(_line_face(line, part_name, arrived[line.key]))
    return tuple(
        OrderFace(
            row.key,
            row.version,
            row.supplier,
            row.ordered_on,
            row.due_on,
            row.postage_minor,
            row.note,
            tuple(of_order[row.key]),
        )
        for row in rows
    )


def arrived(session: Session, build_id: int) -> list[tuple[Delivery, str, str]]:
    """Every delivery that was not taken back, with its part's name and its supplier."""
    query = (
        select(Delivery, Part.name, Order.supplier)
        .join(OrderLine, col(OrderLine.id) == Delivery.order_line_id)
        .join(Order, col(Order.id) == OrderLine.order_id)
        .join(Part, col(Part.id) == OrderLine.part_id)
        .where(Order.build_id == build_id, col(Delivery.withdrawn_at).is_(None))
    )
    return [(delivery, part, supplier) for delivery, part, supplier in session.exec(query)]


def _line_face(row: OrderLine, part_name: str, deliveries: list[DeliveryFace]) -> LineFace:
    return LineFace(
        row.key, row.version, row.part_id, part_name, row.quantity, row.price_minor, tuple(deliveries)
    )


def _delivery_face(row: Delivery) -> DeliveryFace:
    return DeliveryFace(
        row.key,
        row.quantity,
        Condition(row.condition),
        row.arrived_on,
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


def add(session: Session, row: Order | OrderLine | Delivery) -> int:
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


def set_withdrawn(session: Session, delivery_id: int, at: datetime | None) -> None:
    """Take a delivery back (`at` says when), or let it count again (none)."""
    session.exec(update(Delivery).where(col(Delivery.id) == delivery_id).values(withdrawn_at=at))
