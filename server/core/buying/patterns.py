"""Ways to fill one bar: how often each kind of piece comes out of it, and what that is worth."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np
from numpy.typing import NDArray

Pattern = tuple[int, ...]
"""How many pieces of each kind come out of one bar."""
Floats = NDArray[np.float64]
SAME = 1e-9
"""Values closer than this share of the greatest are the same."""


@dataclass(frozen=True, slots=True)
class Kinds:
    """Pieces to be fitted into bars: size of each kind, one kerf included, and how many are wanted of it."""

    sizes: tuple[int, ...]
    wanted: tuple[int, ...]

    def size_of(self, pattern: Sequence[int]) -> int:
        """What these pieces take, a kerf with each."""
        return sum(many * size for many, size in zip(pattern, self.sizes, strict=True))

    def filled(self, pattern: Sequence[int], room: int) -> Pattern:
        """The pattern with what still fits added, the largest kind first."""
        left = room - self.size_of(pattern)
        full = list(pattern)
        for at in sorted(range(len(full)), key=lambda at: -self.sizes[at]):
            more = min(left // self.sizes[at], self.wanted[at] - full[at])
            full[at] += more
            left -= more * self.sizes[at]
        return tuple(full)


def worths(kinds: Kinds, values: Sequence[float], room: int) -> list[Floats]:
    """The most that can be had from kinds j, j + 1, ... within every room from 0 to `room`, for each j.

    values: of one piece of each kind, none below zero. Source: dynamic programming for the bounded knapsack,
    kinds split into 1, 2, 4, ... pieces (Martello and Toth, Knapsack Problems, 1990, from memory).
    """
    best: Floats = np.zeros(room + 1)
    found = [best]
    for size, wanted, value in reversed(list(zip(kinds.sizes, kinds.wanted, values, strict=True))):
        best = best.copy()
        left, lot = min(wanted, room // size), 1
        while left > 0:
            lot = min(lot, left)
            shifted = best[: room + 1 - lot * size] + lot * value
            np.maximum(best[lot * size :], shifted, out=best[lot * size :])
            left, lot = left - lot, 2 * lot
        found.append(best)
    found.reverse()
    return found


def best_pattern(kinds: Kinds, values: Sequence[float], worth: Sequence[Floats], room: int) -> Pattern:
    """A pattern worth the most within the room, read off the tables of `worths`."""
    chosen = []
    for at, (size, wanted) in enumerate(zip(kinds.sizes, kinds.wanted, strict=True)):
        most = min(wanted, room // size)
        many = max(range(most + 1), key=lambda n: n * values[at] + float(worth[at + 1][room - n * size]))
        chosen.append(many)
        room -= many * size
    return tuple(chosen)


class TooMany(Exception):
    """More ways than were asked for."""


@dataclass(frozen=True, slots=True)
class Worthy:
    """What a pattern must be worth at least by these values of its pieces; worth: their tables."""

    values: Sequence[float]
    worth: Sequence[Floats]
    least: float


def full_patterns(kinds: Kinds, room: int, asked: Sequence[Worthy], looks: int) -> Iterator[Pattern]:
    """Every pattern to which nothing can be added and that is worth what is asked.

    looks: places of the search at the most; raises TooMany beyond. Source: depth first, bounded by the tables
    of `worths`, which is exact.
    """
    ends = len(kinds.sizes)
    chosen = [0] * ends
    looked = count(1)

    def below(at: int, room: int, needs: tuple[float, ...], spare: int) -> Iterator[Pattern]:
        """needs: what is still to come of each worth; spare: the smallest kind of which more is wanted."""
        if next(looked) > looks:
            raise TooMany
        if any(float(one.worth[at][room]) < need for one, need in zip(asked, needs, strict=True)):
            return
        if at == ends:
            if room < spare:
                yield tuple(chosen)
            return
        size = kinds.sizes[at]
        for many in range(min(kinds.wanted[at], room // size), -1, -1):
            chosen[at] = many
            kept = spare if many == kinds.wanted[at] else min(spare, size)
            left = tuple(need - many * one.values[at] for one, need in zip(asked, needs, strict=True))
            yield from below(at + 1, room - many * size, left, kept)
        chosen[at] = 0

    needs = tuple(one.least - SAME * max(abs(one.least), 1.0) for one in asked)
    yield from below(0, room, needs, room + 1)
