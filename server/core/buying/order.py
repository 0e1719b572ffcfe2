"""An order as it stands: its lines, what arrived of them in which parcel, what went back, what it cost."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import groupby

from server.core.buying.cost import Lateness, Promise, lateness, line_total, order_total
from server.core.buying.exchange import Rate
from server.core.buying.stock import Arrival, Condition, OrderedPart, Returned, Wanted


@dataclass(frozen=True, slots=True)
class DeliveryFace:
    """What arrived of a line in one go. All that came in one parcel has the same `noted_at`."""

    id: int
    quantity: int
    condition: Condition
    arrived_on: date
    note: str
    withdrawn: bool
    noted_at: datetime


@dataclass(frozen=True, slots=True)
class SentBackFace:
    """Pieces that went back in one go. `refund_minor`: the money that came for them, once it did."""

    id: int
    quantity: int
    condition: Condition
    wants: Wanted
    sent_on: date
    refund_minor: int | None
    settled_on: date | None
    note: str
    withdrawn: bool

    @property
    def money_awaited(self) -> bool:
        return self.wants is Wanted.REFUND and self.settled_on is None and not self.withdrawn


@dataclass(frozen=True, slots=True)
class LineFace:
    """One line of an order. `quantity` counts pieces; `price_minor` is for a pack of `pack` pieces.

    Its price is in the currency of its rate, in the build's own where it has none.
    """

    id: int
    version: int
    order_id: int
    supplier: str
    due_on: date | None
    part_id: int
    part_name: str
    quantity: int
    price_minor: int
    pack: int
    cancelled: int
    deliveries: tuple[DeliveryFace, ...]
    sent_back: tuple[SentBackFace, ...] = ()
    rate: Rate | None = None
    ordered: OrderedPart = field(init=False, repr=False, compare=False)
    """The line as the sums on stock take it."""
    rest: int = field(init=False, repr=False, compare=False)
    """Pieces that the supplier still owes; wrong and damaged ones are owed."""

    @property
    def counted(self) -> tuple[DeliveryFace, ...]:
        """Deliveries that were not taken back."""
        return tuple(one for one in self.deliveries if not one.withdrawn)

    @property
    def gone_back(self) -> tuple[SentBackFace, ...]:
        """What went back, unless that was taken back."""
        return tuple(one for one in self.sent_back if not one.withdrawn)

    def __post_init__(self) -> None:
        """Both are asked for many times over, and a line does not change."""
        object.__setattr__(self, "ordered", self._ordered())
        object.__setattr__(self, "rest", self.ordered.owed)

    def _ordered(self) -> OrderedPart:
        return OrderedPart(
            self.id,
            self.order_id,
            self.part_id,
            self.supplier,
            self.quantity,
            self.due_on,
            tuple(Arrival(one.quantity, one.condition) for one in self.counted),
            self.cancelled,
            tuple(Returned(one.quantity, one.condition, one.wants) for one in self.gone_back),
        )

    @property
    def total_minor(self) -> int:
        """What it costs in the build's currency; at a rate, all of it is turned and rounded once."""
        return self.own_minor(self.foreign_minor)

    @property
    def foreign_minor(self) -> int:
        """What it costs in the currency of its price.

        Pieces whose money came back were paid first, though they were called off too.
        """
        came_back = sum(one.quantity for one in self.gone_back if one.refund_minor is not None)
        left = max(self.quantity - self.cancelled, 0)
        paid = min(max(left, min(self.ordered.right, left) + came_back), self.quantity)
        return line_total(self.quantity, self.quantity - paid, self.pack, self.price_minor)

    def own_minor(self, minor: int) -> int:
        """An amount of the currency of its price in the build's own [minor units]."""
        return minor if self.rate is None else self.rate.to_own(minor)

    @property
    def stands(self) -> str:
        """E.g. "2 of 6 still owed, 1 lies here wrong or damaged", "all here"."""
        there_is = self.ordered
        told = []
        if self.rest:
            told.append(f"{self.rest} of {self.quantity} still owed" if self.counted else f"{self.rest} owed")
        if there_is.over:
            told.append(f"{there_is.over} more than ordered")
        if there_is.unusable:
            lie = "lies" if there_is.unusable == 1 else "lie"
            told.append(f"{there_is.unusable} {lie} here wrong or damaged")
        if self.cancelled:
            told.append(f"{self.cancelled} will not come")
        if any(one.money_awaited for one in self.sent_back):
            told.append("money to come back")
        return ", ".join(told) or ("all here" if there_is.right else "nothing owed")

    def needs(self, delivery_ids: Iterable[int]) -> bool:
        """Pieces of these deliveries went back, so that they can't be said never to have come."""
        without = set(delivery_ids)
        return any(
            sum(one.quantity for one in self.counted if one.condition is how and one.id not in without)
            < sum(one.quantity for one in self.gone_back if one.condition is how)
            for how in Condition
        )


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
    set_aside: bool = False
    tax_minor: int = 0
    duty_minor: int = 0

    @property
    def beside_minor(self) -> int:
        """What was paid beside the goods: postage, tax and duty."""
        return self.postage_minor + self.tax_minor + self.duty_minor

    @property
    def is_open(self) -> bool:
        """Something of it is still owed."""
        return any(line.rest for line in self.lines)

    @property
    def is_waiting(self) -> bool:
        """Something lies here wrong or damaged, or money is to come back."""
        return any(
            line.ordered.unusable or any(one.money_awaited for one in line.sent_back) for line in self.lines
        )

    @property
    def untouched(self) -> bool:
        """Nothing of it arrived."""
        return not any(line.counted or line.gone_back for line in self.lines)

    @property
    def noted(self) -> int:
        """Pieces that were noted as arrived, in whatever condition."""
        return sum(one.quantity for line in self.lines for one in line.counted)

    @property
    def promise(self) -> Promise | None:
        """The promised day and the day on which the last of it came; none where no day was promised."""
        if self.due_on is None or (self.untouched and not self.is_open):
            return None
        days = [
            one.arrived_on for line in self.lines for one in line.counted if one.condition is Condition.RIGHT
        ]
        return Promise(self.due_on, None if self.is_open or not days else max(days))

    @property
    def refunds_minor(self) -> int:
        """Money that came back."""
        return sum(one.refund_minor or 0 for line in self.lines for one in line.gone_back)

    @property
    def total_minor(self) -> int:
        """Lines, postage, tax and duty, less what came back."""
        lines = (line.total_minor for line in self.lines)
        return order_total(lines, self.beside_minor, (self.refunds_minor,))

    def late_days(self, today: date) -> int:
        """Days past the promised day; 0 when in time, undated, or all here."""
        if self.due_on is None or not self.is_open:
            return 0
        return max((today - self.due_on).days, 0)

    def ordered(self) -> tuple[OrderedPart, ...]:
        """Its lines as the sums on stock take them."""
        return tuple(line.ordered for line in self.lines)


