"""What is made of the same things as last time is taken again instead of made anew."""

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

K = TypeVar("K")
G = TypeVar("G")
V = TypeVar("V")

Left = Mapping[str, Mapping[Any, tuple[Any, Any]]]
"""By the name of a step and a key: what was given, and what was made of it."""


class Again:
    """One making of a value in steps, with what the making before left.

    The value is the same whatever was left: that only saves work. So a step is made of what it is given and
    of nothing else, things that are equal make the same, and nothing given or made is ever changed. What is
    the very same object as before is found to be so at once; each step has a name of its own. A step may hold
    others: those that it did not come to stay as they were left.
    """

    def __init__(self, before: Left | None = None) -> None:
        self._before = before or {}
        self._left: dict[str, Mapping[Any, tuple[Any, Any]]] = dict(self._before)

    @property
    def left(self) -> Left:
        """What the next making may take again: what this one made or took, and what it did not come to."""
        return self._left

    def knows(self, step: str) -> bool:
        """Whether the making before left anything of a step."""
        return step in self._before

    def each(self, step: str, given: Mapping[K, G], make: Callable[[G], V]) -> dict[K, V]:
        """By each key what is made of what is given under it, in the order given."""
        return self.together(step, given, lambda new: {key: make(one) for key, one in new.items()})

    def together(
        self, step: str, given: Mapping[K, G], make: Callable[[Mapping[K, G]], Mapping[K, V]]
    ) -> dict[K, V]:
        """The same where all that is to be made is made at one go, by its keys."""
        before = self._before.get(step, {})
        new = {key: one for key, one in given.items() if key not in before or before[key][0] != one}
        made = make(new) if new else {}
        left = {key: (one, made[key]) if key in new else before[key] for key, one in given.items()}
        self._left[step] = left
        return {key: one for key, (_, one) in left.items()}

    def once(self, step: str, given: G, make: Callable[[G], V]) -> V:
        """What is made of one thing."""
        return self.each(step, {"": given}, make)[""]
