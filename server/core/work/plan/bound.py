"""How soon all could be done at best: a bound that no plan goes below."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from operator import itemgetter

from server.core.work.plan.calendar import open_times, reach
from server.core.work.plan.generate import parts_of
from server.core.work.plan.problem import FOREVER, Activity, Problem, Resource, Use
from server.core.work.tasks import in_order


@dataclass(frozen=True, slots=True)
class Bound:
    """When all is done at the soonest [min], and what says so: a resource's id, or "" for the network."""

    end: int
    by: str = ""


Alone = tuple[Mapping[int, int], Mapping[int, int]]
"""Earliest starts and finishes by id [min], each piece of work alone in its windows."""


def lower_bound(problem: Problem, alone: Alone | None = None) -> Bound:
    """The larger of the critical path, windows heeded, and of what each resource has to give.

    Of any work that can't begin before one minute and is followed by so many more, the amount times minutes
    fit into what is there of the resource from that minute on. Work that has no place in its windows is left
    out. alone: what `earliest` says of the problem, where that is known. Errors: ValueError for a ring.
    Source: L. Stinson et al., Multiple resource-constrained scheduling
    using branch and bound, AIIE Transactions 10 (1978) 252, for the two bounds; heads and tails: geometry.
    """
    heads, finishes = alone or earliest(problem)
    tails = _tails(problem)
    placed = [one for one in problem.activities if finishes[one.id] < FOREVER]
    best = Bound(max((finishes[one.id] + tails[one.id] for one in placed), default=0))
    for resource in problem.resources:
        end = _by_energy(resource, placed, heads, tails)
        if end > best.end:
            best = Bound(end, resource.id)
    return best


def earliest(problem: Problem) -> Alone:
    """Earliest starts and finishes by id [min], each piece of work alone in its windows.

    At `FOREVER` or later for what has no place there, and for all behind it. Errors: ValueError for a ring.
    Source: `network`.
    """
    order, ring = in_order(problem.activities)
    if ring:
        raise ValueError(f"activities {ring} wait for each other")
    by_id = problem.by_id()
    starts: dict[int, int] = {}
    finishes: dict[int, int] = {}
    spans: dict[tuple[Use, ...], tuple[tuple[int, int], ...]] = {}
    for at in order:
        one = by_id[at]
        arrivals = (finishes[link.task_id] + link.least_wait for link in one.after)
        ready = max((0, one.not_before, *arrivals))
        if one.uses not in spans:
            spans[one.uses] = open_times(problem.resources, one.uses)
        starts[at], finishes[at] = earliest_alone(one, ready, spans[one.uses])
    return starts, finishes


def earliest_alone(one: Activity, ready: int, spans: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Earliest start and finish of a piece of work at or after `ready` in the times it may be done in [min].

    At `FOREVER` or later where it has no place. Source: geometry.
    """
    if not one.minutes:
        return ready, ready
    if one.splits:
        parts = parts_of(ready, one.minutes, spans)
        return parts[0][0], parts[-1][1]
    for start, end in spans[bisect_right(spans, ready, key=itemgetter(1)) :]:
        begun = max(ready, start)
        if begun + one.minutes <= end:
            return begun, begun + one.minutes
    return max(ready, FOREVER), max(ready, FOREVER) + one.minutes


def _tails(problem: Problem) -> Mapping[int, int]:
    """For each piece of work the least minutes that follow its end."""
    by_id = problem.by_id()
    tails = dict.fromkeys(by_id, 0)
    for at in reversed(in_order(problem.activities)[0]):
        for link in by_id[at].after:
            through = link.least_wait + by_id[at].minutes + tails[at]
            tails[link.task_id] = max(tails[link.task_id], through)
    return tails


def _by_energy(
    resource: Resource, placed: Iterable[Activity], heads: Mapping[int, int], tails: Mapping[int, int]
) -> int:
    """The latest of the ends that any part of the work asks of this resource [min]."""
    asked = [
        (heads[one.id], tails[one.id], use.amount * one.minutes)
        for one in placed
        for use in one.uses
        if use.resource == resource.id and one.minutes
    ]
    asked.sort(key=lambda three: -three[1])
    supply = _Supply(resource)
    latest = 0
    for head in sorted({three[0] for three in asked}):
        energy, given = 0, supply.until(head)
        for own, tail, work in asked:
            if own >= head:
                energy += work
                latest = max(latest, supply.when(given + energy) + tail)
    return latest


class _Supply:
    """What a resource has given by each minute, amounts times minutes."""

    def __init__(self, resource: Resource) -> None:
        steps: dict[int, int] = {-FOREVER: 0}
        for one in resource.windows:
            start, end = reach(one)
            steps[start] = steps.get(start, 0) + one.amount
            steps[end] = steps.get(end, 0) - one.amount
        self._times = sorted(steps)
        self._there = list(accumulate(steps[time] for time in self._times))
        spans = (end - start for start, end in pairwise(self._times))
        gifts = (there * span for there, span in zip(self._there, spans, strict=False))
        self._given = list(accumulate(gifts, initial=0))

    def until(self, minute: int) -> int:
        at = bisect_right(self._times, minute) - 1
        return self._given[at] + self._there[at] * (minute - self._times[at])

    def when(self, given: int) -> int:
        """The first minute by which so much is given; 0 where it never is."""
        at = bisect_left(self._given, given)
        if at == len(self._given):
            return 0
        if not at:
            return self._times[0]
        return self._times[at - 1] - (self._given[at - 1] - given) // self._there[at - 1]
