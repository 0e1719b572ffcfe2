"""The path from filter to tailpipe: its numbers are those of the checks, and what is missing is named."""

import re
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from server.core.checks.answer import Answers
from server.features.builds.service import build_face
from server.features.designs import service as designs
from server.features.designs import store as design_store
from tests.asking import Browser
from tests.http.intake_build import fill_engine_sheet, make_build, make_intake, stored

DEMO = "/builds/1/air-path"


def picture(browser: Browser, address: str = DEMO) -> Any:
    return browser.get_json(address)["picture"]


def rows(part: Any) -> dict[str, Any]:
    """The rows of places; those of pieces have a number or no length of their own."""
    return {row["name"]: row for row in part["rows"] if not row["piece"]}


def chosen(engine: Engine) -> dict[str, Answers]:
    """What the chosen designs of the demo answer, by the name of their subsystem."""
    with Session(engine) as session:
        around = designs.surroundings(session, build_face(session, 1))
        every = [one for one in design_store.designs_of(session, 1) if one.chosen]
        found = {}
        for item in design_store.rows_of(session, every).values():
            answers = designs.answers_of(item, around)
            if answers is not None:
                found[around.subsystems[item.design.subsystem_id].name] = answers
    return found


@pytest.fixture
def demo_engine(demo_app: Any) -> Engine:
    found: Engine = demo_app.state.engine
    return found


def test_the_losses_are_those_of_the_chosen_designs(demo: Browser, demo_engine: Engine) -> None:
    air = rows(picture(demo)["parts"][0])
    answers = chosen(demo_engine)
    for place, name in (("intake", "Intake"), ("charge pipe", "Charge pipe"), ("cooler pipe", "Cooler pipe")):
        flow = answers[name].flow
        assert flow is not None
        assert -air[place]["change"]["si"] == pytest.approx(flow.loss, abs=0.5)


def test_filter_compressor_and_cooler_are_those_of_the_engine_sheet(demo: Browser) -> None:
    """The demo's sheet: 2 kPa before the run, 1 psi in the cooler (6894.757 Pa, NIST SP 811), 25 °C."""
    found = picture(demo)
    air = rows(found["parts"][0])
    sheet = demo.get_json("/builds/1/engine")["answer"]
    assert air["filter"]["change"]["si"] == pytest.approx(-2000.0)
    assert air["cooler"]["change"]["si"] == pytest.approx(-6894.757, rel=1e-5)
    assert air["intake"]["temperature"]["si"] == pytest.approx(298.15)
    assert air["compressor"]["temperature"]["si"] == pytest.approx(sheet["peak_outlet_temperature"]["si"])
    assert found["outside"]["si"] == pytest.approx(98_475.0, rel=1e-3), "U.S. Standard Atmosphere at 240 m"
    assert found["arrival"]["ratio"] == sheet["peak_pressure_ratio"]


def test_what_is_short_at_the_throttle_is_what_the_designs_are_said_to_cost(
    demo: Browser, demo_engine: Engine
) -> None:
    arrival = picture(demo)["arrival"]
    costs = [one.cost.boost for one in chosen(demo_engine).values() if one.cost is not None]
    assert len(costs) == 3
    assert arrival["short"]["si"] == pytest.approx(sum(costs), abs=2.0)
    assert arrival["asked"]["si"] - arrival["arrives"]["si"] == pytest.approx(arrival["short"]["si"])
    assert arrival["known"] is True
    assert float(arrival["ratio_to_hold"]) > float(arrival["ratio"])


def test_back_pressure_is_that_of_the_downpipes_check(demo: Browser, demo_engine: Engine) -> None:
    gas = rows(picture(demo)["parts"][1])
    checks = chosen(demo_engine)["Downpipe"].checks
    finding = next(one.finding for one in checks if one.rule.code == "back-pressure")
    assert finding is not None
    assert gas["turbine outlet"]["pressure"]["si"] == pytest.approx(finding.value, abs=0.1)
    assert gas["turbine outlet"]["pressure"]["doubt"] == pytest.approx(finding.doubt)
    assert gas["exhaust"]["basis"] == "taken"
    assert gas["exhaust"]["change"]["si"] == pytest.approx(-4000.0)
    assert gas["tailpipe"]["pressure"]["si"] == pytest.approx(0.0, abs=1e-6)


