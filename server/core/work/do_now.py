"""What to do now: the tasks that nothing stops, most useful first."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.core.again import Again
from server.core.work.standing import Frees, Standing, Word
from server.core.work.tasks import ON_STANDS, ON_WHEELS, TaskPlan, expected_minutes


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a task stands where it does in the list.

    word: in hand or ready; stopped: begun, but something still holds it; frees: what finishing it releases;
    minutes: expected stint time [min]; unsuited: how the car must stand for it, where it does not stand so.
    """

    word: Word
    stopped: bool
    frees: Frees
    minutes: float
    unsuited: str = ""

    @property
    def words(self) -> str:
        """E.g. "frees 4 tasks"; before it how the car must stand, and that a task is in hand."""
        count = self.frees.in_all
        told = [f"frees {count} task{'' if count == 1 else 's'}"] if count else []
        if self.unsuited:
            told.insert(0, self.unsuited)
        if self.word is Word.IN_HAND:
            told.insert(0, "begun, but something holds it" if self.stopped else "in hand")
        return "; ".join(told) or "nothing waits for it"


@dataclass(frozen=True, slots=True)
class Next:
    """One task that can be worked on, and why it stands at this place of the list."""

    task_id: int
    reason: Reason


def unsuited(task: TaskPlan, car_state: str) -> str:
    """E.g. "needs the car on wheels; it is on stands now"; empty where it can be done as the car stands.

    car_state: how it stands now. The engine bay is opened whichever way it stands, and is open on wheels.
    Source: common practice, no source.
    """
    lifted = car_state == ON_STANDS
    if task.car_state not in (ON_STANDS, ON_WHEELS) or lifted == (task.car_state == ON_STANDS):
        return ""
    return f"needs the car {task.car_state}; it is {ON_STANDS if lifted else ON_WHEELS} now"


def do_now(
    tasks: Iterable[TaskPlan],
    standings: Mapping[int, Standing],
    car_state: str = ON_WHEELS,
    again: Again | None = None,
) -> tuple[Next, ...]:
    """The tasks in hand, then the ready ones; within each, what suits the car as it stands comes first, then
    what frees most, then the shorter [min].

    Tasks in hand that something still holds come last of those in hand. Ties keep the order of `tasks`.
    `again`: what the last making left. Source: common practice, no source.
    """
    doable = {
        task.id: (task, standings[task.id], car_state)
        for task in tasks
        if standings[task.id].word in (Word.IN_HAND, Word.READY)
    }
    found = (again or Again()).each("to do now", doable, _next)
    return tuple(sorted(found.values(), key=_place_in_list))


def _next(given: tuple[TaskPlan, Standing, str]) -> Next:
    task, stands, car_state = given
    minutes, other = expected_minutes(task), unsuited(task, car_state)
    return Next(task.id, Reason(stands.word, bool(stands.holds), stands.frees, minutes, other))


def _place_in_list(entry: Next) -> tuple[bool, bool, bool, int, int, float]:
    reason = entry.reason
    return (
        reason.word is not Word.IN_HAND,
        reason.stopped,
        bool(reason.unsuited),
        -reason.frees.in_all,
        -reason.frees.directly,
        reason.minutes,
    )
