"""What the whole build still calls for, designs and tasks together and nothing counted twice."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Who:
    """Who calls for a part: a design or a task, and its subsystem (none for work on the whole car)."""

    subsystem_id: int | None
    subsystem: str
    words: str


@dataclass(frozen=True, slots=True)
class Thing:
    """What is called for. key: "part:12", or the spec where no part of the list is known to be it."""

    key: str
    part_id: int | None
    spec: str
    name: str
    kind: str
    origin: str


@dataclass(frozen=True, slots=True)
class Call:
    """One design or task that calls for a thing.

    quantity: pieces; lengths: finished lengths to be cut of what is sold by length [m]; design: whether a
    design calls for it, else a task; used: the task is done, or the design's pieces were made or fitted.
    """

    thing: Thing
    who: Who
    quantity: int = 0
    lengths: tuple[float, ...] = ()
    design: bool = False
    used: bool = False
    unsure: str = ""


@dataclass(frozen=True, slots=True)
class Want:
    """One part that is still called for, merged over the whole build.

    quantity: pieces still to be had for what is not done yet; lengths: finished lengths still to be cut [m];
    unsure: why it can't be ordered yet, empty where it can.
    """

    key: str
    part_id: int | None
    spec: str
    name: str
    kind: str
    origin: str
    quantity: int
    lengths: tuple[float, ...]
    unsure: str
    by: tuple[Who, ...]


def wants(calls: Iterable[Call]) -> tuple[Want, ...]:
    """Every part that is still called for, in the order in which it is first called for.

    Within a subsystem the same part may be called for by its design and by tasks: the larger of the two
    counts, less what done tasks used. Subsystems, and work on the whole car, add up. What can't be ordered
    yet stands apart from the same part that can.
    Source: definition (counting).
    """
    grouped: dict[tuple[str, str], list[Call]] = {}
    for call in calls:
        grouped.setdefault((call.thing.key, call.unsure), []).append(call)
    found = (_want(own) for own in grouped.values())
    return tuple(want for want in found if want and (want.quantity or want.lengths or want.unsure))


def _want(calls: list[Call]) -> Want | None:
    """None where all of it was used."""
    open_calls = [call for call in calls if not call.used]
    if not open_calls:
        return None
    by_subsystem: dict[int | None, list[Call]] = {}
    for call in calls:
        by_subsystem.setdefault(call.who.subsystem_id, []).append(call)
    thing = calls[0].thing
    return Want(
        thing.key,
        thing.part_id,
        thing.spec or next((call.thing.spec for call in calls if call.thing.spec), ""),
        thing.name,
        thing.kind,
        thing.origin,
        sum(_still(own) for own in by_subsystem.values()),
        tuple(length for own in by_subsystem.values() for length in _cuts(own)),
        calls[0].unsure,
        _once(call.who for call in open_calls),
    )


def _still(calls: list[Call]) -> int:
    """Pieces that one subsystem still wants."""
    by_design = by_tasks = used = 0
    for call in calls:
        if call.design:
            by_design += 0 if call.used else call.quantity
        elif call.used:
            used += call.quantity
        else:
            by_tasks += call.quantity
    return max(by_tasks, by_design - used)


def _cuts(calls: list[Call]) -> tuple[float, ...]:
    """Lengths that one subsystem still has to cut.

    Where its tasks say how many lengths as sold they take, the design's cuts come out of those.
    """
    if any(call.quantity and not call.design for call in calls):
        return ()
    return tuple(length for call in calls if not call.used for length in call.lengths)


def _once(who: Iterable[Who]) -> tuple[Who, ...]:
    return tuple(dict.fromkeys(who))
