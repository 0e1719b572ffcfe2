"""What a sheet begins with after an act: what was done, what came of it, and how to undo it."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from sqlmodel import Session

from server.core.buying.order import parcel_of
from server.core.buying.stock import Condition
from server.core.work.do_now import unsuited
from server.core.work.tasks import TaskState
from server.features.builds.store import BuildFace
from server.features.causes.service import Book
from server.features.parcels import page as parcels
from server.features.work.page import still_held
from server.features.work.service import WorkState, book_of, derive, work_state
from server.web import urls
from server.web.view import Link, News, Undo
from server.web.words import moment_text, pieces

TOLD = re.compile(r"(delivery|parcel|task|done|hold|aside)-([0-9]{1,9})")


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
    if named[1] == "done":
        return _news_of_done_before(build, state, number)
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


def ready_now(state: WorkState) -> frozenset[int]:
    """Tasks that can be begun or gone on with."""
    return frozenset(entry.task_id for entry in state.plan.next if not entry.reason.stopped)


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
    held = still_held(state.plan, {line.part_id for line in parcel.order.lines})
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
        other = unsuited(task, state.book.car_state)
        mind = [f"It {other}."] if other else []
        mind += [f"Carry with you: {task.carry}"] if task.carry else []
        return News(
            f"In hand: ‘{task.title}’.", " ".join(mind), undo=Undo(where, (("state", "open"),), "Undo")
        )
    if task.state is TaskState.OPEN:
        return News(f"Put down: ‘{task.title}’.", "It keeps its place in the list.")
    tasks = tuple(
        one._replace(plan=task._replace(state=TaskState.OPEN, done_at=None)) if one is row else one
        for one in state.book.rows.tasks
    )
    without = replace(state.book, rows=replace(state.book.rows, tasks=tasks))
    ready = _made_ready(build, state, without)
    return News(f"Done: ‘{task.title}’.", "", ready, Undo(where, (("state", "in hand"),), "Not done yet"))


def _news_of_done_before(build: BuildFace, state: WorkState, task_id: int) -> News | None:
    """A sheet on which it was not done yet asked for another state; it stays done."""
    task = next((row.plan for row in state.book.rows.tasks if row.plan.id == task_id), None)
    if task is None or not task.done:
        return None
    at = f" at {moment_text(task.done_at, state.plan.now)}" if task.done_at else ""
    undo = Undo(urls.task_state(build.id, task_id), (("state", "open"),), "Reopen it")
    return News(
        f"Nothing changed: ‘{task.title}’ was done{at}.", "The sheet it was pressed on was older.", undo=undo
    )


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
