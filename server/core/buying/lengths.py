"""How many lengths, as sold, the cuts of one part take; off-cuts that lie there already are used up first."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from server.core.buying.cutting import Piece, Stock, piece_tenths, plan_cuts, stock_tenths

KERF = 0.003
"""What a saw or cutting disc turns to dust at each cut [m]. Common practice, no source."""
TRIM = 0.005
"""What each piece is cut longer, to square and dress its ends [m]. Common practice, no source."""
USEFUL = 0.05
"""What is left of a length goes back on the shelf from here on [m]. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Saw:
    """What each cut costs beside the finished length: kerf [m] between pieces, trim [m] on each piece.

    useful: the shortest off-cut that is kept [m].
    """

    kerf: float = KERF
    trim: float = TRIM
    useful: float = USEFUL


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

    def off_cut(self, saw: Saw) -> float:
        """What is left [m]: one kerf more is lost to part it, and what is shorter than that is dust."""
        if not self.cuts:
            return self.length
        return max(self.length - self.used(saw) - saw.kerf, 0.0)

    def kept(self, saw: Saw) -> float:
        """What goes back on the shelf [m]: nothing where the off-cut is too short to be of use."""
        left = self.off_cut(saw)
        return left if left >= saw.useful else 0.0


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Which cuts come out of which bar.

    bars: those that are cut up, off-cuts from the shelf first; too_long: finished lengths that no bar takes,
    or is left for [m]; least: so many lengths have to be bought in any plan, the best one included.
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
    """Buy as few lengths as possible; off-cuts are used first, and the shortest that does.

    cuts: finished lengths [m]; off_cuts: what lies on the shelf [m]; stock_length: one as sold [m], none
    where nobody said how long it is: nothing is then bought, and what no off-cut takes is too long.
    Source: `cutting.plan_cuts`, off-cuts free and lengths as sold at one each; kerfs by arithmetic.
    """
    return _planned(tuple(sorted(cuts, reverse=True)), tuple(off_cuts), stock_length, saw)


@lru_cache(maxsize=4096)
def _planned(
    cuts: tuple[float, ...], off_cuts: tuple[float, ...], stock_length: float | None, saw: Saw
) -> CutPlan:
    lying = [(length, 1, 0) for length in off_cuts]
    sold = [] if stock_length is None else [(stock_length, None, 1)]
    stock = [Stock(stock_tenths(length), count, price) for length, count, price in (*lying, *sold)]
    plan = plan_cuts(stock, [Piece(piece_tenths(cut + saw.trim)) for cut in cuts], piece_tenths(saw.kerf))
    bars = tuple(
        Bar(
            off_cuts[bar.stock] if bar.stock < len(off_cuts) else stock_length or 0.0,
            bar.stock < len(off_cuts),
            tuple(cuts[place] for place in bar.pieces),
        )
        for bar in plan.bars
    )
    too_long = tuple(cut for cut, short in zip(cuts, plan.short, strict=True) if short)
    return CutPlan(bars, too_long, plan.lower_bound, saw)


def lengths_to_buy(
    cuts: Iterable[float], off_cuts: Iterable[float], stock_length: float | None, saw: Saw = HAND_SAW
) -> int:
    """How many lengths have to be had beside the off-cuts.

    What no off-cut and no length as sold takes counts as one each: it has to be bought cut to length.
    """
    plan = cut_plan(cuts, off_cuts, stock_length, saw)
    return len(plan.bought) + len(plan.too_long)
