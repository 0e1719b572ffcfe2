"""What the designs and tasks of a build call for, worked out from what was read of it. Nothing is stored."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
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


@dataclass(frozen=True)
class Needs:
    """What a build calls for.

    of_tasks: pieces of parts by task, in the order in which tasks get them; unmet: by task, what has no part
    to wait for; same_pieces: by task, whose parts it waits for beside its own (task and part), where several
    tasks call for the same pieces of a design; calls: works out each thing that is called for, and by whom.
    """

    of_tasks: tuple[PartNeed, ...]
    unmet: Mapping[int, tuple[Unmet, ...]]
    same_pieces: Mapping[int, tuple[tuple[int, int], ...]]
    calls: Callable[[], list[Call]] = field(repr=False, compare=False)

    @cached_property
    def wants(self) -> tuple[Want, ...]:
        """Everything still called for, merged; worked out when first asked for, tasks stand without it."""
        return wants(self.calls())


@dataclass(frozen=True, eq=False)
class Listed:
    """The bills of the chosen designs beside the list of parts; tasks have no say in it."""

    known: "Known"
    bills: Mapping[int, Bill]
    """By subsystem."""
    items: "ItemsOf"

    @staticmethod
    def of(bills: Iterable[Bill], parts: Sequence[PartFace]) -> "Listed":
        known = Known(parts)
        by_subsystem = {bill.subsystem_id: bill for bill in bills}
        return Listed(known, by_subsystem, _by_stage(by_subsystem.values(), known))


def needs(
    asking: Sequence[Asking], listed: Listed, off_cuts: Sequence[OffCutFace], subsystems: Mapping[int, str]
) -> Needs:
    """`asking`: those that call for anything, in the order in which tasks get parts; off_cuts: used ones too;
    subsystems: their names.
    """
    known, items = listed.known, listed.items
    if known.merges:
        asking = [one if one.done else replace(one, parts=known.merged(one.parts)) for one in asking]
    of_tasks = _of_tasks(asking, items, known, off_cuts)
    return Needs(
        of_tasks,
        _unmet(asking, items),
        _same_pieces(asking, items, of_tasks),
        lambda: _calls(asking, listed.bills, known, subsystems),
    )


class Known:
    """The parts of the list, and which of them an item of a design is."""

    def __init__(self, parts: Sequence[PartFace]) -> None:
        self.by_id = {part.id: part for part in parts}
        self._by_spec = {part.spec: part for part in reversed(parts) if part.spec and not part.set_aside}
        self.merges = any(part.same_as for part in parts)
        """Whether a part is bought as another one."""

    def part_of(self, item: Item) -> PartFace | None:
        """The part it was linked to, else the one of its spec.

        What is salvaged or borrowed is not the part of that spec that is bought.
        """
        linked = self.by_id.get(item.part_id or 0)
        if linked is not None:
            return self.bought_for(linked)
        part = self._by_spec.get(item.spec)
        origin = ORIGIN_OF_PART[item.origin]
        return self.bought_for(part) if part is not None and origin in ("buy", part.origin) else None

    def bought_for(self, part: PartFace) -> PartFace:
        """The part that is bought in its place, itself where none is."""
        seen = {part.id}
        while (other := self.by_id.get(part.same_as or 0)) is not None and other.id not in seen:
            seen.add(other.id)
            part = other
        return part

    def merged(self, pieces: Mapping[int, int]) -> dict[int, int]:
        """Pieces by part, those of parts that another is bought for counted with that one."""
        found: dict[int, int] = {}
        for part_id, count in pieces.items():
            part = self.by_id.get(part_id)
            number = part_id if part is None else self.bought_for(part).id
            found[number] = found.get(number, 0) + count
        return found


StageOf = tuple[Stage, int]
"""A stage of the chosen design of a subsystem."""
PartOf = tuple[int, int]
"""A subsystem and a part."""


ItemsOf = Mapping[StageOf, list[tuple[Item, PartFace | None]]]
"""The items of each stage, with the part that each is."""


def _by_stage(bills: Iterable[Bill], known: Known) -> ItemsOf:
    found: dict[StageOf, list[tuple[Item, PartFace | None]]] = {}
    for bill in bills:
        for item in bill.items:
            found.setdefault((item.stage, bill.subsystem_id), []).append((item, known.part_of(item)))
    return found


def _carriers(asking: Sequence[Asking]) -> dict[StageOf, int]:
    """The task that gets the pieces of each stage: the first that is not done, else the first."""
    found: dict[StageOf, int] = {}
    for one in sorted(asking, key=lambda task: task.done):
        for stage in one.stages:
            found.setdefault(stage, one.task_id)
    return found


def _set_by_hand(asking: Iterable[Asking]) -> dict[PartOf, int]:
    """Pieces that the tasks of each subsystem call for by hand; those of its design are the same ones."""
    found: dict[PartOf, int] = {}
    for one in asking:
        for part_id, quantity in one.parts.items() if one.subsystem_id is not None else ():
            key = (one.subsystem_id or 0, part_id)
            found[key] = found.get(key, 0) + quantity
    return found


@dataclass(frozen=True, slots=True)
class _Carried:
    """Something of a design that a task gets; `key`: the subsystem whose design it is, and its part."""

    task_id: int
    key: PartOf
    part: PartFace
    item: Item


def _carried(tasks: Iterable[Asking], carriers: Mapping[StageOf, int], items: ItemsOf) -> list[_Carried]:
    return [
        _Carried(one.task_id, (stage[1], part.id), part, item)
        for one in tasks
        for stage in one.stages
        if carriers[stage] == one.task_id
        for item, part in items.get(stage, ())
        if not item.unsure and part is not None
    ]


def _of_tasks(
    asking: Sequence[Asking], items: ItemsOf, known: Known, off_cuts: Sequence[OffCutFace]
) -> tuple[PartNeed, ...]:
    """What was set by hand, and what a design calls for beyond that, at the task that carries its stage.

    Counted as `wants` counts: within a subsystem hand and design mean the same pieces, and a stage that
    several tasks wait for is had once. What done tasks cut came out of whole lengths or of off-cuts that are
    used up, never out of those that still lie there.
    """
    carriers = _carriers(asking)
    done = [one for one in asking if one.done]
    still = [one for one in asking if not one.done]
    wanted = {one.task_id: dict(one.parts) for one in asking}
    for tasks, by_hand, lying in (
        (done, _set_by_hand(done), [cut for cut in off_cuts if cut.used]),
        (still, _set_by_hand(asking), [cut for cut in off_cuts if not cut.used]),
    ):
        carried = _carried(tasks, carriers, items)
        for task_id, part_id, count in (*_beyond(carried, by_hand), *_lengths(carried, by_hand, lying)):
            wanted[task_id][part_id] = wanted[task_id].get(part_id, 0) + count
    return tuple(
        PartNeed(one.task_id, part_id, quantity, one.done)
        for one in asking
        for part_id, quantity in wanted[one.task_id].items()
        if quantity and part_id in known.by_id
    )


def _beyond(carried: Iterable[_Carried], by_hand: Mapping[PartOf, int]) -> list[tuple[int, int, int]]:
    """Task, part, and pieces of it that a design calls for beyond what was set by hand."""
    left = dict(by_hand)
    found = []
    for one in carried:
        same = min(one.item.count, left.get(one.key, 0))
        left[one.key] = left.get(one.key, 0) - same
        found.append((one.task_id, one.part.id, one.item.count - same))
    return found


def _lengths(
    carried: Iterable[_Carried], by_hand: Mapping[PartOf, int], lying: Sequence[OffCutFace]
) -> list[tuple[int, int, int]]:
    """Task, part, and lengths of it as sold; where tasks say by hand how many, the cuts come out of those."""
    of_part: dict[int, list[_Carried]] = {}
    for one in carried:
        if one.item.lengths and one.key not in by_hand:
            of_part.setdefault(one.part.id, []).append(one)
    return [
        (one.task_id, part_id, count)
        for part_id, cut in of_part.items()
        for one, count in zip(cut, _bars(cut[0].part, [one.item.lengths for one in cut], lying), strict=True)
    ]


def _same_pieces(
    asking: Sequence[Asking], items: ItemsOf, of_tasks: Iterable[PartNeed]
) -> dict[int, tuple[tuple[int, int], ...]]:
    """By open task that waits for pieces of a design: the other open tasks that get those pieces."""
    carriers = _carriers(asking)
    subsystem_of = {one.task_id: one.subsystem_id for one in asking}
    takers: dict[int, list[int]] = {}
    for need in of_tasks:
        if not need.used:
            takers.setdefault(need.part_id, []).append(need.task_id)
    found: dict[int, tuple[tuple[int, int], ...]] = {}
    for one in asking:
        same: dict[tuple[int, int], None] = {}
        for stage in () if one.done else one.stages:
            parts = {part.id for _, part in items.get(stage, ()) if part is not None}
            for part_id in sorted(parts):
                for task_id in takers.get(part_id, ()):
                    if task_id == carriers[stage] or subsystem_of[task_id] == stage[1]:
                        same[task_id, part_id] = None
        others = tuple(pair for pair in same if pair[0] != one.task_id)
        if others:
            found[one.task_id] = others
    return found


def _bars(part: PartFace, cuts: Sequence[Sequence[float]], off_cuts: Sequence[OffCutFace]) -> list[int]:
    """How many lengths as sold each task adds to those that the tasks before it opened."""
    lying = [one.length for one in off_cuts if one.part_id == part.id]
    so_far = accumulate(cuts, lambda before, more: [*before, *more])
    totals = [lengths_to_buy(all_cuts, lying, part.stock_length) for all_cuts in so_far]
    return [max(after - before, 0) for before, after in zip([0, *totals], totals, strict=False)]


def _unmet(asking: Iterable[Asking], items: ItemsOf) -> dict[int, tuple[Unmet, ...]]:
    found: dict[int, tuple[Unmet, ...]] = {}
    for one in asking:
        unmet = []
        for item, part in (pair for stage in one.stages for pair in items.get(stage, ())):
            many = f"{item.count} × " if item.count > 1 else ""
            if item.unsure:
                unmet.append(Unmet(many + item.name, item.unsure))
            elif part is None and item.origin is not Origin.SALVAGED:
                unmet.append(Unmet(many + item.name, NOT_COMING[ORIGIN_OF_PART[item.origin]]))
        if unmet:
            found[one.task_id] = tuple(unmet)
    return found


def _calls(
    asking: Sequence[Asking], bills: Mapping[int, Bill], known: Known, subsystems: Mapping[int, str]
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


def _call_of_item(bill: Bill, item: Item, known: Known, used: bool) -> Call:
    part = known.part_of(item)
    origin = ORIGIN_OF_PART[item.origin]
    thing = (
        Thing(_key(item.spec, origin), None, item.spec, item.name, item.kind, origin)
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


def _key(spec: str, origin: str) -> str:
    """What is salvaged or borrowed is not the same thing as what is bought, whatever its spec."""
    return spec if origin == "buy" else f"{origin}: {spec}"


def _thing_of_part(part: PartFace) -> Thing:
    return Thing(f"part:{part.id}", part.id, part.spec, part.name, part.kind, part.origin)
