"""Schedules from an order of work: the serial and the parallel schedule generator, waits and windows heeded.

Serial: one after the other in the order given, each at its earliest time. Parallel: whatever can start first
starts first, the order breaking ties. Source: R. Kolisch, Serial and parallel resource-constrained project
scheduling methods revisited, European Journal of Operational Research 90 (1996) 320. What may be split pauses
only where a window of what it uses ends, and goes on with the next: B. Franck, K. Neumann and C. Schwindt,
Project scheduling with calendars, OR Spektrum 23 (2001) 325.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from operator import itemgetter

from server.core.work.plan.indexed import Indexed
from server.core.work.plan.problem import FOREVER

Span = tuple[int, int]

_end_of = itemgetter(1)


@dataclass(frozen=True, slots=True)
class Pass:
    """Starts and finishes by place [min], and changes of the car as (start, finish, state).

    What finds no place stands at `FOREVER` or later.
    """

    starts: list[int]
    finishes: list[int]
    changes: tuple[tuple[int, int, int], ...] = ()


def serial(forth: Indexed, order: Sequence[int], since: int = 0) -> Pass:
    """Each place of `order` in turn at its earliest time, none before `since` [min].

    The order has each place behind what it comes after. Source: the module's first.
    """
    if not forth.plain:
        return _Filling(forth, since).serial(order)
    times, free, guard = list(forth.times), list(forth.free), forth.guard
    before, minutes, use = forth.before, forth.minutes, forth.use
    starts, finishes = [max(since, one) for one in forth.not_before], [0] * len(order)
    for place in order:
        start = starts[place]
        for earlier, wait in before[place]:
            ready = finishes[earlier] + wait
            if ready > start:
                start = ready
        asked, length = use[place], minutes[place]
        end = start + length
        if asked and length:
            # Walk over the steps of what is free, beginning anew behind each that is too small.
            first = at = bisect_right(times, start) - 1
            while True:
                if (free[at] - asked) & guard != guard:
                    at += 1
                    first = at
                    start = times[at]
                    end = start + length
                else:
                    at += 1
                    if times[at] >= end:
                        break
            if times[first] != start:
                first += 1
                at += 1
                times.insert(first, start)
                free.insert(first, free[first - 1])
            if times[at] != end:
                times.insert(at, end)
                free.insert(at, free[at - 1])
            for step in range(first, at):
                free[step] -= asked
        starts[place] = start
        finishes[place] = end
    return Pass(starts, finishes)


def parallel(forth: Indexed, rank: Sequence[int], since: int = 0) -> Pass:
    """What can start first starts first; of several that can, the one with the lowest rank, by place.

    since: nothing starts before [min]. Source: the module's first.
    """
    return _Filling(forth, since).parallel(rank)


class _Filling:
    """A schedule while it is being made: what is still free, and how the car stands."""

    def __init__(self, forth: Indexed, since: int) -> None:
        self.forth = forth
        self.times = list(forth.times)
        self.free = list(forth.free)
        self.starts = [max(since, one) for one in forth.not_before]
        self.finishes = [0] * len(forth.ids)
        self.stands = forth.car.stands if forth.car else 0
        self.stands_since = since
        self.needed_until = since
        self.changes: list[tuple[int, int, int]] = []

    def serial(self, order: Sequence[int]) -> Pass:
        for place in order:
            self.settle(place, self.ready(place))
        return self.done()

    def parallel(self, rank: Sequence[int]) -> Pass:
        waiting = [len(links) for links in self.forth.before]
        behind: list[list[int]] = [[] for _ in rank]
        for place, links in enumerate(self.forth.before):
            for earlier, _ in links:
                behind[earlier].append(place)
        heap = [(self.earliest(place), rank[place], place) for place, left in enumerate(waiting) if not left]
        heapify(heap)
        while heap:
            told, own, place = heappop(heap)
            start = self.earliest(place)
            if start > told:
                # What was settled meanwhile put it off: it takes its turn again.
                heappush(heap, (start, own, place))
                continue
            self.settle(place, self.ready(place))
            for later in behind[place]:
                waiting[later] -= 1
                if not waiting[later]:
                    heappush(heap, (self.earliest(later), rank[later], later))
        return self.done()

    def done(self) -> Pass:
        return Pass(self.starts, self.finishes, tuple(self.changes))

    def ready(self, place: int) -> int:
        """When all it comes after is finished and waited for."""
        start, finishes = self.starts[place], self.finishes
        for earlier, wait in self.forth.before[place]:
            ready = finishes[earlier] + wait
            if ready > start:
                start = ready
        return start

    def earliest(self, place: int) -> int:
        """Its earliest start as things stand, the car's change heeded."""
        start = self.ready(place)
        state = self.forth.state[place]
        if state and state == self.stands:
            start = max(start, self.stands_since)
        elif state and self.stands:
            start = max(start, self.change(state)[1])
        return self.fit(start, self.forth.minutes[place], self.forth.use[place], self.forth.spans[place])[0]

    def change(self, state: int) -> tuple[int, int, tuple[Span, ...]]:
        """When the car can be brought to stand so, as `fit`, once nobody needs it otherwise."""
        car = self.forth.car
        assert car is not None
        length = car.minutes_to[self.stands if car.backwards else state]
        return self.fit(self.needed_until, length, car.use, None)

    def settle(self, place: int, start: int) -> None:
        """Give it its earliest time from when it is ready, and the car its change where it needs one."""
        state = self.forth.state[place]
        if state:
            start = max(start, self.brought(state))
        asked = self.forth.use[place]
        start, end, parts = self.fit(start, self.forth.minutes[place], asked, self.forth.spans[place])
        self.take(parts, asked)
        if state and end > self.needed_until:
            self.needed_until = end
        self.starts[place], self.finishes[place] = start, end

    def brought(self, state: int) -> int:
        """Since when the car stands so; it is brought to where it stands otherwise."""
        if state != self.stands:
            if self.stands:
                begun, ended, parts = self.change(state)
                assert self.forth.car is not None
                self.take(parts, self.forth.car.use)
                self.changes.append((begun, ended, state))
                self.stands_since = ended
            self.stands = state
        return self.stands_since

    def fit(
        self, start: int, length: int, asked: int, spans: tuple[Span, ...] | None
    ) -> tuple[int, int, tuple[Span, ...]]:
        """The earliest start, end and parts at or after a time in which so much is free for so long [min].

        What finds no place stands at `FOREVER` or later, and takes nothing there.
        """
        if not length or not asked or start >= FOREVER:
            return start, start + length, ()
        if spans is None:
            start = self.free_for(start, length, asked)
            return start, start + length, ((start, start + length),) if start < FOREVER else ()
        parts = self.parts_free(start, length, asked, spans)
        if parts is None:
            start = max(start, FOREVER)
            return start, start + length, ()
        return parts[0][0], parts[-1][1], parts

    def parts_free(
        self, start: int, length: int, asked: int, spans: tuple[Span, ...]
    ) -> tuple[Span, ...] | None:
        """The earliest goes at work, as `parts_of`, in which so much is free; None where there are none.

        Gone through once: where too little is free, what was gathered before is lost.
        """
        times, free, guard = self.times, self.free, self.forth.guard
        span = bisect_right(spans, start, key=_end_of)
        if span == len(spans):
            return None
        begun, ended = spans[span]
        begun = max(begun, start)
        at = bisect_right(times, begun) - 1
        parts: list[Span] = []
        left = length
        while True:
            if (free[at] - asked) & guard != guard:
                while (free[at] - asked) & guard != guard:
                    at += 1
                begun = times[at]
                left = length
                parts.clear()
                if begun >= ended:
                    span = bisect_right(spans, begun, span, key=_end_of)
                    if span == len(spans):
                        return None
                    ended = spans[span][1]
            until = times[at + 1]
            if begun + left <= until and begun + left <= ended:
                return (*parts, (begun, begun + left))
            at += 1
            if until >= ended:
                parts.append((begun, ended))
                left -= ended - begun
                span += 1
                if span == len(spans):
                    return None
                begun, ended = spans[span]
                at = bisect_right(times, begun, at - 1) - 1

    def free_for(self, start: int, length: int, asked: int) -> int:
        """The earliest time at or after `start` from which so much is free for so long [min]."""
        times, free, guard = self.times, self.free, self.forth.guard
        at = bisect_right(times, start) - 1
        while True:
            if (free[at] - asked) & guard != guard:
                at += 1
                start = times[at]
            else:
                at += 1
                if times[at] >= start + length:
                    return start

    def take(self, parts: Sequence[Span], asked: int) -> None:
        """What is taken is free no more. A step at which nothing changes any longer is left out: few stay."""
        times, free = self.times, self.free
        for start, end in parts:
            first = bisect_right(times, start) - 1
            if times[first] != start:
                first += 1
                times.insert(first, start)
                free.insert(first, free[first - 1])
            last = bisect_left(times, end, first)
            if times[last] != end:
                times.insert(last, end)
                free.insert(last, free[last - 1])
            for step in range(first, last):
                free[step] -= asked
            if free[last] == free[last - 1]:
                del times[last], free[last]
            if first and free[first] == free[first - 1]:
                del times[first], free[first]


def parts_of(start: int, length: int, spans: Sequence[Span]) -> tuple[Span, ...]:
    """The goes at work of so many minutes that begins at `start` or later and pauses between spans [min].

    What the spans have no room for stands in one go at `FOREVER`. Source: geometry.

    >>> parts_of(100, 50, ((0, 120), (200, 300)))
    ((100, 120), (200, 230))
    """
    parts: list[Span] = []
    for at in range(bisect_right(spans, start, key=_end_of), len(spans)):
        begun = max(start, spans[at][0])
        ended = min(begun + length, spans[at][1])
        parts.append((begun, ended))
        length -= ended - begun
        if not length:
            return tuple(parts)
    return ((max(start, FOREVER), max(start, FOREVER) + length),)
