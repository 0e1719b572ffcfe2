"""Pages about orders: what is in the post, what is late, what arrived, what goes back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from server.core.buying.exchange import Rate
from server.core.buying.order import (
    DeliveryFace,
    LineFace,
    OrderFace,
    ParcelFace,
    SentBackFace,
    kept_days,
    late_first,
    parcels,
)
from server.core.buying.stock import Condition, Wanted
from server.errors import Refused
from server.features.builds.page import Face, heading
from server.web import urls
from server.web.view import FormState, Link, News, Option, Page
from server.web.words import counted, day_text, due_text, money, pieces, plain_money

LABELS = {"supplier": "Supplier", "ordered_on": "Ordered on", "due_on": "Due", "note": "Note"} | {
    "postage": "Postage",
    "tax": "Tax on top",
    "duty": "Duty and handling",
}
LINE_LABELS = {"quantity": "How many", "pack": "Pieces in a pack", "price": "Price"}
LINE_LABELS |= {"currency": "Currency", "rate": "Rate", "rate_source": "Where the rate is from"}
CONDITION_WORDS = {Condition.RIGHT: "", Condition.WRONG: ", wrong part", Condition.DAMAGED: ", damaged"}
WANTED_WORDS = {Wanted.REPLACEMENT: "a replacement is asked for", Wanted.REFUND: "its money is asked for"}
SHOWN_COMING = 8
SHOWN_SETTLED = 20


@dataclass(frozen=True, slots=True)
class Arrived:
    """Something that arrived of a line, or a whole parcel by its first delivery."""

    id: int
    text: str
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class WentBack:
    """Pieces that went back. `refund`: what they cost, to be typed over, where money is still to come."""

    id: int
    text: str
    withdrawn: bool
    money_awaited: bool
    money_came: bool
    refund: str
    form: FormState


@dataclass(frozen=True, slots=True)
class Line:
    """One line of an order. `text`: how many of what is owed, else here; `here` could go back.

    `foreign`: what it costs in the currency of its price at its rate.
    """

    id: int
    version: int
    part: Link
    text: str
    quantity: int
    pack: int
    price: str
    price_typed: str
    rate: Rate | None
    foreign: str
    total: str
    rest: int
    right: int
    unusable: int
    cancelled: int
    stands: str
    arrived: tuple[Arrived, ...]
    went_back: tuple[WentBack, ...]
    here: tuple[Option, ...]
    form: FormState
    back_form: FormState
    off_form: FormState


@dataclass(frozen=True, slots=True)
class RefusedForm:
    """A form that was refused: the order's own, or `part` of a line or sheet with the number `line_id`."""

    refused: Refused | None = None
    line_id: int | None = None
    part: str = ""

    def of(self, part: str, number: int | None = None) -> FormState:
        mine = self.part == part and self.line_id == number
        return FormState.of(self.refused if mine else None)

    @property
    def message(self) -> str:
        """What is told at the head of the sheet where one tap was refused, with no field beside it."""
        return str(self.refused) if self.refused is not None and "withdrawn" in self.refused.typed else ""


@dataclass(frozen=True, slots=True)
class OrderCard:
    """One order. `due` says when it comes: "due Thu 3 Dec", "2 days late"; `seen`: pieces noted so far."""

    id: int
    href: str
    supplier: str
    due: str
    late_days: int
    about: str
    partly: str
    habit: str
    seen: int
    open_lines: tuple[Line, ...]
    arrived_lines: tuple[Line, ...]
    waiting: tuple[str, ...]
    form: FormState


@dataclass(frozen=True, slots=True)
class From:
    """How many of the orders that are coming, and of those that are settled, stand on sheets before this."""

    coming: int = 0
    settled: int = 0


@dataclass(frozen=True, kw_only=True)
class OrdersPage(Page):
    """What is in the post, late first; what waits for the supplier; what is settled; a new order."""

    template: ClassVar[str] = "orders/list.html"
    fragments: ClassVar[dict[str, str]] = {"order-list": "order_list"}

    build_id: int
    currency: str
    today: date
    coming: int
    late: int
    partly: int
    in_post: tuple[OrderCard, ...]
    more_coming: Link | None
    waiting: tuple[OrderCard, ...]
    settled: int
    arrived: tuple[OrderCard, ...]
    more_settled: Link | None
    unfolded: bool
    set_aside: tuple[OrderCard, ...]
    spent: str
    came_back: str
    part_names: tuple[str, ...]
    suppliers: tuple[str, ...]
    new_lines: int
    news: News | None
    message: str
    form: FormState


