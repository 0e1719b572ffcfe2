"""What there is of each part: in hand, on order and late, short, gone back; and which task gets it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from functools import lru_cache


class Condition(StrEnum):
    RIGHT = "right"
    WRONG = "wrong"
    DAMAGED = "damaged"


class Wanted(StrEnum):
    """What is asked for pieces that go back to the supplier."""

    REPLACEMENT = "replacement"
    REFUND = "refund"


@dataclass(frozen=True, slots=True)
class Arrival:
    """So many pieces that arrived of one order line, and whether they can be used."""

    quantity: int
    condition: Condition = Condition.RIGHT


@dataclass(frozen=True, slots=True)
class Returned:
    """So many pieces of one order line that went back, as they had come, and what is asked for them."""

    quantity: int
    condition: Condition
    wants: Wanted


@dataclass(frozen=True, slots=True)
class OrderedPart:
    """One line of an order: so many of a part, the day they were promised for, and what became of them.

    cancelled: pieces that will not come; sent_back: pieces that arrived and went back. A replacement is an
    arrival like any other.
    """

    line_id: int
    order_id: int
    part_id: int
    supplier: str
    quantity: int
    due_on: date | None = None
    arrivals: tuple[Arrival, ...] = ()
    cancelled: int = 0
    sent_back: tuple[Returned, ...] = ()

    def kept(self, condition: Condition) -> int:
        """Pieces that came so and did not go back."""
        if not self.arrivals:
            return 0
        came = sum(one.quantity for one in self.arrivals if one.condition is condition)
        gone = sum(one.quantity for one in self.sent_back if one.condition is condition)
        return max(came - gone, 0)

    @property
    def right(self) -> int:
        """Pieces that arrived, can be used and were kept."""
        return self.kept(Condition.RIGHT)

    @property
    def unusable(self) -> int:
        """Pieces that lie here wrong or damaged: not in hand."""
        return self.kept(Condition.WRONG) + self.kept(Condition.DAMAGED)

    @property
    def owed(self) -> int:
        """Pieces that are still to come.

        A wrong or damaged piece is owed until its money is asked for; a piece that went back for a
        replacement is owed again; one that went back for its money, or will not come, is not.
        """
        paid_back = sum(one.quantity for one in self.sent_back if one.wants is Wanted.REFUND)
        return max(self.quantity - self.cancelled - self.right - paid_back, 0)

    @property
    def over(self) -> int:
        """Right pieces that were kept beyond what was to come."""
        return max(self.right - max(self.quantity - self.cancelled, 0), 0)


@dataclass(frozen=True, slots=True)
class PartNeed:
    """So many of a part that a task calls for; a task that is done has used them."""

    task_id: int
    part_id: int
    quantity: int
    used: bool = False


@dataclass(frozen=True, slots=True)
class OnOrder:
    """Pieces that a supplier still owes. late_days: days past the promised day; 0 in time or undated."""

    line_id: int
    order_id: int
    supplier: str
    quantity: int
    due_on: date | None
    late_days: int


@dataclass(frozen=True, slots=True)
class Allotment:
    """What one task gets of one part: `in_hand` now, `awaited` from these orders, `short` from nowhere."""

    task_id: int
    part_id: int
    quantity: int
    in_hand: int
    awaited: tuple[OnOrder, ...]
    short: int

    @property
    def met(self) -> bool:
        """All of it is in hand."""
        return self.in_hand == self.quantity

    @property
    def last(self) -> OnOrder | None:
        """The awaited order that decides when this need is met: an undated one, else the last one due."""
        return max(self.awaited, key=lambda order: _when(order.due_on), default=None)


@dataclass(frozen=True, slots=True)
class Supply:
    """One part.

    in_hand: pieces that can be used now, allotted ones included; on_order: what is still owed, first due
    first; unusable: pieces that lie here wrong or damaged; allotted: what each task that isn't done gets, in
    the order of the needs; spare: in hand and allotted to nobody; short: needed, neither in hand nor on
    order; unrecorded: pieces that done tasks used beyond all that was ever put down as on a shelf or arrived.
    """

    part_id: int
    in_hand: int
    on_order: tuple[OnOrder, ...]
    unusable: int
    allotted: tuple[Allotment, ...]
    spare: int
    short: int
    unrecorded: int


def supply(
    shelves: Mapping[int, int], ordered: Iterable[OrderedPart], needs: Iterable[PartNeed], today: date
) -> dict[int, Supply]:
    """What there is of each part that is on a shelf, ordered or needed, by part number.

    shelves: pieces on the shelf before anything arrived and before any task used them, by part number; needs:
    in the order in which tasks get parts. A need takes what is in hand first, then what is owed, the first
    due first, undated last; the rest is short. Pieces used beyond all that was put down count
    as having come from what is owed, since an arrival was then most likely not put down. More than was
    ordered may arrive; nothing is then owed.
    Source: definition (counting).
    """
    lines: defaultdict[int, list[OrderedPart]] = defaultdict(list)
    for line in ordered:
        lines[line.part_id].append(line)
    wanted: defaultdict[int, list[PartNeed]] = defaultdict(list)
    for need in needs:
        wanted[need.part_id].append(need)
    parts = dict.fromkeys((*shelves, *lines, *wanted))
    return {
        part_id: _supply_of(
            part_id, shelves.get(part_id, 0), tuple(lines[part_id]), tuple(wanted[part_id]), today
        )
        for part_id in parts
    }


@lru_cache(maxsize=8192)
def _supply_of(
    part_id: int, on_shelf: int, lines: tuple[OrderedPart, ...], needs: tuple[PartNeed, ...], today: date
) -> Supply:
    """Of most parts nothing changed since it was worked out."""
    if not lines and not needs:
        there = max(on_shelf, 0)
        return Supply(part_id, there, (), 0, (), there, 0, max(-on_shelf, 0))
    used = sum(need.quantity for need in needs if need.used)
    balance = on_shelf + sum(line.right for line in lines) - used
    in_hand = max(balance, 0)
    owed = _owed(lines, today)
    unrecorded = max(-balance, 0)
    allotted, spare = _allot([need for need in needs if not need.used], in_hand, _after(owed, unrecorded))
    return Supply(
        part_id,
        in_hand,
        owed,
        sum(line.unusable for line in lines),
        allotted,
        spare,
        sum(one.short for one in allotted),
        unrecorded,
    )


def _owed(lines: tuple[OrderedPart, ...], today: date) -> tuple[OnOrder, ...]:
    """What is still to come, first due first."""
    found = []
    for line in lines:
        if line.owed:
            late = max((today - line.due_on).days, 0) if line.due_on else 0
            found.append(OnOrder(line.line_id, line.order_id, line.supplier, line.owed, line.due_on, late))
    return tuple(sorted(found, key=lambda order: (_when(order.due_on), order.line_id)))


def _when(due: date | None) -> date:
    """An undated order comes after every dated one."""
    return due or date.max


def _allot(
    needs: list[PartNeed], in_hand: int, owed: tuple[OnOrder, ...]
) -> tuple[tuple[Allotment, ...], int]:
    """Each need in turn takes from what is in hand, then from what is owed; returns what is left in hand."""
    found = []
    for need in needs:
        from_hand = min(need.quantity, in_hand)
        in_hand -= from_hand
        missing = need.quantity - from_hand
        awaited = _first(owed, missing)
        owed = _after(owed, missing)
        short = missing - sum(order.quantity for order in awaited)
        found.append(Allotment(need.task_id, need.part_id, need.quantity, from_hand, awaited, short))
    return tuple(found), in_hand


def _first(owed: tuple[OnOrder, ...], count: int) -> tuple[OnOrder, ...]:
    """The first `count` pieces of what is owed, or all of it where that is less."""
    taken = []
    for order in owed:
        if count > 0:
            taken.append(replace(order, quantity=min(order.quantity, count)))
            count -= order.quantity
    return tuple(taken)


def _after(owed: tuple[OnOrder, ...], count: int) -> tuple[OnOrder, ...]:
    """What is owed without its first `count` pieces."""
    if not owed or count <= 0:
        return owed
    left = []
    for order in owed:
        if order.quantity > count:
            left.append(replace(order, quantity=order.quantity - count))
        count = max(count - order.quantity, 0)
    return tuple(left)