def test_each_piece_stands_under_its_run_and_they_add_up_to_it(demo: Browser) -> None:
    for part in picture(demo)["parts"]:
        groups: dict[str, float] = {}
        totals: dict[str, float] = {}
        place = ""
        for row in part["rows"]:
            if row["piece"] or row["name"].startswith("into"):
                groups[place] = groups.get(place, 0.0) + row["change"]["si"]
            else:
                place = row["name"]
                totals[place] = row["change"]["si"]
        assert groups
        assert all(groups[name] == pytest.approx(totals[name], abs=1e-6) for name in groups)


def test_both_drawings_have_a_title_and_tell_every_place_in_words(demo: Browser) -> None:
    page = demo.get(DEMO).text
    for number, words in ((1, "Air, filter to throttle: "), (2, "Exhaust, turbine to tailpipe: ")):
        assert f'aria-labelledby="path-{number}-title" aria-describedby="path-{number}-desc"' in page
        assert f'<title id="path-{number}-title">{words}' in page
    told = re.findall(r'<desc id="path-\d-desc">([^<]+)</desc>', page)
    for place in ("filter", "intake", "compressor", "charge pipe", "cooler", "cooler pipe", "throttle"):
        assert f"{place}: " in told[0]
    assert "exhaust: 0 kPa, 800 °C (taken)" in told[1]


def test_values_on_the_drawing_are_those_of_the_table(demo: Browser) -> None:
    for part in picture(demo)["parts"]:
        levels = [row["pressure"]["si"] / 1000.0 for row in part["rows"]]
        called = [one["text"] for one in part["plot"]["upper"]["called"]]
        assert called[0] == f"{max(levels):.1f} kPa"
        assert f"{min(levels):.1f} kPa".replace("-", "−").replace("−0.0", "0").replace("0.0", "0") in called


def test_without_an_engine_sheet_the_page_says_what_to_do(browser: Browser) -> None:
    build = make_build(browser)
    assert picture(browser, f"/builds/{build}/air-path") is None
    page = browser.get(f"/builds/{build}/air-path").text
    assert "Fill in the engine sheet first" in page
    assert f'href="/builds/{build}/engine"' in page


def test_with_an_engine_sheet_alone_every_run_is_dashed_and_named(browser: Browser) -> None:
    build = make_build(browser)
    fill_engine_sheet(browser, build)
    found = picture(browser, f"/builds/{build}/air-path")
    assert {run["why"] for run in found["runs"]} == {"Not in this build."}
    air, gas = found["parts"]
    assert len(air["plot"]["upper"]["dashed"]) == 3
    assert rows(air)["intake"]["basis"] == "not known"
    assert rows(gas)["turbine outlet"]["basis"] == "not known"
    assert found["arrival"]["known"] is False
    page = browser.get(f"/builds/{build}/air-path").text
    assert "of boost at the throttle, at most" in page
    assert page.count(">no design yet</text>") == 4, "intake, charge pipe, cooler pipe and downpipe"
    assert [one["text"] for one in gas["plot"]["upper"]["called"]] == ["0 kPa"], "what is known, and no more"


def test_a_run_without_pieces_and_one_that_lacks_a_size_say_what_is_missing(browser: Browser) -> None:
    intake = make_intake(browser)
    address = f"/builds/{intake.build_id}/air-path"
    line = next(run for run in picture(browser, address)["runs"] if run["name"] == "Intake")
    assert line["why"] == "chosen"
    assert line["loss"].startswith("loses ")
    subsystem = stored(browser.post(f"/builds/{intake.build_id}/subsystems", {"kind": "charge pipe"}))
    line = next(run for run in picture(browser, address)["runs"] if run["name"] == "Charge pipe")
    assert line["why"] == "No design yet."
    assert line["href"] == f"/builds/{intake.build_id}/subsystems/{subsystem}"
    new = {"name": "Over the engine", "start_port_id": "", "end_port_id": ""}
    design = stored(browser.post(f"/builds/{intake.build_id}/subsystems/{subsystem}/designs", new))
    line = next(run for run in picture(browser, address)["runs"] if run["name"] == "Charge pipe")
    assert (line["design"], line["why"]) == ("Over the engine", "Add the first piece.")
    browser.post(f"/builds/{intake.build_id}/designs/{design}/pieces", {"kind": "tube", "length": "300"})
    line = next(run for run in picture(browser, address)["runs"] if run["name"] == "Charge pipe")
    assert line["why"].startswith(("Type", "Measure"))


