"""Which patterns come out of which bars: what is asked, a first plan, and what whole bars can cost."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from server.core.buying.patterns import Kinds, Pattern

CHOICES = 20_000
"""Choices of whole bars that are looked at, at the most."""
PROGRAMMES = 400
"""Choices of whole bars that a programme is solved for, at the most."""
SUMS = 5_000_000
"""Costs up to here are counted out from the prices of whole bars [units of price]."""
EPS = 1e-6
"""Amounts of the programme closer than this are the same [units of price]."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One bar: which stock it is and what comes out of it."""

    stock: int
    pattern: Pattern


@dataclass(frozen=True, slots=True)
class Master:
    """What is asked. rooms: length of a bar and one kerf; most: bars of each stock; prices: whole."""

    kinds: Kinds
    rooms: tuple[int, ...]
    most: tuple[int, ...]
    prices: tuple[int, ...]

    @property
    def penalty(self) -> int:
        """What leaving out one piece counts: more than every bar that there is."""
        return 1 + sum(many * price for many, price in zip(self.most, self.prices, strict=True))

    @property
    def usable(self) -> tuple[int, ...]:
        """The stock of which there is some."""
        return tuple(at for at, most in enumerate(self.most) if most)

    def objective(self, taken: Sequence[Taken]) -> int:
        """Cost and penalties in whole units."""
        missing = 0
        for kind, wanted in enumerate(self.kinds.wanted):
            missing += max(wanted - sum(one.pattern[kind] for one in taken), 0)
        return sum(self.prices[one.stock] for one in taken) + missing * self.penalty


def longest_first(master: Master) -> tuple[Taken, ...]:
    """The best of a few plans that lay the longest piece out first, each with another stock to open first.

    Source: first-fit decreasing (Johnson 1973).
    """
    orders = [sorted(master.usable, key=lambda at: (master.prices[at] / master.rooms[at], master.rooms[at]))]
    orders += [[at, *(other for other in orders[0] if other != at)] for at in orders[0][1:4]]
    plans = [_laid_out(master, order) for order in orders]
    return min(plans, key=master.objective)


def _laid_out(master: Master, order: Sequence[int]) -> tuple[Taken, ...]:
    kinds = master.kinds
    free = dict(enumerate(master.most))
    rooms: list[int] = []
    filled: list[tuple[int, list[int]]] = []
    for kind, (size, wanted) in enumerate(zip(kinds.sizes, kinds.wanted, strict=True)):
        place = 0
        while wanted:
            if place == len(rooms):
                opened = next((at for at in order if free[at] and master.rooms[at] >= size), None)
                if opened is None:
                    break
                free[opened] -= 1
                rooms.append(master.rooms[opened])
                filled.append((opened, [0] * len(kinds.sizes)))
            many = min(rooms[place] // size, wanted)
            rooms[place] -= many * size
            filled[place][1][kind] += many
            wanted -= many
            place += 1
    return tuple(Taken(stock, tuple(pattern)) for stock, pattern in filled)


def cost_by_length(master: Master) -> int:
    """The least that stock of that much length costs, bars taken in parts and the cheapest length first."""
    left = float(master.kinds.size_of(master.kinds.wanted))
    cost = 0.0
    for at in sorted(master.usable, key=lambda at: master.prices[at] / master.rooms[at]):
        bars = min(left / master.rooms[at], master.most[at])
        cost += bars * master.prices[at]
        left -= bars * master.rooms[at]
    return ceil(cost - EPS)


def next_cost(master: Master, least: int, most: int) -> int:
    """The smallest sum from `least` to `most` that whole bars come to; `most` where there is none between.

    Source: counting out coins.
    """
    if most > SUMS or least >= most:
        return min(least, most)
    sums = np.zeros(most + 1, dtype=bool)
    sums[0] = True
    for price, count in zip(master.prices, master.most, strict=True):
        left, lot = min(count, most // price) if price else 0, 1
        while left > 0:
            lot = min(lot, left)
            sums[lot * price :] |= sums[: most + 1 - lot * price].copy()
            left, lot = left - lot, 2 * lot
    return least + int(np.argmax(sums[least:])) if sums[least:].any() else most


def choices(master: Master, least: int, below: int) -> list[tuple[int, tuple[int, ...]]] | None:
    """Choices of whole bars that cost so much, cheapest first: (cost, bars of each stock), free ones all in.

    None where there are too many.
    """
    found: list[tuple[int, tuple[int, ...]]] = [(0, ())]
    for price, most in zip(master.prices, master.most, strict=True):
        if not price:
            found = [(cost, (*bars, most)) for cost, bars in found]
            continue
        counts = [min(most, (below - 1 - cost) // price) for cost, _ in found]
        if sum(counts) + len(counts) > CHOICES:
            return None
        found = [
            (cost + many * price, (*bars, many))
            for (cost, bars), count in zip(found, counts, strict=True)
            for many in range(count + 1)
        ]
    asked = sorted(one for one in found if least <= one[0] < below)
    return asked if len(asked) <= PROGRAMMES else None
