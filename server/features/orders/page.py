"""Pages about orders: what is in the post, what is late, what arrived."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Protocol

from server.core.buying.stock import Condition
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Link, News, Page
from server.web.words import day_text, days_late, money, pieces, plain_money

LABELS = {
    "supplier": "Supplier",
    "ordered_on": "Ordered on",
    "due_on": "Due",
    "postage": "Postage",
    "note": "Note",
}
LINE_LABELS = {"quantity": "How many", "price": "Price for one"}
CONDITION_WORDS = {Condition.RIGHT: "", Condition.WRONG: "wrong part", Condition.DAMAGED: "damaged"}


class DeliveryFace(Protocol):
    @property
    def id(self) -> int: ...
    @property
    def quantity(self) -> int: ...
    @property
    def condition(self) -> Condition: ...
    @property
    def arrived_on(self) -> date: ...
    @property
    def note(self) -> str: ...
    @property
    def withdrawn(self) -> bool: ...


class LineFace(Protocol):
    @property
    def id(self) -> int: ...
    @property
    def version(self) -> int: ...
    @property
    def part_id(self) -> int: ...
    @property
    def part_name(self) -> str: ...
    @property
    def quantity(self) -> int: ...
    @property
    def price_minor(self) -> int: ...
    @property
    def deliveries(self) -> Sequence[DeliveryFace]: ...
    @property
    def rest(self) -> int: ...


class OrderFace(Protocol):
    """What a page needs to know of an order."""

    @property
    def id(self) -> int: ...
    @property
    def version(self) -> int: ...
    @property
    def supplier(self) -> str: ...
    @property
    def ordered_on(self) -> date: ...
    @property
    def due_on(self) -> date | None: ...
    @property
    def postage_minor(self) -> int: ...
    @property
    def note(self) -> str: ...
    @property
    def lines(self) -> Sequence[LineFace]: ...
    @property
    def is_open(self) -> bool: ...
    def late_days(self, today: date) -> int: ...


@dataclass(frozen=True, slots=True)
class Arrived:
    """Something that arrived of a line."""

    id: int
    text: str
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an order. `text` names quantity and part; `rest` is what is still owed."""

    id: int
    version: int
    part: Link
    text: str
    quantity: int
    price: str
    price_typed: str
    rest: int
    arrived: tuple[Arrived, ...]
    form: FormState


@dataclass(frozen=True, slots=True)
class RefusedForm:
    """A form that was refused, and which one of the sheet's: the order's own, a new line's, or one line's."""

    refused: Refused | None = None
    line_id: int | None = None
    new_line: bool = False

    def of_order(self) -> FormState:
        whole = self.line_id is None and not self.new_line
        return FormState.of(self.refused if whole else None)

    def of_new_line(self) -> FormState:
        return FormState.of(self.refused if self.new_line else None)

    def of_line(self, line_id: int) -> FormState:
        return FormState.of(self.refused if self.line_id == line_id else None)


@dataclass(frozen=True, slots=True)
class OrderCard:
    """One order. `due` says when it comes: "due Thu 3 Dec", "2 days late"."""

    id: int
    href: str
    supplier: str
    due: str
    late_days: int
    about: str
    open_lines: tuple[Line, ...]
    arrived_lines: tuple[Line, ...]


@dataclass(frozen=True, kw_only=True)
class OrdersPage(Page):
    """What is in the post, late first; what arrived; and the form for a new order."""

    template: ClassVar[str] = "orders/list.html"
    fragments: ClassVar[dict[str, str]] = {"order-list": "order_list"}

    build_id: int
    currency: str
    today: date
    late: int
    in_post: tuple[OrderCard, ...]
    arrived: tuple[OrderCard, ...]
    part_names: tuple[str, ...]
    new_lines: int
    news: News | None
    form: FormState


@dataclass(frozen=True, kw_only=True)
class OrderPage(Page):
    """One order: its lines, what arrived of them, what it cost."""

    template: ClassVar[str] = "orders/order.html"

    build_id: int
    id: int
    version: int
    supplier: str
    ordered_on: date
    due_on: date | None
    postage: str
    note: str
    currency: str
    due: str
    late_days: int
    lines: tuple[Line, ...]
    total: str
    part_names: tuple[str, ...]
    form: FormState
    new_line: FormState