def test_a_change_of_the_design_moves_the_drawing(browser: Browser) -> None:
    intake = make_intake(browser)
    address = f"/builds/{intake.build_id}/air-path"
    before = rows(picture(browser, address)["parts"][0])["intake"]["change"]["si"]
    more = {"kind": "tube", "outside_diameter": "60", "wall": "2", "length": "400"}
    assert intake.post("/pieces", **more, after=str(intake.pieces[3])).status_code == 303
    assert rows(picture(browser, address)["parts"][0])["intake"]["change"]["si"] < before


def test_the_path_of_a_build_in_inches_is_told_in_psi(browser: Browser) -> None:
    answer = browser.post("/builds", {"name": "The coupé", "system": "inch"})
    build = int(re.findall(r"/builds/(\d+)", answer.headers["location"])[0])
    fill_engine_sheet(browser, build)
    found = picture(browser, f"/builds/{build}/air-path")
    assert (found["pressure_unit"], found["temperature_unit"]) == ("psi", "°F")
    assert found["parts"][0]["plot"]["upper"]["title"] == "pressure, psi over the air outside"
    assert rows(found["parts"][0])["filter"]["temperature"]["text"] == "77", "25 °C is 77 °F"


@pytest.mark.parametrize("page", ["/builds/1/engine", "/builds/1/subsystems", "/builds/1/designs/6"])
def test_the_path_is_one_tap_away(demo: Browser, page: str) -> None:
    assert f'href="{DEMO}"' in demo.get(page).text


def test_the_coolers_own_figure_takes_the_place_of_the_engine_sheets(demo: Browser) -> None:
    """By hand, flow squared over density (Kays & London, chapter 2, from memory)."""
    subsystem = next(run["href"] for run in picture(demo)["runs"] if run["name"] == "Cooler pipe")
    number = demo.get_json(subsystem)["subsystem_id"]
    before = picture(demo)
    typed = {
        "version": "0",
        "cooler.drop": "4 kPa",
        "cooler.flow": "0.15 kg/s",
        "cooler.boost": "0 bar",
        "cooler.temperature": "25 °C",
    }
    answer = demo.post(f"/builds/1/subsystems/{number}/figures", typed)
    assert answer.status_code == 303
    assert f'href="{DEMO}">No check rests on these figures' in demo.follow(answer).text
    after = picture(demo)
    air = after["parts"][0]
    inlet = rows(air)["charge pipe"]
    density = (98_475.0 + inlet["pressure"]["si"]) / (287.05 * inlet["temperature"]["si"])
    by_hand = 4e3 * (after["flow"]["si"] / 0.15) ** 2 * (101_325.0 / (287.05 * 298.15)) / density
    assert -rows(air)["cooler"]["change"]["si"] == pytest.approx(by_hand, rel=2e-3)
    assert rows(before["parts"][0])["cooler"]["basis"] == "as typed"
    assert rows(air)["cooler"]["basis"] == ""
    assert any("by the figure that is typed for it" in note for note in after["notes"])


def test_losses_that_leave_no_pressure_are_said_and_not_drawn(demo: Browser) -> None:
    sheet, _, _ = demo.get("/builds/1/figures/cooler.drop").headers["location"].partition("#")
    absurd = {
        "cooler.drop": "60 kPa",
        "cooler.flow": "5 g/s",
        "cooler.boost": "0",
        "cooler.temperature": "20",
    }
    assert demo.post(sheet, {"version": "0"} | absurd).status_code == 303
    page = demo.get(DEMO)
    assert page.status_code == 200
    assert "The losses up to the cooler leave no pressure." in page.text
    assert demo.get_json(DEMO)["picture"] is None
