"""The plan as a dated strip: what is in which stint, what sets the date, and what finds no place."""

from typing import Any

import pytest

from tests.asking import Browser, number_in
from tests.http.test_setbacks import SNAPPED
from tests.http.test_work import a_task, comes_after


@pytest.fixture
def build(browser: Browser) -> int:
    number = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    stint = {"kind": "weekly", "weekday": "Thursday", "begins": "18:00", "ends": "21:00"}
    browser.post(f"/builds/{number}/stints", stint)
    return number


def plan(browser: Browser, build: int) -> Any:
    return browser.get_json(f"/builds/{build}/plan")


def test_tasks_stand_in_their_stints_with_what_sets_the_date(browser: Browser, build: int) -> None:
    cut = a_task(browser, build, "Cut it", likely="2 h")
    start = a_task(browser, build, "First start", likely="1 h")
    comes_after(browser, start, cut, "1 day")
    page = plan(browser, build)
    assert page["answer"] == "First start by the plan: Thu 3 Dec 2026."
    assert page["why"] == "The date hangs on hours in the garage: an extra stint brings it forward."
    assert [link["text"] for link in page["chain"]] == ["Cut it", "First start"]
    assert [(row["when"], row["what"]["text"], row["sets"]) for row in page["strip"]["rows"]] == [
        ("Thu 26 Nov 18:00", "Cut it", True),
        ("Thu 3 Dec 18:00", "First start", True),
    ]
    assert [week["title"] for week in page["strip"]["weeks"]] == ["Week of Mon 23 Nov", "Week of Mon 30 Nov"]


def test_an_extra_stint_brings_the_date_forward_at_once(browser: Browser, build: int) -> None:
    a_task(browser, build, "Cut it", likely="5 h")
    assert "Thu 3 Dec 2026" in plan(browser, build)["answer"]
    extra = {"kind": "extra", "day": "2026-11-28", "begins": "09:00", "ends": "17:00"}
    browser.post(f"/builds/{build}/stints", extra)
    assert "Sat 28 Nov 2026" in plan(browser, build)["answer"]


def test_work_without_a_helper_s_slot_is_told_with_the_way_out(browser: Browser, build: int) -> None:
    weld = a_task(browser, build, "Weld it", likely="1 h")
    edit = {"version": "1", "title": "Weld it", "likely": "1 h", "helper_skill": "welds"}
    browser.post(weld, edit)
    page = plan(browser, build)
    assert page["answer"] == "No date: nothing finds a place."
    [trouble] = page["troubles"]
    assert "a helper who welds" in trouble["why"]
    assert trouble["out"] == {
        "href": f"/builds/{build}/stints",
        "text": "Note a day on which such a helper comes",
    }


def test_without_stints_the_plan_asks_for_them(browser: Browser) -> None:
    number = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    a_task(browser, number, "Cut it")
    page = plan(browser, number)
    assert page["answer"] == "No date yet: the plan needs stints and tasks."
    assert page["troubles"][0]["out"]["href"] == f"/builds/{number}/stints"


def test_the_demo_s_plan_has_a_date_and_the_garage_asks_for_it(demo: Browser) -> None:
    garage = demo.get("/builds/1/garage").text
    assert 'data-part="/builds/1/plan"' in garage
    part = demo.get("/builds/1/plan", headers={"hx-request": "true", "hx-target": "first-start"}).text
    assert "First start by the plan: " in part
    assert "<html" not in part
    page = plan(demo, 1)
    assert page["chain"] != []
    assert any(row["sets"] for row in page["strip"]["rows"])


def test_what_may_go_wrong_moves_the_later_date_and_is_named_as_what_it_hangs_on(
    browser: Browser, build: int
) -> None:
    task = a_task(browser, build, "Take off the manifold", likely="2 h")
    assert "four chances in five by Thu 26 Nov 2026" in plan(browser, build)["odds"]
    assert plan(browser, build)["hangs_on"] == []
    browser.post(f"{task}/setbacks", SNAPPED | {"chance": "40", "likely": "3 h"})
    page = plan(browser, build)
    assert page["answer"] == "All done by the plan: Thu 26 Nov 2026, with ‘Take off the manifold’ last."
    assert page["odds"] == (
        "As likely before as after Thu 26 Nov 2026; four chances in five by Thu 3 Dec 2026."
    )
    [hanging] = page["hangs_on"]
    assert hanging == {"what": {"href": task, "text": f"no ‘{SNAPPED['title']}’"}, "earlier": "7 days"}


def test_where_a_visit_may_be_missed_the_odds_say_so_and_what_would_help(
    browser: Browser, build: int
) -> None:
    grind = a_task(browser, build, "Grind it", likely="30 min")
    weld = a_task(browser, build, "Weld it", likely="1 h")
    browser.post(weld, {"version": "1", "title": "Weld it", "likely": "1 h", "helper_skill": "welds"})
    comes_after(browser, weld, grind, "")
    browser.post(f"/builds/{build}/stints/helpers", {"name": "Kim", "skills": "welds"})
    helper = str(browser.get_json(f"/builds/{build}/stints")["helpers"][0]["id"])
    visit = {"helper_id": helper, "day": "2026-11-26", "begins": "18:00", "ends": "21:00"}
    browser.post(f"/builds/{build}/stints/visits", visit)
    assert "of 100 tries" not in plan(browser, build)["odds"]
    browser.post(f"{grind}/setbacks", SNAPPED | {"chance": "30", "likely": "3 h"})
    odds = plan(browser, build)["odds"]
    assert "of 100 tries something misses the last stint or visit" in odds


def test_the_demo_names_a_hose_that_may_not_fit_among_what_the_date_hangs_on(demo: Browser) -> None:
    page = plan(demo, 1)
    hose = next(row for row in page["again"] if "Heater hose" in row["piece"]["text"])
    assert hose["why"] == "Couplers fit both spigots"
    assert "for a new part" in hose["costs"]
    assert any("Heater hose" in one["what"]["text"] for one in page["hangs_on"])


def test_a_piece_offered_up_and_found_to_fit_is_no_longer_cut_short_in_any_try(demo: Browser) -> None:
    design = next(
        one["href"]
        for subsystem in demo.get_json("/builds/1/subsystems")["subsystems"]
        if subsystem["name"] == "Downpipe"
        for one in demo.get_json(subsystem["href"])["designs"]
        if one["chosen"]
    )
    piece = next(one["id"] for one in demo.get_json(design)["pieces"] if one["name"] == "Down tube")
    before = plan(demo, 1)["again_more"]
    demo.post(f"{design}/pieces/{piece}/trims", {"excess": "0.5", "read_with": "rule"})
    assert plan(demo, 1)["again_more"] == before - 1
