"""Random cutting problems, what is wrong with a plan for one, and a plain exact search for small ones."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from random import Random

from server.core.buying.cutting import Piece, Plan, Stock, used

KERF = 30
"""A kerf of 3 mm [tenths of mm]."""


@dataclass(frozen=True, slots=True)
class Problem:
    """Stock with off-cuts, pieces of up to twelve lengths."""

    stock: tuple[Stock, ...]
    pieces: tuple[Piece, ...]
    kerf: int = KERF

    @property
    def small(self) -> bool:
        """The plain search has it in a moment."""
        return sum(piece.count for piece in self.pieces) <= 8


def problems(seed: int, count: int) -> Iterator[Problem]:
    """One or two lengths as sold, at prices or all alike, up to four off-cuts, up to twelve lengths."""
    draw = Random(seed)
    for _ in range(count):
        priced = draw.random() < 0.7
        sold = draw.sample((10_000, 20_000, 25_000, 30_000, 60_000), draw.randint(1, 2))
        stock = [Stock(length, None, draw.randint(500, 6000) if priced else 1) for length in sold]
        stock += [Stock(draw.randint(1500, 15_000), 1, 0) for _ in range(draw.randint(0, 4))]
        most = int(max(sold) * draw.choice((0.3, 0.6, 0.9)))
        kinds = draw.randint(1, 12)
        many = draw.choice((1, 2, 8))
        pieces = [Piece(draw.randint(400, most), draw.randint(1, many)) for _ in range(kinds)]
        yield Problem(tuple(stock), tuple(pieces))


def faults(problem: Problem, plan: Plan) -> list[str]:
    """What is wrong with a plan, counted again from its bars alone."""
    told = []
    of_stock = Counter(bar.stock for bar in plan.bars)
    told += [
        f"{many} of stock {at}"
        for at, many in of_stock.items()
        if (most := problem.stock[at].count) is not None and many > most
    ]
    for bar in plan.bars:
        takes = used((problem.pieces[place].length for place in bar.pieces), problem.kerf)
        if not bar.pieces or takes > problem.stock[bar.stock].length:
            told.append(f"a bar of {problem.stock[bar.stock].length} for {takes}")
    cut = Counter(place for bar in plan.bars for place in bar.pieces)
    told += [
        f"piece {at}: {cut[at]} cut, {plan.short[at]} short"
        for at, piece in enumerate(problem.pieces)
        if cut[at] + plan.short[at] != piece.count
    ]
    if plan.cost != sum(problem.stock[bar.stock].price for bar in plan.bars):
        told.append("the cost is not that of its bars")
    return told


def least_cost(problem: Problem) -> int:
    """The least cost, by trying everything for the bar that takes the longest piece left; for small problems.

    Every piece must fit some stock of any number.
    """
    lengths = sorted((one.length for one in problem.pieces for _ in range(one.count)), reverse=True)

    @cache
    def rest(left: tuple[int, ...], free: tuple[int, ...]) -> int:
        if not left:
            return 0
        best = 10**12
        for at, one in enumerate(problem.stock):
            if free[at] == 0:
                continue
            after = tuple(many - 1 if place == at and many > 0 else many for place, many in enumerate(free))
            for others in fillings(left[1:], one.length - left[0]):
                best = min(best, one.price + rest(others, after))
        return best

    def fillings(left: tuple[int, ...], room: int) -> Iterator[tuple[int, ...]]:
        """What is left after each way to put more pieces into the room; -1 stands for any number of bars."""
        if room < 0:
            return
        if not left:
            yield ()
            return
        for others in fillings(left[1:], room):
            yield (left[0], *others)
        yield from fillings(left[1:], room - left[0] - problem.kerf)

    return rest(tuple(lengths), tuple(-1 if one.count is None else one.count for one in problem.stock))
