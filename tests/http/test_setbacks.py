"""What may go wrong with a task, what it brings, and setting tasks and ports aside."""

import gzip
from datetime import datetime
from typing import Any

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from server.db import write_session
from server.features.ports.tables import Port
from server.features.work.tables import Setback, Task
from tests.asking import Browser, number_in
from tests.http.test_work import a_task, comes_after, line, titles

SNAPPED = {"title": "Drill out the snapped stud", "chance": "30 %", "likely": "2 h"}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def manifold(browser: Browser, build: int) -> str:
    task = a_task(browser, build, "Take off the manifold")
    assert browser.post(f"{task}/setbacks", SNAPPED).status_code == 303
    return task


def setbacks(browser: Browser, task: str) -> Any:
    return browser.get_json(task)["ties"]["setbacks"]


def test_what_may_go_wrong_is_told_on_the_sheet_and_in_the_list(
    browser: Browser, build: int, manifold: str
) -> None:
    [one] = setbacks(browser, manifold)
    assert (one["about"], one["low"], one["high"]) == ("30 % that 2 h more", "1.5 h", "3 h")
    [listed] = browser.get_json(f"/builds/{build}/work")["ready"]
    assert listed["about"] == "40 min, bench, and 30 % that 2 h more"


@pytest.mark.parametrize(
    ("form", "message"),
    [
        ({"chance": "0"}, "out of range"),
        ({"chance": "often"}, "is not a whole number"),
        ({"title": " "}, "What it would bring is missing."),
        ({"likely": "a while"}, "40 min, 1.5 h or 2 days"),
        ({"low": "5 h"}, "longer than the likely one"),
    ],
)
def test_bad_input_keeps_what_was_typed_and_stores_nothing(
    browser: Browser, engine: Engine, build: int, form: dict[str, str], message: str
) -> None:
    task = a_task(browser, build, "Take off the manifold")
    answer = browser.post(f"{task}/setbacks", SNAPPED | {"note": "<heat> first"} | form)
    assert answer.status_code == 422
    assert message in answer.text
    assert "&lt;heat&gt; first" in answer.text
    with Session(engine) as session:
        assert session.exec(select(Setback)).all() == []


def test_a_stale_edit_shows_both_values(browser: Browser, manifold: str) -> None:
    edit = SNAPPED | {"version": "1", "chance": "40"}
    assert browser.post(f"{manifold}/setbacks/1", edit).status_code == 303
    answer = browser.post(f"{manifold}/setbacks/1", edit | {"chance": "10"})
    assert answer.status_code == 412
    assert "<td>The chance in %</td><td>40</td><td>10</td>" in answer.text
    assert browser.post(f"{manifold}/setbacks/1", SNAPPED).status_code == 428


def test_it_happened_brings_a_task_that_what_follows_waits_for(
    browser: Browser, engine: Engine, build: int, manifold: str
) -> None:
    fit = a_task(browser, build, "Fit the new manifold")
    comes_after(browser, fit, manifold, "2 h")
    refused = browser.post(f"{manifold}/setbacks/1/happening", {"happened": "yes"})
    assert refused.status_code == 422
    assert "is not begun yet. Start it first." in refused.text
    browser.post(f"{manifold}/state", {"state": "in hand"})
    told = browser.follow(browser.post(f"{manifold}/setbacks/1/happening", {"happened": "yes"})).text
    assert "It happened: ‘Drill out the snapped stud’ is on the list." in told
    assert titles(browser, build, "ready") == ["Drill out the snapped stud"]
    befores = browser.get_json(fit)["ties"]["before"]
    assert [one["link"]["text"] for one in befores] == ["Take off the manifold", "Drill out the snapped stud"]
    assert {one["wait"] for one in befores} == {"then wait 2 h"}
    log = [entry["text"] for entry in browser.get_json(f"/builds/{build}/log")["days"][0]["lines"]]
    assert "Take off the manifold: Drill out the snapped stud" in log
    with Session(engine) as session:
        brought = session.exec(select(Task).where(Task.title == SNAPPED["title"])).one()
        assert brought.note == "Brought by ‘Take off the manifold’, Wed 25 Nov 10:00, noted by builder."


def test_it_did_not_happen_takes_the_task_back_and_it_can_happen_again(
    browser: Browser, engine: Engine, build: int, manifold: str
) -> None:
    fit = a_task(browser, build, "Fit the new manifold")
    comes_after(browser, fit, manifold)
    browser.post(f"{manifold}/state", {"state": "in hand"})
    for answer, count in (("yes", 2), ("yes", 2), ("no", 1), ("no", 1), ("yes", 2)):
        assert browser.post(f"{manifold}/setbacks/1/happening", {"happened": answer}).status_code == 303
        assert len(browser.get_json(fit)["ties"]["before"]) == count
    with Session(engine) as session:
        assert len(session.exec(select(Task)).all()) == 3


def test_what_may_go_wrong_is_set_aside_with_its_chance_and_put_back(browser: Browser, manifold: str) -> None:
    told = browser.follow(browser.post(f"{manifold}/setbacks/1/removal", {"to": "aside"})).text
    assert "Set aside: ‘Drill out the snapped stud’." in told
    assert setbacks(browser, manifold) == []
    assert line(browser, manifold)["about"] == "40 min, bench"
    browser.post(f"{manifold}/setbacks/1/removal", {"to": "back"})
    assert setbacks(browser, manifold)[0]["chance"] == "30"


