"""Holds: the reasons why a task can't go on."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class HoldKind(StrEnum):
    PART = "part"
    TASK = "task"
    WAIT = "wait"
    """Time that must pass after another task: a cure, a cool-down."""
    READING = "reading"
    DECISION = "decision"
    CHECK = "check"
    HELPER = "helper"
    TOOL = "tool"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Hold:
    """One reason why a task is held.

    what: the thing waited for, in the builder's words ("76 mm elbow"); state: how it stands with it ("in
    the post", "ready to do"), may be empty; due: day on which it is expected, where that is known;
    late_days: days past that day [days]; until: moment at which a wait is over; subject_id: number of the
    part, task, port ... that `kind` speaks of.
    """

    kind: HoldKind
    what: str
    state: str = ""
    due: date | None = None
    late_days: int = 0
    until: datetime | None = None
    subject_id: int | None = None

    def __hash__(self) -> int:
        """Of a few fields, as of a task."""
        return hash((self.what, self.state, self.subject_id))

    @property
    def words(self) -> str:
        """One phrase without a date, e.g. "Cut the tube, ready to do"."""
        return f"{self.what}, {self.state}" if self.state else self.what


def worst_first(hold: Hold) -> tuple[int, int, int, str, str, int]:
    """Sort key: the latest expected day first, then those without a day; ties by lateness, kind and name."""
    day = -hold.due.toordinal() if hold.due else 0
    return (day == 0, day, -hold.late_days, hold.kind.value, hold.what, hold.subject_id or 0)
