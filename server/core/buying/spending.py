"""Money by subsystem: what is spent, what is on order, and what is still to be bought."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.core.buying.listing import Basket
from server.core.buying.order import LineFace, OrderFace
from server.core.buying.wants import Call

CAR = "The whole car"
"""Parts that work on the whole car calls for, or nothing does."""
BESIDE = "Postage, tax and duty"


@dataclass(frozen=True, slots=True)
class Spending:
    """What one subsystem costs [minor units]: spent on what is here, committed to what is owed, to come."""

    name: str
    spent_minor: int = 0
    committed_minor: int = 0
    to_come_minor: int = 0

    @property
    def total_minor(self) -> int:
        return self.spent_minor + self.committed_minor + self.to_come_minor


def owners(calls: Iterable[Call]) -> dict[int, tuple[str, ...]]:
    """The subsystems that call, or called, for each part, by part number, in order of their names."""
    found: dict[int, set[str]] = {}
    for call in calls:
        if call.thing.part_id is not None and call.who.subsystem:
            found.setdefault(call.thing.part_id, set()).add(call.who.subsystem)
    return {part: tuple(sorted(names)) for part, names in found.items()}


def split(minor: int, names: tuple[str, ...]) -> dict[str, int]:
    """An amount in equal shares of whole minor units, the first ones a unit more where it does not divide."""
    each, over = divmod(minor, len(names))
    return {name: each + (at < over) for at, name in enumerate(names)}


def line_parts(line: LineFace) -> tuple[int, int]:
    """Of what an order line costs: spent on pieces that came, committed to what is owed [minor units]."""
    total = line.total_minor
    counted = max(line.quantity - line.cancelled, 1)
    committed = total * min(line.rest, counted) // counted
    back = sum(one.refund_minor or 0 for one in line.gone_back)
    return total - committed - back, committed


SPENT, COMMITTED, TO_COME = range(3)


class _Book:
    """The amounts of each row as they come in."""

    def __init__(self, owners: Mapping[int, tuple[str, ...]]) -> None:
        self.owners = owners
        self.rows: dict[str, list[int]] = {}

    def add(self, name: str, column: int, minor: int) -> None:
        self.rows.setdefault(name, [0, 0, 0])[column] += minor

    def share(self, part_id: int | None, column: int, minor: int) -> None:
        """Add it to those that call for the part."""
        for name, each in split(minor, self.owners.get(part_id or 0) or (CAR,)).items():
            self.add(name, column, each)


def by_subsystem(
    owners: Mapping[int, tuple[str, ...]], orders: Iterable[OrderFace], baskets: Iterable[Basket]
) -> tuple[Spending, ...]:
    """Each subsystem's money, the dearest first, the whole car and what is paid beside goods last.

    A part that several subsystems call for is shared equally. Source: definition (counting).
    """
    book = _Book(owners)
    for order in orders:
        for line in order.lines:
            spent, committed = line_parts(line)
            book.share(line.part_id, SPENT, spent)
            book.share(line.part_id, COMMITTED, committed)
        book.add(BESIDE, COMMITTED if order.is_open else SPENT, order.beside_minor)
    for basket in baskets:
        for one in basket.bought:
            book.share(one.part_id, TO_COME, one.cost_minor or 0)
        book.add(BESIDE, TO_COME, basket.postage_minor)
    rows = [Spending(name, *amounts) for name, amounts in book.rows.items() if any(amounts)]
    return tuple(
        sorted(rows, key=lambda one: (one.name == BESIDE, one.name == CAR, -one.total_minor, one.name))
    )
