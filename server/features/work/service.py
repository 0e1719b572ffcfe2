"""What can be done with tasks, how each of them stands, and their pages."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from typing import TypeVar

from sqlmodel import Session

from server.core.again import Again
from server.core.buying.stock import Supply
from server.core.work.do_now import do_now
from server.core.work.holding import holding
from server.core.work.rows import AfterRow, SetbackRow, Span, Tables, TaskRead, WorkRows, span_of, work_rows
from server.core.work.standing import standing
from server.core.work.tasks import TaskState
from server.errors import Refused
from server.features.builds.service import build_face, kept, made_again, subsystem_faces
from server.features.builds.store import BuildFace
from server.features.causes.service import Book, causes_of, needs_of, plans_of, supplies_of
from server.features.designs.service import surroundings, survey
from server.features.needs.service import Needs
from server.features.orders.service import known_orders
from server.features.parts.service import known_parts, off_cut_faces
from server.features.work import forms, page, store
from server.features.work.tables import Task
from server.web import urls
from server.web.view import FormState, Happening, Link, News

T = TypeVar("T")


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
        _rows(session, build, [face.id for face in around.subsystems.values() if not face.removed]),
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


def _rows(session: Session, build: BuildFace, subsystems: Collection[int]) -> WorkRows:
    """Each table read again only when it was written to. subsystems: the numbers of those that stand."""

    def read_tasks() -> tuple[TaskRead, ...]:
        name = "tasks", build.revision
        return made_again(build.id, name, lambda again: store.tasks(session, build.id, again))

    every = kept(build, ("rows", "tasks"), read_tasks)
    span = span_of(every)

    def read(table: Callable[[Session, Span], T]) -> T:
        return kept(build, ("rows", table.__name__, span), lambda: table(session, span))

    tables = Tables(
        known_afters(session, build, span),
        read(store.needs),
        read(store.waits),
        read(store.holds),
        read(store.setbacks),
    )
    return made_again(build.id, ("rows",), lambda again: work_rows(every, tables, subsystems, again))


def known_afters(session: Session, build: BuildFace, span: Span) -> tuple[AfterRow, ...]:
    """What comes before tasks with such numbers, read again only when it was written to."""
    return kept(build, ("afters", span), lambda: store.afters(session, span))


def work_state(session: Session, build: BuildFace, now: datetime) -> WorkState:
    """How every task of the build stands now, and what there is of every part; worked out once a minute.

    A tick changes one task: what the others stand on is taken from when they were last looked at.
    """

    def make() -> WorkState:
        given = book_of(session, build), now, _known_needs(session, build)
        there_is = supplies(session, build, now.date())
        return made_again(build.id, ("work",), lambda again: stands(*given, there_is, again))

    return kept(build, ("work at", minute_of(now)), make)


def derive(book: Book, now: datetime, again: Again | None = None) -> WorkState:
    """Work out how each task stands. Pure: a book that differs in one thing shows what that thing does.

    again: what the last making left.
    """
    again = again or Again()
    wanted = needs_of(book, again)
    return stands(book, now, wanted, supplies_of(book, wanted, now.date(), again), again)


def stands(
    book: Book, now: datetime, wanted: Needs, there_is: Mapping[int, Supply], again: Again | None = None
) -> WorkState:
    """The same where it is known what is called for and what there is. again: what the last making left."""
    again = again or Again()
    tasks = plans_of(book, now.date(), again)
    how = standing(tasks, causes_of(book, wanted, there_is, again), now, again)
    doable = do_now(tasks, how, book.car_state, again)
    risks = again.once("risks", book.rows.setbacks, _risks)
    held = holding(tasks, how, again)
    plan = page.Plan(tasks, how, doable, _subsystems(book), now, risks, held)
    return WorkState(book, plan, there_is, wanted)


def _risks(setbacks: tuple[SetbackRow, ...]) -> dict[int, str]:
    """What may still go wrong with each task, in words."""
    open_ones: dict[int, list[tuple[float, int]]] = {}
    for row in setbacks:
        if row.happened_at is None and not row.set_aside:
            open_ones.setdefault(row.task_id, []).append((row.chance, row.minutes_likely))
    return {task_id: page.risk_words(risks) for task_id, risks in open_ones.items()}


def _subsystems(book: Book) -> tuple[page.Subsystem, ...]:
    return tuple(page.Subsystem(face.id, face.letter, face.name) for face in book.subsystems)


def minute_of(now: datetime) -> str:
    """What pages that tell how work stands are kept by: a wait may run out with any minute."""
    return now.strftime("%Y-%m-%d %H:%M %z")


def supplies(session: Session, build: BuildFace, today: date) -> Mapping[int, Supply]:
    """What there is of each part, by its number; worked out once a day."""

    def make() -> Mapping[int, Supply]:
        given = book_of(session, build), _known_needs(session, build), today
        return made_again(build.id, ("supplies",), lambda again: supplies_of(*given, again))

    return kept(build, ("supplies", today), make)


def _known_needs(session: Session, build: BuildFace) -> Needs:
    """Worked out again only when what it is made of is no longer the same."""

    def make() -> Needs:
        book = book_of(session, build)
        return made_again(build.id, ("needs",), lambda again: needs_of(book, again))

    return kept(build, ("needs",), make)


def titles(session: Session, build: BuildFace) -> Mapping[int, str]:
    """The title of each task, by its number."""

    def make() -> Mapping[int, str]:
        return {row.plan.id: row.plan.title for row in book_of(session, build).rows.tasks}

    return kept(build, ("titles",), make)


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