@dataclass(frozen=True, kw_only=True)
class OrderPage(Page):
    """One order: the parcel to note, its lines and what became of them, what it cost."""

    template: ClassVar[str] = "orders/order.html"

    build_id: int
    id: int
    version: int
    ordered_on: date
    due_on: date | None
    postage: str
    tax: str
    duty: str
    note: str
    currency: str
    today: date
    card: OrderCard
    lines: tuple[Line, ...]
    parcels: tuple[Arrived, ...]
    is_open: bool
    total: str
    refunds: str
    untouched: bool
    set_aside: bool
    part_names: tuple[str, ...]
    news: News | None
    message: str
    form: FormState
    new_line: FormState


def delivery_text(delivery: DeliveryFace) -> str:
    """E.g. "2 arrived Mon 23 Nov, damaged: bead crushed". What is right leaves the note to its parcel."""
    how = CONDITION_WORDS[delivery.condition]
    words = f"{delivery.quantity} arrived {day_text(delivery.arrived_on)}{how}"
    return f"{words}: {delivery.note}" if how and delivery.note else words


def _parcel_text(parcel: ParcelFace) -> str:
    """E.g. "Sun 22 Nov: 11 parts. The box was open"."""
    first = parcel.came[0][1]
    words = f"{day_text(first.arrived_on)}: {counted(len({line.id for line, _ in parcel.came}), 'part')}"
    return f"{words}. {first.note}" if first.note else words


def sent_back_text(sent: SentBackFace, currency: str) -> str:
    """E.g. "1 sent back Mon 23 Nov, wrong part; its money is asked for"."""
    words = f"{sent.quantity} sent back {day_text(sent.sent_on)}{CONDITION_WORDS[sent.condition]}"
    came = sent.settled_on and f"{money(sent.refund_minor, currency)} came back {day_text(sent.settled_on)}"
    words += f"; {came or WANTED_WORDS[sent.wants]}"
    return f"{words}: {sent.note}" if sent.note else words


def _line(build: Face, line: LineFace, refused: RefusedForm) -> Line:
    there_is = line.ordered
    here = [(how, there_is.kept(how)) for how in (Condition.WRONG, Condition.DAMAGED, Condition.RIGHT)]
    of_pack = f" for {line.pack}" if line.pack > 1 else " each"
    currency = line.rate.currency if line.rate else build.currency
    return Line(
        line.id,
        line.version,
        Link(urls.part(build.id, line.part_id), line.part_name),
        pieces(line.rest or there_is.right or line.quantity, line.part_name),
        line.quantity,
        line.pack,
        money(line.price_minor, currency) + of_pack if line.price_minor else "",
        plain_money(line.price_minor, currency),
        line.rate,
        (line.rate and f"{money(line.foreign_minor, currency)} at {line.rate.words(build.currency)}") or "",
        money(line.total_minor, build.currency) if line.total_minor else "",
        line.rest,
        there_is.right,
        there_is.unusable,
        line.cancelled,
        line.stands,
        tuple(Arrived(one.id, delivery_text(one), one.withdrawn) for one in line.deliveries),
        tuple(_went_back(build, line, one, refused) for one in line.sent_back),
        tuple(Option(how.value, f"{how.value} ({count} here)") for how, count in here if count),
        refused.of("", line.id),
        refused.of("back", line.id),
        refused.of("off", line.id),
    )


