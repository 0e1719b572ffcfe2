"""What the builder types about tasks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.core.units import Kind
from server.core.work.cautions import CAUTIONS
from server.core.work.tasks import TaskState
from server.web.fields import Fields

CAUTION_CODES = ("", *(caution.code for caution in CAUTIONS))
PLACES = ("bench", "engine bay", "under the car", "outside")
LONGEST_TASK = 200 * 3600.0
"""[s]"""
LOW_SHARE, HIGH_SHARE = 0.75, 1.5
"""Of the likely time, where nothing is typed for the quick and the slow case; common practice, no source."""


@dataclass(frozen=True, slots=True)
class TaskForm:
    """Times in whole minutes."""

    title: str
    subsystem_id: int | None
    minutes_low: int
    minutes_likely: int
    minutes_high: int
    place: str = "bench"
    car_state: str = "any"
    hands: int = 1
    helper_skill: str = ""
    hot_work: bool = False
    splits: bool = True
    caution: str = ""
    licensed: str = ""
    start_stage: str = ""
    carry: str = ""
    note: str = ""


def minutes(fields: Fields, name: str, label: str, most: float, *, required: bool = False) -> int | None:
    """A time as typed, in whole minutes, at least one."""
    accepts = "a time such as 40 min, 1.5 h or 2 days"
    typed = fields.quantity(
        name, label, Kind.time, unit="min", required=required, least=0.0, most=most, accepts=accepts
    )
    return None if typed is None else max(round(typed.value / 60.0), 1)


def times(fields: Fields) -> tuple[int, int, int]:
    """Quick, likely and slow case [min]; the first and last follow from the likely one where left empty."""
    likely = minutes(fields, "likely", "The time", LONGEST_TASK, required=True) or 1
    low = minutes(fields, "low", "If all goes well", LONGEST_TASK)
    high = minutes(fields, "high", "If it fights back", LONGEST_TASK)
    low = max(round(likely * LOW_SHARE), 1) if low is None else low
    high = max(round(likely * HIGH_SHARE), 1) if high is None else high
    if low > likely:
        fields.refuse("low", "The quick case is longer than the likely one.", "no more than the likely time")
    if high < likely:
        fields.refuse("high", "The slow case is shorter than the likely one.", "no less than the likely time")
    return low, likely, high


def new_task(typed: Mapping[str, str], subsystem_ids: Sequence[int]) -> TaskForm:
    """The short form: title, time, place and subsystem. Raises BadInput."""
    fields = Fields(typed)
    low, likely, high = times(fields)
    form = TaskForm(
        title=fields.text("title", "What is to be done", most=120, required=True),
        subsystem_id=fields.row_id("subsystem_id", "Subsystem", subsystem_ids),
        minutes_low=low,
        minutes_likely=likely,
        minutes_high=high,
        place=fields.choice("place", "Where", PLACES, default="bench"),
    )
    fields.done()
    return form


def task_state(typed: Mapping[str, str]) -> TaskState:
    """Raises BadInput."""
    fields = Fields(typed)
    state = fields.choice("state", "State", [item.value for item in TaskState])
    fields.done()
    return TaskState(state)


def seen_open(typed: Mapping[str, str]) -> bool:
    """The sheet that was pressed on showed the task as not done; a form that does not say so overrules."""
    return Fields(typed).raw("seen") not in ("", TaskState.DONE.value)


def start_of(typed: Mapping[str, str]) -> int:
    """From which line on a long list is shown; from the first where that can't be read."""
    text = typed.get("from", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
