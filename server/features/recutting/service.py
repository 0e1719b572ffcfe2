"""Which pieces of the chosen designs may have to be made again, how likely that is, and what it costs."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from server.core.buying.part import OffCutFace, PartFace
from server.core.buying.stock import Supply
from server.core.checks.layout import piece_label
from server.core.checks.misfits import misfits, sizes_wrong
from server.core.tube.bill import PART_KINDS, Item, Stage
from server.core.tube.run import Origin, PiecePlan, RunPlan
from server.core.work.forecast.foresee import Kind, Risk
from server.core.work.plan.problem import minutes_whole
from server.core.work.tasks import TaskPlan, expected_minutes
from server.core.work.to_plan import UNKNOWN_LEAD
from server.features.builds.store import BuildFace
from server.features.causes.service import PIECES
from server.features.designs.service import Bill, Checked, survey
from server.features.needs.service import Known
from server.features.trimming.service import chances_short
from server.features.work.service import WorkState
from server.web import urls

DAY = 1440
AT_HAND = frozenset({Origin.IN_GARAGE, Origin.MOCK_UP})
"""What is made again of what lies here."""


@dataclass(frozen=True, slots=True)
class Recut:
    """A piece that may have to be made again. days: that a new part takes [days]; why: what may go wrong."""

    risk: Risk
    subsystem: str
    piece: str
    why: str
    days: int
    href: str


def recuts(
    session: Session, build: BuildFace, state: WorkState, lead_days: Mapping[int, int], factor: float
) -> tuple[Recut, ...]:
    """Every piece of a chosen design that is still to be made or fitted and may fail at it.

    lead_days: by part, where somebody offers it [days]; factor: of this builder's pace [-]. A piece may be
    cut too short as it is made; whether it fits shows as it is fitted, where a task is there for that.
    """
    seen = survey(session, build)
    runs = [(bill, seen.checked[bill.design_id]) for bill in seen.bills]
    short = chances_short(session, build, (checked.case.plan for _, checked in runs))
    again = _Again(state, lead_days, factor)
    return tuple(one for bill, checked in runs for one in _of_run(build.id, bill, checked, short, again))


def sizes_wrong_of(session: Session, build: BuildFace, parts: Sequence[PartFace]) -> dict[int, float]:
    """The chance that the size of a part is wrong by the readings of what it fits [-], by its number.

    Where several pieces of chosen designs are of one part, their mean.
    """
    seen, known = survey(session, build), Known(parts)
    chances: dict[int, list[float]] = {}
    for bill in seen.bills:
        checked = seen.checked[bill.design_id]
        wrong = sizes_wrong(checked.answers.checks, checked.case.plan) if checked.answers else {}
        for piece in checked.case.plan.pieces:
            item = _item_of(bill.items, piece) if piece.id in wrong else None
            part = known.part_of(item) if item is not None else None
            if part is not None:
                chances.setdefault(part.id, []).append(wrong[piece.id])
    return {part_id: sum(some) / len(some) for part_id, some in chances.items()}


def _of_run(
    build_id: int, bill: Bill, checked: Checked, short: Mapping[int, float], again: "_Again"
) -> Iterator[Recut]:
    make, fit = (again.task_of(stage, bill.subsystem_id) for stage in (Stage.MAKE, Stage.FIT))
    plan = checked.case.plan
    in_making, in_fitting = make or fit, fit or make

    minutes = again.minutes(plan, (make, fit))

    def recut(kind: Kind, task: TaskPlan, piece: PiecePlan, chance: float, why: str, href: str) -> Recut:
        days = again.days(bill, piece)
        risk = Risk(piece.id, task.id, chance, minutes, days * DAY, kind)
        return Recut(risk, bill.subsystem_name, piece_label(piece), why, days, href)

    if in_making is not None and not again.made(bill.subsystem_id):
        for piece in plan.pieces:
            chance = short.get(piece.id, 0.0)
            if not chance:
                continue
            address = urls.trims(build_id, bill.design_id, piece.id)
            yield recut(Kind.TRIM, in_making, piece, chance, "cut too short", address)
    if in_fitting is None or checked.answers is None or again.fitted(bill.subsystem_id):
        return
    for one in misfits(checked.answers.checks, plan):
        address = f"{urls.design(build_id, bill.design_id)}?piece={one.piece.id}#editor"
        yield recut(Kind.FIT, in_fitting, one.piece, one.chance, one.why, address)


class _Again:
    """What it takes to make a piece again."""

    def __init__(self, state: WorkState, lead_days: Mapping[int, int], factor: float) -> None:
        book = state.book
        self._tasks: dict[tuple[Stage, int], list[TaskPlan]] = {}
        plans = {row.plan.id: row.plan for row in book.rows.tasks}
        for wait in book.rows.waits:
            if wait.kind in PIECES and wait.subsystem_id is not None:
                key = (PIECES[wait.kind], wait.subsystem_id)
                self._tasks.setdefault(key, []).append(plans[wait.task_id])
        self._parts = Known(book.parts)
        self._off_cuts = [cut for cut in book.off_cuts if not cut.used]
        self._supplies = state.supplies
        self._lead_days, self._factor = lead_days, factor

    def task_of(self, stage: Stage, subsystem_id: int) -> TaskPlan | None:
        """The task that is still to be done for a stage of a design."""
        return next((one for one in self._tasks.get((stage, subsystem_id), ()) if not one.done), None)

    def made(self, subsystem_id: int) -> bool:
        return self._over(Stage.MAKE, subsystem_id)

    def fitted(self, subsystem_id: int) -> bool:
        return self._over(Stage.FIT, subsystem_id)

    def _over(self, stage: Stage, subsystem_id: int) -> bool:
        tasks = self._tasks.get((stage, subsystem_id), ())
        return bool(tasks) and all(one.done for one in tasks)

    def minutes(self, plan: RunPlan, tasks: Iterable[TaskPlan | None]) -> int:
        """A piece's share of making and fitting the run [min]; common practice, no source."""
        whole = sum(expected_minutes(one) for one in tasks if one is not None)
        return minutes_whole(self._factor * whole / max(len(plan.pieces), 1))

    def days(self, bill: Bill, piece: PiecePlan) -> int:
        """What the post takes to bring another of what it is made of [days]; 0 where one lies here."""
        if piece.origin in AT_HAND:
            return 0
        item = _item_of(bill.items, piece)
        part = self._parts.part_of(item) if item is not None else None
        if part is None:
            return UNKNOWN_LEAD
        if _lies_here(part, piece, self._supplies.get(part.id), self._off_cuts):
            return 0
        return self._lead_days.get(part.id, UNKNOWN_LEAD)


def _item_of(items: Iterable[Item], piece: PiecePlan) -> Item | None:
    kind = PART_KINDS[piece.kind]
    return next((item for item in items if piece.number in item.numbers and item.kind == kind), None)


def _lies_here(
    part: PartFace, piece: PiecePlan, supply: Supply | None, off_cuts: Sequence[OffCutFace]
) -> bool:
    """One more of it that nobody needs, or an off-cut that is long enough."""
    length = piece.sizes.get("length")
    enough = length is not None and any(
        cut.part_id == part.id and cut.length >= length.value for cut in off_cuts
    )
    return enough or (supply is not None and supply.spare > 0)
