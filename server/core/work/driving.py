"""What sets the date of a plan: the chain of work, waits and arrivals behind one piece of work."""

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate

from server.core.work.plan.problem import Activity, Problem, Window
from server.core.work.plan.schedule import Schedule


class Why(StrEnum):
    """Why a piece of work of the chain starts when it does."""

    AFTER = "comes after"
    ARRIVAL = "waits for what arrives"
    TAKEN = "the stint before is taken"
    SLOT = "waits for its slot"
    FIRST = "starts at once"


@dataclass(frozen=True, slots=True)
class Link:
    """One piece of work of the chain, and why it does not start before."""

    id: int
    why: Why


def driving(problem: Problem, schedule: Schedule, target: int, hands: str) -> tuple[Link, ...]:
    """The chain that sets when `target` is done, first link first; nothing where it has no place.

    hands: the resource that does the work. Followed back in turn is what leaves no minute of it free before
    the start: what it comes after, with its wait, or what arrives, whichever is later; else the work that
    takes the hands before it. A change of the car counts with the work that it is for. Source: definition.
    """
    placed = schedule.by_id()
    free = _Free(next((one.windows for one in problem.resources if one.id == hands), ()))
    acts = problem.by_id()
    chain: list[Link] = []
    seen: set[int] = set()
    at: int | None = target if target in placed else None
    while at is not None and at not in seen:
        seen.add(at)
        start = _with_turn(schedule, placed[at].start, free)
        ready = max(
            ((placed[one.task_id].finish + one.least_wait, one.task_id) for one in acts[at].after),
            default=(0, 0),
        )
        waits = acts[at].not_before
        before = None
        if waits > ready[0] and not free.between(waits, placed[at].start):
            why = Why.ARRIVAL
        elif ready[1] and not free.between(ready[0], start):
            why, before = Why.AFTER, ready[1]
        else:
            before = _taken_before(acts, schedule, at, start, free, hands)
            why = Why.TAKEN if before is not None else Why.SLOT
            if before is None and not free.between(0, start):
                why = Why.FIRST
        chain.append(Link(at, why))
        at = before
    return tuple(reversed(chain))


class _Free:
    """How many minutes of some windows lie between two minutes, asked again and again."""

    def __init__(self, windows: Iterable[Window]) -> None:
        windows = list(windows)
        self._starts = sorted(one.start for one in windows)
        self._ends = sorted(one.end for one in windows)
        self._sum_starts = (0, *accumulate(self._starts))
        self._sum_ends = (0, *accumulate(self._ends))

    def between(self, start: int, end: int) -> int:
        """Minutes of the windows between the two [min], 0 where the end is not after the start."""
        return self._before(end) - self._before(start) if start < end else 0

    def _before(self, at: int) -> int:
        begun, over = bisect_left(self._starts, at), bisect_left(self._ends, at)
        return (begun - over) * at - self._sum_starts[begun] + self._sum_ends[over]


def _with_turn(schedule: Schedule, start: int, free: _Free) -> int:
    """Where the car is turned just before, when that begins."""
    for change in schedule.changes:
        if change.finish <= start and not free.between(change.finish, start):
            return change.start
    return start


def _taken_before(
    acts: Mapping[int, Activity], schedule: Schedule, at: int, start: int, free: _Free, hands: str
) -> int | None:
    """The work that takes the hands until the start, no minute of them left between."""
    found: tuple[int, int] | None = None
    for one in schedule.placed:
        takes = one.id != at and one.parts and any(use.resource == hands for use in acts[one.id].uses)
        if takes and one.finish <= start and not free.between(one.finish, start):
            found = max(found or (-1, 0), (one.finish, -one.id))
    return -found[1] if found else None
