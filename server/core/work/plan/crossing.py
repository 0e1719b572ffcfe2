"""A new order of work from two plans: what one does in a stretch of time, and the rest as the other has it.

All by places of an `Indexed`. A plan is told here by its keys: the lower the key of a place, the earlier its
turn. Keys are the starts of a plan in the direction in which the order is passed over next, so that passing
over a plan's own keys pushes all of it to that side (double justification: V. Valls, F. Ballestin and S.
Quintanilla, Justification and RCPSP: a technique that pays, European Journal of Operational Research 165
(2005) 375).
"""

from collections.abc import Iterator, Sequence

import numpy as np

from server.core.work.plan.indexed import Indexed

SHORTEST, LONGEST = 0.1, 0.4
"""How much of the whole time the stretch takes: between these shares, settled by trial on the open cases."""
TRIED = 3
"""Stretches drawn, of which the fullest is taken."""
SWAPPED = 0.02
"""Chance that two neighbours in an order change places."""
_LATER = 1 << 34
"""More than any key differs from another."""


def draws(seed: int) -> Iterator[float]:
    """Evenly spread numbers from 0 to under 1 [-], the same for the same seed. Source: numpy's generator."""
    rng = np.random.default_rng(seed)
    while True:
        yield from rng.random(1024).tolist()


class Crossing:
    """Makes orders for one direction of a problem. work: by place, minutes times the share of all of it."""

    def __init__(self, forth: Indexed, work: Sequence[float]) -> None:
        count = len(forth.ids)
        self.forth = forth
        self._work = work
        self._before = [0] * count
        self._behind = [0] * count
        """For each place all that comes before or behind it, a bit each."""
        for place in range(count):
            for earlier, _ in forth.before[place]:
                self._before[place] |= self._before[earlier] | 1 << earlier
        for place in reversed(range(count)):
            for earlier, _ in forth.before[place]:
                self._behind[earlier] |= self._behind[place] | 1 << place

    def order(self, keys: Sequence[float]) -> list[int]:
        """The places by their keys, none ahead of what it comes after."""
        heeded = list(keys)
        for place, links in enumerate(self.forth.before):
            for earlier, _ in links:
                if heeded[earlier] > heeded[place]:
                    heeded[place] = heeded[earlier]
        return sorted(range(len(heeded)), key=heeded.__getitem__)

    def child(self, own: Sequence[int], other: Sequence[int], luck: Iterator[float]) -> list[int]:
        """An order that does in its fullest stretch what `own` does there, and the rest as `other`.

        What must come before the stretch comes before it, whatever `other` says, and so behind it: the order
        heeds what comes first. Source: the peak of V. Valls, F. Ballestin and S. Quintanilla, A hybrid
        genetic algorithm for the resource-constrained project scheduling problem, European Journal of
        Operational Research 185 (2008) 495; the rest by time, as D. Debels and M. Vanhoucke, A
        decomposition-based genetic algorithm for the resource-constrained project-scheduling problem,
        Operations Research 55 (2007) 457.
        """
        start, end = self._stretch(own, luck)
        count = len(own)
        within = before = behind = 0
        for place, key in enumerate(own):
            if start <= key < end:
                within |= 1 << place
                before |= self._before[place]
                behind |= self._behind[place]
        turns = []
        for place, key in enumerate(other):
            if within >> place & 1:
                turn = own[place] + _LATER
            elif before >> place & 1:
                turn = key
            elif behind >> place & 1 or key >= end:
                turn = key + 2 * _LATER
            elif key >= start:
                turn = key + _LATER
            else:
                turn = key
            turns.append(turn * count + place)
        turns.sort()
        return self._swapped([turn % count for turn in turns], luck)

    def _stretch(self, own: Sequence[int], luck: Iterator[float]) -> tuple[float, float]:
        """The fullest of a few stretches of one length."""
        first = min(own)
        whole = max(own) + 1 - first
        length = whole * (SHORTEST + (LONGEST - SHORTEST) * next(luck))
        fullest, begin = -1.0, 0.0
        for _ in range(TRIED):
            start = first + (whole - length) * next(luck)
            end = start + length
            work = sum([one for one, key in zip(self._work, own, strict=True) if start <= key < end])
            if work > fullest:
                fullest, begin = work, start
        return begin, begin + length

    def _swapped(self, order: list[int], luck: Iterator[float]) -> list[int]:
        for at in range(len(order) - 1):
            if next(luck) < SWAPPED:
                first, second = order[at], order[at + 1]
                if not self._before[second] >> first & 1:
                    order[at], order[at + 1] = second, first
        return order
