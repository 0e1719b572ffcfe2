"""What orders cost, in whole minor units, and how well suppliers keep their days."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median_low


def packs(pieces: int, pack: int) -> int:
    """How many packs hold so many pieces; a pack that is begun is bought whole. Source: definition."""
    return -(-pieces // pack)


def line_total(quantity: int, cancelled: int, pack: int, price_minor: int) -> int:
    """What a line costs [minor units]: whole packs of the pieces that were not called off.

    price_minor: for one pack of `pack` pieces. Source: definition.
    """
    return packs(max(quantity - cancelled, 0), pack) * price_minor


def order_total(lines: Iterable[int], beside_minor: int, refunds: Iterable[int]) -> int:
    """What an order cost in the end [minor units]: lines and what is beside them, less what came back.

    beside_minor: postage, tax and duty.

    Below zero where more came back than was put down as paid. Source: definition.
    """
    return sum(lines) + beside_minor - sum(refunds)


@dataclass(frozen=True, slots=True)
class Promise:
    """One order with a promised day; here_on: the day the last of it came, none where some is still owed."""

    due_on: date
    here_on: date | None


@dataclass(frozen=True, slots=True)
class Lateness:
    """Of `orders` whose day is past, `late` came after it or are still out; `days` late as a rule [days]."""

    orders: int
    late: int
    days: int

    @property
    def words(self) -> str:
        """E.g. "2 of 3 orders late, 4 days as a rule"; nothing where one order only could tell."""
        if not self.late or self.orders < 2:
            return ""
        days = "1 day" if self.days == 1 else f"{self.days} days"
        return f"{self.late} of {self.orders} orders late, {days} as a rule"


def lateness(promises: Sequence[Promise], today: date) -> Lateness:
    """How a supplier kept the promised days that are past, or whose orders are all here.

    `days` is the middle one of the late orders' delays (the lower of two), 0 where none was late. An order
    that is still out counts with the days up to today. Source: definition (median).
    """
    settled = [one for one in promises if one.here_on is not None or one.due_on < today]
    delays = [((one.here_on or today) - one.due_on).days for one in settled]
    late = [days for days in delays if days > 0]
    return Lateness(len(settled), len(late), median_low(late) if late else 0)


@dataclass(frozen=True, slots=True)
class Purse:
    """Money in minor units: spent by orders so far; the budget, none where nobody set one.

    week_minor: what a week's wait is worth, none where nobody said: no spares go by the rule then.
    """

    spent_minor: int = 0
    budget_minor: int | None = None
    week_minor: int | None = None
