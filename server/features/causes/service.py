"""What a build calls for, what there is of it, and what holds each task from outside. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from server.core.again import Again
from server.core.buying.order import OrderFace
from server.core.buying.stock import OrderedPart, PartNeed, Supply, supply
from server.core.measure.opening import DIMENSIONS
from server.core.tube.bill import Stage
from server.core.tube.port import PortFacts
from server.core.tube.run import WITHOUT_RUN, Place
from server.core.work.causes import (
    WantedPart,
    by_hand,
    check_hold,
    decision_hold,
    part_hold,
    piece_hold,
    reading_hold,
)
from server.core.work.holds import Hold, HoldKind
from server.core.work.rows import HoldRow, NeedRow, WaitRow, WorkRows
from server.core.work.tasks import TaskPlan, TaskState
from server.features.builds.store import SubsystemFace
from server.features.designs.service import Bill
from server.features.needs.service import Asking, Listed, Needs, Unmet, needs
from server.features.parts.store import OffCutFace, PartFace
from server.features.verdicts.page import DesignStanding

PIECES = {stage.value: stage for stage in Stage}
"""The waits for the pieces of a chosen design, by their kind."""


@dataclass(frozen=True, slots=True)
class Book:
    """All that the work of a build is worked out from. Nothing in it depends on the time of day."""

    rows: WorkRows
    subsystems: tuple[SubsystemFace, ...]
    parts: tuple[PartFace, ...]
    off_cuts: tuple[OffCutFace, ...]
    """Those that are used up too: what done tasks cut may have come out of them."""
    orders: tuple[OrderFace, ...]
    ports: tuple[PortFacts, ...]
    designs: tuple[DesignStanding, ...]
    bills: tuple[Bill, ...]
    has_engine_sheet: bool
    car_state: str


def plans_of(book: Book, today: date, again: Again) -> tuple[TaskPlan, ...]:
    """Every task with the holds that were set on it by hand. again: what the last making left."""
    held = again.once("held by hand", (book.rows.holds, today), _hand_holds)
    plans = {row.plan.id: (row.plan, held[row.plan.id]) for row in book.rows.tasks if row.plan.id in held}
    with_holds = again.each("tasks held by hand", plans, lambda given: given[0]._replace(holds=given[1]))
    return tuple(with_holds.get(row.plan.id, row.plan) for row in book.rows.tasks)


def _hand_holds(given: tuple[tuple[HoldRow, ...], date]) -> dict[int, tuple[Hold, ...]]:
    """The holds that were set by hand and not cleared, by task."""
    rows, today = given
    found: dict[int, tuple[Hold, ...]] = {}
    for row in rows:
        if not row.cleared:
            _note(found, row.task_id, by_hand(HoldKind(row.kind), row.reason, row.until, today, row.id))
    return found


def needs_of(book: Book, again: Again | None = None) -> Needs:
    """What the build calls for. Tasks in hand get their parts first, then the others in order.

    again: what the last making left.
    """
    again = again or Again()
    by_hand = again.once("needs by hand", book.rows.needs, _needs_by_hand)
    stages = again.once("stages", book.rows.waits, _stages)
    calling = {
        plan.id: (
            plan.id,
            plan.title,
            plan.subsystem_id,
            plan.done,
            by_hand.get(plan.id, {}),
            stages.get(plan.id, ()),
        )
        for plan in sorted(
            (row.plan for row in book.rows.tasks if row.plan.id in by_hand or row.plan.id in stages),
            key=lambda plan: plan.state is not TaskState.IN_HAND,
        )
    }
    asking = again.each("asking", calling, lambda given: Asking(*given))
    listed = again.once("listed", (book.bills, book.parts), lambda given: Listed.of(*given))
    names = {face.id: face.name for face in book.subsystems}
    asked = tuple(asking.values()), listed, book.off_cuts, names
    return again.once("needs", asked, lambda given: needs(*given))


def _needs_by_hand(rows: tuple[NeedRow, ...]) -> dict[int, dict[int, int]]:
    """Pieces by part, by task."""
    found: dict[int, dict[int, int]] = {}
    for need in rows:
        found.setdefault(need.task_id, {})[need.part_id] = need.quantity
    return found


def _stages(rows: tuple[WaitRow, ...]) -> dict[int, tuple[tuple[Stage, int], ...]]:
    """The stages of the chosen designs of subsystems that each task waits for the pieces of."""
    found: dict[int, tuple[tuple[Stage, int], ...]] = {}
    for wait in rows:
        if wait.kind in PIECES and wait.subsystem_id is not None:
            found[wait.task_id] = (*found.get(wait.task_id, ()), (PIECES[wait.kind], wait.subsystem_id))
    return found


def supplies_of(book: Book, wanted: Needs, today: date, again: Again | None = None) -> Mapping[int, Supply]:
    """What there is of each part, by its number. again: what the last making left."""
    again = again or Again()
    ordered = again.once("ordered", book.orders, _ordered)
    stock = book.parts, ordered, wanted.of_tasks, today
    return again.once("supplies", stock, _supplies)


def _ordered(orders: tuple[OrderFace, ...]) -> tuple[OrderedPart, ...]:
    return tuple(line for order in orders for line in order.ordered())


def _supplies(
    given: tuple[tuple[PartFace, ...], tuple[OrderedPart, ...], tuple[PartNeed, ...], date],
) -> Mapping[int, Supply]:
    parts, ordered, of_tasks, today = given
    return supply({part.id: part.on_shelf for part in parts}, ordered, of_tasks, today)


SamePieces = Mapping[int, tuple[tuple[int, int], ...]]
"""By task: the other tasks that get the pieces that it waits for too, each with the part."""
Awaiting = tuple[tuple[WaitRow, ...], tuple[PortFacts, ...], tuple[DesignStanding, ...]]
"""The waits of tasks, and what they may be for."""


def causes_of(
    book: Book, wanted: Needs, there_is: Mapping[int, Supply], again: Again | None = None
) -> Mapping[int, tuple[Hold, ...]]:
    """The holds of each task that follow from parts, pieces, readings, decisions and checks, done or not.

    again: what the last making left.
    """
    steps = again or Again()
    awaiting = book.rows.waits, book.ports, book.designs
    given = book.parts, there_is, wanted.unmet, wanted.same_pieces, awaiting
    return steps.once("causes", given, lambda given: _causes(*given, steps))


def _causes(
    parts: tuple[PartFace, ...],
    there_is: Mapping[int, Supply],
    unmet: Mapping[int, tuple[Unmet, ...]],
    same_pieces: SamePieces,
    awaiting: Awaiting,
    again: Again,
) -> dict[int, tuple[Hold, ...]]:
    found: dict[int, tuple[Hold, ...]] = {}
    stock = {part.id: (part, there_is[part.id]) for part in parts}
    by_parts = {
        (task_id, part_id): hold
        for part_id, holds in again.each("holds by parts", stock, _part_holds).items()
        for task_id, hold in holds
    }
    for (task_id, _), hold in by_parts.items():
        _note(found, task_id, hold)
    for task_id, hold in held_along(same_pieces, by_parts):
        _note(found, task_id, hold)
    for task_id, some in unmet.items():
        for one in some:
            _note(found, task_id, piece_hold(one.name, one.state))
    for task_id, hold in again.once("holds by waits", awaiting, _wait_holds):
        _note(found, task_id, hold)
    return found


def _part_holds(given: tuple[PartFace, Supply]) -> tuple[tuple[int, Hold], ...]:
    """By task that gets of a part, the hold where it is not all there."""
    part, there_is = given
    to_try = part.origin == "borrowed"
    found = []
    for allotment in there_is.allotted:
        if allotment.met and not to_try:
            continue
        last = allotment.last
        missing = WantedPart(
            part.id,
            part.name,
            allotment.quantity - allotment.in_hand,
            allotment.short,
            last.due_on if last else None,
            last.late_days if last else 0,
            part.origin,
            part.tried,
        )
        hold = part_hold(missing)
        if hold is not None:
            found.append((allotment.task_id, hold))
    return tuple(found)


def held_along(same_pieces: SamePieces, by_parts: Mapping[tuple[int, int], Hold]) -> list[tuple[int, Hold]]:
    """Task and hold where another task gets the pieces that this one waits for too; each part once."""
    found = []
    for task_id, pairs in same_pieces.items():
        told = {part_id for _, part_id in pairs if (task_id, part_id) in by_parts}
        for pair in pairs:
            if pair in by_parts and pair[1] not in told:
                told.add(pair[1])
                found.append((task_id, by_parts[pair]))
    return found


def _note(found: dict[int, tuple[Hold, ...]], task_id: int, hold: Hold) -> None:
    found[task_id] = (*found.get(task_id, ()), hold)


Awaited = tuple[Mapping[int | None, PortFacts], Mapping[int | None, DesignStanding]]
"""What tasks wait for: ports by number, where subsystems stand by theirs."""


def awaited_of(book: Book) -> Awaited:
    return _awaited(book.ports, book.designs)


def _awaited(ports: Iterable[PortFacts], designs: Iterable[DesignStanding]) -> Awaited:
    return {one.id: one for one in ports}, {one.subsystem_id: one for one in designs}


def _wait_holds(
    given: Awaiting,
) -> tuple[tuple[int, Hold], ...]:
    """By task, what is wanting of the readings, decisions, checks and designs that tasks wait for."""
    waits, ports, designs = given
    awaited = _awaited(ports, designs)
    holds = ((wait.task_id, wait_hold(awaited, wait)) for wait in waits)
    return tuple((task_id, hold) for task_id, hold in holds if hold is not None)


def wait_hold(awaited: Awaited, wait: WaitRow) -> Hold | None:
    """What is still wanting of a reading, decision, checks or a design; none when it is there.

    The pieces of a chosen design hold a task by themselves, as parts. What was set aside is not waited for.
    """
    if wait.kind == "reading":
        port = awaited[0].get(wait.port_id)
        if port is None or wait.dimension in port.sizes:
            return None
        return reading_hold(port.id, port.name, DIMENSIONS[wait.dimension])
    stands = awaited[1].get(wait.subsystem_id)
    if stands is None or (wait.kind in PIECES and Place(stands.kind) in WITHOUT_RUN):
        return None
    if wait.kind == "decision" or wait.kind in PIECES:
        return None if stands.decided else decision_hold(stands.subsystem_id, stands.subsystem_name)
    return check_hold(
        stands.subsystem_id,
        stands.subsystem_name,
        has_design=stands.answered,
        no_go=stands.open_no_go,
        missing=stands.missing,
    )
