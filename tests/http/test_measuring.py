"""What to measure next, as a browser and a script see it: over the whole build, and for one design."""

import html
import re
from typing import Any

import pytest

from tests.asking import Browser
from tests.http.intake_build import IntakeBuild, fill_engine_sheet, make_build, make_intake, make_port, stored

SHORT = {"hx-request": "true", "hx-target": "measure-next"}


def measuring(intake: IntakeBuild) -> str:
    return f"/builds/{intake.build_id}/measure"


def a_gate(intake: IntakeBuild, title: str = "Fit the intake") -> int:
    """A task that waits for the checks of the intake."""
    task = stored(intake.browser.post(f"/builds/{intake.build_id}/tasks", {"title": title, "likely": "1 h"}))
    wait = {"waits_for": f"checks:{intake.subsystem_id}"}
    answer = intake.browser.post(f"/builds/{intake.build_id}/tasks/{task}/waits", wait)
    assert answer.status_code == 303, answer.text
    return task


def entry(told: Any, words: str) -> Any:
    """The one reading whose words these are in."""
    (found,) = [one for one in told["entries"] if words in one["title"]]
    return found


def without_bore(intake: IntakeBuild) -> int:
    """One more side port of the intake, placed on it, that nobody measured."""
    port = make_port(
        intake.browser,
        intake.build_id,
        {},
        name="Idle valve",
        role="side port",
        shape="hose",
        subsystem_id=str(intake.subsystem_id),
        stretch="between air meter and compressor",
    )
    bung = {"port_id": str(port), "at": "50 mm", "bore": "12", "fixing": "welded"}
    assert intake.post(f"/pieces/{intake.pieces[5]}/bungs", **bung).status_code == 303
    return port


def test_an_empty_build_says_that_no_check_waits_for_a_reading(browser: Browser) -> None:
    build = make_build(browser)
    told = browser.get_json(f"/builds/{build}/measure")
    assert told["entries"] == []
    assert told["nothing"] == "There is no design with pieces yet, so no check waits for a reading."
    assert told["onward"]["href"] == f"/builds/{build}/subsystems"
    fill_engine_sheet(browser, build)
    assert browser.get_json(f"/builds/{build}/measure")["entries"] == []


def test_what_is_not_measured_leads_straight_to_its_form(intake: IntakeBuild) -> None:
    port = without_bore(intake)
    a_gate(intake)
    told = intake.browser.get_json(measuring(intake))
    first = entry(told, "Measure the bore of Idle valve.")
    assert first["href"] == f"/builds/{intake.build_id}/ports/{port}?measure=bore"
    assert first["instrument"] == "digital caliper"
    assert first["now"] is None
    assert first["holds"] == "holds ‘Fit the intake’"
    assert first["count"] == "answers 1 check"
    check = first["checks"][0]
    assert (check["title"], check["verdict"]["word"]) == ("Side ports kept and placed", "not measured")
    assert check["href"] == f"{intake.design}#check-side-ports"
    page = intake.browser.get(first["href"]).text
    assert re.search(r'name="dimension" value="bore"|value="bore" selected', page)
    assert 'id="check-side-ports"' in intake.browser.get(intake.design).text


def test_a_reading_taken_is_asked_for_no_more(intake: IntakeBuild) -> None:
    port = without_bore(intake)
    assert "Idle valve" in intake.browser.get(measuring(intake)).text
    reading = {"dimension": "bore", "reading": "12 mm", "instrument": "digital_caliper"}
    intake.browser.post(f"/builds/{intake.build_id}/ports/{port}/readings", reading)
    assert "Idle valve" not in intake.browser.get(measuring(intake)).text


def test_a_doubtful_size_stands_with_its_value_and_the_chance_that_it_settles(demo: Browser) -> None:
    """The demo's heater hose is in the garage, its bore reckoned: a caliper would tell whether it fits."""
    found = entry(demo.get_json("/builds/1/measure"), "Measure the bore of Heater hose (1).")
    assert (found["now"]["text"], found["instrument"]) == ("16 ± 2 mm", "digital caliper")
    assert re.fullmatch(r"/builds/1/designs/\d+\?piece=\d+#f-bore", found["href"])
    assert 'id="f-bore"' in demo.get(found["href"]).text
    assert found["count"] == f"may settle {len(found['checks'])} checks"
    assert {check["verdict"]["word"] for check in found["checks"]} == {"tight"}
    for check in found["checks"]:
        assert re.fullmatch(r"in about \d of 10 cases|almost surely", check["how"])


def test_a_hot_run_that_nobody_looked_along_leads_to_what_stands_near_it(demo: Browser) -> None:
    found = entry(demo.get_json("/builds/1/measure?design=5"), "Look along the run")
    assert found["href"] == "/builds/1/designs/5/neighbours"
    assert "What stands near" in demo.get(found["href"]).text


