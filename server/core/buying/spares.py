"""How many to have over what is needed: what a wait is worth against what one too many costs."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import comb

MOST = 50
"""Spares of one part at the most."""

SIZE_WRONG = "the size may be wrong once it is held against the tube"
CHANCES = {
    "gasket": (0.25, "it crushes once, and a second try takes a new one"),
    "seal": (0.2, "it is easily cut when it is fitted"),
    "o-ring": (0.2, "it is easily cut when it is fitted"),
    "olive": (0.2, "it crushes once"),
    "washer": (0.2, "it crushes once"),
    "tube": (0.1, "a cut may be spoilt"),
    "hose": (0.1, "a cut may be spoilt"),
    "bend": (0.1, "a cut may be spoilt"),
    "elbow": (0.1, "a cut may be spoilt"),
    "coupler": (0.08, SIZE_WRONG),
    "reducer": (0.08, SIZE_WRONG),
    "clamp": (0.04, "a thread may strip"),
    "stud": (0.08, "a thread may strip"),
    "bolt": (0.05, "a thread may strip, or one drops out of reach"),
    "nut": (0.05, "a thread may strip, or one drops out of reach"),
    "fitting": (0.05, "a thread may be spoilt"),
}
"""By a word of a part's kind or name: the chance that one piece has to be had again, and why. Common
practice, no source."""


@lru_cache(maxsize=4096)
def usual_chance(kind: str, name: str) -> tuple[float, str]:
    """The chance that one piece has to be had again, and why; 0 where nothing is usual."""
    for text in (kind, name):
        words = text.casefold().replace(",", " ").split()
        for word, (chance, why) in CHANCES.items():
            if any(one in (word, f"{word}s", f"{word}es") for one in words):
                return chance, why
    return 0.0, ""


def by_readings(usual: tuple[float, str], wrong: float) -> tuple[float, str]:
    """The chance that one piece has to be had again, and why, where the readings of what it fits are known.

    usual: as `usual_chance`; wrong: that its size is wrong, by those readings [-]. It takes the place of what
    is usual of sizes, and stands beside any other cause, each by itself. Source: the product rule.

    >>> by_readings((0.1, "a cut may be spoilt"), 0.5)[0]
    0.55
    """
    chance, why = usual
    told = f"by the readings of what it fits, its size is wrong in {wrong:.0%} of cases".replace("%", " %")
    if why == SIZE_WRONG or not chance:
        return wrong, told
    if wrong < LEAST_TOLD:
        return chance, why
    return 1.0 - (1.0 - chance) * (1.0 - wrong), f"{why}; and {told}"


LEAST_TOLD = 0.005
"""A chance under this is not told [-]."""


def critical_ratio(too_few: float, too_many: float) -> float:
    """How sure to be of having enough: what one too few costs, over that and what one too many costs.

    Source: newsvendor rule (Porteus, The newsvendor problem).
    """
    return too_few / (too_few + too_many) if too_few > 0.0 else 0.0


def least_enough(chance_enough: Callable[[int], float], ratio: float, most: int = MOST) -> int:
    """The smallest number that is enough with at least the chance `ratio`, `most` where none is.

    chance_enough: the chance that no more than so many are wanted. Source: newsvendor rule.
    """
    return next((many for many in range(most) if chance_enough(many) >= ratio), most)


def chance_enough(spares: int, pieces: int, chance: float) -> float:
    """The chance that no more than so many of the pieces have to be had again, each by itself.

    Source: binomial distribution.
    """
    upto = range(min(spares, pieces) + 1)
    return sum(comb(pieces, n) * chance**n * (1.0 - chance) ** (pieces - n) for n in upto)


@dataclass(frozen=True, slots=True)
class Advice:
    """So many spares by the rule, and what it rests on; money in minor units.

    chance: that one piece has to be had again; wait_minor: what waiting for one is worth, postage counted;
    lost_minor: what one too many costs, with its parcel where nothing else is bought there (parcel); needed:
    the chance that a spare is needed at all; back: one too many may go back.
    """

    count: int
    chance: float
    why: str
    days: int
    wait_minor: int
    lost_minor: int
    needed: float
    back: bool
    parcel: bool


@lru_cache(maxsize=4096)
def advised(
    pieces: int,
    chance: float,
    why: str,
    *,
    price_minor: int,
    days: int,
    week_minor: int,
    postage_minor: int,
    takes_back: bool,
    parcel: bool = False,
) -> Advice:
    """Spares by the newsvendor rule.

    pieces: that are needed; days: from order to door; week_minor: what a week's wait is worth to the builder.
    parcel: nothing else is bought there. One too few costs the wait and a parcel of its own; one too many its
    price, or where the supplier takes it back the postage, if that is less, and a parcel for it alone.
    Source: `critical_ratio`, `chance_enough`.
    """
    wait = week_minor * days // 7 + postage_minor
    lost = min(price_minor, postage_minor) if takes_back else price_minor
    lost += postage_minor if parcel else 0
    ratio = critical_ratio(wait, lost)
    count = least_enough(lambda many: chance_enough(many, pieces, chance), ratio) if chance else 0
    return Advice(
        count, chance, why, days, wait, lost, 1.0 - chance_enough(0, pieces, chance), takes_back, parcel
    )
