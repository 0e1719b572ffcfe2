"""What is to be planned, as frozen values: work, who and what it needs and when they are there, and the car.

Time is counted in whole minutes that really pass [min], from an origin that the caller chooses, such as the
hour of planning. Who turns dates into minutes subtracts one aware moment from another, so that a day on which
the clocks change has 23 or 25 hours and nothing here has to know. Work is done in the windows in which all it
uses is there; waits, such as a sealant's cure, pass by night too.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from server.core.work.tasks import ON_STANDS, After

FOREVER = 10**9
"""A minute that no plan reaches (some 1,900 years)."""
ANY = "any"
"""The car may stand as it likes."""


class Window(NamedTuple):
    """A time in which `amount` of a resource is there: from `start` until just before `end` [min].

    A tuple, as `Use`: hundreds of them are compared at once.
    """

    start: int
    end: int
    amount: int = 1


@dataclass(frozen=True, slots=True)
class Resource:
    """Who or what work is done with and is free again afterwards: builder, helper, lift, the only vice.

    windows: when it is there, in any order; where windows overlap their amounts add up. The builder's stints,
    the helper's offered slots and the hours in which noise is allowed are windows alike.
    """

    id: str
    windows: tuple[Window, ...]
    _hash: int = field(init=False, repr=False, compare=False)
    """Told apart by it again and again, and there are hundreds of windows."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "_hash", hash((self.id, self.windows)))

    def __hash__(self) -> int:
        return self._hash

    @property
    def most(self) -> int:
        """The most of it that there ever is at once."""
        steps = sorted(
            step for one in self.windows for step in ((one.start, one.amount), (one.end, -one.amount))
        )
        there = most = 0
        for _, change in steps:
            there += change
            most = max(most, there)
        return most


def always(name: str, amount: int = 1) -> Resource:
    """A resource of which `amount` is there at any time."""
    return Resource(name, (Window(0, FOREVER, amount),))


class Use(NamedTuple):
    """So much of a resource while the work goes on; a pause between stints gives it back."""

    resource: str
    amount: int = 1


@dataclass(frozen=True, slots=True)
class Activity:
    """One piece of work in the plan; a task, a reading to take, or a gate of no minutes.

    id: stable; it breaks ties, and a forecast draws by it. minutes: what is planned of stint time [min], for
    a task in hand what is left of it. after: what must be finished first, and how long before [min]
    (`After`). uses: at once, all the while. not_before: the earliest start [min], such as a delivery's
    expected day. splits: may go on in the next window where one ends; otherwise it is done in one go.
    car_state: how the car must stand, `ANY` or a word such as `ON_STANDS`; it stands so from the start of the
    work to its end, pauses included.
    """

    id: int
    minutes: int
    after: tuple[After, ...] = ()
    uses: tuple[Use, ...] = ()
    not_before: int = 0
    splits: bool = False
    car_state: str = ANY


@dataclass(frozen=True, slots=True)
class Car:
    """How the car stands at the origin, and what it takes to have it stand otherwise.

    raising, lowering: minutes of work to bring it up on its stands, and back [min]. uses: who does that.
    """

    stands: str
    raising: int
    lowering: int
    uses: tuple[Use, ...] = ()

    def minutes_to(self, state: str) -> int:
        """What it takes to have it stand so [min], coming from otherwise."""
        return self.raising if state == ON_STANDS else self.lowering


@dataclass(frozen=True, slots=True)
class Problem:
    """All that is to be planned together. car None: what the activities ask of the car is not heeded."""

    activities: tuple[Activity, ...]
    resources: tuple[Resource, ...] = ()
    car: Car | None = None

    def by_id(self) -> Mapping[int, Activity]:
        """The activities by their ids."""
        return {one.id: one for one in self.activities}


def minutes_whole(minutes: float) -> int:
    """A time in whole minutes [min], halves upwards: an expected duration as the plan counts it.

    >>> minutes_whole(22.5)
    23
    """
    return int(minutes + 0.5)
