"""The cheapest way to cut pieces out of bars, exact in tenths of a millimetre, with a bound that tells so."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, gcd

from server.core.buying.fill import Master, Taken
from server.core.buying.patterns import Kinds, Pattern
from server.core.buying.programme import solved

TENTHS = 10_000
"""Tenths of a millimetre in a metre."""
NOISE = 1e-6
"""What rounding leaves of a whole number of tenths."""


def piece_tenths(length: float) -> int:
    """A piece [m] in tenths of a millimetre, rounded up: too long is trimmed, too short is scrap."""
    return ceil(length * TENTHS - NOISE)


def stock_tenths(length: float) -> int:
    """A bar [m] in tenths of a millimetre, rounded down."""
    return floor(length * TENTHS + NOISE)


@dataclass(frozen=True, slots=True)
class Stock:
    """Bars of one length [tenths of mm]. count: how many there are, none where any number can be had.

    price: of one, in whole units; what lies on the shelf costs nothing.
    """

    length: int
    count: int | None = None
    price: int = 1


@dataclass(frozen=True, slots=True)
class Piece:
    """So many pieces of one length [tenths of mm]."""

    length: int
    count: int = 1


@dataclass(frozen=True, slots=True)
class Cut:
    """One bar that is cut up: which stock it is, and which pieces come out of it, by their places."""

    stock: int
    pieces: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """Which pieces come out of which bar.

    cost: of all bars, recomputed in whole units; short: how many of each piece no bar is left for, as few in
    all as possible; lower_bound: no plan that leaves out so few costs less.
    """

    bars: tuple[Cut, ...]
    cost: int
    lower_bound: int
    short: tuple[int, ...]

    @property
    def is_best(self) -> bool:
        """No plan costs less."""
        return self.cost == self.lower_bound


def used(lengths: Iterable[int], kerf: int) -> int:
    """What pieces take of a bar with the kerfs between them: n pieces have n - 1 [tenths of mm]."""
    each = tuple(lengths)
    return sum(each) + kerf * max(len(each) - 1, 0)


def off_cut(bar: int, lengths: Iterable[int], kerf: int) -> int:
    """What is left of a bar: one kerf more parts it, and what is shorter than that is dust [tenths of mm]."""
    each = tuple(lengths)
    return max(bar - sum(each) - kerf * len(each), 0)


def plan_cuts(stock: Sequence[Stock], pieces: Sequence[Piece], kerf: int) -> Plan:
    """The plan that leaves out fewest pieces, then costs least; of equal ones a plan that takes little stock.

    All lengths and the kerf in whole tenths of a millimetre. Equal pieces may stand in several places.
    Source: Gilmore and Gomory (1961), patterns made as they are asked for; then all patterns that a cheaper
    plan could have in it, solved whole by mixed-integer programmes (HiGHS through scipy), so that the answer
    is exact. Where that would take too many patterns or nodes the bound is below the cost and says so.
    """
    lengths = tuple(sorted({piece.length for piece in pieces if piece.count}, reverse=True))
    wanted = dict.fromkeys(lengths, 0)
    for piece in pieces:
        if piece.count:
            wanted[piece.length] += piece.count
    longest = max((one.length for one in stock if one.count != 0), default=0)
    fitting = tuple(length for length in lengths if length <= longest)
    if not fitting:
        return Plan((), 0, 0, tuple(piece.count for piece in pieces))
    step = gcd(*(one.price for one in stock)) or 1
    kinds = Kinds(tuple(length + kerf for length in fitting), tuple(wanted[length] for length in fitting))
    master = Master(
        kinds,
        tuple(one.length + kerf for one in stock),
        tuple(0 if _outdone(at, stock) else _most(one, kinds, kerf) for at, one in enumerate(stock)),
        tuple(one.price // step for one in stock),
    )
    answer = solved(_coarser(master))
    bars = _handed_out(_tidied(answer.taken, stock, kinds, kerf), fitting, pieces)
    cost = sum(stock[bar.stock].price for bar in bars)
    left_out = sum(kinds.wanted) - sum(len(bar.pieces) for bar in bars)
    bound = (answer.bound - left_out * master.penalty) * step
    return Plan(bars, cost, max(min(bound, cost), 0), _short(bars, pieces))


def _most(stock: Stock, kinds: Kinds, kerf: int) -> int:
    """So many bars of it at the most: none where no piece fits, and never more than there are pieces."""
    if stock.length + kerf < min(kinds.sizes):
        return 0
    most = sum(kinds.wanted)
    return most if stock.count is None else min(stock.count, most)


def _outdone(at: int, stock: Sequence[Stock]) -> bool:
    """Any number of a stock that is no shorter and no dearer can be had: it does instead."""
    one = stock[at]
    return any(
        other.count is None
        and other.length >= one.length
        and other.price <= one.price
        and ((other.length, other.price) != (one.length, one.price) or (place < at or one.count is not None))
        for place, other in enumerate(stock)
        if place != at
    )


def _coarser(master: Master) -> Master:
    """The same in the largest unit in which all sizes are whole; room beyond a multiple is never used."""
    unit = gcd(*master.kinds.sizes)
    return replace(
        master,
        kinds=replace(master.kinds, sizes=tuple(size // unit for size in master.kinds.sizes)),
        rooms=tuple(room // unit for room in master.rooms),
    )


def _tidied(taken: Sequence[Taken], stock: Sequence[Stock], kinds: Kinds, kerf: int) -> list[Taken]:
    """No piece more than is wanted, no bar for nothing, each bar the shortest one left that costs no more."""
    left = list(kinds.wanted)
    needed = []
    for one in sorted(taken, key=lambda one: (-stock[one.stock].price, -kinds.size_of(one.pattern))):
        pattern = tuple(min(many, rest) for many, rest in zip(one.pattern, left, strict=True))
        left = [rest - many for many, rest in zip(pattern, left, strict=True)]
        if any(pattern):
            needed.append(Taken(one.stock, pattern))
    free = [_most(one, kinds, kerf) for one in stock]
    for one in needed:
        free[one.stock] -= 1
    found = []
    for one in sorted(needed, key=lambda one: kinds.size_of(one.pattern)):
        free[one.stock] += 1
        best = min(
            (
                at
                for at, other in enumerate(stock)
                if free[at] > 0
                and other.length + kerf >= kinds.size_of(one.pattern)
                and other.price <= stock[one.stock].price
            ),
            key=lambda at: (stock[at].price, stock[at].length, at),
        )
        free[best] -= 1
        found.append(Taken(best, one.pattern))
    return sorted(found, key=lambda one: (one.stock, tuple(-many for many in one.pattern)))


def _handed_out(taken: Iterable[Taken], lengths: Sequence[int], pieces: Sequence[Piece]) -> tuple[Cut, ...]:
    """The bars with the places of the pieces that come out of them, longest first."""
    waiting: dict[int, list[int]] = {length: [] for length in lengths}
    for place, piece in reversed(list(enumerate(pieces))):
        if piece.length in waiting:
            waiting[piece.length] += [place] * piece.count
    return tuple(
        Cut(one.stock, tuple(waiting[length].pop() for length in _lengths(one.pattern, lengths)))
        for one in taken
    )


def _lengths(pattern: Pattern, lengths: Sequence[int]) -> list[int]:
    return [length for many, length in zip(pattern, lengths, strict=True) for _ in range(many)]


def _short(bars: Sequence[Cut], pieces: Sequence[Piece]) -> tuple[int, ...]:
    cut = [0] * len(pieces)
    for bar in bars:
        for place in bar.pieces:
            cut[place] += 1
    return tuple(piece.count - many for piece, many in zip(pieces, cut, strict=True))