def due_text(due: date | None, late: int) -> str:
    if late:
        return days_late(late)
    return f"due {day_text(due)}" if due else "no day promised"


def delivery_text(delivery: DeliveryFace) -> str:
    """E.g. "2 arrived Mon 23 Nov, damaged: bead crushed"."""
    words = f"{delivery.quantity} arrived {day_text(delivery.arrived_on)}"
    if CONDITION_WORDS[delivery.condition]:
        words += f", {CONDITION_WORDS[delivery.condition]}"
    return f"{words}: {delivery.note}" if delivery.note else words


def _line(build: Face, line: LineFace, refused: RefusedForm) -> Line:
    return Line(
        line.id,
        line.version,
        Link(urls.part(build.id, line.part_id), line.part_name),
        pieces(line.rest or line.quantity, line.part_name),
        line.quantity,
        money(line.price_minor, build.currency) if line.price_minor else "",
        plain_money(line.price_minor),
        line.rest,
        tuple(Arrived(one.id, delivery_text(one), one.withdrawn) for one in line.deliveries),
        refused.of_line(line.id),
    )


def total_minor(order: OrderFace) -> int:
    return order.postage_minor + sum(line.quantity * line.price_minor for line in order.lines)


def order_card(build: Face, order: OrderFace, today: date, refused: RefusedForm) -> OrderCard:
    late = order.late_days(today)
    total = total_minor(order)
    lines = tuple(_line(build, line, refused) for line in order.lines)
    about = [f"ordered {day_text(order.ordered_on)}"]
    if late and order.due_on:
        about.append(f"was due {day_text(order.due_on)}")
    if total:
        about.append(money(total, build.currency))
    return OrderCard(
        order.id,
        urls.order(build.id, order.id),
        order.supplier,
        due_text(order.due_on, late),
        late,
        " · ".join(about),
        tuple(line for line in lines if line.rest),
        tuple(line for line in lines if not line.rest),
    )


def late_first(order: OrderFace) -> tuple[date, int]:
    """Sort key: what was promised first stands first, what has no day last."""
    return (order.due_on or date.max, order.id)


def in_post(
    build: Face, orders: Sequence[OrderFace], today: date, refused: RefusedForm
) -> tuple[OrderCard, ...]:
    """The open orders, the latest ones first."""
    still_open = sorted((order for order in orders if order.is_open), key=late_first)
    return tuple(order_card(build, order, today, refused) for order in still_open)


def orders_page(
    build: Face,
    orders: Sequence[OrderFace],
    part_names: tuple[str, ...],
    new_lines: int,
    today: date,
    news: News | None,
    refused: RefusedForm,
) -> OrdersPage:
    coming = in_post(build, orders, today, refused)
    here = [order for order in reversed(orders) if not order.is_open]
    return OrdersPage(
        **heading(build, "Orders", today),
        build_id=build.id,
        currency=build.currency,
        today=today,
        late=sum(1 for card in coming if card.late_days),
        in_post=coming,
        arrived=tuple(order_card(build, order, today, refused) for order in here),
        part_names=part_names,
        new_lines=new_lines,
        news=news,
        form=refused.of_order(),
    )


def order_page(
    build: Face, order: OrderFace, part_names: tuple[str, ...], today: date, refused: RefusedForm
) -> OrderPage:
    late = order.late_days(today)
    return OrderPage(
        **heading(build, "Order", today, within="Orders", note=order.supplier),
        build_id=build.id,
        id=order.id,
        version=order.version,
        supplier=order.supplier,
        ordered_on=order.ordered_on,
        due_on=order.due_on,
        postage=plain_money(order.postage_minor),
        note=order.note,
        currency=build.currency,
        due=due_text(order.due_on, late) if order.is_open else "all here",
        late_days=late,
        lines=tuple(_line(build, line, refused) for line in order.lines),
        total=money(total_minor(order), build.currency),
        part_names=part_names,
        form=refused.of_order(),
        new_line=refused.of_new_line(),
    )
