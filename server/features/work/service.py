"""What can be done with tasks, how each of them stands, and their pages."""

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import TypeVar

from sqlmodel import Session

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
from server.core.work.do_now import do_now
from server.core.work.holds import Hold, HoldKind
from server.core.work.standing import standing
from server.core.work.tasks import TaskState
from server.errors import Refused
from server.features.builds.service import build_face, kept, kept_while, subsystem_faces
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.designs.service import Bill, surroundings, survey
from server.features.needs.service import Asking, Needs, needs
from server.features.orders.service import known_orders
from server.features.parts.service import known_parts, off_cut_faces
from server.features.parts.store import OffCutFace, PartFace
from server.features.verdicts.page import DesignStanding
from server.features.work import forms, page, store
from server.features.work.store import WaitRow, WorkRows
from server.features.work.tables import Task
from server.web import urls
from server.web.view import FormState, Happening, Link, News

T = TypeVar("T")

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


@dataclass(frozen=True, slots=True)
class WorkState:
    """How the work of a build stands at one moment."""

    book: Book
    plan: page.Plan
    supplies: Mapping[int, Supply]
    needs: Needs


def book_of(session: Session, build: BuildFace) -> Book:
    """Read once for each state of the build."""
    return kept(build, ("work",), lambda: _read_book(session, build))


def _read_book(session: Session, build: BuildFace) -> Book:
    around = surroundings(session, build)
    designs = survey(session, build)
    return Book(
        _rows(session, build),
        tuple(around.subsystems.values()),
        known_parts(session, build),
        kept(build, ("off-cuts",), lambda: off_cut_faces(session, build.id, used=True)),
        tuple(order for order in known_orders(session, build) if not order.set_aside),
        around.ports,
        designs.standings,
        designs.bills,
        around.engine is not None,
        build.car_state,
    )


def _rows(session: Session, build: BuildFace) -> WorkRows:
    """Each table read again only when it was written to."""

    every = kept(build, ("rows", "tasks"), lambda: store.tasks(session, build.id))
    span = store.span_of(every)

    def read(table: Callable[[Session, store.Span], T]) -> T:
        return kept(build, ("rows", table.__name__, span), lambda: table(session, span))

    return store.work_rows(
        every,
        read(store.afters),
        read(store.needs),
        read(store.waits),
        read(store.holds),
        read(store.setbacks),
    )


def work_state(session: Session, build: BuildFace, now: datetime) -> WorkState:
    """How every task of the build stands now, and what there is of every part; worked out once a minute."""

    def make() -> WorkState:
        book = book_of(session, build)
        wanted = _known_needs(build, book)
        return _derived(book, now, wanted, _known_supplies(build, book, wanted, now.date()))

    return kept(build, ("work at", minute_of(now)), make)


def minute_of(now: datetime) -> str:
    """What pages that tell how work stands are kept by: a wait may run out with any minute."""
    return now.strftime("%Y-%m-%d %H:%M %z")


def supplies(session: Session, build: BuildFace, today: date) -> Mapping[int, Supply]:
    """What there is of each part, by its number; worked out once a day."""

    def make() -> Mapping[int, Supply]:
        book = book_of(session, build)
        return _known_supplies(build, book, _known_needs(build, book), today)

    return kept(build, ("supplies", today), make)


def _known_needs(build: BuildFace, book: Book) -> Needs:
    """Worked out again only when what it is made of is no longer the same."""
    asked = _asked_of(book)
    return kept_while(build.id, ("needs",), asked, lambda: needs(*asked))


def _known_supplies(build: BuildFace, book: Book, wanted: Needs, today: date) -> Mapping[int, Supply]:
    there = _stock_of(book, wanted, today)
    return kept_while(build.id, ("supplies",), there, lambda: supply(*there))


def titles(session: Session, build: BuildFace) -> Mapping[int, str]:
    """The title of each task, by its number."""

    def make() -> Mapping[int, str]:
        return {row.plan.id: row.plan.title for row in book_of(session, build).rows.tasks}

    return kept(build, ("titles",), make)


