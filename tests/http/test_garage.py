"""The garage as a browser and a script see it: what to do next, at a glance, with few questions asked."""

import gzip
from collections.abc import Iterator

import pytest
from sqlalchemy import Engine, event

from server.db import write_session
from tests.asking import Browser, fresh_key, number_in
from tests.conftest import TEN_IN_THE_MORNING
from tests.garage_of_work import Garage, a_garage

ENGINE_SHEET = {
    "version": "0",
    "displacement": "2.1 l",
    "redline": "6600",
    "boost": "1 bar",
    "fuel": "petrol-95",
}
IN_PAGE = {"hx-request": "true", "hx-target": "garage"}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def work(engine: Engine) -> Garage:
    with write_session(engine) as session:
        return a_garage(session, TEN_IN_THE_MORNING)


@pytest.fixture
def asked(engine: Engine) -> Iterator[list[str]]:
    """Every question that the database is asked from here on."""
    seen: list[str] = []

    def note(*about: object) -> None:
        if about[2] != "BEGIN":
            seen.append(str(about[2]))

    event.listen(engine, "before_cursor_execute", note)
    yield seen
    event.remove(engine, "before_cursor_execute", note)


def garage_of(work: Garage) -> str:
    return f"/builds/{work.build.id}/garage"


def test_an_empty_build_shows_the_way_and_its_steps_tick_themselves(browser: Browser, build: int) -> None:
    address = f"/builds/{build}/garage"

    def steps() -> list[bool]:
        return [step["done"] for step in browser.get_json(address)["steps"]]

    assert steps() == [False, False, False, False]
    assert browser.get_json(address)["next_step"] == {
        "href": f"/builds/{build}/engine",
        "text": "Fill in the engine sheet",
    }
    browser.post(f"/builds/{build}/subsystems", {"kind": "intake"})
    assert steps() == [False, True, False, False]
    port = browser.post(f"/builds/{build}/ports", {"name": "Compressor inlet"}).headers["location"]
    assert steps() == [False, True, False, False], "a port nobody measured is not a step done"
    browser.post(f"{port}/readings", {"dimension": "outside_diameter", "reading": "101.6 mm"})
    assert steps() == [False, True, True, False]
    answer = browser.post(f"/builds/{build}/engine", ENGINE_SHEET)
    assert answer.status_code == 303, answer.text
    assert steps() == [True, True, True, False]
    assert browser.get_json(address)["next_step"]["text"] == "Design the first run"


def test_the_first_three_of_what_can_be_done_stand_with_their_why(browser: Browser, work: Garage) -> None:
    told = browser.get_json(garage_of(work))
    assert [task["title"] for task in told["now"]] == [
        "Measure up, charge pipe",
        "Measure up, downpipe",
        "Measure up, oil drain",
    ]
    assert told["now"][0]["why"] == "frees 8 tasks"
    assert told["now"][0]["about"] == "20 min, bench"
    assert told["ready"] == 10
    assert told["first"]["title"] == "Measure up, charge pipe"


def test_the_foot_of_the_page_starts_the_first_thing_and_then_finishes_it(
    browser: Browser, work: Garage
) -> None:
    assert "Start: Measure up, charge pipe" in browser.get(garage_of(work)).text
    task = f"/builds/{work.build.id}/tasks/{work.tasks['Measure up, charge pipe']}"
    started = browser.post(f"{task}/state", {"state": "in hand", "back": "garage"}, headers=IN_PAGE)
    assert "In hand: ‘Measure up, charge pipe’." in started.text
    assert "Done: Measure up, charge pipe" in started.text
    done = browser.follow(browser.post(f"{task}/state", {"state": "done", "back": "garage"}))
    assert "Now ready:" in done.text
    assert "Cut the tube, charge pipe" in done.text


def test_held_tasks_name_their_root_the_late_ones_first(browser: Browser, work: Garage) -> None:
    told = browser.get_json(garage_of(work))
    first = told["held"][0]
    assert (first["title"], first["late"]) == ("Bead the ends, intake", "4 days late")
    assert first["why"] == (
        "by 2 × 60 mm coupler for the intake, in the post, due Sat 21 Nov; 6 tasks behind it"
    )
    assert (told["stuck"], told["all_held"]) == (7, 47)


