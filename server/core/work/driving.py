"""What sets the date of a plan: the chain of work, waits and arrivals behind one piece of work."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from server.core.work.plan.problem import Problem, Window
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
    free = next((one.windows for one in problem.resources if one.id == hands), ())
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
        if waits > ready[0] and not idle(free, waits, placed[at].start):
            why = Why.ARRIVAL
        elif ready[1] and not idle(free, ready[0], start):
            why, before = Why.AFTER, ready[1]
        else:
            before = _taken_before(problem, schedule, at, start, free, hands)
            why = Why.TAKEN if before is not None else Why.SLOT
            if before is None and not idle(free, 0, start):
                why = Why.FIRST
        chain.append(Link(at, why))
        at = before
    return tuple(reversed(chain))


def idle(free: Sequence[Window], start: int, end: int) -> int:
    """Minutes of these windows between two minutes [min]."""
    return sum(max(min(one.end, end) - max(one.start, start), 0) for one in free)


def _with_turn(schedule: Schedule, start: int, free: Sequence[Window]) -> int:
    """Where the car is turned just before, when that begins."""
    for change in schedule.changes:
        if change.finish <= start and not idle(free, change.finish, start):
            return change.start
    return start


def _taken_before(
    problem: Problem, schedule: Schedule, at: int, start: int, free: Sequence[Window], hands: str
) -> int | None:
    """The work that takes the hands until the start, no minute of them left between."""
    acts = problem.by_id()
    found: tuple[int, int] | None = None
    for one in schedule.placed:
        takes = one.id != at and one.parts and any(use.resource == hands for use in acts[one.id].uses)
        if takes and one.finish <= start and not idle(free, one.finish, start):
            found = max(found or (-1, 0), (one.finish, -one.id))
    return -found[1] if found else None
