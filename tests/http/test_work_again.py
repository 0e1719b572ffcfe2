"""How the work stands, begun from what the last making left, is how it stands when made from nothing."""

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from server.core.again import Again
from server.core.work.rows import Tables, work_rows
from server.core.work.tasks import TaskState
from server.db import make_engine
from server.features.builds.service import build_face
from server.features.causes.service import Book, needs_of, supplies_of
from server.features.work import store
from server.features.work.service import WorkState, book_of, derive, stands
from server.features.work.tables import Task
from server.settings import settings_for

T = TypeVar("T")
SEED = 20261126
BUILD = 1


@pytest.fixture(scope="module")
def engine(demo_folder: Path) -> Iterator[Engine]:
    """The demo, which is only read here."""
    engine = make_engine(settings_for(data=demo_folder, environment={}).database_url)
    yield engine
    engine.dispose()


@pytest.fixture(scope="module")
def book(engine: Engine) -> Book:
    with Session(engine) as session:
        return book_of(session, build_face(session, BUILD))


def changed(some: tuple[T, ...], dice: random.Random, **to: object) -> tuple[T, ...]:
    """With one of them changed so."""
    place = dice.randrange(len(some))
    was: Any = some[place]
    one: T = was._replace(**to) if hasattr(was, "_replace") else replace(was, **to)
    return (*some[:place], one, *some[place + 1 :])


def without_one(some: Sequence[T], dice: random.Random) -> tuple[T, ...]:
    place = dice.randrange(len(some))
    return (*some[:place], *some[place + 1 :])


def another(book: Book, now: datetime, dice: random.Random) -> Book:
    """The book after one write of some kind."""
    rows = book.rows
    place = dice.randrange(len(rows.tasks))
    row = rows.tasks[place]
    state = dice.choice([state for state in TaskState if state is not row.plan.state])
    plan = row.plan._replace(state=state, done_at=now if state is TaskState.DONE else None)
    ticked = (*rows.tasks[:place], row._replace(plan=plan), *rows.tasks[place + 1 :])
    more = dice.randrange(4)
    return dice.choice(
        [
            replace(book, rows=replace(rows, tasks=ticked)),
            replace(book, rows=replace(rows, tasks=ticked)),
            replace(book, rows=replace(rows, holds=changed(rows.holds, dice, cleared=bool(more % 2)))),
            replace(book, rows=replace(rows, needs=changed(rows.needs, dice, quantity=more))),
            replace(book, rows=replace(rows, waits=without_one(rows.waits, dice))),
            replace(book, rows=replace(rows, setbacks=changed(rows.setbacks, dice, chance=0.75))),
            replace(book, parts=changed(book.parts, dice, on_shelf=more)),
            replace(book, orders=without_one(book.orders, dice)),
            replace(book, bills=without_one(book.bills, dice)),
            replace(book, designs=changed(book.designs, dice, decided=bool(more % 2))),
            replace(book, ports=without_one(book.ports, dice)),
        ]
    )


def told(state: WorkState) -> tuple[object, ...]:
    return state.plan, list(state.plan.standings), state.supplies, state.needs, state.needs.wants


def test_whatever_is_written_the_work_stands_as_it_does_from_nothing(book: Book, now: datetime) -> None:
    dice = random.Random(SEED)
    again = Again()
    for turn in range(24):
        again, now = Again(again.left), now + timedelta(minutes=dice.choice([0, 1, 60, -30]))
        wanted = needs_of(book, again)
        there_is = supplies_of(book, wanted, now.date(), again)
        assert told(stands(book, now, wanted, there_is, again)) == told(derive(book, now)), turn
        book = another(book, now, dice)


def test_rows_put_together_again_are_those_put_together_from_nothing(engine: Engine) -> None:
    with Session(engine) as session:
        every = store.tasks(session, BUILD)
        of = session, (0, 1_000_000)
        afters, needs, waits = store.afters(*of), store.needs(*of), store.waits(*of)
        tables = Tables(afters, needs, waits, store.holds(*of), store.setbacks(*of))
    subsystems = {read.row.plan.subsystem_id for read in every} - {None}
    numbers = sorted(number for number in subsystems if number is not None)
    dice, again = random.Random(SEED), Again()
    for turn in range(12):
        found = work_rows(every, tables, numbers, again := Again(again.left))
        assert found == work_rows(every, tables, numbers), turn
        every = changed(every, dice, aside=turn % 3 != 2)
        tables = tables._replace(afters=without_one(tables.afters, dice)) if turn % 2 else tables
        numbers = list(without_one(numbers, dice)) if turn % 4 == 3 else numbers


def test_a_task_read_again_is_the_same_value(engine: Engine) -> None:
    with Session(engine) as session:
        first = Again()
        read = store.tasks(session, BUILD, first)
        second = store.tasks(session, BUILD, Again(first.left))
    assert all(one is other for one, other in zip(read, second, strict=True))


def test_whatever_is_done_to_a_task_it_is_read_as_it_is_from_nothing(engine: Engine, now: datetime) -> None:
    """Edited, begun, done, set aside, put back, and one more beside it; all of it undone at the end."""
    with Session(engine) as session:
        again = Again()
        number = store.tasks(session, BUILD, again)[0].row.plan.id
        other = Task(build_id=BUILD, title="Cap it", minutes_low=5, minutes_likely=10, minutes_high=20)
        row = store.load_task(session, BUILD, number)
        writes: list[Callable[[], object]] = [
            lambda: store.edit_task(session, number, row.version, {"title": "Bead it", "note": "Cold."}),
            lambda: store.set_state(session, row, TaskState.IN_HAND, now, "builder"),
            lambda: store.set_state(session, row, TaskState.DONE, now + timedelta(minutes=7), "builder"),
            lambda: store.set_removed(session, row, now),
            lambda: store.set_removed(session, row, None),
            lambda: store.add(session, other),
        ]
        seen = [store.tasks(session, BUILD)]
        for write in writes:
            write()
            again = Again(again.left)
            seen.append(store.tasks(session, BUILD, again))
            assert seen[-1] == store.tasks(session, BUILD)
            assert seen[-1] != seen[-2]
        session.rollback()
