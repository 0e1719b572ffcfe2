"""What the schedule asks for.

The names and units of the fields are fixed: scripts of other people call them.
"""

from typing import Annotated, Any

from pydantic import Field

from server.core.units import Kind
from server.features.bench.forms import Asked, amounts, names, number, rows, whole

MOST_TASKS = 600
MOST_ITERATIONS = 50_000
MOST_WORK = 4_000_000
"""Tasks times schedules in one sum: some ten seconds."""
MOST_AMOUNT = 1000
LONGEST_NAME = 80

Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
Amount = Annotated[int, Field(ge=0, le=MOST_AMOUNT)]


def _hours(title: str, example: float, description: str) -> Any:
    return number(
        title, Kind.time, "h", example, least=0.0, most=100_000.0, default=None, description=description
    )


class TaskIn(Asked):
    """A task: its hours, or three estimates of them."""

    name: Name = Field(
        title="Name",
        description="Name",
        examples=["cut the pipe"],
        json_schema_extra={"accepts": f"text of up to {LONGEST_NAME} characters, each name once"},
    )
    hours: float | None = _hours("Hours", 2.0, "Hours, or the three estimates [h]")
    hours_low: float | None = _hours("Hours at best", 1.0, "Hours at best [h]")
    hours_likely: float | None = _hours("Hours most likely", 2.0, "Hours most likely [h]")
    hours_high: float | None = _hours("Hours at worst", 5.0, "Hours at worst [h]")
    after: list[Name] = names("After", "strip the car, clean the flange", "names of tasks that finish first")
    uses: dict[Name, Amount] = amounts("Uses", "builder 1, lift 1", "how much of each resource")


class ScheduleIn(Asked):
    """Tasks that come after each other and share what there is."""

    tasks: list[TaskIn] = rows("Tasks", "{name, hours, after, uses}", least=1, most=MOST_TASKS, shown=4)
    resources: dict[Name, Amount] = amounts(
        "Resources", "builder 1, lift 1", "how much there is of each, all the while"
    )
    iterations: int = whole(
        "Schedules to try", 1000, least=1, most=MOST_ITERATIONS, default=1000,
        description="Schedules to try, a forward or a backward pass is one",
    )  # fmt: skip
    seed: int = whole(
        "Seed", 1, least=0, most=2**31 - 1, default=0,
        description="Seed, the same one gives the same schedule",
    )  # fmt: skip
