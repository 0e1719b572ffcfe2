"""The database keeps what it acknowledged, and nothing of what it refused."""

import random
import time
from datetime import datetime
from pathlib import Path
from threading import Event, Thread
from typing import Any

import pysqlite3
import pytest
from sqlalchemy import Engine, event, func
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, select

from server.db import SAFE_SQLITE, make_engine, write_session
from server.features.builds.tables import Build, Subsystem
from server.migrate import upgrade
from server.settings import Settings, settings_for
from tests.asking import Browser
from tests.bench.kill import SEED, Run
from tests.factories import a_build
from tests.kept_writes import prepare, writes
from tests.processes import App

PRAGMAS = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}


def count_builds(engine: Engine) -> int:
    with Session(engine) as session:
        return session.exec(select(func.count()).select_from(Build)).one()


def test_sqlite_is_one_without_the_log_reset_fault() -> None:
    # https://sqlite.org/wal.html#walresetbug: fixed in 3.51.3
    assert SAFE_SQLITE >= (3, 51, 3)
    assert pysqlite3.sqlite_version_info >= SAFE_SQLITE


def test_every_connection_of_the_pool_writes_safely(engine: Engine) -> None:
    opened = [engine.connect() for _ in range(6)]
    try:
        for connection in opened:
            stand = {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in PRAGMAS}
            assert stand == PRAGMAS
    finally:
        for connection in opened:
            connection.close()


def test_a_link_to_a_row_that_is_not_there_is_refused(any_engine: Engine) -> None:
    with pytest.raises(IntegrityError), write_session(any_engine) as session:
        session.add(Subsystem(build_id=404, letter="A", name="Intake", kind="intake"))


def test_a_moment_comes_back_as_the_same_moment(any_engine: Engine, now: datetime) -> None:
    with write_session(any_engine) as session:
        number = a_build(session, now).id
    with Session(any_engine) as session:
        build = session.get(Build, number)
        assert build is not None
        assert build.created_at == now
        assert build.created_at.tzinfo is not None


def test_an_error_half_way_leaves_nothing(any_engine: Engine, now: datetime) -> None:
    def break_half_way() -> None:
        with write_session(any_engine) as session:
            a_build(session, now)
            raise RuntimeError("half way")

    with pytest.raises(RuntimeError):
        break_half_way()
    assert count_builds(any_engine) == 0


def test_a_second_writer_waits_for_the_first_and_both_are_kept(any_engine: Engine, now: datetime) -> None:
    first_writes = Event()

    def write_slowly() -> None:
        with write_session(any_engine) as session:
            a_build(session, now, name="first")
            first_writes.set()
            time.sleep(0.2)

    slow = Thread(target=write_slowly)
    slow.start()
    assert first_writes.wait(5)
    with write_session(any_engine) as session:
        a_build(session, now, name="second")
    slow.join()
    assert count_builds(any_engine) == 2


def test_reading_goes_on_while_somebody_writes(any_engine: Engine, now: datetime) -> None:
    with write_session(any_engine) as session:
        a_build(session, now)
        assert count_builds(any_engine) == 0  # the old state, at once
    assert count_builds(any_engine) == 1


def test_a_writer_that_read_first_is_not_refused_half_way(engine: Engine, now: datetime) -> None:
    """Begun as a reader, the second writer would fail at once: its view of the file would be stale."""
    second_waits = Event()

    def write_beside() -> None:
        second_waits.set()
        with write_session(engine) as session:
            a_build(session, now, name="beside")

    beside = Thread(target=write_beside)
    with write_session(engine) as session:
        session.exec(select(Build)).all()
        beside.start()
        assert second_waits.wait(5)
        time.sleep(0.05)
        a_build(session, now)
    beside.join()
    assert count_builds(engine) == 2


def test_a_write_that_waits_too_long_for_another_is_asked_to_come_again(
    browser: Browser, engine: Engine, now: datetime
) -> None:
    for_a_moment_only(engine)
    form = {"name": "beside", "operation_key": "patient"}
    with write_session(make_engine(str(engine.url))) as session:
        a_build(session, now, name="slow")
        assert browser.post("/builds", form).status_code == 409
    assert browser.post("/builds", form).status_code == 303
    assert count_builds(engine) == 2


def for_a_moment_only(engine: Engine) -> None:
    """Let the application's writers wait for a moment only, where five seconds are usual."""

    def be_impatient(connection: Any, _record: Any) -> None:
        connection.execute("PRAGMA busy_timeout = 50")

    engine.dispose()
    event.listen(engine, "connect", be_impatient)


def test_a_killed_server_keeps_each_acknowledged_write_whole(tmp_path: Path, now: datetime) -> None:
    """A few writes at once and one kill; `python -m tests.bench.kill` has hundreds, and both databases."""
    settings = settings_for(data=tmp_path / "data", environment={})
    upgrade(settings)
    engine = make_engine(settings.database_url)
    prepare(engine, 21, now)
    engine.dispose()
    run = Run(App(settings, tmp_path / "server.log"), None, random.Random(SEED))
    pending = writes(21, run.dice)
    run.start()
    with run.killed_at_a_drawn_moment(pending):
        run.send_all(pending)
    run.look_over()
    assert run.kills == {"server": 1}
    assert run.acknowledged
    assert run.faults == []


def test_a_full_disk_is_told_and_loses_nothing(browser: Browser, engine: Engine) -> None:
    assert browser.post("/builds", {"name": "before"}).status_code == 303
    limit_pages(engine)
    answers = [browser.post("/builds", {"name": "x" * 80}) for _ in range(80)]
    refused = [answer for answer in answers if answer.status_code != 303]
    assert {answer.status_code for answer in refused} == {507}
    assert "Free some space" in refused[0].text
    kept = browser.get_json("/builds")["builds"]
    assert len(kept) == 1 + len(answers) - len(refused)
    with engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"


def test_a_disk_that_fills_in_the_midst_of_a_write_is_told_and_pages_can_still_be_read(
    browser: Browser, engine: Engine
) -> None:
    """SQLite then undoes the whole transaction by itself, and undoing the part that failed fails too."""
    browser.post("/builds", {"name": "The saloon"})
    note = {"text": "A locked connection, " + "in full. " * 200}
    event.listen(engine, "before_cursor_execute", fill_up_at_a_note)
    answers = [browser.post("/builds/1/log", note) for _ in range(8)]
    refused = [answer for answer in answers if answer.status_code != 303]
    assert {answer.status_code for answer in refused} == {507}
    event.remove(engine, "before_cursor_execute", fill_up_at_a_note)
    assert browser.get("/builds/1/log").text.count("A locked connection") == len(answers) - len(refused)
    engine.dispose()
    assert browser.post("/builds/1/log", note).status_code == 303


def fill_up_at_a_note(_connection: Any, cursor: Any, statement: str, *_rest: object) -> None:
    """Let the file grow no more from the statement on that stores a note."""
    if statement.startswith("INSERT INTO log_entry"):
        (pages,) = cursor.connection.execute("PRAGMA page_count").fetchone()
        cursor.connection.execute(f"PRAGMA max_page_count = {pages}")


def limit_pages(engine: Engine) -> None:
    """Let the file grow by two pages more, on every connection of the pool."""
    opened = [engine.connect() for _ in range(engine.pool.checkedin() or 1)]  # type: ignore[attr-defined]
    for connection in opened:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {int(pages or 0) + 2}")
    for connection in opened:
        connection.close()


def test_the_data_folder_is_readable_by_its_owner_alone(settings: Settings) -> None:
    for folder in (settings.data, settings.photos):
        assert Path(folder).stat().st_mode & 0o077 == 0
