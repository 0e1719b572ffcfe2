"""What the builder types about one task: its settings, and what it is tied to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from server.core.first_start.holds import NO_STAGE
from server.core.first_start.whole import CODES
from server.core.work.cautions import LICENSED
from server.core.work.holds import HoldKind
from server.features.work.forms import CAUTION_CODES, PLACES, TaskForm, minutes, times
from server.web.fields import Fields, one_of_two

CAR_STATES = ("any", "on wheels", "on stands", "engine bay open")
HAND_HOLDS = (HoldKind.HELPER.value, HoldKind.TOOL.value, HoldKind.OTHER.value)
LONGEST_WAIT = 60 * 86400.0
"""[s]"""


@dataclass(frozen=True, slots=True)
class TaskEdit:
    version: int
    form: TaskForm


@dataclass(frozen=True, slots=True)
class AfterForm:
    """`least_wait` in minutes of calendar time."""

    after_task_id: int
    least_wait: int


@dataclass(frozen=True, slots=True)
class NeedForm:
    part_id: int
    quantity: int


@dataclass(frozen=True, slots=True)
class WaitForm:
    """`kind` is reading, decision, checks, or the pieces of a chosen design: to make, to fit."""

    kind: str
    port_id: int | None = None
    dimension: str = ""
    subsystem_id: int | None = None

    @property
    def code(self) -> str:
        """As a list of choices names it: "reading:3:bore", "decision:2", "to make:2"."""
        if self.kind == "reading":
            return f"reading:{self.port_id}:{self.dimension}"
        return f"{self.kind}:{self.subsystem_id}"


@dataclass(frozen=True, slots=True)
class HoldForm:
    kind: str
    reason: str
    until: date | None


def task_edit(typed: Mapping[str, str], subsystem_ids: Sequence[int]) -> TaskEdit:
    """Raises MissingVersion, BadInput."""
    fields = Fields(typed)
    version = fields.version()
    low, likely, high = times(fields)
    form = TaskForm(
        title=fields.text("title", "What is to be done", most=120, required=True),
        subsystem_id=fields.row_id("subsystem_id", "Subsystem", subsystem_ids),
        minutes_low=low,
        minutes_likely=likely,
        minutes_high=high,
        place=fields.choice("place", "Where", PLACES, default="bench"),
        car_state=fields.choice("car_state", "The car must stand", CAR_STATES, default="any"),
        hands=fields.whole("hands", "People", least=1, most=9) or 1,
        helper_skill=fields.text("helper_skill", "What a helper must be able to do", most=40),
        hot_work=fields.flag("hot_work"),
        splits=fields.flag("splits"),
        caution=fields.choice("caution", "Caution", CAUTION_CODES, default=""),
        licensed=fields.choice("licensed", "Needs a licensed person", ("", *LICENSED), default=""),
        start_stage=fields.choice(
            "start_stage", "Holds the first start at", ("", *CODES, NO_STAGE), default=""
        ),
        carry=fields.text("carry", "Carry with you", most=300),
        note=fields.text("note", "Note", most=500),
    )
    fields.done()
    return TaskEdit(version, form)


def after_form(typed: Mapping[str, str], task_ids: Sequence[int]) -> AfterForm:
    """Raises BadInput."""
    fields = Fields(typed)
    before = fields.row_id("after_task_id", "What comes first", task_ids, required=True)
    wait = minutes(fields, "least_wait", "The wait", LONGEST_WAIT) if fields.raw("least_wait") else 0
    fields.done()
    return AfterForm(before or 0, wait or 0)


def need_form(typed: Mapping[str, str], part_ids: Sequence[int]) -> NeedForm:
    """Raises BadInput."""
    fields = Fields(typed)
    part_id = fields.row_id("part_id", "The part", part_ids, required=True)
    quantity = fields.whole("quantity", "How many", least=1, most=10_000)
    fields.done()
    return NeedForm(part_id or 0, quantity or 1)


def wait_form(typed: Mapping[str, str], offered: Sequence[WaitForm]) -> WaitForm:
    """One of those offered. Raises BadInput."""
    fields = Fields(typed)
    by_code = {wait.code: wait for wait in offered}
    code = fields.choice("waits_for", "What it waits for", ("", *by_code))
    if not code and not fields.errors:
        fields.refuse("waits_for", "What it waits for: choose one of the list.", "one that the list offers")
    fields.done()
    return by_code[code]


def hold_form(typed: Mapping[str, str]) -> HoldForm:
    """Raises BadInput."""
    fields = Fields(typed)
    form = HoldForm(
        kind=fields.choice("kind", "What holds it", HAND_HOLDS, default="other"),
        reason=fields.text("reason", "The reason", most=160, required=True),
        until=fields.day("until", "Until"),
    )
    fields.done()
    return form


def aside(typed: Mapping[str, str]) -> bool:
    """Whether something is to be set aside (`aside`) or put back (`back`). Raises BadInput."""
    return one_of_two(typed, "to", "What to do", ("aside", "back"), usual="aside")


def cleared(typed: Mapping[str, str]) -> bool:
    """Whether a hold is to count as cleared (`yes`) or as set again (`no`). Raises BadInput."""
    return one_of_two(typed, "cleared", "Cleared", usual="yes")