def derive(book: Book, now: datetime) -> WorkState:
    """Work out how each task stands. Pure: a book that differs in one thing shows what that thing does."""
    wanted = needs(*_asked_of(book))
    return _derived(book, now, wanted, supply(*_stock_of(book, wanted, now.date())))


def _derived(book: Book, now: datetime, wanted: Needs, there_is: Mapping[int, Supply]) -> WorkState:
    held = _hand_holds(book, now.date())
    tasks = tuple(
        replace(row.plan, holds=held[row.plan.id]) if row.plan.id in held else row.plan
        for row in book.rows.tasks
    )
    how = standing(tasks, _causes(book, wanted, there_is), now)
    plan = page.Plan(tasks, how, do_now(tasks, how, book.car_state), _subsystems(book), now, _risks(book))
    return WorkState(book, plan, there_is, wanted)


def _risks(book: Book) -> dict[int, str]:
    """What may still go wrong with each task, in words."""
    open_ones: dict[int, list[tuple[float, int]]] = {}
    for row in book.rows.setbacks:
        if row.happened_at is None and not row.set_aside:
            open_ones.setdefault(row.task_id, []).append((row.chance, row.minutes_likely))
    return {task_id: page.risk_words(risks) for task_id, risks in open_ones.items()}


def _subsystems(book: Book) -> tuple[page.Subsystem, ...]:
    return tuple(page.Subsystem(face.id, face.letter, face.name) for face in book.subsystems)


Asked = tuple[
    tuple[Asking, ...], tuple[Bill, ...], tuple[PartFace, ...], tuple[OffCutFace, ...], dict[int, str]
]


def _asked_of(book: Book) -> Asked:
    """What says what the build calls for. Tasks in hand get their parts first, then the others in order."""
    set_by_hand: dict[int, dict[int, int]] = {}
    for need in book.rows.needs:
        set_by_hand.setdefault(need.task_id, {})[need.part_id] = need.quantity
    stages: dict[int, tuple[tuple[Stage, int], ...]] = {}
    for wait in book.rows.waits:
        if wait.kind in PIECES and wait.subsystem_id is not None:
            stages[wait.task_id] = (*stages.get(wait.task_id, ()), (PIECES[wait.kind], wait.subsystem_id))
    plans = sorted(
        (row.plan for row in book.rows.tasks), key=lambda plan: plan.state is not TaskState.IN_HAND
    )
    asking = tuple(
        Asking(
            plan.id,
            plan.title,
            plan.subsystem_id,
            plan.done,
            set_by_hand.get(plan.id, {}),
            stages.get(plan.id, ()),
        )
        for plan in plans
    )
    names = {face.id: face.name for face in book.subsystems}
    return asking, book.bills, book.parts, book.off_cuts, names


Stock = tuple[dict[int, int], tuple[OrderedPart, ...], tuple[PartNeed, ...], date]


def _stock_of(book: Book, wanted: Needs, today: date) -> Stock:
    """What says what there is of each part."""
    return (
        {part.id: part.on_shelf for part in book.parts},
        tuple(line for order in book.orders for line in order.ordered()),
        wanted.of_tasks,
        today,
    )


def _hand_holds(book: Book, today: date) -> dict[int, tuple[Hold, ...]]:
    """The holds that were set by hand and not cleared, by task."""
    found: dict[int, tuple[Hold, ...]] = {}
    for row in book.rows.holds:
        if not row.cleared:
            _note(found, row.task_id, by_hand(HoldKind(row.kind), row.reason, row.until, today, row.id))
    return found


