"""Tasks as a browser and a script see them: what comes first, what holds them, one tap to set a state."""

from typing import Any

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from server.core.work.cautions import CAUTIONS
from server.db import write_session
from server.features.work.tables import Task
from server.web.render import environment
from tests.asking import Browser, fresh_key, number_in
from tests.conftest import TEN_IN_THE_MORNING
from tests.garage_of_work import a_garage
from tests.page_forms import page_forms


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


def a_task(browser: Browser, build: int, title: str, **more: str) -> str:
    """The address of a new task."""
    answer = browser.post(f"/builds/{build}/tasks", {"title": title, "likely": "40 min"} | more)
    assert answer.status_code == 303, answer.text
    location: str = answer.headers["location"]
    return location


def comes_after(browser: Browser, task: str, before: str, wait: str = "") -> None:
    form = {"after_task_id": str(number_in(before)), "least_wait": wait}
    assert browser.post(f"{task}/afters", form).status_code == 303


def titles(browser: Browser, build: int, group: str) -> list[str]:
    return [task["title"] for task in browser.get_json(f"/builds/{build}/work")[group]]


def line(browser: Browser, task: str) -> Any:
    return browser.get_json(task)["line"]


def edit(**more: str) -> dict[str, str]:
    return {"version": "1", "title": "Weld it", "likely": "1 h", "place": "bench"} | more


def test_a_build_without_tasks_says_what_a_task_is(browser: Browser, build: int) -> None:
    assert "No task yet" in browser.get(f"/builds/{build}/work").text


@pytest.mark.parametrize(
    ("typed", "low", "likely", "high"),
    [
        ("40 min", "30 min", "40 min", "1 h"),
        ("1.5 h", "68 min", "1.5 h", "135 min"),
        ("90", "68 min", "1.5 h", "135 min"),
        ("2 days", "1.5 days", "2 days", "3 days"),
    ],
)
def test_a_time_is_typed_as_people_say_it_and_its_spread_follows(
    browser: Browser, build: int, typed: str, low: str, likely: str, high: str
) -> None:
    fields = browser.get_json(a_task(browser, build, "Weld it", likely=typed))["fields"]
    assert (fields["likely"], fields["high"]) == (likely, high)
    assert fields["low"] == ("36 h" if low == "1.5 days" else low)


@pytest.mark.parametrize(
    ("form", "message"),
    [
        ({"likely": "a while"}, "40 min, 1.5 h or 2 days"),
        ({"likely": "-5 min"}, "40 min, 1.5 h or 2 days"),
        ({"likely": "400 h"}, "out of range"),
        ({"title": ""}, "What is to be done is missing."),
        ({"place": "the moon"}, "choose one of the list"),
    ],
)
def test_bad_input_keeps_what_was_typed_and_stores_nothing(
    browser: Browser, build: int, form: dict[str, str], message: str
) -> None:
    answer = browser.post(f"/builds/{build}/tasks", {"title": "Weld <b>it", "likely": "1 h"} | form)
    assert answer.status_code == 422
    assert message in answer.text
    assert "Weld &lt;b&gt;it" in answer.text or form.get("title") == ""
    assert "No task yet" in browser.get(f"/builds/{build}/work").text


