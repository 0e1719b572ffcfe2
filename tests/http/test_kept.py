"""What is kept of a build is never out of date: whatever form is sent, every page is as if made anew.

Two memories stand for two server processes on one database: what one of them stores, the other must see.
"""

import random
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import datetime
from time import sleep

import pytest
from fastapi import FastAPI
from sqlmodel import Session, col, delete, select

from server.db import write_session, writing
from server.features.builds import service as builds
from server.features.builds.service import Memory, after_write, build_face, kept, kept_while
from server.features.builds.store import touch_tables
from server.features.log.tables import LogEntry
from server.features.runs.tables import Piece
from server.features.work.tables import Task
from server.tables_used import take_written
from tests.asking import Browser
from tests.bench.measure import largest_of
from tests.conftest import TEN_IN_THE_MORNING
from tests.factories import a_build
from tests.page_forms import PageForm, page_forms
from tests.samples import WHOLE
from tests.walk import Stop, shape_of, walk

SEED = 20261126


@contextmanager
def remembering(memories: tuple[Memory, Memory]) -> Iterator[None]:
    """As in the process that keeps these values of builds, and of steps whose inputs stay equal."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(builds, "_of_builds", memories[0])
        patched.setattr(builds, "_of_steps", memories[1])
        yield


def pages(browser: Browser, addresses: list[str]) -> dict[str, str]:
    """What each page tells, without the form keys that are drawn by lot.

    The plan is asked first: what it foresees is noted then, and the garage shows it.
    """
    first = sorted(addresses, key=lambda address: not address.endswith("/plan"))
    answers = {address: browser.get(address, headers={"accept": "application/json"}) for address in first}
    return {address: f"{answer.status_code} {answer.text}" for address, answer in answers.items()}


def forms_of(browser: Browser, stops: list[Stop]) -> list[PageForm]:
    """One form of each shape that the build's pages have: what stands in it, and each list's last choice."""
    found: dict[str, PageForm] = {}
    for stop in stops:
        for form in page_forms(browser.get(stop.address).text):
            missing = {name: some[-1] for name, some in form.offered.items() if some and not form.value(name)}
            found.setdefault(shape_of(form.address), form.having(**missing))
    return list(found.values())


TYPED = {
    "text": "Found a loose clamp.",
    "reading": "41.5 mm",
    "quantity": "1",
    "count": "7",
    "reason": "Measured twice.",
    "name": "One more",
    "title": "One more thing to do",
    "supplier": "Underhill Castings",
    "part": "One more part",
    "because": "It fits.",
    "length": "118 mm",
    "likely": "25 min",
    "chance": "30",
    "price": "12.50",
    "budget": "2600",
}
"""Typed into the fields of these names, whatever form they are on."""


def filled(form: PageForm) -> PageForm:
    """The form with something changed in it."""
    return form.having(**{name: text for name, text in TYPED.items() if name in form.names()})


def written_since(app: FastAPI, stamps: dict[str, str]) -> frozenset[str]:
    """The tables that were written to since a look at these stamps, which are brought up to date."""
    with Session(app.state.engine) as session:
        now = dict(build_face(session, 1).stamps)
    changed = frozenset(table for table, stamp in now.items() if stamps.get(table) != stamp)
    stamps.update(now)
    return changed


def test_whatever_is_stored_every_page_is_as_if_made_anew(demo_app: FastAPI, demo: Browser) -> None:
    """Each form that writes to a table for the first time is followed by a look at pages drawn from all.

    Half of them after each; `make prove` looks at every one.
    """
    stops = [stop for stop in largest_of(walk(demo)) if stop.address.startswith("/builds/1")]
    addresses = [stop.address for stop in stops]
    memories = (Memory(), Memory()), (Memory(), Memory())
    for memory in memories:
        with remembering(memory):
            pages(demo, addresses)
    seen: set[str] = set()
    stamps: dict[str, str] = {}
    dice, many = random.Random(SEED), len(addresses) if WHOLE else len(addresses) // 2
    for turn, form in enumerate(forms_of(demo, stops)):
        with remembering(memories[0]):
            answer = demo.post(form.address, dict(filled(form).fields))
        changed = written_since(demo_app, stamps)
        if answer.status_code != 303 or changed <= seen:
            continue
        seen |= changed
        drawn = dice.sample(addresses, many)
        with remembering(memories[turn % 2]):
            shown = pages(demo, drawn)
        with remembering((Memory(), Memory())):
            anew = pages(demo, drawn)
        stale = [address for address in drawn if shown[address] != anew[address]]
        assert stale == [], f"{form.address}: {stale}"
    assert len(seen) > 20, seen


@pytest.fixture
def session(demo_app: FastAPI) -> Iterator[Session]:
    with write_session(demo_app.state.engine) as found:
        yield found


def a_task(title: str) -> Task:
    return Task(build_id=1, title=title, minutes_low=10, minutes_likely=20, minutes_high=30)


def titles(session: Session) -> list[str]:
    """Titles of tasks, kept."""

    def read() -> list[str]:
        return list(session.exec(select(Task.title).where(Task.build_id == 1)))

    return kept(build_face(session, 1), ("titles for a test",), read)


def test_what_others_write_leaves_a_kept_value_alone(session: Session) -> None:
    before = titles(session)
    session.add(LogEntry(build_id=1, at=TEN_IN_THE_MORNING, kind="note", actor="", text="A note"))
    after_write(session, {"build_id": 1})
    assert titles(session) is before


def test_a_value_rests_on_all_that_the_kept_values_in_it_were_read_from(session: Session) -> None:
    def longest() -> int:
        return kept(build_face(session, 1), ("longest for a test",), lambda: max(map(len, titles(session))))

    titles(session)
    assert longest() < 400
    session.add(a_task("x" * 400))
    after_write(session, {"build_id": 1})
    assert longest() == 400


def test_nothing_is_kept_of_rows_that_may_still_be_undone(demo_app: FastAPI) -> None:
    """Asked between a write and its end; then the write is undone."""
    with Session(writing(demo_app.state.engine)) as first:
        first.add(a_task("Never stored"))
        first.flush()
        assert "Never stored" in titles(first)
        first.rollback()
    with Session(demo_app.state.engine) as second:
        assert "Never stored" not in titles(second)


def test_what_the_database_changes_by_itself_counts_as_written(session: Session) -> None:
    """What stands near a piece loses its piece when that is taken away for good."""
    session.exec(delete(Piece).where(col(Piece.id) == 0))
    assert take_written(session) >= {"piece", "neighbour"}


def test_a_step_is_made_again_when_a_row_it_rests_on_says_something_else(session: Session) -> None:
    piece = session.exec(select(Piece)).first()
    assert piece is not None

    def made() -> list[float | None]:
        return kept_while(1, ("a step for a test",), (piece.told(),), lambda: [piece.length])

    first, stood = made(), piece.length or 0.0
    assert made() is first
    piece.length = stood + 0.001
    assert made() == [stood + 0.001]
    session.refresh(piece)
    session.expire(piece)  # nothing of it is loaded: it is read again, not taken for empty
    assert made() == first


def test_two_who_write_at_once_both_leave_their_mark(any_app: FastAPI, now: datetime) -> None:
    engine = any_app.state.engine
    with write_session(engine) as session:
        number = a_build(session, now).id

    def write_parts() -> None:
        with write_session(engine) as second:
            touch_tables(second, number, ["part"])

    with ThreadPoolExecutor() as other:
        with write_session(engine) as first:
            touch_tables(first, number, ["task"])
            waiting = other.submit(write_parts)
            sleep(0.2)
        waiting.result()
    with Session(engine) as session:
        assert set(build_face(session, number).stamps) == {"task", "part"}