def test_a_task_set_aside_holds_nothing_and_comes_back_as_it_was(browser: Browser, build: int) -> None:
    cut, bead = a_task(browser, build, "Cut the tube"), a_task(browser, build, "Bead the ends")
    comes_after(browser, bead, cut)
    told = browser.follow(browser.post(f"{cut}/removal", {"to": "aside"})).text
    assert "Set aside: ‘Cut the tube’." in told
    assert "no longer waits for it" in told
    assert titles(browser, build, "ready") == ["Bead the ends"]
    assert browser.get(cut).headers["location"] == f"/builds/{build}/work?told=aside-{number_in(cut)}"
    assert "Set aside (1)" in browser.get(f"/builds/{build}/work").text
    told = browser.follow(browser.post(f"{cut}/removal", {"to": "back"})).text
    assert "Put back: ‘Cut the tube’." in told
    assert line(browser, bead)["word"] == "held"


def test_a_port_set_aside_keeps_its_number_and_readings(browser: Browser, build: int) -> None:
    ports = f"/builds/{build}/ports"
    first, second = (browser.post(ports, {"name": name}).headers["location"] for name in ("Inlet", "Outlet"))
    browser.post(f"{first}/readings", {"dimension": "bore", "reading": "57 mm"})
    told = browser.follow(browser.post(f"{first}/removal", {"to": "aside"})).text
    assert "Set aside: Inlet." in told
    listed = browser.get_json(ports)
    assert [(one["number"], one["name"]) for one in listed["ports"]] == [(2, "Outlet")]
    assert [one["text"] for one in listed["aside"]] == ["Inlet"]
    browser.post(f"{first}/removal", {"to": "back"})
    assert [one["number"] for one in browser.get_json(ports)["ports"]] == [1, 2]
    assert len(browser.get_json(first)["readings"]) == 1
    assert browser.get_json(second)["number"] == 2


def test_a_port_that_something_rests_on_stays_and_says_what(browser: Browser, build: int) -> None:
    made = browser.post(f"/builds/{build}/ports", {"name": "Inlet"})
    port = made.headers["location"]
    task = a_task(browser, build, "Make the intake")
    wait = {"waits_for": f"reading:{number_in(port)}:bore"}
    assert browser.post(f"{task}/waits", wait).status_code == 303
    answer = browser.post(f"{port}/removal", {"to": "aside"})
    assert answer.status_code == 422
    assert "‘Make the intake’ waits for a reading of it" in answer.text
    browser.post(f"{task}/state", {"state": "done"})
    assert browser.post(f"{port}/removal", {"to": "aside"}).status_code == 303
    assert "a reading of a port that is set aside" in browser.get(task).text


def test_a_task_waits_for_the_pieces_of_a_subsystem_and_the_wait_can_be_put_back(
    browser: Browser, build: int
) -> None:
    named = {"name": "Charge pipe", "kind": "charge pipe"}
    subsystem = number_in(browser.post(f"/builds/{build}/subsystems", named).headers["location"])
    task = a_task(browser, build, "Weld it")
    for kind in ("to make", "to fit"):
        assert browser.post(f"{task}/waits", {"waits_for": f"{kind}:{subsystem}"}).status_code == 303
    assert [one["text"] for one in browser.get_json(task)["ties"]["waits"]] == [
        "the pieces to make for Charge pipe",
        "the pieces to fit of Charge pipe",
    ]
    told = browser.follow(browser.post(f"{task}/waits/1/removal", {})).text
    assert f'name="waits_for" value="to make:{subsystem}"' in told


def test_a_note_set_aside_leaves_the_log_and_comes_back(browser: Browser, build: int) -> None:
    log = f"/builds/{build}/log"
    browser.post(log, {"text": "Wrong car"})
    told = browser.follow(browser.post(f"{log}/1/withdrawal", {"to": "withdrawn"})).text
    assert "The note is set aside." in told
    assert browser.get_json(log)["days"] == []
    browser.post(f"{log}/1/withdrawal", {"to": "standing"})
    assert len(browser.get_json(log)["days"]) == 1
    assert browser.get(f"{log}/99").status_code == 404


def test_two_hundred_ports_and_six_hundred_tasks_fit_and_ask_no_more(
    browser: Browser, engine: Engine, build: int, now: datetime
) -> None:
    def asked(address: str) -> int:
        seen: list[str] = []

        def note(*about: object) -> None:
            seen.append(str(about[2]))

        event.listen(engine, "before_cursor_execute", note)
        answer = browser.get(address)
        event.remove(engine, "before_cursor_execute", note)
        assert len(gzip.compress(answer.content)) < 14_000
        return len(seen)

    addresses = [f"/builds/{build}/ports", f"/builds/{build}/work"]
    browser.post(addresses[0], {"name": "Port"})
    a_task(browser, build, "Task")
    few = [asked(address) for address in addresses]
    with write_session(engine) as session:
        session.add_all(Port(build_id=build, name=f"Port {number}") for number in range(200))
        session.add_all(
            Task(
                build_id=build,
                title=f"Task {number}",
                minutes_low=5,
                minutes_likely=10,
                minutes_high=20,
                state="done" if number % 3 == 0 else "open",
                done_at=now if number % 3 == 0 else None,
            )
            for number in range(600)
        )
    browser.post(f"/builds/{build}/log", {"text": "so that what was kept of the build is dropped"})
    # Fewer where what the writes left alone is kept.
    assert all(many <= once for many, once in zip(map(asked, addresses), few, strict=True))
