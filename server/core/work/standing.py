"""How each task stands: ready, held, in hand or done; what holds it, and what that comes down to."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum
from functools import cached_property, lru_cache
from typing import NamedTuple

from server.core.again import Again
from server.core.work.holds import Hold, HoldKind, worst_first
from server.core.work.tasks import After, TaskPlan, TaskState, in_order_of


class Word(StrEnum):
    READY = "ready"
    HELD = "held"
    IN_HAND = "in hand"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Frees:
    """What finishing a task releases.

    directly: open tasks that nothing else holds (a least wait may then begin to run); in_all: every task that
    waits for it, through others too, whatever else holds them.
    """

    directly: int = 0
    in_all: int = 0


@dataclass(frozen=True)
class Standing:
    """How one task stands.

    holds: what holds it directly, worst first; roots: what that comes down to when unfinished tasks are
    followed back to what really stops them, each once, worst first. A task in hand was begun, so tasks and
    waits before it no longer hold it; its other holds are still told.
    """

    word: Word
    holds: tuple[Hold, ...] = ()
    roots: tuple[Hold, ...] = ()
    frees: Frees = Frees()

    @cached_property
    def outside(self) -> tuple[Hold, ...]:
        """What holds the task itself, tasks that come first left out; worked out when first asked for."""
        return tuple(hold for hold in self.holds if hold.kind is not HoldKind.TASK)

    @cached_property
    def comes_down_to(self) -> tuple[tuple[HoldKind, int], ...]:
        """Kind and number of each root, each once; number 0 where a root has none."""
        return tuple(dict.fromkeys([(root.kind, root.subject_id or 0) for root in self.roots]))

    @cached_property
    def late_days(self) -> int:
        """How late the latest of these is, of the roots where there are none [day]."""
        return max((hold.late_days for hold in self.outside or self.roots), default=0)


def standing(
    tasks: Iterable[TaskPlan],
    causes: Mapping[int, tuple[Hold, ...]],
    now: datetime,
    again: Again | None = None,
) -> dict[int, Standing]:
    """How each task stands, by its number, in the order given.

    causes: holds worked out elsewhere (parts, readings, checks ...) by task number; `now` and each `done_at`
    carry their offset from UTC, and waits are told in that of `now`. Where tasks go round in a ring, each of
    them, and what comes after them, has the ring as a root. `again`: what the last making left.
    Errors: ValueError where a task comes after one that is not among those given.
    Source: definition; the order is a topological sort.
    """
    again = again or Again()
    plans = {task.id: task for task in tasks}
    clock = now.tzinfo
    seen: dict[int, Seen] = {
        task_id: (task, _earlier(task, plans), causes.get(task_id, ()), clock)
        for task_id, task in plans.items()
    }
    linked = again.each("tasks linked", seen, _linked)
    told = {task_id: one.at(now) if one.waits else one.told for task_id, one in linked.items()}
    before = tuple([(task_id, one.before) for task_id, one in told.items()])
    knots = again.once("knots", before, _knots)
    tied = {knot[0]: tuple([told[task_id] for task_id in knot]) for knot in knots}
    found: dict[int, Standing] = {}
    for stands in again.each("knots stand", tied, _of_knot).values():
        found |= stands
    return {task_id: found[task_id] for task_id in plans}


Seen = tuple[TaskPlan, tuple[TaskPlan | None, ...], tuple[Hold, ...], tzinfo | None]
"""What says how a task is linked to others: the task, those before it (None where one is not there), what
else holds it, and the clock that waits are told on."""


def _earlier(task: TaskPlan, plans: Mapping[int, TaskPlan]) -> tuple[TaskPlan | None, ...]:
    return tuple([plans.get(after.task_id) for after in task.after]) if task.after else ()


class _Told(NamedTuple):
    """A task, the numbers of those that still have to be done before it, and what else stops it."""

    task: TaskPlan
    before: tuple[int, ...]
    own: tuple[Hold, ...]


class _Linked(NamedTuple):
    """A task without the waits after others, and those waits, each until its moment."""

    told: _Told
    waits: tuple[tuple[datetime, Hold], ...]

    def at(self, now: datetime) -> _Told:
        """With the waits that still run."""
        running = tuple(wait for until, wait in self.waits if until > now)
        return self.told._replace(own=self.told.own + running) if running else self.told


def _linked(seen: Seen) -> _Linked:
    task, earlier, causes, clock = seen
    if None in earlier:
        missing = [after.task_id for after, one in zip(task.after, earlier, strict=True) if one is None]
        raise ValueError(f"task {task.id} comes after {missing}, which are not among the tasks given")
    own = () if task.done else (*task.holds, *causes)
    if task.state is not TaskState.OPEN:
        return _Linked(_Told(task, (), own), ())
    pairs = [(one, after) for one, after in zip(earlier, task.after, strict=True) if one is not None]
    waits = (_wait(one, after, clock) for one, after in pairs)
    return _Linked(
        _Told(task, tuple(one.id for one, _ in pairs if not one.done), own),
        tuple(wait for wait in waits if wait is not None),
    )


def _knots(before: Iterable[tuple[int, tuple[int, ...]]]) -> list[list[int]]:
    """The tasks in groups that nothing ties to each other, in the order given. Source: union-find."""
    leader = {task_id: task_id for task_id, _ in before}

    def find(task_id: int) -> int:
        while leader[task_id] != task_id:
            leader[task_id] = task_id = leader[leader[task_id]]
        return task_id

    for task_id, others in before:
        for other in others:
            leader[find(other)] = find(task_id)
    knots: dict[int, list[int]] = {}
    for task_id in leader:
        knots.setdefault(find(task_id), []).append(task_id)
    return list(knots.values())


@lru_cache(maxsize=4096)
def _of_knot(told: tuple[_Told, ...]) -> Mapping[int, Standing]:
    """How the tasks of one knot stand. The others have no say in it: what was worked out of a knot that is as
    it was is taken again, by those too who begin from nothing.
    """
    plans = {one.task.id: one.task for one in told}
    before = {one.task.id: one.before for one in told}
    order, ring = in_order_of(before)
    ringed = frozenset(plans) - frozenset(order)
    owns = {one.task.id: one.own for one in told}
    direct: dict[int, tuple[Hold, ...]] = {}
    roots: dict[int, tuple[Hold, ...]] = {}
    sort = _Sorting()
    # Tasks in or behind a ring have no order; each of them names the ring, so none has to wait for another.
    for task_id in (*order, *sorted(ringed)):
        own = owns[task_id]
        links = [_task_hold(plans[other], roots.get(other, ()), ringed) for other in before[task_id]]
        ways = [
            roots[other] or (link,)
            for other, link in zip(before[task_id], links, strict=True)
            if other not in ringed
        ]
        if ring and task_id in ringed:
            ways.append((_ring_hold(ring, plans),))
        direct[task_id] = sort.once(own, *((link,) for link in links))
        roots[task_id] = sort.once(own, *ways)
    frees = _frees(before, direct)
    return {
        task.id: Standing(_word(task, direct[task.id]), direct[task.id], roots[task.id], frees[task.id])
        for task in plans.values()
    }


def _wait(before: TaskPlan, after: After, clock: tzinfo | None) -> tuple[datetime, Hold] | None:
    """The wait after a task that is done, and until when it runs."""
    if not before.done or before.done_at is None:
        return None
    until = (before.done_at + timedelta(minutes=after.least_wait)).astimezone(clock)
    what = f"the wait after ‘{before.title}’"
    return until, Hold(HoldKind.WAIT, what, due=until.date(), until=until, subject_id=before.id)


def _task_hold(task: TaskPlan, roots: tuple[Hold, ...], ringed: frozenset[int]) -> Hold:
    if task.state is TaskState.IN_HAND:
        state = "in hand"
    elif roots or task.id in ringed:
        state = "held itself"
    else:
        state = "ready to do"
    return Hold(HoldKind.TASK, f"‘{task.title}’", state, subject_id=task.id)


def _ring_hold(ring: tuple[int, ...], plans: Mapping[int, TaskPlan]) -> Hold:
    titles = ", then ".join(f"‘{plans[task_id].title}’" for task_id in (*ring, ring[0]))
    return Hold(HoldKind.OTHER, f"tasks that wait for each other: {titles}")


Ranked = tuple[Hold, int, tuple[int, int, int, str, str, int]]
"""A hold, a number that all the same ones share, and its place among others."""


class _Sorting:
    """Holds sorted, worst first, each once. The same helper or tool noted on several tasks is one hold.

    A hold stands behind many tasks: what it is the same as, and its place, are worked out once.
    """

    def __init__(self) -> None:
        self._known: dict[int, Ranked] = {}
        self._same_as: dict[Hold, int] = {}

    def once(self, *lists: tuple[Hold, ...]) -> tuple[Hold, ...]:
        """All but the first come sorted already."""
        some = [holds for holds in lists if holds]
        if not some:
            return ()
        if len(some) == 1 and (some[0] is not lists[0] or len(some[0]) == 1):
            return some[0]
        found: dict[int, Ranked] = {}
        for holds in some:
            for hold in holds:
                known = self._known.get(id(hold)) or self._know(hold)
                found.setdefault(known[1], known)
        return tuple(known[0] for known in sorted(found.values(), key=lambda known: known[2]))

    def _know(self, hold: Hold) -> Ranked:
        by_hand = hold.kind in {HoldKind.HELPER, HoldKind.TOOL, HoldKind.OTHER}
        same = replace(hold, subject_id=None) if by_hand else hold
        number = self._same_as.setdefault(same, len(self._same_as))
        # Held on to, so that no other hold comes to have its id.
        known = self._known[id(hold)] = (hold, number, worst_first(hold))
        return known


def _word(task: TaskPlan, holds: tuple[Hold, ...]) -> Word:
    if task.done:
        return Word.DONE
    if task.state is TaskState.IN_HAND:
        return Word.IN_HAND
    return Word.HELD if holds else Word.READY


def _frees(before: Mapping[int, tuple[int, ...]], direct: Mapping[int, tuple[Hold, ...]]) -> dict[int, Frees]:
    """What each task releases; all that follow are kept as the bits of one number a task."""
    bits = {task_id: 1 << place for place, task_id in enumerate(before)}
    follow = dict.fromkeys(bits, 0)
    directly = dict.fromkeys(bits, 0)
    for task_id, others in before.items():
        for other in others:
            directly[other] += len(direct[task_id]) == 1
    linked = [(task_id, others) for task_id, others in reversed(list(before.items())) if others]
    changed = True
    while changed:  # also ends where tasks go round in a ring
        changed = False
        for task_id, others in linked:
            behind = follow[task_id] | bits[task_id]
            for other in others:
                if behind & ~follow[other]:
                    follow[other] |= behind
                    changed = True
    return {
        task_id: Frees(directly[task_id], (follow[task_id] & ~bits[task_id]).bit_count()) for task_id in bits
    }
