"""One number or many at once: a sum that is written for one number may be asked about many in one go.

`Many` holds one value for each of many draws. A sum takes it for a number as long as all of them go the same
way at each of its conditions; where they part, `Parted` says which goes where, and each part is asked again.
"""

import math
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]


class Parted(Exception):
    """The draws part ways at a condition. meets: which of them meet it, shape (draws,)."""

    def __init__(self, meets: Marks) -> None:
        super().__init__("the draws part here")
        self.meets = meets


class Many(np.ndarray[Any, Any]):
    """A number in many draws, shape (draws,). Its truth is that of all of them, or else they are `Parted`."""

    def __bool__(self) -> bool:
        met = np.count_nonzero(self.view(np.ndarray))
        if met == self.size:
            return True
        if not met:
            return False
        raise Parted(np.asarray(self, dtype=np.bool_))

    # As a number does, `x += 1` makes another one: nobody else who holds it sees it change.
    def __iadd__(self, other: Any) -> Any:  # type: ignore[misc]
        return self + other

    def __isub__(self, other: Any) -> Any:  # type: ignore[misc]
        return self - other

    def __imul__(self, other: Any) -> Any:  # type: ignore[misc]
        return self * other

    def __itruediv__(self, other: Any) -> Any:  # type: ignore[misc]
        return self / other


def many(values: Floats) -> Any:
    """Values as a number in many draws, in their own unit. Source: definition."""
    return values.view(Many)


def plain(number: Any) -> Any:
    """A number without these ways, where every draw goes its own: sums of it take less time.

    Source: definition.
    """
    return number.view(np.ndarray) if isinstance(number, np.ndarray) else number


def log(value: float) -> float:
    """Natural logarithm of a number, or of many [-]. Of one: ValueError where it is not above zero.

    Source: definition.
    """
    return np.log(value) if isinstance(value, np.ndarray) else math.log(value)


def exp(value: float) -> float:
    """e to the power of a number, or of many [-]. Source: definition."""
    return np.exp(value) if isinstance(value, np.ndarray) else math.exp(value)


def sqrt(value: float) -> float:
    """Square root of a number, or of many. Of one: ValueError where it is below zero. Source: definition."""
    return np.sqrt(value) if isinstance(value, np.ndarray) else math.sqrt(value)


def cube(value: float) -> float:
    """Third power of a number, or of many: far sooner than `**` finds that of many. Source: definition."""
    return value * value * value


def fourth(value: float) -> float:
    """Fourth power of a number, or of many, as `cube`. Source: definition."""
    square = value * value
    return square * square


def atan(value: float) -> float:
    """Arc tangent of a number, or of many [rad]. Source: definition."""
    return np.arctan(value) if isinstance(value, np.ndarray) else math.atan(value)


def least(first: float, second: float) -> float:
    """The smaller of two numbers, draw by draw where they are many. Source: definition."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        found: float = np.minimum(first, second)
        return found
    return min(first, second)


def greatest(first: float, second: float) -> float:
    """The larger of two numbers, draw by draw where they are many. Source: definition."""
    if isinstance(first, np.ndarray) or isinstance(second, np.ndarray):
        found: float = np.maximum(first, second)
        return found
    return max(first, second)


def either(meets: bool, then: float, otherwise: float) -> float:
    """`then` where a condition is met, else `otherwise`, draw by draw where it is met in some of many.

    Both must be at hand, whatever the condition. Source: definition.
    """
    if isinstance(meets, np.ndarray):
        found: float = many(np.where(meets, then, otherwise))
        return found
    return then if meets else otherwise


def together(ask: Callable[..., float], sets: Sequence[Sequence[float]]) -> list[float]:
    """What a sum gives for each of several sets of numbers, asked once for all of them where any is many.

    ask: a sum of so many numbers that gives one, all in their own units. Where draws part on the way each set
    is asked about by itself. Source: definition.
    """
    many_of_it: list[Any] = [one for numbers in sets for one in numbers if isinstance(one, np.ndarray)]
    if many_of_it:
        count = len(many_of_it[0])
        columns = [_end_to_end(column, count) for column in zip(*sets, strict=True)]
        with suppress(Parted):
            found = np.broadcast_to(ask(*columns), count * len(sets))
            return [many(some) for some in np.split(found, len(sets))]
    return [ask(*numbers) for numbers in sets]


def _end_to_end(column: Sequence[float], count: int) -> float:
    """The same number of each set, one set's draws after another's; one number where all have that."""
    if not any(isinstance(one, np.ndarray) for one in column) and len(set(column)) == 1:
        return column[0]
    found = np.empty((len(column), count))
    for row, one in zip(found, column, strict=True):
        row[:] = one
    end_to_end: float = many(found.ravel())
    return end_to_end


_MOST_STEPS = 100
"""Steps after which a root that is looked for in many draws at once is taken as it stands."""
_STILL = 1e-9
"""Part of its bracket that the last step to a root may take [-]: the next would be far smaller."""


def root(falling: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that falls is nothing, between two numbers, in the unit of those; or in each of many.

    Where it is below zero all the way the lower of the two, above zero all the way the higher. Of one number
    to 1e-10 by Brent's method, of many by false position. Source: R. P. Brent (1973); N. Anderson and
    Å. Björck, BIT 13 (1973) 253 (from memory).
    """
    at_low = falling(low)
    if isinstance(at_low, np.ndarray):
        return _roots(falling, low, high, at_low)
    if at_low <= 0.0:
        return low
    if falling(high) >= 0.0:
        return high
    return float(brentq(falling, low, high, xtol=1e-10, rtol=1e-14))


def _roots(falling: Callable[[float], float], low: float, high: float, at_low: Floats) -> float:
    """The root in each of many draws: where one end of a bracket stays twice, its height counts for less.

    For half of it far from the root, lest the other end stays where it is (the Illinois method); nearer for
    as much as the other end's fell by.
    """
    first, last, at_first = np.broadcast_arrays(np.asarray(low), np.asarray(high), at_low)
    at_last = np.broadcast_to(np.asarray(falling(many(last))), first.shape)
    inside = (at_first > 0.0) & (at_last < 0.0)
    ends = np.where(at_first > 0.0, last, first)
    span = np.abs(last - first)
    found, moved_first = ends, np.zeros(first.shape, dtype=np.bool_)
    moved_last = moved_first
    for _ in range(_MOST_STEPS):
        with np.errstate(divide="ignore", invalid="ignore"):
            cut = last - at_last * (last - first) / (at_last - at_first)
        before, found = found, np.where(inside, cut, ends)
        if not (np.abs(found - before) > _STILL * span).any():
            break
        here = np.asarray(falling(many(found)))
        above = here > 0.0
        with np.errstate(divide="ignore", invalid="ignore"):
            less = np.fmax(1.0 - here / np.where(above, at_first, at_last), 0.5)
        at_first, at_last = (
            np.where(above, here, np.where(moved_last, less * at_first, at_first)),
            np.where(above, np.where(moved_first, less * at_last, at_last), here),
        )
        first, last = np.where(above, found, first), np.where(above, last, found)
        moved_first, moved_last = above, ~above
    answer: float = many(found)
    return answer
