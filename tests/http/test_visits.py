"""Whether a visit is ready, and its sheet, as a browser and a script get them."""

from typing import Any

import pytest

from server.core.work.cautions import HOT_WORK, LAST_WORD, WELD_FUME
from tests.asking import Browser, number_in
from tests.http.test_work import a_task, comes_after

VISIT = {"helper_id": "1", "day": "2026-12-05", "begins": "09:00", "ends": "15:00", "cancel_by": "2026-12-02"}


@pytest.fixture
def build(browser: Browser) -> int:
    number = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    stint = {"kind": "weekly", "weekday": "Thursday", "begins": "18:00", "ends": "21:00"}
    browser.post(f"/builds/{number}/stints", stint)
    browser.post(f"/builds/{number}/stints/helpers", {"name": "Jo", "skills": "welds", "contact": "by call"})
    browser.post(f"/builds/{number}/stints/visits", VISIT)
    return number


def a_weld(browser: Browser, build: int, **more: str) -> str:
    task = a_task(browser, build, "Weld it", likely="1 h")
    fields = {"version": "1", "title": "Weld it", "likely": "1 h", "helper_skill": "welds", "hands": "2"}
    assert browser.post(task, fields | more).status_code == 303
    return task


def visit(browser: Browser, build: int) -> Any:
    return browser.get_json(f"/builds/{build}/visits/1")


def test_a_visit_turns_ready_as_the_work_before_it_is_done(browser: Browser, build: int) -> None:
    cut = a_task(browser, build, "Cut it", likely="1 h")
    comes_after(browser, a_weld(browser, build, car_state="on stands"), cut)
    page = visit(browser, build)
    assert page["answer"] == "Not ready yet: 1 thing to do before."
    assert page["call_off"] == "Last day to call it off without wasting the trip: Wed 2 Dec, in 7 days."
    told = (page["when"], page["who"], page["reached"])
    assert told == ("Sat 5 Dec 09:00–15:00", "Jo, who welds", "by call")
    assert [line["what"]["text"] for line in page["work"]] == ["Weld it"]
    assert [line["what"]["text"] for line in page["before"]] == ["Cut it"]
    assert page["before"][0]["planned"] == "by the plan Thu 26 Nov 18:00"
    [against] = page["against"]
    assert (against["what"], against["stand"]) == ("‘Cut it’, ready to do", "to do before")
    assert (against["href"], against["stops"]) == (cut, "stops ‘Weld it’")
    assert "1 task with it on stands. Raising it takes 35 min" in page["car"]
    browser.post(f"{cut}/state", {"state": "done"})
    assert visit(browser, build)["answer"] == "Ready: nothing stands against it."


def test_what_comes_too_late_is_told_before_the_last_day_to_call_off(browser: Browser, build: int) -> None:
    weld = a_weld(browser, build)
    browser.post(f"{weld}/holds", {"kind": "tool", "reason": "the purge plugs", "until": "2026-12-08"})
    page = visit(browser, build)
    assert page["answer"] == "Not ready: 1 thing comes after it."
    [against] = page["against"]
    assert (against["what"], against["late"]) == ("The purge plugs until Tue 8 Dec", True)


def test_hot_work_brings_hold_points_and_a_caution_that_defers(browser: Browser, build: int) -> None:
    a_weld(browser, build)
    assert visit(browser, build)["hold_points"] == []
    a_weld(browser, build, hot_work="on")
    page = visit(browser, build)
    assert [mark for mark, _ in page["hold_points"]].count("Stop") == 2
    for caution in (HOT_WORK, WELD_FUME):
        assert {"signal": caution.signal, "text": f"{caution.text} {LAST_WORD}"} in page["cautions"]


def test_work_for_a_licensed_person_is_told_on_the_task_and_on_the_visit_sheet(
    browser: Browser, build: int
) -> None:
    task = a_weld(browser, build, licensed="refrigerant")
    for page in (browser.get_json(task), visit(browser, build)):
        assert page["cautions"][0]["text"].startswith("Refrigerant is for a licensed person by the law")
    assert "licensed: refrigerant" in browser.get_json(task)["line"]["signal"]


def test_a_visit_without_work_says_so_and_one_set_aside_is_not_there(browser: Browser, build: int) -> None:
    assert visit(browser, build)["answer"].startswith("Nothing to do for Jo")
    browser.post(f"/builds/{build}/stints/visits/1/removal", {"to": "aside"})
    assert browser.get(f"/builds/{build}/visits/1").status_code == 404
    assert browser.get(f"/builds/{build}/visits/9").status_code == 404


def test_stints_and_plan_lead_to_the_visit(browser: Browser, build: int) -> None:
    a_weld(browser, build)
    href = f"/builds/{build}/visits/1"
    assert browser.get_json(f"/builds/{build}/stints")["visits"][0]["sheet"] == href
    assert href in [row["what"]["href"] for row in browser.get_json(f"/builds/{build}/plan")["strip"]["rows"]]
    assert href in browser.get(f"/builds/{build}/calendar.ics").text


def test_the_demo_s_saturday_tells_what_is_joined_and_with_what(demo: Browser) -> None:
    page = demo.get_json("/builds/1/visits/1")
    assert page["answer"].startswith("Not ready")
    assert len(page["work"]) >= 5
    runs = {run["name"]: run for run in page["runs"]}
    assert runs
    for run in runs.values():
        assert run["pieces"]
        for row in run["pieces"]:
            assert demo.get(run["cuts"]).text.count(row["finished"]) >= 1
    advice = " ".join(weld["advice"] for run in runs.values() for weld in run["welds"])
    assert "usual is" in advice.lower() or "filler" in advice.lower()


def test_of_long_lists_the_first_dozen_stands_out_and_the_rest_keeps_all_its_words_in_a_fold(
    browser: Browser, build: int
) -> None:
    """The fold is opened on paper."""
    weld = a_weld(browser, build)
    for day in range(10, 24):
        typed = {"kind": "tool", "reason": f"plugs of {day} mm", "until": f"2026-12-{day}"}
        browser.post(f"{weld}/holds", typed)
    shown = browser.get(f"/builds/{build}/visits/1").text
    first, rest = shown.split('<details class="fold printed"><summary>2 more</summary>')
    assert first.count("<b>Plugs of") == 12
    rest = rest.partition("</details>")[0]
    assert rest.count("comes too late; stops ‘Weld it’") == rest.count("Plugs of") == 2
