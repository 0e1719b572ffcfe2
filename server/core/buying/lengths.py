"""How many lengths, as sold, the cuts of one part take; off-cuts that lie there already are used up first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

KERF = 0.003
"""What a saw or cutting disc turns to dust at each cut [m]. Common practice, no source."""
TRIM = 0.005
"""What each piece is cut longer, to square and dress its ends [m]. Common practice, no source."""
SLACK = 1e-7
"""Lengths closer than this are the same [m]; a hundredth of the finest reading of a caliper."""


@dataclass(frozen=True, slots=True)
class Saw:
    """What each cut costs beside the finished length: kerf [m] between pieces, trim [m] on each piece."""

    kerf: float = KERF
    trim: float = TRIM


HAND_SAW = Saw()


@dataclass(frozen=True, slots=True)
class Bar:
    """One length that is cut up. length: as it lies there or is sold [m]; cuts: finished lengths [m]."""

    length: float
    from_shelf: bool
    cuts: tuple[float, ...] = ()

    def used(self, saw: Saw) -> float:
        """What its pieces take, kerfs between them counted [m]: n pieces have n - 1 kerfs."""
        pieces = sum(cut + saw.trim for cut in self.cuts)
        return pieces + saw.kerf * max(len(self.cuts) - 1, 0)

    def takes(self, cut: float, saw: Saw) -> bool:
        """Whether one more piece of that finished length [m] comes out of it."""
        return replace(self, cuts=(*self.cuts, cut)).used(saw) <= self.length + SLACK

    def off_cut(self, saw: Saw) -> float:
        """What is left [m]: one kerf more is lost to part it, and what is shorter than that is dust."""
        if not self.cuts:
            return self.length
        return max(self.length - self.used(saw) - saw.kerf, 0.0)


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Which cuts come out of which bar.

    bars: those that are cut up, off-cuts from the shelf first; too_long: finished lengths that no bar takes
    [m]; least: so many lengths have to be bought in any plan, the best one included.
    """

    bars: tuple[Bar, ...]
    too_long: tuple[float, ...]
    least: int
    saw: Saw

    @property
    def bought(self) -> tuple[Bar, ...]:
        """The bars that have to be bought."""
        return tuple(bar for bar in self.bars if not bar.from_shelf)

    @property
    def is_least(self) -> bool:
        """No plan needs fewer bought lengths."""
        return len(self.bought) <= self.least


def cut_plan(
    cuts: Iterable[float], off_cuts: Iterable[float], stock_length: float | None, saw: Saw = HAND_SAW
) -> CutPlan:
    """Lay the longest cut out first: into the shortest off-cut that takes it, else into the first bought bar.

    cuts: finished lengths [m]; off_cuts: what lies on the shelf [m]; stock_length: one as sold [m], none
    where nobody said how long it is: nothing is then bought, and what no off-cut takes is too long.
    Source: first-fit decreasing (Johnson 1973), never more than 11/9 of the least number plus 6/9 (Dosa 2007)
    where there are no off-cuts; kerfs by arithmetic.
    """
    ordered = sorted(cuts, reverse=True)
    lying = [Bar(length, from_shelf=True) for length in off_cuts]
    bought: list[Bar] = []
    too_long = []
    for cut in ordered:
        fresh = None if stock_length is None else Bar(stock_length, from_shelf=False)
        if not (_cut_shortest(lying, cut, saw) or _cut_first(bought, cut, saw)):
            if fresh is not None and fresh.takes(cut, saw):
                bought.append(replace(fresh, cuts=(cut,)))
            else:
                too_long.append(cut)
    kept = tuple(bar for bar in (*lying, *bought) if bar.cuts)
    fitting = [cut for cut in ordered if cut not in too_long]
    shelf = [bar.length for bar in lying]
    least = 0 if stock_length is None else _least(fitting, shelf, stock_length, saw)
    return CutPlan(kept, tuple(too_long), least, saw)


def _cut_shortest(bars: list[Bar], cut: float, saw: Saw) -> bool:
    """Cut it from the bar that has least left of those that take it."""
    taking = [place for place, bar in enumerate(bars) if bar.takes(cut, saw)]
    if not taking:
        return False
    best = min(taking, key=lambda place: bars[place].off_cut(saw))
    bars[best] = replace(bars[best], cuts=(*bars[best].cuts, cut))
    return True


def _cut_first(bars: list[Bar], cut: float, saw: Saw) -> bool:
    for place, bar in enumerate(bars):
        if bar.takes(cut, saw):
            bars[place] = replace(bar, cuts=(*bar.cuts, cut))
            return True
    return False


def _least(cuts: Sequence[float], off_cuts: Sequence[float], stock_length: float, saw: Saw) -> int:
    """A number of bought bars that no plan gets below.

    A piece with one kerf takes `cut + trim + kerf`, a bar with one kerf more offers `length + kerf`; and
    pieces of more than half a bar that no off-cut takes need a bar each.
    """
    if not cuts:
        return 0
    shortest = min(cuts) + saw.trim
    usable = sum(length + saw.kerf for length in off_cuts if length + SLACK >= shortest)
    wanted = sum(cut + saw.trim + saw.kerf for cut in cuts)
    by_length = ceil((wanted - usable) / (stock_length + saw.kerf) - 1e-6)
    longest_off_cut = max(off_cuts, default=0.0)
    half = (stock_length - saw.kerf) / 2
    alone = sum(1 for cut in cuts if cut + saw.trim > max(half, longest_off_cut) + SLACK)
    return max(by_length, alone, 0)


def lengths_to_buy(
    cuts: Iterable[float], off_cuts: Iterable[float], stock_length: float | None, saw: Saw = HAND_SAW
) -> int:
    """How many lengths have to be had beside the off-cuts.

    What no off-cut and no length as sold takes counts as one each: it has to be bought cut to length.
    """
    return _to_buy(tuple(cuts), tuple(off_cuts), stock_length, saw)


@lru_cache(maxsize=4096)
def _to_buy(
    cuts: tuple[float, ...], off_cuts: tuple[float, ...], stock_length: float | None, saw: Saw
) -> int:
    plan = cut_plan(cuts, off_cuts, stock_length, saw)
    return len(plan.bought) + len(plan.too_long)
