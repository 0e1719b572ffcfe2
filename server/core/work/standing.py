"""How each task stands: ready, held, in hand or done; what holds it, and what that comes down to."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from server.core.work.holds import Hold, HoldKind, worst_first
from server.core.work.tasks import After, TaskPlan, TaskState, in_order


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


@dataclass(frozen=True, slots=True)
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


def standing(
    tasks: Iterable[TaskPlan], causes: Mapping[int, tuple[Hold, ...]], now: datetime
) -> dict[int, Standing]:
    """How each task stands, by its number, in the order given.

    causes: holds worked out elsewhere (parts, readings, checks ...) by task number; `now` and each `done_at`
    carry their offset from UTC, and waits are told in that of `now`. Where tasks go round in a ring, each of
    them, and what comes after them, has the ring as a root.
    Errors: ValueError where a task comes after one that is not among those given.
    Source: definition; the order is a topological sort.
    """
    plans = {task.id: task for task in tasks}
    network = [_still_to_do(task, plans) for task in plans.values()]
    order, ring = in_order(network)
    ringed = frozenset(plans) - frozenset(order)
    direct: dict[int, tuple[Hold, ...]] = {}
    roots: dict[int, tuple[Hold, ...]] = {}
    # Tasks in or behind a ring have no order; each of them names the ring, so none has to wait for another.
    for task_id in (*order, *sorted(ringed)):
        task = plans[task_id]
        own = _own_holds(task, causes.get(task_id, ()), plans, now)
        before = [plans[after.task_id] for after in _unfinished(task, plans)]
        links = [_task_hold(other, roots.get(other.id, ()), ringed) for other in before]
        found = list(own)
        for other, link in zip(before, links, strict=True):
            found += [] if other.id in ringed else roots[other.id] or (link,)
        if ring and task_id in ringed:
            found.append(_ring_hold(ring, plans))
        direct[task_id] = _sorted_once([*own, *links])
        roots[task_id] = _sorted_once(found)
    frees = _frees(network, direct)
    return {
        task.id: Standing(_word(task, direct[task.id]), direct[task.id], roots[task.id], frees[task.id])
        for task in plans.values()
    }


def _still_to_do(task: TaskPlan, plans: Mapping[int, TaskPlan]) -> TaskPlan:
    """The task with only those dependencies that can still hold it."""
    missing = [after.task_id for after in task.after if after.task_id not in plans]
    if missing:
        raise ValueError(f"task {task.id} comes after {missing}, which are not among the tasks given")
    left = _unfinished(task, plans)
    return task if len(left) == len(task.after) else replace(task, after=left)


def _unfinished(task: TaskPlan, plans: Mapping[int, TaskPlan]) -> tuple[After, ...]:
    if task.state is not TaskState.OPEN or not task.after:
        return ()
    return tuple(after for after in task.after if not plans[after.task_id].done)


def _own_holds(
    task: TaskPlan, causes: tuple[Hold, ...], plans: Mapping[int, TaskPlan], now: datetime
) -> tuple[Hold, ...]:
    """What stops the task other than an unfinished one before it."""
    if task.done:
        return ()
    if task.state is not TaskState.OPEN:
        return (*task.holds, *causes)
    waits = (_wait_hold(plans[after.task_id], after, now) for after in task.after)
    return (*task.holds, *causes, *(wait for wait in waits if wait is not None))


def _wait_hold(before: TaskPlan, after: After, now: datetime) -> Hold | None:
    """The wait that still runs after a task that is done."""
    if not before.done or before.done_at is None:
        return None
    until = (before.done_at + timedelta(minutes=after.least_wait)).astimezone(now.tzinfo)
    if until <= now:
        return None
    return Hold(
        HoldKind.WAIT, f"the wait after ‘{before.title}’", due=until.date(), until=until, subject_id=before.id
    )


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


def _sorted_once(holds: Collection[Hold]) -> tuple[Hold, ...]:
    """Worst first, each once. The same helper or tool written down on several tasks is one hold."""
    if len(holds) < 2:
        return tuple(holds)
    once: dict[Hold, Hold] = {}
    for hold in holds:
        by_hand = hold.kind in {HoldKind.HELPER, HoldKind.TOOL, HoldKind.OTHER}
        once.setdefault(replace(hold, subject_id=None) if by_hand else hold, hold)
    return tuple(sorted(once.values(), key=worst_first))


def _word(task: TaskPlan, holds: tuple[Hold, ...]) -> Word:
    if task.done:
        return Word.DONE
    if task.state is TaskState.IN_HAND:
        return Word.IN_HAND
    return Word.HELD if holds else Word.READY


def _frees(network: list[TaskPlan], direct: Mapping[int, tuple[Hold, ...]]) -> dict[int, Frees]:
    """What each task releases; all that follow are kept as the bits of one number a task."""
    bits = {task.id: 1 << place for place, task in enumerate(network)}
    follow = dict.fromkeys(bits, 0)
    directly = dict.fromkeys(bits, 0)
    for task in network:
        for after in task.after:
            directly[after.task_id] += len(direct[task.id]) == 1
    linked = [task for task in reversed(network) if task.after]
    changed = True
    while changed:  # also ends where tasks go round in a ring
        before = dict(follow)
        for task in linked:
            for after in task.after:
                follow[after.task_id] |= follow[task.id] | bits[task.id]
        changed = follow != before
    return {
        task_id: Frees(directly[task_id], (follow[task_id] & ~bits[task_id]).bit_count()) for task_id in bits
    }
