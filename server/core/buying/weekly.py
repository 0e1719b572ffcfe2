"""Money by week: spent when it came, committed when it is due, still to come when it must be ordered."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from server.core.buying.listing import Basket
from server.core.buying.order import OrderFace
from server.core.buying.spending import COMMITTED, SPENT, TO_COME, line_parts


@dataclass(frozen=True, slots=True)
class Week:
    """What falls in one week [minor units]. monday: its first day, none for what has no day yet."""

    monday: date | None
    spent_minor: int = 0
    committed_minor: int = 0
    to_come_minor: int = 0

    @property
    def total_minor(self) -> int:
        return self.spent_minor + self.committed_minor + self.to_come_minor


def by_week(
    orders: Iterable[OrderFace], baskets: Iterable[Basket], order_by: Mapping[int, date], today: date
) -> tuple[Week, ...]:
    """The weeks in which money falls, the first first, what has no day last.

    order_by: the last day to order each part, by its number. What arrived falls on the day on which the last
    of its line came, what is owed on its day and what is to be bought on its last day to order, both today at
    the earliest; postage, tax and duty go with the order, postage to come with the first that must be
    ordered. In all it is what `by_subsystem` has. Source: definition (counting).
    """
    found: dict[date | None, list[int]] = {}

    def add(day: date | None, column: int, minor: int) -> None:
        monday = None if day is None else day - timedelta(days=day.weekday())
        found.setdefault(monday, [0, 0, 0])[column] += minor

    for order in orders:
        due = None if order.due_on is None else max(order.due_on, today)
        for line in order.lines:
            spent, committed = line_parts(line)
            add(_last_day(order, [one.arrived_on for one in line.counted]), SPENT, spent)
            add(due, COMMITTED, committed)
        if order.is_open:
            add(due, COMMITTED, order.beside_minor)
        else:
            came = [one.arrived_on for line in order.lines for one in line.counted]
            add(_last_day(order, came), SPENT, order.beside_minor)
    for basket in baskets:
        known = [order_by.get(one.part_id or 0) for one in basket.bought]
        days = [day for day in known if day is not None]
        for one in basket.bought:
            day = order_by.get(one.part_id or 0)
            add(None if day is None else max(day, today), TO_COME, one.cost_minor or 0)
        add(max(min(days), today) if days else None, TO_COME, basket.postage_minor)
    weeks = [Week(monday, *amounts) for monday, amounts in found.items() if any(amounts)]
    return tuple(sorted(weeks, key=lambda one: one.monday or date.max))


def _last_day(order: OrderFace, came: list[date]) -> date:
    return max(came, default=order.ordered_on)