def _went_back(build: Face, line: LineFace, sent: SentBackFace, refused: RefusedForm) -> WentBack:
    return WentBack(
        sent.id,
        sent_back_text(sent, build.currency),
        sent.withdrawn,
        sent.money_awaited,
        sent.settled_on is not None and not sent.withdrawn,
        plain_money(line.own_minor(sent.quantity * line.price_minor // line.pack)),
        refused.of("refund", sent.id),
    )


def order_card(
    build: Face, order: OrderFace, today: date, refused: RefusedForm, habit: str = ""
) -> OrderCard:
    late = order.late_days(today)
    lines = tuple(_line(build, line, refused) for line in order.lines)
    about = [f"ordered {day_text(order.ordered_on)}"]
    if late and order.due_on:
        about.append(f"was due {day_text(order.due_on)}")
    if order.total_minor:
        about.append(money(order.total_minor, build.currency))
    partly = "partly here" if order.is_open and not order.untouched else ""
    return OrderCard(
        order.id,
        urls.order(build.id, order.id),
        order.supplier,
        due_text(order.due_on, late),
        late,
        " · ".join(about),
        partly,
        habit,
        order.noted,
        tuple(line for line in lines if line.rest),
        tuple(line for line in lines if not line.rest),
        _waiting(build, order),
        refused.of("parcel", order.id),
    )


def _waiting(build: Face, order: OrderFace) -> tuple[str, ...]:
    """What lies here to go back, and what money is awaited."""
    told = []
    for line in order.lines:
        unusable = line.ordered.unusable
        if unusable:
            told.append(f"Wrong or damaged, still here: {pieces(unusable, line.part_name)}")
        awaited = [one for one in line.sent_back if one.money_awaited]
        told += [f"{line.part_name}: {sent_back_text(one, build.currency)}" for one in awaited]
    return tuple(told)


def orders_page(
    build: Face,
    orders: Sequence[OrderFace],
    part_names: tuple[str, ...],
    new_lines: int,
    today: date,
    news: News | None,
    refused: RefusedForm,
    start: From,
) -> OrdersPage:
    stand = [order for order in orders if not order.set_aside]
    habits = {supplier: kept.words for supplier, kept in kept_days(stand, today).items()}

    def cards(some: Sequence[OrderFace]) -> tuple[OrderCard, ...]:
        return tuple(
            order_card(build, order, today, refused, habits.get(order.supplier, "")) for order in some
        )

    coming = sorted((order for order in stand if order.is_open), key=late_first)
    over = [order for order in reversed(stand) if not order.is_open]
    waiting = [order for order in stand if order.is_waiting]
    settled = [order for order in over if not order.is_waiting]
    refunds = sum(order.refunds_minor for order in stand)
    return OrdersPage(
        **heading(build, "Orders", today),
        build_id=build.id,
        currency=build.currency,
        today=today,
        coming=len(coming),
        late=sum(1 for order in coming if order.late_days(today)),
        partly=sum(1 for order in coming if not order.untouched),
        in_post=cards(coming[start.coming : start.coming + SHOWN_COMING]),
        more_coming=_more(build, start, len(coming)),
        waiting=cards(waiting),
        settled=len(settled),
        arrived=cards(settled[start.settled : start.settled + SHOWN_SETTLED]),
        more_settled=_more(build, start, len(settled), settled=True),
        unfolded=bool(start.settled),
        set_aside=cards([order for order in orders if order.set_aside]),
        spent=money(sum(order.total_minor for order in stand), build.currency) if stand else "",
        came_back=money(refunds, build.currency) if refunds else "",
        part_names=part_names,
        suppliers=tuple(dict.fromkeys(order.supplier for order in reversed(orders))),
        new_lines=new_lines,
        news=news,
        message=refused.message,
        form=refused.of(""),
    )


def _more(build: Face, start: From, total: int, *, settled: bool = False) -> Link | None:
    """The sheet with the orders that come after those shown; none where there are no more."""
    here, step = (start.settled, SHOWN_SETTLED) if settled else (start.coming, SHOWN_COMING)
    left = total - here - step
    if left <= 0:
        return None
    after = here + step
    where = urls.orders_from(build.id, 0, after) if settled else urls.orders_from(build.id, after, 0)
    return Link(where, f"The next {min(left, step)} of {total}")


def order_page(
    build: Face,
    order: OrderFace,
    part_names: tuple[str, ...],
    today: date,
    refused: RefusedForm,
    news: News | None,
) -> OrderPage:
    return OrderPage(
        **heading(build, "Order", today, within="Orders", note=order.supplier),
        build_id=build.id,
        id=order.id,
        version=order.version,
        ordered_on=order.ordered_on,
        due_on=order.due_on,
        postage=plain_money(order.postage_minor),
        tax=plain_money(order.tax_minor or None),
        duty=plain_money(order.duty_minor or None),
        note=order.note,
        currency=build.currency,
        today=today,
        card=order_card(build, order, today, refused),
        lines=tuple(_line(build, line, refused) for line in order.lines),
        parcels=tuple(Arrived(one.ids[0], _parcel_text(one), one.withdrawn) for one in parcels(order)),
        is_open=order.is_open,
        total=money(order.total_minor, build.currency),
        refunds=money(order.refunds_minor, build.currency) if order.refunds_minor else "",
        untouched=order.untouched,
        set_aside=order.set_aside,
        part_names=part_names,
        news=news,
        message=refused.message,
        form=refused.of(""),
        new_line=refused.of("new line"),
    )