def test_a_delivery_marked_as_arrived_frees_the_held_task_in_the_same_click(
    browser: Browser, work: Garage
) -> None:
    first = browser.get_json(garage_of(work))["post"][0]
    assert (first["text"], first["due"]) == ("2 × 60 mm coupler for the intake", "4 days late")
    assert first["why"] == "Tarn Hose & Clamp · holds ‘Bead the ends, intake’ and 6 more"
    address = f"/builds/{work.build.id}/order-lines/{first['id']}/deliveries"
    answer = browser.post(address, {"back": "garage"}, headers=IN_PAGE)
    assert "Arrived: 2 × 60 mm coupler for the intake." in answer.text
    assert "Bead the ends, intake</a>" in answer.text.split("Now ready:")[1][:200]
    told = browser.get_json(garage_of(work))
    assert "Bead the ends, intake" not in [task["title"] for task in told["held"]]
    assert told["ready"] == 11
    assert "Bead the ends, intake" in [
        task["title"] for task in browser.get_json(f"/builds/{work.build.id}/work")["ready"]
    ]


def test_five_taps_on_arrived_say_the_same_five_times_and_act_once(browser: Browser, work: Garage) -> None:
    line = browser.get_json(garage_of(work))["post"][0]["id"]
    fields = {"back": "garage", "operation_key": fresh_key()}
    answers = browser.post_at_once(f"/builds/{work.build.id}/order-lines/{line}/deliveries", fields, 5)
    assert {answer.headers["location"] for answer in answers} == {f"{garage_of(work)}?told=delivery-1"}
    assert browser.get_json(f"/builds/{work.build.id}/parts")["others"][0]["counts"]["in_hand"] == 2


def test_what_came_in_the_post_is_listed_late_first_and_counted(browser: Browser, work: Garage) -> None:
    told = browser.get_json(garage_of(work))
    assert (told["in_post"], told["late"]) == (12, 4)
    assert [line["late"] for line in told["post"]] == [True, True, True, True, False, False]


def test_of_what_is_not_measured_only_what_something_waits_for_is_listed(
    browser: Browser, build: int
) -> None:
    for name in ("Air meter outlet", "Compressor inlet"):
        browser.post(f"/builds/{build}/ports", {"name": name})
    task = browser.post(f"/builds/{build}/tasks", {"title": "Order it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/waits", {"waits_for": "reading:2:bore"})
    told = browser.get_json(f"/builds/{build}/garage")
    assert [port["text"] for port in told["to_measure"]] == ["Compressor inlet: outside diameter, bore"]
    assert told["unmeasured"] == 2
    assert told["to_measure"][0]["why"] == "holds ‘Order it’"
    assert told["held"][0]["why"] == "by the bore of Compressor inlet, to measure"


def test_subsystems_without_a_design_are_folded_and_those_that_never_get_one_left_out(
    browser: Browser, work: Garage
) -> None:
    browser.post(f"/builds/{work.build.id}/subsystems", {"kind": "clutch and plugs"})
    told = browser.get_json(garage_of(work))
    assert told["designs"] == []
    assert [design["letter"] for design in told["undesigned"]] == ["A", "B", "C"]
    assert told["no_go"] == 0


def test_an_act_from_an_unknown_sheet_is_answered_in_the_garage(browser: Browser, work: Garage) -> None:
    task = f"/builds/{work.build.id}/tasks/{work.tasks['Clean the old breather']}"
    answer = browser.post(f"{task}/state", {"state": "done", "back": "https://elsewhere.example"})
    assert answer.headers["location"].startswith(garage_of(work))


def test_page_fragment_and_json_agree(browser: Browser, work: Garage) -> None:
    told = browser.get_json(garage_of(work))
    page = browser.get(garage_of(work)).text
    fragment = browser.get(garage_of(work), headers=IN_PAGE).text
    assert fragment.lstrip().startswith('<div id="garage">')
    assert "<html" not in fragment
    for task in (*told["now"], *told["held"]):
        assert task["href"] in page
        assert task["href"] in fragment


def test_the_garage_asks_few_questions_and_only_one_when_nothing_changed(
    browser: Browser, work: Garage, asked: list[str]
) -> None:
    browser.get(garage_of(work))
    cold = len(asked)
    browser.get(garage_of(work))
    warm = len(asked) - cold
    assert cold <= 20
    assert warm == 1


def test_the_garage_of_sixty_tasks_is_light(browser: Browser, work: Garage) -> None:
    page = browser.get(garage_of(work))
    assert len(gzip.compress(page.content)) < 14_000


def test_what_a_phone_keeps_of_a_build_is_there_and_begins_with_the_garage(
    browser: Browser, work: Garage
) -> None:
    told = browser.get_json(f"/builds/{work.build.id}/at-hand")
    assert told["revision"] == browser.get(f"/builds/{work.build.id}/revision").text
    assert told["pages"][0] == f"/builds/{work.build.id}/garage"
    assert len(set(told["pages"])) == len(told["pages"]) >= 9
    for address in told["pages"]:
        assert browser.get(address).headers["content-type"].startswith("text/html"), address
