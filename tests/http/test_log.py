"""The log: notes as typed, and what happened elsewhere, told in one place and stored in none twice."""

import gzip
from datetime import datetime, timedelta

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from server.core.work.tasks import TaskState
from server.db import write_session
from server.features.builds.store import BuildFace
from server.features.designs.tables import Concession, Design
from server.features.log.tables import LogEntry
from server.features.orders.tables import Delivery, Order, OrderLine
from server.features.parts.tables import Part
from server.features.ports.tables import Port, Reading
from server.features.work import service as work
from server.features.work.tables import Task
from tests.asking import Browser
from tests.factories import a_build, a_subsystem

IN_PLACE = {"hx-request": "true", "hx-target": "log"}


@pytest.fixture
def build(engine: Engine, now: datetime) -> BuildFace:
    with write_session(engine) as session:
        return a_build(session, now)


def stored(session: Session, row: Port | Part | Order | OrderLine | Task | Design) -> int:
    session.add(row)
    session.flush()
    return row.key


def everything_happens(session: Session, build: BuildFace, now: datetime) -> None:
    """A reading, a delivery, a task started and done, a concession: each an hour after the other.

    Of the order only the day is known; it stands before what came of it.
    """
    at = [now - timedelta(hours=hours) for hours in (6, 5, 4, 3, 2)]
    port = stored(session, Port(build_id=build.id, name="Compressor inlet"))
    session.add(
        Reading(
            port_id=port,
            dimension="bore",
            typed="4 in",
            value=0.1016,
            doubt=1e-4,
            instrument="caliper",
            taken_at=at[0],
            taken_by="Sam",
        )
    )
    part = stored(session, Part(build_id=build.id, name="76 mm elbow"))
    order = stored(session, Order(build_id=build.id, supplier="Millrace Tube", ordered_on=now.date()))
    line = stored(session, OrderLine(order_id=order, part_id=part, quantity=2))
    session.add(
        Delivery(order_line_id=line, quantity=2, condition="wrong", arrived_on=now.date(), noted_at=at[1])
    )
    task = stored(
        session,
        Task(build_id=build.id, title="Fit the intake", minutes_low=10, minutes_likely=20, minutes_high=30),
    )
    work.set_state(session, build.id, task, TaskState.IN_HAND, at[2])
    work.set_state(session, build.id, task, TaskState.DONE, at[3])
    subsystem = a_subsystem(session, build)
    design = stored(session, Design(build_id=build.id, subsystem_id=subsystem.id, name="Short way"))
    session.add(Concession(design_id=design, rule="speed", reason="Only at the redline", at=at[4]))


def notes(engine: Engine, build: BuildFace, times: list[datetime]) -> None:
    with write_session(engine) as session:
        for number, at in enumerate(times):
            session.add(LogEntry(build_id=build.id, at=at, kind="note", text=f"Note number {number}"))


def test_what_happened_elsewhere_is_told_newest_first(
    browser: Browser, engine: Engine, build: BuildFace, now: datetime
) -> None:
    with write_session(engine) as session:
        everything_happens(session, build, now)
    days = browser.get_json(f"/builds/{build.id}/log")["days"]
    lines = days[0]["lines"]
    assert [(line["clock"], line["text"]) for line in lines] == [
        ("08:00", "Conceded on Short way: Speed and Mach number. Only at the redline"),
        ("07:00", "Done: Fit the intake"),
        ("06:00", "Started: Fit the intake"),
        ("05:00", "Arrived from Millrace Tube: 2 × 76 mm elbow, wrong"),
        ("", "Ordered from Millrace Tube: 1 line"),
        ("04:00", "Measured Compressor inlet: bore 4 in"),
    ]
    assert lines[-1]["actor"] == "Sam"
    page = browser.get(f"/builds/{build.id}/log").text
    assert all(line["text"] in page and f'href="{line["href"]}"' in page for line in lines)
    with Session(engine) as session:
        assert session.exec(select(LogEntry)).all() == []


def test_what_was_taken_back_did_not_happen(
    browser: Browser, engine: Engine, build: BuildFace, now: datetime
) -> None:
    with write_session(engine) as session:
        everything_happens(session, build, now)
    with write_session(engine) as session:
        for row in [*session.exec(select(Reading)), *session.exec(select(Delivery))]:
            row.withdrawn_at = now
            session.add(row)
        for order in session.exec(select(Order)):
            order.removed_at = now
            session.add(order)
    texts = [line["text"] for line in browser.get_json(f"/builds/{build.id}/log")["days"][0]["lines"]]
    assert not [text for text in texts if text.startswith(("Measured", "Arrived", "Ordered"))]
    assert len(texts) == 3