def late_first(order: OrderFace) -> tuple[date, int]:
    """Sort key: what was promised first stands first, what has no day last."""
    return (order.due_on or date.max, order.id)


@dataclass(frozen=True, slots=True)
class ParcelFace:
    """What came of an order in one parcel."""

    order: OrderFace
    came: tuple[tuple[LineFace, DeliveryFace], ...]

    @property
    def ids(self) -> tuple[int, ...]:
        return tuple(delivery.id for _, delivery in self.came)

    @property
    def withdrawn(self) -> bool:
        """All of it was taken back."""
        return all(delivery.withdrawn for _, delivery in self.came)


def parcel_of(orders: Sequence[OrderFace], delivery_id: int) -> ParcelFace | None:
    """All that came with one delivery, that one too; none where no order has it."""
    for order in orders:
        all_came = [(line, one) for line in order.lines for one in line.deliveries]
        moments = [one.noted_at for _, one in all_came if one.id == delivery_id]
        if moments:
            return ParcelFace(order, tuple(pair for pair in all_came if pair[1].noted_at == moments[0]))
    return None


def kept_days(orders: Iterable[OrderFace], today: date) -> dict[str, Lateness]:
    """How each supplier keeps the days it promises."""
    promises: defaultdict[str, list[Promise]] = defaultdict(list)
    for order in orders:
        if order.promise is not None:
            promises[order.supplier].append(order.promise)
    return {supplier: lateness(made, today) for supplier, made in promises.items()}


def parcels(order: OrderFace) -> tuple[ParcelFace, ...]:
    """Everything that came of an order, parcel by parcel, the first first."""
    came = sorted(
        ((line, one) for line in order.lines for one in line.deliveries), key=lambda pair: pair[1].noted_at
    )
    moments = groupby(came, key=lambda pair: pair[1].noted_at)
    return tuple(ParcelFace(order, tuple(together)) for _, together in moments)