def test_without_an_engine_sheet_the_sheet_comes_in_the_list(browser: Browser) -> None:
    intake = make_intake(browser)
    other = make_build(browser, "No sheet yet")
    subsystem = stored(browser.post(f"/builds/{other}/subsystems", {"kind": "intake"}))
    design = stored(browser.post(f"/builds/{other}/subsystems/{subsystem}/designs", {"name": "First"}))
    tube = {"kind": "tube", "outside_diameter": "80", "wall": "2", "length": "150"}
    browser.post(f"/builds/{other}/designs/{design}/pieces", tube)
    sheet = [
        one
        for one in browser.get_json(f"/builds/{other}/measure")["entries"]
        if "engine sheet" in one["title"]
    ]
    assert [one["href"] for one in sheet] == [f"/builds/{other}/engine"]
    assert sheet[0]["count"].startswith(("answers", "is wanted by"))
    with_sheet = browser.get_json(measuring(intake))["entries"]
    assert not [one for one in with_sheet if "engine sheet" in one["title"]]


def test_where_no_reading_settles_anything_the_page_says_so(demo: Browser) -> None:
    """Of the demo: the finished charge pipe passes; another has two checks that only other pieces cure."""
    told = {n: demo.get_json(f"/builds/1/measure?design={n}") for n in range(1, 10)}
    by_name = {one["design"]: one for one in told.values()}
    passes, open_still = by_name["Under the slam panel"], by_name["Past the steering shaft"]
    assert (passes["open_checks"], passes["entries"]) == (0, [])
    assert passes["nothing"] == "No check is open: there is nothing that a reading would settle."
    assert (open_still["open_checks"], open_still["entries"]) == (2, [])
    assert open_still["nothing"] == "Every check that can be settled by a reading is settled."
    assert open_still["unsettled"] == (
        "2 open checks are left that no reading settles: a size or a piece has to change."
    )


def test_one_design_has_its_own_list_and_what_it_holds_is_only_the_chosen_one_s(intake: IntakeBuild) -> None:
    without_bore(intake)
    a_gate(intake)
    copy = stored(intake.post("/copy", copy_name="Another way"))
    of_copy = intake.browser.get_json(f"{measuring(intake)}?design={copy}")
    assert of_copy["design"] == "Another way"
    bore = entry(of_copy, "Idle valve")
    assert bore["checks"][0]["href"] == f"/builds/{intake.build_id}/designs/{copy}#check-side-ports"
    assert bore["holds"] == ""
    chosen = intake.browser.get_json(f"{measuring(intake)}?design={intake.design_id}")
    assert entry(chosen, "Idle valve")["holds"] == "holds ‘Fit the intake’"
    assert "Another way" not in intake.browser.get(measuring(intake)).text


@pytest.mark.parametrize("design", ["0", "999", "x", "-1", "9999999999", "1 or 1"])
def test_a_design_that_is_not_there_is_not_found(intake: IntakeBuild, design: str) -> None:
    assert intake.browser.get(f"{measuring(intake)}?design={design}").status_code == 404
    assert intake.browser.get("/builds/999/measure").status_code == 404


def test_garage_and_design_ask_for_the_short_part_and_wait_for_nothing(intake: IntakeBuild) -> None:
    without_bore(intake)
    for page, address in (
        (f"/builds/{intake.build_id}/garage", measuring(intake)),
        (intake.design, f"{measuring(intake)}?design={intake.design_id}"),
    ):
        text = intake.browser.get(page).text
        assert f'data-part="{address}"' in text, page
        assert f'<a class="further" href="{address}">What to measure next</a>' in text, "without scripts"
        short = intake.browser.get(address, headers=SHORT).text
        assert short.strip().startswith('<div class="notice" id="measure-next">')
        assert intake.browser.get_json(address)["entries"][0]["title"] in html.unescape(short)
        assert short.strip() in intake.browser.get(address).text


def test_a_task_that_waits_for_a_reading_brings_it_into_the_list(browser: Browser) -> None:
    build = make_build(browser)
    pan = make_port(browser, build, {}, name="Oil pan return", shape="hole")
    task = stored(browser.post(f"/builds/{build}/tasks", {"title": "Weld the return", "likely": "1 h"}))
    wait = {"waits_for": f"reading:{pan}:bore"}
    assert browser.post(f"/builds/{build}/tasks/{task}/waits", wait).status_code == 303
    (only,) = browser.get_json(f"/builds/{build}/measure")["entries"]
    assert only["title"] == "Measure the bore of Oil pan return."
    assert only["holds"] == "holds ‘Weld the return’"
    assert only["href"] == f"/builds/{build}/ports/{pan}?measure=bore"
