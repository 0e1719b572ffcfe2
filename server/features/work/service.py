"""What can be done with tasks, how each of them stands, and their pages."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime

from sqlmodel import Session

from server.core.buying.order import OrderFace, parcel_of
from server.core.buying.stock import Condition, Supply, supply
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
from server.features.builds.service import build_face, kept, subsystem_faces
from server.features.builds.store import BuildFace, SubsystemFace
from server.features.designs.service import Bill, surroundings, survey
from server.features.needs.service import Asking, Needs, needs
from server.features.orders.service import order_faces
from server.features.parcels import page as parcels
from server.features.parts.service import off_cut_faces, part_faces
from server.features.parts.store import OffCutFace, PartFace
from server.features.verdicts.page import DesignStanding
from server.features.work import forms, page, store
from server.features.work.store import WaitRow, WorkRows
from server.features.work.tables import Task
from server.web import urls
from server.web.view import Happening, Link, News, Undo
from server.web.words import pieces

PIECES = {stage.value: stage for stage in Stage}
"""The waits for the pieces of a chosen design, by their kind."""


@dataclass(frozen=True, slots=True)
class Book:
    """All that the work of a build is worked out from. Nothing in it depends on the time of day."""

    rows: WorkRows
    subsystems: tuple[SubsystemFace, ...]
    parts: tuple[PartFace, ...]
    off_cuts: tuple[OffCutFace, ...]
    orders: tuple[OrderFace, ...]
    ports: tuple[PortFacts, ...]
    designs: tuple[DesignStanding, ...]
    bills: tuple[Bill, ...]
    has_engine_sheet: bool


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
    designs = survey(session, build, around)
    return Book(
        store.load_rows(session, build.id),
        tuple(around.subsystems.values()),
        part_faces(session, build.id, aside=True),
        off_cut_faces(session, build.id),
        order_faces(session, build.id),
        around.ports,
        designs.standings,
        designs.bills,
        around.engine is not None,
    )


def work_state(session: Session, build: BuildFace, now: datetime) -> WorkState:
    """How every task of the build stands now, and what there is of every part; worked out once a minute."""
    minute = now.strftime("%Y-%m-%d %H:%M %z")
    return kept(build, ("work at", minute), lambda: derive(book_of(session, build), now))


def supplies(session: Session, build: BuildFace, today: date) -> Mapping[int, Supply]:
    """What there is of each part, by its number."""
    book = book_of(session, build)
    return _supplies(book, needs_of(book), today)


def titles(session: Session, build: BuildFace) -> Mapping[int, str]:
    """The title of each task, by its number."""
    return {row.plan.id: row.plan.title for row in book_of(session, build).rows.tasks}


def derive(book: Book, now: datetime) -> WorkState:
    """Work out how each task stands. Pure: a book that differs in one thing shows what that thing does."""
    wanted = needs_of(book)
    there_is = _supplies(book, wanted, now.date())
    tasks = tuple(
        replace(row.plan, holds=_hand_holds(book, row.plan.id, now.date())) for row in book.rows.tasks
    )
    how = standing(tasks, _causes(book, wanted, there_is), now)
    plan = page.Plan(tasks, how, do_now(tasks, how), _subsystems(book), now, _risks(book))
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


def needs_of(book: Book) -> Needs:
    """What the build calls for. Tasks in hand get their parts first, then the others in their order."""
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
    asking = [
        Asking(
            plan.id,
            plan.title,
            plan.subsystem_id,
            plan.done,
            set_by_hand.get(plan.id, {}),
            stages.get(plan.id, ()),
        )
        for plan in plans
    ]
    names = {face.id: face.name for face in book.subsystems}
    return needs(asking, book.bills, book.parts, book.off_cuts, names)


def _supplies(book: Book, wanted: Needs, today: date) -> Mapping[int, Supply]:
    return supply(
        {part.id: part.on_shelf for part in book.parts},
        [line for order in book.orders for line in order.ordered()],
        wanted.of_tasks,
        today,
    )


def _hand_holds(book: Book, task_id: int, today: date) -> tuple[Hold, ...]:
    return tuple(
        by_hand(HoldKind(row.kind), row.reason, row.until, today, row.id)
        for row in book.rows.holds
        if row.task_id == task_id and not row.cleared
    )


def _causes(book: Book, wanted: Needs, there_is: Mapping[int, Supply]) -> dict[int, tuple[Hold, ...]]:
    """The holds of each task that follow from parts, pieces, readings, decisions and checks."""
    found: dict[int, tuple[Hold, ...]] = {}
    for part in book.parts:
        for allotment in there_is[part.id].allotted:
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
            _note(found, allotment.task_id, part_hold(missing))
    for row in book.rows.tasks:
        for unmet in () if row.plan.done else wanted.unmet.get(row.plan.id, ()):
            _note(found, row.plan.id, piece_hold(unmet.name, unmet.state))
    for wait in book.rows.waits:
        _note(found, wait.task_id, wait_hold(book, wait))
    return found


def _note(found: dict[int, tuple[Hold, ...]], task_id: int, hold: Hold | None) -> None:
    if hold is not None:
        found[task_id] = (*found.get(task_id, ()), hold)


def wait_hold(book: Book, wait: WaitRow) -> Hold | None:
    """What is still wanting of a reading, decision, checks or a design; none when it is there.

    The pieces of a chosen design hold a task by themselves, as parts. What was set aside is not waited for.
    """
    if wait.kind == "reading":
        port = next((one for one in book.ports if one.id == wait.port_id), None)
        if port is None or wait.dimension in port.sizes:
            return None
        return reading_hold(port.id, port.name, DIMENSIONS[wait.dimension])
    stands = next((one for one in book.designs if one.subsystem_id == wait.subsystem_id), None)
    if stands is None or (wait.kind in PIECES and Place(stands.kind) in WITHOUT_RUN):
        return None
    if wait.kind == "decision" or wait.kind in PIECES:
        return None if stands.decided else decision_hold(stands.subsystem_id, stands.subsystem_name)
    return check_hold(
        stands.subsystem_id,
        stands.subsystem_name,
        has_design=stands.design_id is not None,
        no_go=stands.open_no_go,
        missing=stands.missing,
    )


def events(session: Session, build_id: int) -> tuple[Happening, ...]:
    """The tasks that were started and done, for the log, in one query."""
    told = []
    for task in store.begun(session, build_id):
        for moment, word in ((task.started_at, "Started"), (task.done_at, "Done")):
            if moment is not None:
                told.append(Happening(moment, f"{word}: {task.title}", urls.task(build_id, task.key)))
    return tuple(told)


def ready_now(state: WorkState) -> frozenset[int]:
    """Tasks that can be begun or gone on with."""
    return frozenset(entry.task_id for entry in state.plan.next if not entry.reason.stopped)


def add_task(session: Session, build_id: int, typed: Mapping[str, str]) -> int:
    """Raises NotFound, BadInput."""
    build = build_face(session, build_id)
    form = forms.new_task(typed, _subsystem_ids(session, build.id))
    count = store.count_tasks(session, build_id)
    return store.add(session, Task(build_id=build_id, position=count, **asdict(form)))


def _subsystem_ids(session: Session, build_id: int) -> list[int]:
    return [face.id for face in subsystem_faces(session, build_id)]


def set_state(session: Session, build_id: int, task_id: int, state: TaskState, now: datetime) -> None:
    """Set a state, not the next one: the same tap twice changes nothing. Raises NotFound."""
    store.set_state(session, store.load_task(session, build_id, task_id), state, now)


# pages


TOLD = re.compile(r"(delivery|parcel|task|hold|aside)-([0-9]{1,9})")


def news_of(session: Session, build: BuildFace, told: str, now: datetime) -> News | None:
    """What a sheet begins with after an act, worked out from how things stand; `told` e.g. "delivery-7".

    Which tasks an act made ready is found by working out the same build without it.
    """
    named = TOLD.fullmatch(told)
    if named is None:
        return parcels.news_of(build, book_of(session, build).orders, told) if told else None
    state = work_state(session, build, now)
    number = int(named[2])
    if named[1] == "parcel":
        return _news_of_parcel(build, state, number)
    if named[1] == "aside":
        return _news_of_aside(build, state, number)
    if named[1] == "delivery":
        return _news_of_delivery(build, state, number)
    return _news_of_task(build, state, number) if named[1] == "task" else _news_of_hold(build, state, number)


def _news_of_aside(build: BuildFace, state: WorkState, task_id: int) -> News | None:
    """A task was set aside or put back."""
    where = urls.task_removal(build.id, task_id)
    aside = next((row for row in state.book.rows.aside if row.id == task_id), None)
    if aside is not None:
        more = "What came after it no longer waits for it; what came before it stays as it is."
        return News(f"Set aside: ‘{aside.title}’.", more, undo=Undo(where, (("to", "back"),), "Put it back"))
    row = next((row for row in state.book.rows.tasks if row.plan.id == task_id), None)
    if row is None:
        return None
    undo = Undo(where, (("to", "aside"),), "Set it aside")
    return News(f"Put back: ‘{row.plan.title}’.", "It is waited for again, as before.", undo=undo)


def _made_ready(build: BuildFace, state: WorkState, without: Book) -> tuple[Link, ...]:
    """The tasks that are ready now and would not be, had the build stayed as it is in `without`."""
    before = ready_now(derive(without, state.plan.now))
    return tuple(
        Link(urls.task(build.id, entry.task_id), state.plan.task(entry.task_id).title)
        for entry in state.plan.next
        if entry.task_id in ready_now(state) - before
    )


def _news_of_delivery(build: BuildFace, state: WorkState, delivery_id: int) -> News | None:
    found = [
        (line, delivery)
        for order in state.book.orders
        for line in order.lines
        for delivery in line.deliveries
        if delivery.id == delivery_id
    ]
    if not found:
        return None
    line, delivery = found[0]
    what = pieces(delivery.quantity, line.part_name)
    where = urls.delivery_withdrawal(build.id, delivery.id)
    if delivery.withdrawn:
        undo = Undo(where, (("withdrawn", "no"),), "It is here after all")
        return News(f"Taken back: {what}. It counts as not arrived.", undo=undo)
    undo = Undo(where, (("withdrawn", "yes"),), "Undo")
    if delivery.condition is not Condition.RIGHT:
        text = f"Noted: {what} came {delivery.condition.value}."
        return News(text, "Not put on the shelf; still owed by the supplier.", undo=undo)
    ready = _made_ready(build, state, _without(state.book, [delivery_id]))
    more = f"{line.rest} still to come." if line.rest else ""
    return News(f"Arrived: {what}.", more, ready, undo)


def _news_of_parcel(build: BuildFace, state: WorkState, delivery_id: int) -> News | None:
    """What came in one parcel, which tasks it made ready, and which still wait for parts of that order."""
    parcel = parcel_of(state.book.orders, delivery_id)
    if parcel is None:
        return None
    news = parcels.news_of_parcel(build, parcel)
    ready = _made_ready(build, state, _without(state.book, parcel.ids))
    held = page.still_held(state.plan, {line.part_id for line in parcel.order.lines})
    return replace(news, more=f"{news.more} {held}".strip(), ready=ready)


def _without(book: Book, delivery_ids: Sequence[int]) -> Book:
    """The same build, had these deliveries not come."""
    return replace(book, orders=parcels.without(book.orders, delivery_ids))


def _news_of_task(build: BuildFace, state: WorkState, task_id: int) -> News | None:
    row = next((row for row in state.book.rows.tasks if row.plan.id == task_id), None)
    if row is None:
        return None
    task = row.plan
    where = urls.task_state(build.id, task_id)
    if task.state is TaskState.IN_HAND:
        carry = f"Carry with you: {task.carry}" if task.carry else ""
        return News(f"In hand: ‘{task.title}’.", carry, undo=Undo(where, (("state", "open"),), "Undo"))
    if task.state is TaskState.OPEN:
        return News(f"Put down: ‘{task.title}’.", "It keeps its place in the list.")
    tasks = tuple(
        replace(one, plan=replace(task, state=TaskState.OPEN, done_at=None)) if one is row else one
        for one in state.book.rows.tasks
    )
    without = replace(state.book, rows=replace(state.book.rows, tasks=tasks))
    ready = _made_ready(build, state, without)
    return News(f"Done: ‘{task.title}’.", "", ready, Undo(where, (("state", "in hand"),), "Not done yet"))


def _news_of_hold(build: BuildFace, state: WorkState, hold_id: int) -> News | None:
    hold = next((row for row in state.book.rows.holds if row.id == hold_id), None)
    if hold is None:
        return None
    where = urls.hold_clearing(build.id, hold.task_id, hold_id)
    if not hold.cleared:
        undo = Undo(where, (("cleared", "yes"),), "Clear it")
        return News(f"Held: {hold.reason}.", undo=undo)
    holds = tuple(replace(row, cleared=False) if row is hold else row for row in state.book.rows.holds)
    without = replace(state.book, rows=replace(state.book.rows, holds=holds))
    ready = _made_ready(build, state, without)
    return News(f"Cleared: {hold.reason}.", "", ready, Undo(where, (("cleared", "no"),), "Hold it again"))


def work_page(
    session: Session,
    build_id: int,
    now: datetime,
    told: str = "",
    refused: Refused | None = None,
    asked: page.Asked = page.WHOLE,
) -> page.WorkPage:
    """`told` names what was just done, so that the sheet begins with what came of it; `asked` which part.

    Raises NotFound.
    """
    build = build_face(session, build_id)
    news = news_of(session, build, told, now)
    state = work_state(session, build, now)
    aside = [Link(urls.task_removal(build_id, row.id), row.title) for row in state.book.rows.aside]
    return page.work_page(build, state.plan, news, refused, aside, asked)
