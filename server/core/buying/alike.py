"""Parts to buy that may be one: of the same kind and the same sizes, of another make or name."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from server.core.buying.choice_words import Money
from server.core.buying.listing import Basket, Line

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


@dataclass(frozen=True, slots=True)
class Alike:
    """Two parts that may be one. keep_id, other_id: their numbers; words: what there is to do, and to save.

    may_merge: nothing of the other one is here or on order, so that it can be bought as the first.
    """

    keep_id: int
    other_id: int
    keep: str
    other: str
    words: str
    may_merge: bool


def sizes(name: str) -> tuple[float, ...]:
    """Every number in a part's name, rising: "Coupler 63,5 mm, 76 mm long" has 63.5 and 76."""
    return tuple(sorted(float(one.replace(",", ".")) for one in _NUMBER.findall(name)))


def alike(lines: Iterable[Line]) -> tuple[tuple[Line, Line], ...]:
    """Pairs of the same kind with the same sizes in their names, the one whose piece is cheaper first.

    Whether one does for both is the builder's to say. Source: common practice, no source.
    """
    groups: dict[tuple[str, tuple[float, ...]], list[Line]] = {}
    for line in lines:
        if line.kind and line.part_id and (found := sizes(line.name)):
            groups.setdefault((line.kind, found), []).append(line)
    return tuple(
        (one, other) if _each(one) <= _each(other) else (other, one)
        for group in groups.values()
        for one, other in combinations(group, 2)
        if one.part_id != other.part_id
    )


def _each(line: Line) -> float:
    """The price of a piece; what has none counts as dearest."""
    return float("inf") if line.cost_minor is None else line.cost_minor / max(line.quantity, 1)


def alike_told(baskets: Iterable[Basket], money: Money) -> tuple[Alike, ...]:
    """E.g. Coupler 80 mm beside Hose joiner 80 mm: if one does for both, buy the first of the two alone."""
    told = []
    for keep, other in alike(line for basket in baskets for line in basket.lines):
        saved = 0
        if keep.offer is not None and keep.cost_minor is not None and other.cost_minor is not None:
            both = keep.quantity - keep.left_over + other.quantity - other.left_over
            saved = keep.cost_minor + other.cost_minor - keep.offer.cost(both)
        gain = f" That saves {money(saved)}, before postage." if saved > 0 else ""
        words = f"One kind, one size. If one does for both, buy the first of the two alone.{gain}"
        free = not (other.in_hand or other.on_order)
        told.append(Alike(keep.part_id or 0, other.part_id or 0, keep.name, other.name, words, free))
    return tuple(told)
