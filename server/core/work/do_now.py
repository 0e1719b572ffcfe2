"""What to do now: the tasks that nothing stops, most useful first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.core.work.standing import Frees, Standing, Word
from server.core.work.tasks import TaskPlan, expected_minutes


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task stands where it does in the list.

    word: in hand or ready; stopped: begun, but something still holds it; frees: what finishing it releases;
    minutes: expected stint time [min].
    """

    word: Word
    stopped: bool
    frees: Frees
    minutes: float

    @property
    def words(self) -> str:
        """E.g. "frees 4 tasks"; a task in hand says so first."""
        count = self.frees.in_all
        told = [f"frees {count} task{'' if count == 1 else 's'}"] if count else []
        if self.word is Word.IN_HAND:
            told.insert(0, "begun, but something holds it" if self.stopped else "in hand")
        return "; ".join(told) or "nothing waits for it"


@dataclass(frozen=True, slots=True)
class Next:
    """One task that can be worked on, and why it stands at this place of the list."""

    task_id: int
    reason: Reason


def do_now(tasks: Iterable[TaskPlan], standings: Mapping[int, Standing]) -> tuple[Next, ...]:
    """The tasks in hand, then the ready ones; within each, what frees most first, then the shorter [min].

    Tasks in hand that something still holds come last of those in hand. Ties keep the order of `tasks`.
    Source: common practice, no source.
    """
    found = []
    for task in tasks:
        stands = standings[task.id]
        if stands.word in (Word.IN_HAND, Word.READY):
            reason = Reason(stands.word, bool(stands.holds), stands.frees, expected_minutes(task))
            found.append(Next(task.id, reason))
    return tuple(sorted(found, key=_place_in_list))


def _place_in_list(entry: Next) -> tuple[bool, bool, int, int, float]:
    reason = entry.reason
    return (
        reason.word is not Word.IN_HAND,
        reason.stopped,
        -reason.frees.in_all,
        -reason.frees.directly,
        reason.minutes,
    )
