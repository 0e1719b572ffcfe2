"""What the schedule answers, and what its page says about it."""

from collections.abc import Mapping

from pydantic import BaseModel, ConfigDict, Field

from server.features.bench.page import Answer, Sum, figure, table

Hours = float
_TASK = ("Task", None, "")


class TaskOut(BaseModel):
    """One task of the schedule [h]."""

    model_config = ConfigDict(frozen=True)

    name: str
    start: Hours
    finish: Hours
    float: Hours


class ScheduleOut(Answer):
    """When each task is worked on [h], and what sets the end."""

    makespan: Hours | None = figure("All is done after", None, "h", "Finish of the last task [h]", big=True)
    lower_bound: Hours | None = figure(
        "No schedule is shorter than", None, "h",
        "The longer of the critical path and of what the resources have to give [h]",
    )  # fmt: skip
    schedules: int | None = Field(
        default=None, description="Schedules tried, fewer than asked where one is proved best"
    )
    critical: tuple[str, ...] = table(
        "Sets the date", (_TASK,), "The chain of tasks that sets the end, resources counted, first to last"
    )
    tasks: tuple[TaskOut, ...] = table(
        "Tasks", (_TASK, ("Start", None, "h"), ("Finish", None, "h"), ("Float", None, "h")), "By start [h]"
    )
    starts: Mapping[str, Hours] = Field(default={}, description="Start of each task by name [h]")
    finishes: Mapping[str, Hours] = Field(default={}, description="Finish of each task by name [h]")
    float: Mapping[str, Hours] = Field(
        default={}, description="How long each may be put off in the network alone, resources apart [h]"
    )


SUMS = (
    Sum(
        "schedule",
        "Order of work",
        "When to do what, where tasks come after each other and share hands, a lift or a bench.",
        (
            "Three estimates are planned at (low + 4 likely + high) / 6; the plan counts whole minutes.",
            "Float: latest less earliest start along the network, as if there were no end of resources.",
            "No schedule ends before the critical path, nor before a resource can have given what is asked "
            "of it: for any first minute, amount × time of the work that can't begin before it, and the "
            "least that follows.",
            "A search over orders of work, each passed over forwards or backwards with every task as early "
            "or as late as it fits. A shorter schedule than the one shown can't be ruled out unless it meets "
            "the bound.",
        ),
        ("pert", "critical-path", "justification", "peak-crossover"),
        (
            ("tasks[0].name", "strip"),
            ("tasks[0].hours", "3"),
            ("tasks[0].uses", "builder 1"),
            ("tasks[1].name", "cut pipe"),
            ("tasks[1].hours_low", "1"),
            ("tasks[1].hours_likely", "2"),
            ("tasks[1].hours_high", "6"),
            ("tasks[1].after", "strip"),
            ("tasks[1].uses", "builder 1, bench 1"),
            ("tasks[2].name", "clean flange"),
            ("tasks[2].hours", "1.5"),
            ("tasks[2].uses", "helper 1, bench 1"),
            ("tasks[3].name", "weld"),
            ("tasks[3].hours", "2"),
            ("tasks[3].after", "cut pipe, clean flange"),
            ("tasks[3].uses", "builder 1, helper 1"),
            ("resources", "builder 1, helper 1, bench 1"),
            ("iterations", "500"),
        ),
    ),
)
"""The sums on plans in words, in the order of the list."""
