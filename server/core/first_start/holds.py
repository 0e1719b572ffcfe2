"""Which stage is held by what: by a check, a rule of the lines, a connection, a task, a test.

What would have to be opened again to be cured holds the first stage; what only the calibration settles holds
that; what matters under boost alone holds the first drive. Source: common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from server.core.work.tasks import is_first_start

FIRST, CALIBRATION, CUT, SPRING = "connections", "calibration", "cut", "spring"
NO_STAGE = "none"
"""Of a task that somebody said not to matter for the first start."""

OF_CALIBRATION = frozenset(
    {"injector-duty", "pump-flow", "fuel-line", "meter-range", "meter-straights", "meter-housing"}
)
UNDER_BOOST = frozenset(
    {
        "speed",
        "intake-loss",
        "charge-loss",
        "gas-speed",
        "back-pressure",
        "gate-spring",
        "gate-duty",
        "gate-flow",
        "gate-signal",
        "map-surge",
        "map-edge",
    }
)
LINES_UNDER_BOOST = frozenset({"boost-fails-safe"})
"""An over-boost cut may answer for it, and that is proved after the engine runs."""


class Root(StrEnum):
    """What sort of thing holds; the value is the word pages show."""

    OPEN_END = "open end"
    LINE = "rule of the lines"
    LOOK = "second look"
    CHECK = "check"
    TASK = "task"
    TEST = "pressure test"
    NUMBER = "figure"


@dataclass(frozen=True, slots=True)
class StageHold:
    """One thing that holds a stage.

    item: names it for a link, e.g. "line.3", "task.7", "design.2"; injury: it can hurt somebody.
    """

    stage: str
    root: Root
    what: str
    item: str = ""
    injury: bool = False


def stage_of_check(code: str) -> str:
    """The stage that a failing check holds. Source: common practice, no source."""
    if code in OF_CALIBRATION:
        return CALIBRATION
    return SPRING if code in UNDER_BOOST else FIRST


def stage_of_line_rule(code: str) -> str:
    """The stage that a broken rule of the line map holds. Source: common practice, no source."""
    return SPRING if code in LINES_UNDER_BOOST else FIRST


@dataclass(frozen=True, slots=True)
class TaskFacts:
    """A task. code: of the usual set, empty for the builder's own; kind: of its subsystem; said: the stage
    that somebody said it holds; after: numbers of the tasks that it comes after.
    """

    id: int
    title: str
    code: str = ""
    kind: str = ""
    caution: str = ""
    said: str = ""
    done: bool = False
    after: tuple[int, ...] = ()

    @property
    def is_start(self) -> bool:
        """Whether it is the first start itself."""
        return self.code == "start.first" or is_first_start(self.title)


BY_CODE = {
    "close.oil": "fluids",
    "close.water": "fluids",
    "start.prime": "oil-by-hand",
    "start.crank": "cranking",
    "fuel.leak": "fuel",
    "car.battery-on": "electrical",
    "start.gate": "fire",
    "start.down": "gas",
    "close.torch": "loose",
    "close.throttle": "loose",
    "start.first": "first-run",
    "exhaust.leak": "leak-look",
    "start.bleed": "bled",
    "start.level": "bled",
    "start.torque": "clamps-cold",
    "shield.look": "after-50",
    "tune.load": CALIBRATION,
    "tune.meter": CALIBRATION,
    "tune.meter-after": CALIBRATION,
    "tune.who": CALIBRATION,
    "tune.compare": CALIBRATION,
    "tune.wideband": "wideband",
    "tune.free-air": "wideband",
    "tune.stop": CUT,
    "tune.cut": CUT,
    "road.front-on": SPRING,
    "road.gentle": "fuel-load",
    "road.spring": SPRING,
    "law.ask": SPRING,
    "law.insurer": SPRING,
    "law.brakes": SPRING,
    "law.inspection": SPRING,
    "clutch.bed": SPRING,
    "road.look": "steps",
    "road.torque": "steps",
    "road.steps": "steps",
    "road.leak": "after-50",
    "road.oil": "after-50",
}
"""Tasks of the usual set that belong to a stage of their own."""
BY_KIND = {"engine management": CALIBRATION, "inspection and insurance": SPRING}
BY_CAUTION = {"fuel": "fuel", "boost": SPRING, "battery": "electrical", "first start": "cranking"}


def stage_of_task(task: TaskFacts, after_start: bool = False) -> str:
    """The stage that a task left holds, or `NO_STAGE`. after_start: the plan has it after the first start.
    Source: common practice, no source.

    What somebody said counts first, then the usual set, then what the task is about; what the plan puts
    after the first start holds the first drive, and all else the first stage.
    """
    if task.said:
        return task.said
    if task.is_start:
        return "first-run"
    found = BY_CODE.get(task.code) or BY_KIND.get(task.kind) or BY_CAUTION.get(task.caution)
    if found is not None:
        return found
    return SPRING if after_start else FIRST


def task_holds(tasks: Sequence[TaskFacts]) -> tuple[StageHold, ...]:
    """What the tasks left hold, in their order; done ones only say what comes after the first start.

    Source: common practice, no source.
    """
    behind = _behind_the_start(tasks)
    return tuple(
        StageHold(stage, Root.TASK, f"‘{task.title}’ is not done", f"task.{task.id}")
        for task in tasks
        if not task.done and (stage := stage_of_task(task, task.id in behind)) != NO_STAGE
    )


def _behind_the_start(tasks: Sequence[TaskFacts]) -> set[int]:
    """The first start and all that comes after it, through other tasks too."""
    found = {task.id for task in tasks if task.is_start}
    grown = bool(found)
    while grown:
        more = {task.id for task in tasks if task.id not in found and not found.isdisjoint(task.after)}
        found |= more
        grown = bool(more)
    return found
