"""What the designs and tasks of a build call for, worked out from what was read of it. Nothing is stored."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

from server.core.buying.lengths import lengths_to_buy
from server.core.buying.stock import PartNeed
from server.core.buying.wants import Call, Thing, Want, Who, wants
from server.core.tube.bill import Item, Stage
from server.core.tube.run import Origin
from server.core.work.causes import NOT_COMING
from server.features.designs.service import Bill
from server.features.parts.store import OffCutFace, PartFace

ORIGIN_OF_PART = {
    Origin.NEW: "buy",
    Origin.IN_GARAGE: "buy",
    Origin.MOCK_UP: "buy",
    Origin.SALVAGED: "salvage",
    Origin.BORROWED: "borrowed",
}
"""How the list of parts calls the places that pieces come from."""


@dataclass(frozen=True, slots=True)
class Asking:
    """One task with what it calls for.

    parts: pieces of each part, set by hand; stages: of which subsystems' chosen designs it waits for the
    pieces to make or to fit.
    """

    task_id: int
    title: str
    subsystem_id: int | None
    done: bool
    parts: Mapping[int, int]
    stages: tuple[tuple[Stage, int], ...]


@dataclass(frozen=True, slots=True)
class Unmet:
    """Something of a chosen design that no part of the list is known to be, or that can't be bought yet."""

    name: str
    state: str


@dataclass(frozen=True, slots=True)
class Needs:
    """What a build calls for.

    of_tasks: pieces of parts by task, in the order in which tasks get them; unmet: by task, what has no part
    to wait for; wants: everything still called for, merged.
    """

    of_tasks: tuple[PartNeed, ...]
    unmet: Mapping[int, tuple[Unmet, ...]]
    wants: tuple[Want, ...]


def needs(
    asking: Sequence[Asking],
    bills: Iterable[Bill],
    parts: Sequence[PartFace],
    off_cuts: Sequence[OffCutFace],
    subsystems: Mapping[int, str],
) -> Needs:
    """`asking` in the order in which tasks get parts; `subsystems`: names by number."""
    known = _Known(parts)
    by_subsystem = {bill.subsystem_id: bill for bill in bills}
    return Needs(
        _of_tasks(asking, by_subsystem, known, off_cuts),
        _unmet(asking, by_subsystem, known),
        wants(_calls(asking, by_subsystem, known, subsystems)),
    )


class _Known:
    """The parts of the list, and which of them an item of a design is."""

    def __init__(self, parts: Sequence[PartFace]) -> None:
        self.by_id = {part.id: part for part in parts}
        self._by_spec = {part.spec: part for part in reversed(parts) if part.spec and not part.set_aside}

    def part_of(self, item: Item) -> PartFace | None:
        linked = self.by_id.get(item.part_id or 0)
        return linked or self._by_spec.get(item.spec)


def _stage_items(one: Asking, bills: Mapping[int, Bill]) -> list[Item]:
    return [
        item
        for stage, subsystem_id in one.stages
        if subsystem_id in bills
        for item in bills[subsystem_id].items
        if item.stage is stage
    ]


def _of_tasks(
    asking: Sequence[Asking], bills: Mapping[int, Bill], known: _Known, off_cuts: Sequence[OffCutFace]
) -> tuple[PartNeed, ...]:
    """Within a task, what was set by hand and what its design calls for are the same pieces."""
    found = []
    cuts: dict[int, list[list[float]]] = {}
    places: dict[int, list[int]] = {}
    wanted: list[dict[int, int]] = []
    for place, one in enumerate(asking):
        by_design: dict[int, int] = {}
        for item in _stage_items(one, bills):
            part = known.part_of(item)
            if part is None or item.unsure:
                continue
            by_design[part.id] = by_design.get(part.id, 0) + item.count
            if item.lengths:
                cuts.setdefault(part.id, []).append(list(item.lengths))
                places.setdefault(part.id, []).append(place)
        wanted.append(by_design)
    for part_id, lengths in cuts.items():
        bars = _bars(known.by_id[part_id], lengths, off_cuts)
        for place, count in zip(places[part_id], bars, strict=True):
            wanted[place][part_id] = wanted[place].get(part_id, 0) + count
    for one, by_design in zip(asking, wanted, strict=True):
        for part_id in dict.fromkeys((*one.parts, *by_design)):
            quantity = max(one.parts.get(part_id, 0), by_design.get(part_id, 0))
            if quantity and part_id in known.by_id:
                found.append(PartNeed(one.task_id, part_id, quantity, one.done))
    return tuple(found)


