"""A problem by places instead of ids, so that a schedule takes microseconds: made once, used many times.

Places run from 0 in an order in which each stands behind what it comes after, lower ids first. What is free
of all resources at one time is one whole number: a field of bits for each resource and above it one guard
bit, which a subtraction clears exactly where the field is too small.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.core.work.plan.calendar import open_times, reach
from server.core.work.plan.problem import ANY, FOREVER, Problem, Use
from server.core.work.tasks import in_order


@dataclass(frozen=True, slots=True)
class CarAt:
    """The car in numbers: how it stands at first (0: as is needed first), and what a change takes.

    minutes_to: by state [min]; 0 stands for any. Backwards in time a change takes what it takes to the state
    that it comes from, which is why `backwards` is told.
    """

    stands: int
    minutes_to: tuple[int, ...]
    use: int
    backwards: bool


@dataclass(frozen=True, slots=True)
class Indexed:
    """A problem by places. before: for each place the places and waits that it comes after.

    minutes, not_before: [min]. use: packed. guard: the guard bits. times, free: from each time [min] on so
    much is free, packed, guard bits set; from `FOREVER` on all is free, so that what finds no place before
    stands there. spans: for what may be split the times in which all it uses is there, None for the rest.
    state: how the car must stand, 0 for any. plain: nothing is split or asks anything of the car.
    """

    ids: tuple[int, ...]
    before: tuple[tuple[tuple[int, int], ...], ...]
    minutes: tuple[int, ...]
    not_before: tuple[int, ...]
    use: tuple[int, ...]
    guard: int
    times: tuple[int, ...]
    free: tuple[int, ...]
    spans: tuple[tuple[tuple[int, int], ...] | None, ...]
    state: tuple[int, ...]
    states: tuple[str, ...]
    car: CarAt | None
    plain: bool


def indexed(problem: Problem) -> Indexed:
    """The problem by places. Errors: ValueError for a ring, and for what comes after something unknown."""
    order, ring = in_order(problem.activities)
    if ring:
        raise ValueError(f"activities {ring} wait for each other")
    by_id = problem.by_id()
    at = {one: place for place, one in enumerate(order)}
    packing = _Packing(problem)
    activities = [by_id[one] for one in order]
    states = {ANY: 0}
    if problem.car is not None:
        for name in (problem.car.stands, *(one.car_state for one in activities)):
            states.setdefault(name, len(states))
    times, free = packing.profile()
    every = {one.uses for one in activities}
    asked = {uses: (packing.packed(uses), _spans(problem, uses)) for uses in every}
    """What each kind of use asks for, and when all of it is there."""
    kinds = [asked[one.uses] for one in activities]
    spans = tuple(
        open_for if one.splits else None for one, (_, open_for) in zip(activities, kinds, strict=True)
    )
    car = None
    if problem.car is not None:
        minutes_to = tuple(0 if name == ANY else problem.car.minutes_to(name) for name in states)
        car = CarAt(states[problem.car.stands], minutes_to, packing.packed(problem.car.uses), backwards=False)
    state = tuple(states[one.car_state] if car else 0 for one in activities)
    return Indexed(
        ids=order,
        before=tuple(tuple((at[link.task_id], link.least_wait) for link in one.after) for one in activities),
        minutes=tuple(one.minutes for one in activities),
        not_before=tuple(one.not_before for one in activities),
        use=tuple(use for use, _ in kinds),
        guard=packing.guard,
        times=times,
        free=free,
        spans=spans,
        state=state,
        states=tuple(states),
        car=car,
        plain=not any(state) and not any(spans),
    )


def backwards(forth: Indexed) -> Indexed:
    """The same problem with time running backwards from minute 0, the last place first; no earliest starts.

    A plan of it, turned round, has each piece of work as late as it can be.
    """
    last = len(forth.ids) - 1
    before: list[list[tuple[int, int]]] = [[] for _ in forth.ids]
    for place, links in enumerate(forth.before):
        for earlier, wait in links:
            before[last - earlier].append((last - place, wait))
    inner = forth.times[1:-2]
    """Where what is free changes, between −`FOREVER` and `FOREVER`."""
    shared = {id(one): one for one in forth.spans if one is not None}
    turned = {at: _turned(one) for at, one in shared.items()}
    """Once for all that use the same."""
    return Indexed(
        ids=forth.ids[::-1],
        before=tuple(tuple(links) for links in before),
        minutes=forth.minutes[::-1],
        not_before=tuple(-FOREVER for _ in forth.ids),
        use=forth.use[::-1],
        guard=forth.guard,
        times=(-FOREVER, *(-one for one in reversed(inner)), FOREVER, 2 * FOREVER),
        free=(*forth.free[len(inner) :: -1], *forth.free[-2:]),
        spans=tuple(turned.get(id(one)) for one in reversed(forth.spans)),
        state=forth.state[::-1],
        states=forth.states,
        car=forth.car and CarAt(0, forth.car.minutes_to, forth.car.use, backwards=True),
        plain=forth.plain,
    )


def _turned(spans: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    return tuple((-end, -start) for start, end in reversed(spans))


def _spans(problem: Problem, uses: Iterable[Use]) -> tuple[tuple[int, int], ...] | None:
    """The times in which all of this is there; None where that is always."""
    spans = open_times(problem.resources, uses)
    return None if spans == ((-FOREVER, FOREVER),) else spans


class _Packing:
    """Where in one whole number the bits of each resource are."""

    def __init__(self, problem: Problem) -> None:
        self._resources = problem.resources
        self._shift: dict[str, int] = {}
        self.guard = shift = 0
        self._most = {one.id: one.most for one in problem.resources}
        for use in (use for one in problem.activities for use in one.uses):
            # What asks for more than there ever is fits where all is free, and so finds no place.
            self._most[use.resource] = max(self._most[use.resource], use.amount)
        for one in problem.resources:
            self._shift[one.id] = shift
            shift += max(self._most[one.id], 1).bit_length() + 1
            self.guard |= 1 << (shift - 1)

    def packed(self, uses: Iterable[Use]) -> int:
        return sum(one.amount << self._shift[one.resource] for one in uses)

    def profile(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """The times at which what is free changes, and what is free from each on."""
        steps: dict[int, int] = {-FOREVER: self.guard}
        full = self.guard
        for one in self._resources:
            shift = self._shift[one.id]
            full += self._most[one.id] << shift
            for window in one.windows:
                start, end = reach(window)
                steps[start] = steps.get(start, 0) + (window.amount << shift)
                steps[end] = steps.get(end, 0) - (window.amount << shift)
        steps.pop(FOREVER, None)
        times, free, there = sorted(steps), [], 0
        for time in times:
            there += steps[time]
            free.append(there)
        return (*times, FOREVER, 2 * FOREVER), (*free, full, full)
