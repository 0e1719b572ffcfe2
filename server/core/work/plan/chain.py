"""What sets the date: the chain of work that ends last, hands and hours counted, each with its reason."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from server.core.work.plan.bound import earliest_alone
from server.core.work.plan.calendar import open_times
from server.core.work.plan.problem import ANY, FOREVER, Activity, Car, Problem
from server.core.work.plan.schedule import Placed, Schedule


class Because(StrEnum):
    """Why work starts when it does and not before."""

    AFTER = "it comes after"
    SHARES = "it uses the same"
    CAR = "the car has to be moved first"
    NOT_BEFORE = "it can't begin before"
    START = "it begins with the plan"
    WINDOWS = "what it uses is not there before"


@dataclass(frozen=True, slots=True)
class Link:
    """One piece of work of the chain. other: the id it waits for, of the link before; None for the first.

    resource: what both use, where they share.
    """

    id: int
    because: Because
    other: int | None = None
    resource: str = ""


def chain(problem: Problem, schedule: Schedule, last: int | None = None) -> tuple[Link, ...]:
    """The chain that sets when `last` is finished, or all of the plan, from its first link on.

    Where several reasons hold what it comes after is told, else what it shares; the lowest id where there are
    more. Errors: KeyError where `last` has no place. Source: the critical sequence of J. D. Wiest, Some
    properties of schedules for large projects with limited resources, Operations Research 12 (1964) 395.
    """
    if not schedule.placed:
        return ()
    placed = schedule.by_id()
    if last is None:
        last = min(at for at, one in placed.items() if one.finish == schedule.makespan)
    tracing = _Tracing(problem, schedule)
    links: list[Link] = []
    at: int | None = last
    while at is not None:
        link = tracing.link(placed[at])
        links.append(link)
        at = link.other
    return tuple(reversed(links))


class _Tracing:
    def __init__(self, problem: Problem, schedule: Schedule) -> None:
        self.problem = problem
        self.schedule = schedule
        self.by_id: Mapping[int, Activity] = problem.by_id()
        self.placed: Mapping[int, Placed] = schedule.by_id()

    def link(self, one: Placed) -> Link:
        """The first reason that holds."""
        asked = self.by_id[one.id]
        for ready, link in sorted(self._after(asked), key=lambda pair: (-pair[0], pair[1].other)):
            if self._holds(asked, one, ready):
                return link
        for ready, link in sorted(self._shares(asked, one), key=lambda pair: (-pair[0], pair[1].other)):
            if self._holds(asked, one, ready):
                return link
        if self.problem.car is not None and asked.car_state != ANY:
            moved = self._moved(asked, one, self.problem.car)
            if moved is not None:
                return moved
        if asked.not_before > 0 and self._holds(asked, one, asked.not_before):
            return Link(one.id, Because.NOT_BEFORE)
        return Link(one.id, Because.WINDOWS if one.start > 0 else Because.START)

    def _holds(self, asked: Activity, one: Placed, ready: int) -> bool:
        """Whether work that is ready then starts when it does, and would start earlier if ready at once."""
        if ready == one.start:
            return True
        spans = open_times(self.problem.resources, asked.uses)
        at_once, then = (earliest_alone(asked, since, spans)[0] for since in (0, ready))
        return at_once < then == one.start

    def _after(self, asked: Activity) -> Iterator[tuple[int, Link]]:
        for link in asked.after:
            ready = self.placed[link.task_id].finish + link.least_wait
            yield ready, Link(asked.id, Because.AFTER, link.task_id)

    def _shares(self, asked: Activity, one: Placed) -> Iterator[tuple[int, Link]]:
        for use in asked.uses:
            for other in self.schedule.placed:
                uses = {own.resource for own in self.by_id[other.id].uses}
                if other.id != one.id and use.resource in uses and other.parts and other.finish <= one.start:
                    yield other.finish, Link(asked.id, Because.SHARES, other.id, use.resource)

    def _moved(self, asked: Activity, one: Placed, car: Car) -> Link | None:
        """Where the car's change holds it: what kept the car as it was, or the hands that change it."""
        before = [change for change in self.schedule.changes if change.finish <= one.start]
        if not before or not self._holds(asked, one, before[-1].finish):
            return None
        change = before[-1]
        movers = {use.resource for use in car.uses}
        held = [
            (-other.finish, other.id)
            for other in self.schedule.placed
            if other.finish <= change.start
            and (
                self.by_id[other.id].car_state not in (ANY, change.to)
                or movers & {use.resource for use in self.by_id[other.id].uses}
            )
        ]
        return Link(one.id, Because.CAR, min(held, default=(FOREVER, None))[1])