def _bars(part: PartFace, cuts: Sequence[Sequence[float]], off_cuts: Sequence[OffCutFace]) -> list[int]:
    """How many lengths as sold each task adds to those that the tasks before it opened."""
    lying = [one.length for one in off_cuts if one.part_id == part.id]
    so_far = accumulate(cuts, lambda before, more: [*before, *more])
    totals = [lengths_to_buy(all_cuts, lying, part.stock_length) for all_cuts in so_far]
    return [max(after - before, 0) for before, after in zip([0, *totals], totals, strict=False)]


def _unmet(
    asking: Iterable[Asking], bills: Mapping[int, Bill], known: _Known
) -> dict[int, tuple[Unmet, ...]]:
    found: dict[int, tuple[Unmet, ...]] = {}
    for one in asking:
        unmet = []
        for item in _stage_items(one, bills):
            many = f"{item.count} × " if item.count > 1 else ""
            if item.unsure:
                unmet.append(Unmet(many + item.name, item.unsure))
            elif known.part_of(item) is None and item.origin is not Origin.SALVAGED:
                unmet.append(Unmet(many + item.name, NOT_COMING[ORIGIN_OF_PART[item.origin]]))
        if unmet:
            found[one.task_id] = tuple(unmet)
    return found


def _calls(
    asking: Sequence[Asking], bills: Mapping[int, Bill], known: _Known, subsystems: Mapping[int, str]
) -> list[Call]:
    over = _stages_over(asking)
    found = [
        _call_of_item(bill, item, known, (item.stage, bill.subsystem_id) in over)
        for bill in bills.values()
        for item in bill.items
    ]
    for one in asking:
        who = Who(one.subsystem_id, subsystems.get(one.subsystem_id or 0, ""), f"‘{one.title}’")
        found += [
            Call(_thing_of_part(known.by_id[part_id]), who, quantity, used=one.done)
            for part_id, quantity in one.parts.items()
            if part_id in known.by_id
        ]
    return found


def _stages_over(asking: Iterable[Asking]) -> set[tuple[Stage, int]]:
    """The stages of designs whose every task is done: their pieces were made, or fitted."""
    open_ones = {stage for one in asking if not one.done for stage in one.stages}
    return {stage for one in asking if one.done for stage in one.stages} - open_ones


def _call_of_item(bill: Bill, item: Item, known: _Known, used: bool) -> Call:
    part = known.part_of(item)
    origin = ORIGIN_OF_PART[item.origin]
    thing = (
        Thing(item.spec, None, item.spec, item.name, item.kind, origin)
        if part is None
        else _thing_of_part(part)
    )
    pieces = ", ".join(str(number) for number in item.numbers)
    words = f"{bill.design_name}, {'piece' if len(item.numbers) == 1 else 'pieces'} {pieces}".removesuffix(
        " "
    )
    return Call(
        thing,
        Who(bill.subsystem_id, bill.subsystem_name, words if item.numbers else bill.design_name),
        item.count,
        item.lengths,
        design=True,
        used=used,
        unsure=item.unsure,
    )


def _thing_of_part(part: PartFace) -> Thing:
    return Thing(f"part:{part.id}", part.id, part.spec, part.name, part.kind, part.origin)