def test_a_quick_case_longer_than_the_likely_one_is_refused(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    answer = browser.post(task, edit(low="2 h", high="30 min"))
    assert answer.status_code == 422
    assert "The quick case is longer than the likely one." in answer.text
    assert "The slow case is shorter than the likely one." in answer.text


def test_a_stale_edit_shows_both_values_in_the_words_of_the_form(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    assert browser.post(task, edit(likely="2 h", hot_work="on")).status_code == 303
    answer = browser.post(task, edit(likely="90 min", carry="the two clamps"))
    assert answer.status_code == 412
    assert "<td>Likely</td><td>2 h</td><td>1.5 h</td>" in answer.text
    assert "<td>Hot work</td><td>yes</td><td>no</td>" in answer.text
    assert "the two clamps" in answer.text


def test_one_tap_starts_pauses_finishes_and_reopens(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    for state, word in (("in hand", "in hand"), ("open", "ready"), ("done", "done"), ("open", "ready")):
        browser.post(f"{task}/state", {"state": state, "back": "task"})
        assert line(browser, task)["word"] == word


def test_five_taps_on_start_start_once_and_a_later_start_changes_nothing(
    browser: Browser, engine: Engine, build: int
) -> None:
    task = a_task(browser, build, "Weld it")
    fields = {"state": "in hand", "back": "work", "operation_key": fresh_key()}
    answers = browser.post_at_once(f"{task}/state", fields, 5)
    assert {answer.headers["location"] for answer in answers} == {f"/builds/{build}/work?told=task-1"}
    browser.post(f"{task}/state", {"state": "in hand"})
    assert titles(browser, build, "in_hand") == ["Weld it"]
    with Session(engine) as session:
        assert session.exec(select(Task)).one().state == "in hand"


def test_a_task_that_needs_the_car_to_stand_otherwise_says_so_and_can_be_started(
    browser: Browser, build: int
) -> None:
    first, other = a_task(browser, build, "Weld it"), a_task(browser, build, "Drain the oil")
    assert browser.post(first, edit(car_state="on stands")).status_code == 303
    words = "needs the car on stands; it is on wheels now"
    assert titles(browser, build, "ready") == ["Drain the oil", "Weld it"]
    assert line(browser, first)["why"] == words
    assert line(browser, other)["why"] == ""
    page = browser.follow(browser.post(f"{first}/state", {"state": "in hand", "back": "work"})).text
    assert f"It {words}." in page
    assert titles(browser, build, "in_hand") == ["Weld it"]
    sheet = page_forms(browser.get(f"/builds/{build}").text)
    stands = next(form for form in sheet if form.value("car_state"))
    raised = dict(stands.fields) | {"car_state": "on stands", "operation_key": fresh_key()}
    assert browser.post(stands.address, raised).status_code == 303
    assert "needs the car" not in browser.get(first).text


@pytest.mark.parametrize("state", ["open", "in hand"])
@pytest.mark.parametrize("back", ["work", "task", "garage"])
def test_a_sheet_from_before_it_was_done_does_not_reopen_it(
    browser: Browser, build: int, state: str, back: str
) -> None:
    """Two tabs show it in hand; in one it is done, in the other paused or started afterwards."""
    task = a_task(browser, build, "Weld it")
    browser.post(f"{task}/state", {"state": "in hand"})
    sheet = {"work": f"/builds/{build}/work", "task": task, "garage": f"/builds/{build}/garage"}[back]
    stale = next(form for form in page_forms(browser.get(sheet).text) if form.address == f"{task}/state")
    browser.post(stale.address, {**dict(stale.fields), "state": "done", "operation_key": fresh_key()})
    answer = browser.post(stale.address, {**dict(stale.fields), "state": state, "operation_key": fresh_key()})
    page = browser.follow(answer).text
    assert "Nothing changed: ‘Weld it’ was done at 10:00." in page
    assert line(browser, task)["word"] == "done"
    again = next(form for form in page_forms(page) if form.address == f"{task}/state")
    assert "Reopen it" in page
    browser.post(again.address, {**dict(again.fields), "operation_key": fresh_key()})
    assert line(browser, task)["word"] == "ready"


def test_an_unknown_state_is_refused(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    assert browser.post(f"{task}/state", {"state": "toggled"}).status_code == 422
    assert line(browser, task)["word"] == "ready"


def test_a_finished_task_frees_the_next_and_says_so_with_the_way_back(browser: Browser, build: int) -> None:
    cut, bead = a_task(browser, build, "Cut the tube"), a_task(browser, build, "Bead the ends")
    comes_after(browser, bead, cut)
    assert line(browser, bead)["why"] == "by ‘Cut the tube’, ready to do"
    page = browser.follow(browser.post(f"{cut}/state", {"state": "done", "back": "work"}))
    assert "Done: ‘Cut the tube’." in page.text
    assert f'Now ready: <a href="{bead}">Bead the ends</a>' in page.text
    back = browser.follow(browser.post(f"{cut}/state", {"state": "in hand", "back": "work"}))
    assert "In hand: ‘Cut the tube’." in back.text
    assert line(browser, bead)["word"] == "held"


def test_a_least_wait_holds_until_it_is_over_and_says_when(browser: Browser, build: int) -> None:
    paint, fit = a_task(browser, build, "Paint the bracket"), a_task(browser, build, "Fit the bracket")
    comes_after(browser, fit, paint, "12 h")
    browser.post(f"{paint}/state", {"state": "done"})
    assert line(browser, fit)["why"] == "by the wait after ‘Paint the bracket’ until 22:00"
    comes_after(browser, fit, paint, "1 day")
    assert line(browser, fit)["why"] == "by the wait after ‘Paint the bracket’ until Thu 26 Nov 10:00"


def test_a_ring_is_refused_with_its_tasks_by_name(browser: Browser, build: int) -> None:
    cut, bead, fit = (a_task(browser, build, title) for title in ("Cut", "Bead", "Fit"))
    comes_after(browser, bead, cut)
    comes_after(browser, fit, bead)
    answer = browser.post(f"{cut}/afters", {"after_task_id": str(number_in(fit))})
    assert answer.status_code == 422
    assert (
        "That would go round in a ring and never begin: ‘Cut’, then ‘Bead’, then ‘Fit’, then ‘Cut’."
        in answer.text
    )
    alone = browser.post(f"{cut}/afters", {"after_task_id": str(number_in(cut))})
    assert "‘Cut’, then ‘Cut’" in alone.text
    assert browser.get_json(cut)["ties"]["before"] == []


def test_the_messages_of_one_form_stand_in_that_form_only(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    answer = browser.post(f"{task}/holds", {"kind": "helper", "reason": "", "until": "Saturday"})
    assert answer.status_code == 422
    assert answer.text.count("Not saved yet.") == 1
    assert "Saturday" in answer.text
    assert browser.get_json(task)["ties"]["holds"] == []


def test_a_tie_that_was_removed_can_be_put_back(browser: Browser, build: int) -> None:
    cut, bead = a_task(browser, build, "Cut the tube"), a_task(browser, build, "Bead the ends")
    comes_after(browser, bead, cut, "12 h")
    page = browser.follow(browser.post(f"{bead}/afters/1/removal", {}))
    assert "Put it back" in page.text
    (undo,) = (browser.get_json(f"{bead}?told=unafter-2:1:720")["news"]["undo"],)
    browser.post(undo["href"], dict(undo["fields"]))
    (before,) = browser.get_json(bead)["ties"]["before"]
    assert before["wait"] == "then wait 12 h"


def test_a_part_or_a_wait_that_was_removed_can_be_put_back(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/parts", {"name": "Gasket"})
    browser.post(f"/builds/{build}/subsystems", {"kind": "intake"})
    task = a_task(browser, build, "Fit it")
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "2"})
    browser.post(f"{task}/waits", {"waits_for": "decision:1"})
    for kind in ("needs", "waits"):
        gone = browser.post(f"{task}/{kind}/1/removal", {}).headers["location"]
        assert browser.get_json(task)["ties"][kind] == []
        undo = browser.get_json(gone)["news"]["undo"]
        browser.post(undo["href"], dict(undo["fields"]))
        assert len(browser.get_json(task)["ties"][kind]) == 1


def test_a_task_waits_for_a_reading_and_is_freed_by_it(browser: Browser, build: int) -> None:
    port = browser.post(f"/builds/{build}/ports", {"name": "Compressor inlet"}).headers["location"]
    task = a_task(browser, build, "Order the reducer")
    browser.post(f"{task}/waits", {"waits_for": "reading:1:outside_diameter"})
    assert line(browser, task)["why"] == "by the outside diameter of Compressor inlet, to measure"
    assert f'href="{port}"' in browser.get(task).text
    browser.post(f"{port}/readings", {"dimension": "outside_diameter", "reading": "101.6 mm"})
    assert line(browser, task)["word"] == "ready"


def test_a_task_waits_for_a_choice_and_for_checks(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/subsystems", {"kind": "intake"})
    task = a_task(browser, build, "Order the tube")
    browser.post(f"{task}/waits", {"waits_for": "decision:1"})
    browser.post(f"{task}/waits", {"waits_for": "checks:1"})
    told = {wait["text"]: wait["state"] for wait in browser.get_json(task)["ties"]["waits"]}
    assert told == {"the choice of a design for Intake": "not made", "the checks of Intake": "no design yet"}
    assert browser.post(f"{task}/waits", {"waits_for": "checks:99"}).status_code == 422


def test_a_hold_by_hand_is_cleared_and_set_again(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    browser.post(
        f"{task}/holds", {"kind": "helper", "reason": "the welder's Saturday", "until": "2026-12-05"}
    )
    assert line(browser, task)["why"] == "by the welder's Saturday until Sat 5 Dec"
    page = browser.follow(browser.post(f"{task}/holds/1/clearing", {"cleared": "yes"}))
    assert "Now ready:" in page.text
    assert line(browser, task)["word"] == "ready"
    browser.post(f"{task}/holds/1/clearing", {"cleared": "no"})
    assert line(browser, task)["word"] == "held"


def test_work_under_the_car_and_hot_work_show_their_cautions(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    assert browser.get_json(task)["cautions"] == []
    browser.post(task, edit(place="under the car", hot_work="on", caution="fuel"))
    texts = " ".join(caution["text"] for caution in browser.get_json(task)["cautions"])
    for words in ("Rigid stands", "chlorinated cleaner", "fire watch", "Fuel vapour", "Local rules"):
        assert words in texts
    for caution in CAUTIONS:
        browser.post(task, edit(version=str(browser.get_json(task)["version"]), caution=caution.code))
        assert [one["signal"] for one in browser.get_json(task)["cautions"]] == [caution.signal]


def test_what_to_carry_is_told_when_the_task_is_started(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    browser.post(task, edit(carry="13 mm socket, marker, torch"))
    page = browser.follow(browser.post(f"{task}/state", {"state": "in hand", "back": "garage"}))
    assert "Carry with you: 13 mm socket, marker, torch" in page.text


@pytest.mark.parametrize(
    "told", ["task-999", "delivery-999", "hold-7", "task-", "<script>", "unneed-1:2:3'", "x" * 5000]
)
def test_nonsense_in_the_address_tells_nothing(browser: Browser, build: int, told: str) -> None:
    task = a_task(browser, build, "Weld it")
    for address in (f"/builds/{build}/work", f"/builds/{build}/garage", f"/builds/{build}/orders", task):
        page = browser.get(address, params={"told": told})
        assert page.status_code == 200
        assert "<script>" not in page.text
        assert (
            browser.get(address, params={"told": told}, headers={"accept": "application/json"}).json()["news"]
            is None
        )


def test_a_task_of_another_build_is_not_found(browser: Browser, build: int) -> None:
    task = a_task(browser, build, "Weld it")
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    elsewhere = f"/builds/{other}/tasks/{number_in(task)}"
    assert browser.get(elsewhere).status_code == 404
    for act in (
        "",
        "/state",
        "/afters",
        "/needs",
        "/waits",
        "/holds",
        "/afters/1/removal",
        "/holds/1/clearing",
    ):
        assert browser.post(f"{elsewhere}{act}", edit(state="done")).status_code == 404
    assert line(browser, task)["word"] == "ready"


def test_page_fragment_and_json_of_sixty_tasks_agree(browser: Browser, engine: Engine) -> None:
    with write_session(engine) as session:
        garage = a_garage(session, TEN_IN_THE_MORNING)
    address = f"/builds/{garage.build.id}/work"
    told = browser.get_json(address)
    everything = [task for group in ("in_hand", "ready", "held", "done") for task in told[group]]
    for group in ("ready", "held", "waiting", "done"):
        more = told[f"tally_{group}"]["more"]
        while more:
            sheet = browser.get_json(more["href"])
            everything += [task for name in ("ready", "held", "done") for task in sheet[name]]
            more = sheet[f"tally_{group}"]["more"]
    assert sorted(task["title"] for task in everything) == sorted(garage.tasks)
    page = browser.get(address).text
    fragment = browser.get(address, headers={"hx-request": "true", "hx-target": "work-list"}).text
    first = [task for group in ("in_hand", "ready", "held", "done") for task in told[group]]
    for task in first:
        assert environment().from_string("{{ it }}").render(it=task["title"]) in fragment
        assert task["href"] in page
    assert "<html" not in fragment


def test_the_sheet_of_sixty_tasks_asks_the_database_a_bounded_number_of_questions(
    browser: Browser, engine: Engine
) -> None:
    with write_session(engine) as session:
        garage = a_garage(session, TEN_IN_THE_MORNING)
    asked: list[str] = []

    def note(*about: object) -> None:
        if about[2] != "BEGIN":
            asked.append(str(about[2]))

    event.listen(engine, "before_cursor_execute", note)
    browser.get(f"/builds/{garage.build.id}/work")
    cold = len(asked)
    browser.get(f"/builds/{garage.build.id}/tasks/{garage.tasks['Fit, intake']}")
    warm = len(asked) - cold
    event.remove(engine, "before_cursor_execute", note)
    assert cold <= 20
    assert warm == 4
