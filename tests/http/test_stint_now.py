"""What to do in the time there is: the short form, the list, start, pause and finish in one tap each."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import Session

from server.features.work.tables import Task
from tests.asking import Browser, number_in
from tests.conftest import TEN_IN_THE_MORNING
from tests.http.test_work import a_task, comes_after


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def set_clock(app: FastAPI) -> Callable[[int], None]:
    """So many minutes after ten in the morning."""

    def later(minutes: int) -> None:
        app.state.clock = lambda: TEN_IN_THE_MORNING + timedelta(minutes=minutes)

    return later


def listed(browser: Browser, build: int, query: str) -> list[tuple[str, str]]:
    page = browser.get_json(f"/builds/{build}/stint?{query}")
    return [(one["title"], one["when"]) for one in page["lines"]]


def test_forty_minutes_show_what_fits_and_what_becomes_ready_on_the_way(browser: Browser, build: int) -> None:
    first = a_task(browser, build, "Mark the cut", likely="10 min")
    second = a_task(browser, build, "Cut it", likely="25 min")
    comes_after(browser, second, first)
    assert listed(browser, build, "minutes=40+min") == [
        ("Mark the cut", "10:00–10:11, 11 min"),
        ("Cut it", "10:11–10:37, 25 min"),
    ]
    assert listed(browser, build, "minutes=12") == [("Mark the cut", "10:00–10:11, 11 min")]


def test_a_task_is_started_paused_and_finished_on_the_list_and_its_minutes_are_kept(
    browser: Browser, engine: Engine, build: int, set_clock: Callable[[int], None]
) -> None:
    task = a_task(browser, build, "Cut it", likely="60 min")
    page = browser.get(f"/builds/{build}/stint?minutes=2+h")
    assert 'name="back" value="stint"' in page.text
    asked = browser.get_json(f"/builds/{build}/stint?minutes=2+h")["asked"]
    taps = {"back": "stint", "asked": asked, "seen": "ready"}
    answer = browser.post(f"{task}/state", taps | {"state": "in hand"})
    assert answer.headers["location"].startswith(f"/builds/{build}/stint?until=2026-11-25T12")
    set_clock(30)
    told = browser.follow(browser.post(f"{task}/state", taps | {"state": "open"})).text
    assert "Put down: ‘Cut it’." in told
    assert "1.5 h, until 12:00" in told
    set_clock(50)
    browser.post(f"{task}/state", taps | {"state": "in hand"})
    set_clock(70)
    browser.post(f"{task}/state", taps | {"state": "done"})
    browser.post(f"{task}/state", taps | {"state": "done"})
    with Session(engine) as session:
        row = session.get_one(Task, number_in(task))
        assert (row.worked_minutes, row.begun_at) == (50, None)


def test_times_that_were_kept_correct_the_next_estimates_and_that_is_told(
    browser: Browser, build: int, set_clock: Callable[[int], None]
) -> None:
    for count in range(5):
        task = a_task(browser, build, f"Bead end {count}", likely="30 min")
        browser.post(f"{task}/state", {"state": "in hand"})
        set_clock(60 * count + 60)
        browser.post(f"{task}/state", {"state": "done"})
    a_task(browser, build, "Cut it", likely="60 min")
    page = browser.get_json(f"/builds/{build}/stint?minutes=3+h")
    assert page["pace"].startswith("Times are the estimates × 1.41: 5 timed tasks took typically 2.00")
    assert page["lines"][0]["when"] == "15:00–16:28, 90 min at your pace"


def test_a_task_left_in_hand_over_night_counts_as_not_known(
    browser: Browser, engine: Engine, build: int, set_clock: Callable[[int], None]
) -> None:
    task = a_task(browser, build, "Cut it", likely="60 min")
    browser.post(f"{task}/state", {"state": "in hand"})
    set_clock(24 * 60)
    browser.post(f"{task}/state", {"state": "done"})
    with Session(engine) as session:
        assert session.get_one(Task, number_in(task)).worked_minutes is None
    assert "estimates as typed" in browser.get_json(f"/builds/{build}/stint")["pace"]


def test_who_is_there_and_what_is_allowed_decide(browser: Browser, build: int) -> None:
    weld = a_task(browser, build, "Weld it", likely="30 min")
    edit = {"version": "1", "title": "Weld it", "likely": "30 min", "helper_skill": "welds stainless"}
    browser.post(weld, edit | {"hot_work": "on", "splits": "on"})
    alone = browser.get_json(f"/builds/{build}/stint?minutes=60")
    assert alone["lines"] == []
    assert alone["left_out"] == ["1 task: needs a helper who welds stainless"]
    browser.post(f"/builds/{build}/stints/helpers", {"name": "Jo", "skills": "welds"})
    with_jo = browser.get_json(f"/builds/{build}/stint?minutes=60&who=1")
    assert [one["title"] for one in with_jo["lines"]] == ["Weld it"]
    assert with_jo["cautions"] != []
    quiet = browser.get_json(f"/builds/{build}/stint?minutes=60&who=1&quiet=on")
    assert quiet["left_out"] == ["1 task: makes noise"]


def test_the_car_is_raised_first_and_that_takes_its_time(browser: Browser, build: int) -> None:
    drop = a_task(browser, build, "Drop the tray", likely="30 min")
    edit = {"version": "1", "title": "Drop the tray", "likely": "30 min", "car_state": "on stands"}
    browser.post(drop, edit)
    [line] = browser.get_json(f"/builds/{build}/stint?minutes=2+h")["lines"]
    assert (line["first"], line["when"]) == (
        "Raise the car on its stands first: 35 min",
        "10:35–11:06, 30 min",
    )
    [line] = browser.get_json(f"/builds/{build}/stint?minutes=40&car=on+stands")["lines"]
    assert line["first"] == ""
    assert browser.get_json(f"/builds/{build}/stint?minutes=40")["lines"] == []


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ("minutes=soon", "The time there is: "),
        ("minutes=17+h", "The time there is: 17 h is out of range."),
        ("minutes=40&who=99", "Who is there: choose one of the list."),
        ("minutes=40&car=flying", "How the car stands: choose one of the list."),
        ("until=never", "Until when there is time can&#39;t be read."),
    ],
)
def test_what_can_t_be_used_is_told_beside_its_field(
    browser: Browser, build: int, query: str, message: str
) -> None:
    answer = browser.get(f"/builds/{build}/stint?{query}")
    assert answer.status_code == 422
    assert message in answer.text


def test_the_demo_is_told_what_to_do_tomorrow_evening(demo: Browser) -> None:
    """Wednesday, ten in the morning: the next stint is Thursday, 19:00 to 22:00, alone."""
    page = demo.get_json("/builds/1/stint")
    assert page["lead"] == "The next stint: Thu 26 Nov 19:00–22:00, 3 h"
    assert page["lines"]
    assert all(one["why"] for one in page["lines"])


def test_a_list_that_was_not_weighed_to_the_end_says_so(
    browser: Browser, build: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    for title in ("Mark the cut", "Cut it", "Dress the end"):
        a_task(browser, build, title, likely="25 min")
    assert "another list may be worth more" not in browser.get(f"/builds/{build}/stint?minutes=1+h").text
    monkeypatch.setattr("server.core.work.next_stint.NODES", 3)
    a_task(browser, build, "Roll the bead", likely="25 min")
    assert "another list may be worth more" in browser.get(f"/builds/{build}/stint?minutes=1+h").text
