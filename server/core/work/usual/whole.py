"""The whole usual set: its subsystems in the order of their letters, and look-ups by code."""

from collections.abc import Collection, Iterable
from graphlib import TopologicalSorter

from server.core.work.usual.air_side import CHARGE, INTAKE
from server.core.work.usual.boost import GATE, SIGNALS
from server.core.work.usual.cooler_side import BREATHER, BYPASS, COOLER
from server.core.work.usual.hot_side import DOWNPIPE, EXHAUST, SHIELDING
from server.core.work.usual.management import MANAGEMENT
from server.core.work.usual.oil_and_water import COOLANT, DRAIN, FEED, HEATER
from server.core.work.usual.supply import CLUTCH, FUEL, INSPECTION
from server.core.work.usual.tear_down import TEAR_DOWN, VISIT
from server.core.work.usual.to_first_drive import CLOSING, FIRST_START, ON_THE_ROAD
from server.core.work.usual.values import UsualPort, UsualSubsystem, UsualTask

BEFORE = UsualSubsystem("", "The whole car: tear-down, measuring, visit", tasks=(*TEAR_DOWN, *VISIT))
AFTER = UsualSubsystem(
    "", "The whole car: closing up to the road", tasks=(*CLOSING, *FIRST_START, *ON_THE_ROAD)
)

SUBSYSTEMS = (
    INTAKE,
    CHARGE,
    COOLER,
    DOWNPIPE,
    EXHAUST,
    GATE,
    BYPASS,
    BREATHER,
    FEED,
    DRAIN,
    COOLANT,
    HEATER,
    SIGNALS,
    FUEL,
    SHIELDING,
    MANAGEMENT,
    CLUTCH,
    INSPECTION,
)
GROUPS = (BEFORE, *SUBSYSTEMS, AFTER)
"""As a page offers them: what comes first, the subsystems, what comes last."""

TASKS = {task.code: task for group in GROUPS for task in group.tasks}
PORTS = {port.code: port for group in GROUPS for port in group.ports}
KIND_OF = {task.code: group.kind for group in GROUPS for task in group.tasks} | {
    port.code: group.kind for group in GROUPS for port in group.ports
}
"""Which subsystem a task or port belongs to, by its code; empty for the whole car."""


def fits(when: Iterable[str], facts: frozenset[str]) -> bool:
    """Whether all that an offer rests on holds of the car."""
    return facts.issuperset(when)


def suiting(facts: frozenset[str]) -> frozenset[str]:
    """What is ticked where this holds of the car: kinds of subsystems, codes of their ports and tasks."""
    found: set[str] = set()
    for group in GROUPS:
        if fits(group.when, facts):
            found.update(port.code for port in group.ports if fits(port.when, facts))
            found.update(task.code for task in group.tasks if fits(task.when, facts))
            found.add(group.kind)
    return frozenset(found - {""})


def named_once(ticks: Collection[str]) -> dict[str, str]:
    """Names of these subsystems, ports and tasks by kind or code; what a subsystem brings goes with it."""
    found = {group.kind: group.name for group in SUBSYSTEMS if group.kind in ticks}
    for code, kind in KIND_OF.items():
        if code in ticks and kind not in found:
            found[code] = TASKS[code].title if code in TASKS else PORTS[code].name
    return found


def stretch_of(port: UsualPort, facts: frozenset[str]) -> str:
    """Where on its run a side port must stand: behind the air meter only where a meter stands ahead."""
    if port.stretch == "between air meter and compressor" and "meter ahead" not in facts:
        return "anywhere"
    return port.stretch


def order_among(there: Collection[str]) -> dict[str, dict[str, int]]:
    """What each of these tasks comes after among them: code to least wait [min of calendar time].

    there: codes of tasks of the set. A task that is left out hands on what it would have come after, so that
    the order holds without it; the wait that it asked for itself goes with it.
    """
    reached: dict[str, dict[str, int]] = {}
    for code in TopologicalSorter({task.code: _before(task) for task in TASKS.values()}).static_order():
        ties: dict[str, int] = {}
        for before, wait in _before(TASKS[code]).items():
            handed = {before: wait} if before in there else reached[before]
            for other, least in handed.items():
                ties[other] = max(ties.get(other, 0), least)
        reached[code] = ties
    return {code: reached[code] for code in TASKS if code in there}


def _before(task: UsualTask) -> dict[str, int]:
    return dict.fromkeys(task.after, 0) | dict(task.later)