def test_a_note_is_put_down_and_stands_in_page_fragment_and_json(browser: Browser, build: BuildFace) -> None:
    address = f"/builds/{build.id}/log"
    answer = browser.post(address, {"text": "Stud 3 is stripped.\nHelicoil <next> time"})
    page = browser.follow(answer).text
    assert "Stud 3 is stripped.\nHelicoil &lt;next&gt; time" in page
    fragment = browser.get(address, headers=IN_PLACE).text
    assert fragment.startswith("<section")
    assert "Stud 3" in fragment
    line = browser.get_json(address)["days"][0]["lines"][0]
    assert line == {
        "clock": "10:00",
        "text": "Stud 3 is stripped.\nHelicoil <next> time",
        "href": "",
        "actor": "",
        "note_id": 1,
        "photos": {"first": [], "rest": [], "pair": ""},
    }


def test_an_empty_or_endless_note_is_refused_and_stays_in_its_field(
    browser: Browser, build: BuildFace
) -> None:
    address = f"/builds/{build.id}/log"
    assert browser.post(address, {"text": "  "}).status_code == 422
    long = "so " * 1000
    answer = browser.post(address, {"text": long}, headers=IN_PLACE)
    assert answer.status_code == 422
    assert long.strip() in answer.text
    assert "up to 2000 characters" in answer.text
    assert browser.get_json(address)["days"] == []


def test_a_note_sent_five_times_is_one_note(browser: Browser, build: BuildFace) -> None:
    same = {"text": "Torqued to 22 Nm", "operation_key": "the-same-key-five-times"}
    answers = browser.post_at_once(f"/builds/{build.id}/log", same, 5)
    assert all(answer.status_code in (303, 409) for answer in answers)
    assert len(browser.get_json(f"/builds/{build.id}/log")["days"][0]["lines"]) == 1


def test_days_are_the_garages_own(browser: Browser, engine: Engine, build: BuildFace, now: datetime) -> None:
    """Half past midnight in the garage is still the day before in UTC."""
    notes(
        engine, build, [now.replace(hour=0, minute=30), now.replace(hour=0, minute=30) - timedelta(hours=1)]
    )
    days = browser.get_json(f"/builds/{build.id}/log")["days"]
    assert [(day["title"], day["lines"][0]["clock"]) for day in days] == [
        ("Today, Wed 25 Nov", "00:30"),
        ("Tue 24 Nov", "23:30"),
    ]


def test_older_days_are_a_page_away_and_no_entry_is_lost(
    browser: Browser, engine: Engine, build: BuildFace, now: datetime
) -> None:
    notes(engine, build, [now - timedelta(hours=5 * step) for step in range(200)])
    seen: list[str] = []
    address = f"/builds/{build.id}/log"
    pages = 0
    while address:
        assert len(gzip.compress(browser.get(address).content)) < 14_000
        page = browser.get_json(address)
        seen += [line["text"] for day in page["days"] for line in day["lines"]]
        assert page["newest"] is (pages == 0)
        address = page["older"]
        pages += 1
    assert seen == [f"Note number {number}" for number in range(200)]
    assert pages > 3


def test_a_very_busy_day_still_fits(
    browser: Browser, engine: Engine, build: BuildFace, now: datetime
) -> None:
    notes(engine, build, [now - timedelta(minutes=step) for step in range(250)])
    assert len(gzip.compress(browser.get(f"/builds/{build.id}/log").content)) < 14_000


def test_a_day_that_can_not_be_read_is_refused_with_what_would_be(browser: Browser, build: BuildFace) -> None:
    answer = browser.get(f"/builds/{build.id}/log?to=yesterday")
    assert answer.status_code == 422
    assert "is not a date" in answer.text


def test_the_log_of_no_build_is_not_there(browser: Browser) -> None:
    assert browser.get("/builds/99/log").status_code == 404
    assert browser.post("/builds/99/log", {"text": "lost"}).status_code == 404


def test_the_page_asks_the_database_once_for_each_sort_of_thing_that_happens(
    browser: Browser, engine: Engine, build: BuildFace, now: datetime
) -> None:
    with write_session(engine) as session:
        everything_happens(session, build, now)
    asked: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        asked.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    browser.get(f"/builds/{build.id}/log")
    event.remove(engine, "before_cursor_execute", note)
    assert 0 < len([statement for statement in asked if "SELECT" in statement]) <= 14
