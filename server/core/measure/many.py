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


def with_ways(number: Any) -> Any:
    """A number that was `plain`, with these ways again. Source: definition."""
    return many(number) if isinstance(number, np.ndarray) else number


def any_above(number: Any, least: Any) -> bool:
    """Whether a plain number is above another, of many in any draw. Source: definition."""
    above = number > least
    return bool(above.any() if isinstance(above, np.ndarray) else above)


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
