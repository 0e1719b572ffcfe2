"""A plan as a frozen value: when each piece of work is done, when the car is raised, what finds no place."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Part:
    """One go at a piece of work, from `start` until just before `end` [min]."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece of work with its place in the plan.

    parts: in order; more than one where it goes on in a later window, none where it takes no time (then
    `start` and `finish` are the same minute [min]).
    """

    id: int
    start: int
    finish: int
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class CarChange:
    """The car is raised or lowered: from `start` to `finish` [min], so that it then stands `to`."""

    start: int
    finish: int
    to: str


@dataclass(frozen=True, slots=True)
class NoPlace:
    """A piece of work for which the plan has no room, and why, in words."""

    id: int
    why: str


@dataclass(frozen=True, slots=True)
class Schedule:
    """When what is done.

    placed: by start, then id. order: the ids in the order in which they were given their place; replaying it
    gives the same plan. changes: of the car, in time. no_place: what fits nowhere in the windows, and what
    comes after that. passes: schedules generated to find this one, a forward or a backward pass being one.
    """

    placed: tuple[Placed, ...]
    order: tuple[int, ...] = ()
    changes: tuple[CarChange, ...] = ()
    no_place: tuple[NoPlace, ...] = ()
    passes: int = 1

    @property
    def makespan(self) -> int:
        """The minute at which the last piece of work is finished [min]; 0 where there is none."""
        return max((one.finish for one in self.placed), default=0)

    def by_id(self) -> Mapping[int, Placed]:
        """What has a place, by id."""
        return {one.id: one for one in self.placed}