def _causes(book: Book, wanted: Needs, there_is: Mapping[int, Supply]) -> dict[int, tuple[Hold, ...]]:
    """The holds of each task that follow from parts, pieces, readings, decisions and checks."""
    found: dict[int, tuple[Hold, ...]] = {}
    by_parts: dict[tuple[int, int], Hold] = {}
    for part in book.parts:
        to_try = part.origin == "borrowed"
        for allotment in there_is[part.id].allotted:
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
                by_parts[allotment.task_id, part.id] = hold
    for (task_id, _), hold in by_parts.items():
        _note(found, task_id, hold)
    for task_id, hold in held_along(wanted, by_parts):
        _note(found, task_id, hold)
    for row in book.rows.tasks:
        for unmet in () if row.plan.done else wanted.unmet.get(row.plan.id, ()):
            _note(found, row.plan.id, piece_hold(unmet.name, unmet.state))
    awaited = awaited_of(book)
    for wait in book.rows.waits:
        _note(found, wait.task_id, wait_hold(awaited, wait))
    return found


def held_along(wanted: Needs, by_parts: Mapping[tuple[int, int], Hold]) -> list[tuple[int, Hold]]:
    """Task and hold where another task gets the pieces that this one waits for too; each part once."""
    found = []
    for task_id, pairs in wanted.same_pieces.items():
        told = {part_id for _, part_id in pairs if (task_id, part_id) in by_parts}
        for pair in pairs:
            if pair in by_parts and pair[1] not in told:
                told.add(pair[1])
                found.append((task_id, by_parts[pair]))
    return found


def _note(found: dict[int, tuple[Hold, ...]], task_id: int, hold: Hold | None) -> None:
    if hold is not None:
        found[task_id] = (*found.get(task_id, ()), hold)


Awaited = tuple[Mapping[int | None, PortFacts], Mapping[int | None, DesignStanding]]
"""What tasks wait for: ports by number, where subsystems stand by theirs."""


def awaited_of(book: Book) -> Awaited:
    return {one.id: one for one in book.ports}, {one.subsystem_id: one for one in book.designs}


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


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """The tasks that were started and done, for the log, in one query."""
    told = []
    for task in store.begun(session, build_id):
        acts = ((task.started_at, "Started", task.started_by), (task.done_at, "Done", task.done_by))
        for moment, word, who in acts:
            if moment is not None:
                told.append(Happening(moment, f"{word}: {task.title}", urls.task(build_id, task.key), who))
    return tuple(told)


def add_task(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    build = build_face(session, build_id)
    form = forms.new_task(typed, _subsystem_ids(session, build.id))
    count = store.count_tasks(session, build_id)
    return store.add(session, Task(build_id=build_id, position=count, **asdict(form)))


def _subsystem_ids(session: Session, build_id: int) -> list[int]:
    return [face.id for face in subsystem_faces(session, build_id)]


def set_state(
    session: Session,
    build_id: int,
    task_id: int,
    state: TaskState,
    now: datetime,
    actor: str = "builder",
    *,
    seen_open: bool = False,
) -> bool:
    """Set a state, not the next one: the same tap twice changes nothing. Whether the task stands so now.

    actor: who says so. `seen_open`: pressed where the task was not shown as done; then one that was done
    meanwhile stays done. Raises NotFound.
    """
    task = store.load_task(session, build_id, task_id)
    if seen_open and task.state == TaskState.DONE and state is not TaskState.DONE:
        return False
    store.set_state(session, task, state, now, actor)
    return True


def work_page(
    session: Session,
    build: BuildFace,
    now: datetime,
    news: News | None = None,
    refused: Refused | None = None,
    asked: page.Asked = page.WHOLE,
) -> page.WorkPage:
    """`news`: what the sheet begins with; `asked`: which part of it."""

    def make() -> page.WorkPage:
        state = work_state(session, build, now)
        aside = [Link(urls.task_removal(build.id, row.id), row.title) for row in state.book.rows.aside]
        return page.work_page(build, state.plan, None, None, aside, asked)

    standing_page = kept(build, ("work page", minute_of(now), asked), make)
    return replace(standing_page, news=news, form=FormState.of(refused))
