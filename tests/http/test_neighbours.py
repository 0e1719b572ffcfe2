"""What stands near a run: entered at the car, checked for gap and heat, changed, set aside, copied along."""

from dataclasses import dataclass
from typing import Any

import httpx
import pytest

from tests.asking import Browser
from tests.http.intake_build import stored

GAP = {"what": "wiring loom", "gap": "90", "warmth": "cold"}


@dataclass(frozen=True)
class Sheet:
    """The sheet of the demo's downpipe, and its pieces by name."""

    browser: Browser
    design: str
    pieces: dict[str, int]

    @property
    def address(self) -> str:
        return f"{self.design}/neighbours"

    def page(self) -> Any:
        return self.browser.get_json(self.address)

    def near(self, name: str) -> Any:
        return next(one for one in self.page()["near"] if one["name"] == name)

    def enter(self, **fields: str) -> httpx.Response:
        piece = {"piece_id": str(self.pieces["Down tube"])}
        return self.browser.post(self.address, GAP | piece | fields)

    def words(self) -> dict[str, str]:
        """Verdict words of the design's checks on what stands near, by code."""
        page = self.browser.get_json(self.design)
        every = page["open_checks"] + page["passed_checks"]
        return {one["code"]: one["verdict"]["word"] for one in every if one["code"].endswith(("gap", "heat"))}


@pytest.fixture
def sheet(demo: Browser) -> Sheet:
    subsystems = demo.get_json("/builds/1/subsystems")["subsystems"]
    address = next(one["href"] for one in subsystems if one["name"] == "Downpipe")
    design = next(one["href"] for one in demo.get_json(address)["designs"] if one["chosen"])
    pieces = {one["name"]: one["id"] for one in demo.get_json(design)["pieces"]}
    return Sheet(demo, design, pieces)


def test_the_demo_shows_what_stands_near_with_every_verdict_told(sheet: Sheet) -> None:
    page = sheet.page()
    assert {one["code"] for one in page["checks"]} == {"line-gap", "gap", "line-heat", "neighbour-heat"}
    assert page["looked_round"]
    assert "What stands near it: 6" in sheet.browser.get(sheet.design).text
    assert "85.0 ± 0.5 mm beside Down tube (3), at ride height" in sheet.near("Steering shaft")["detail"]


def test_a_new_one_is_checked_at_once(sheet: Sheet) -> None:
    before = sheet.words()
    assert before["line-heat"] == "go"
    answer = sheet.enter(what="fuel line", name="Fuel line", gap="40 mm")
    assert answer.headers["location"] == f"{sheet.address}#near"
    assert sheet.words()["line-heat"] == "no-go"
    above = {one["code"]: one["why"] for one in sheet.page()["checks"]}
    line = sheet.near("Fuel line")
    assert "nylon line" in above["line-heat"]
    assert above["line-heat"] not in [*line["told"], *line["passed"]], "said once"
    told = " ".join([*above.values(), *line["told"], *line["passed"]])
    assert "40 mm from Down tube (3) to Fuel line" in told


def test_a_gap_in_inches_with_its_doubt_is_kept_as_typed(sheet: Sheet) -> None:
    sheet.enter(name="Loom", gap="3 1/2 in")
    number = sheet.near("Loom")["id"]
    assert sheet.browser.get_json(f"{sheet.address}?edit={number}")["fields"]["values"]["gap"] == "3 1/2 in"
    assert "88.9" in sheet.near("Loom")["detail"]


@pytest.mark.parametrize(
    ("field", "text", "message"),
    [
        ("gap", "-3", "Gap: -3 is out of range."),
        ("gap", "2 m", "Gap: 2 m is out of range."),
        ("gap", "3 bar", "Gap: "),
        ("gap", "wide", "Gap: "),
        ("moves", "-1", "It comes towards the run by: -1 is out of range."),
        ("width", "0", "Width, as the run sees it: 0 is out of range."),
        ("width", "12 kg", "Width, as the run sees it: "),
        ("what", "dragon", "What it is: choose one of the list."),
        ("piece_id", "999999", "Beside which piece: choose one of the list."),
        ("piece_id", "", "Beside which piece: choose one of the list."),
        ("frame", "sky", "It moves with: choose one of the list."),
        ("material", "cheese", "What of it heat harms first: choose one of the list."),
        ("protection", "hope", "Between it and the run: choose one of the list."),
        ("stood", "upside down", "The car stood: choose one of the list."),
        ("warmth", "lukewarm", "The engine was: choose one of the list."),
        ("name", "x" * 81, "Its name is 81 characters long."),
    ],
)
def test_what_can_t_be_used_is_told_beside_its_field_and_stays_as_typed(
    sheet: Sheet, field: str, text: str, message: str
) -> None:
    count = len(sheet.page()["near"])
    refused = sheet.enter(**{field: text})
    assert refused.status_code == 422
    assert message in refused.text
    if field in {"gap", "moves", "width", "name"}:
        assert f'value="{text}"' in refused.text
    assert len(sheet.page()["near"]) == count


def test_an_edit_names_its_version_and_a_second_one_is_told(sheet: Sheet) -> None:
    sheet.enter(name="Loom", gap="30")
    number = sheet.near("Loom")["id"]
    one = f"{sheet.address}/{number}"
    fields = GAP | {"piece_id": str(sheet.pieces["Down tube"]), "name": "Loom"}
    assert sheet.browser.post(one, fields).status_code == 428
    assert sheet.browser.post(one, fields | {"version": "1", "gap": "120"}).status_code == 303
    stale = sheet.browser.post(one, fields | {"version": "1", "gap": "60"})
    assert stale.status_code == 412
    assert "120" in stale.text
    assert "Gap" in stale.text


def test_a_cure_leads_to_the_form_of_the_thing_itself(sheet: Sheet) -> None:
    sheet.enter(what="brake line", name="Brake line", gap="30", protection="bright shield")
    gap = next(one for one in sheet.page()["checks"] if one["code"] == "line-gap")
    assert gap["verdict"]["word"] == "no-go"
    assert "further from Down tube (3)" in gap["cure"]
    number = sheet.near("Brake line")["id"]
    assert gap["cure_href"] == f"/builds/1/neighbours/{number}"
    redirect = sheet.browser.get(gap["cure_href"])
    assert redirect.headers["location"] == f"{sheet.address}?edit={number}#neighbour-form"


def test_what_was_set_aside_does_not_count_and_comes_back(sheet: Sheet) -> None:
    sheet.enter(what="fuel line", name="Fuel line", gap="40")
    number = sheet.near("Fuel line")["id"]
    sheet.browser.post(f"{sheet.address}/{number}/removal", {})
    assert sheet.words()["line-heat"] == "go"
    assert [one["name"] for one in sheet.page()["aside"]] == ["Fuel line"]
    sheet.browser.post(f"{sheet.address}/{number}/return", {})
    assert sheet.words()["line-heat"] == "no-go"


def test_a_copy_of_the_design_has_the_same_near_it(sheet: Sheet) -> None:
    copy = sheet.browser.post(f"{sheet.design}/copy", {"copy_name": "Again"}).headers["location"]
    page = sheet.browser.get_json(f"{copy}/neighbours")
    assert [one["detail"] for one in page["near"]] == [one["detail"] for one in sheet.page()["near"]]
    # Its pieces are others than those of the design that it was copied from.
    assert "out of the run" not in str(page["near"])


def test_a_piece_that_is_taken_out_leaves_its_neighbour_to_be_placed_again(sheet: Sheet) -> None:
    sheet.browser.post(f"{sheet.design}/pieces/{sheet.pieces['Down tube']}/removal", {})
    assert "out of the run" in str(sheet.near("Steering shaft"))


def test_a_hot_run_that_nobody_looked_along_is_not_measured(sheet: Sheet) -> None:
    subsystem = sheet.browser.get_json("/builds/1/subsystems")["subsystems"]
    address = next(one["href"] for one in subsystem if one["name"] == "Downpipe")
    design = f"/builds/1/designs/{stored(sheet.browser.post(f'{address}/designs', {'name': 'Straight'}))}"
    sheet.browser.post(f"{design}/pieces", {"kind": "tube", "outside_diameter": "76.1", "length": "300"})
    straight = Sheet(sheet.browser, design, {})
    assert straight.words()["line-gap"] == "not measured"
    sheet.browser.post(f"{design}/neighbours/looked", {"looked": "yes"})
    assert "line-gap" not in straight.words()
    sheet.browser.post(f"{design}/neighbours/looked", {"looked": "no"})
    assert straight.words()["line-gap"] == "not measured"
    assert sheet.browser.post(f"{design}/neighbours/looked", {"looked": "maybe"}).status_code == 422


def test_addresses_of_what_is_not_there_say_so(sheet: Sheet) -> None:
    browser = sheet.browser
    assert browser.get("/builds/1/neighbours/999").status_code == 404
    assert browser.get("/builds/1/designs/999/neighbours").status_code == 404
    assert browser.post(f"{sheet.address}/999/removal", {}).status_code == 404
    other = next(one for one in range(1, 9) if f"/designs/{one}" not in sheet.design)
    number = sheet.page()["near"][0]["id"]
    assert browser.post(f"/builds/1/designs/{other}/neighbours/{number}/removal", {}).status_code == 404


def test_a_coupler_beside_the_turbine_is_shielded_in_the_demo_and_one_beside_a_manifold_is_told(
    demo: Browser,
) -> None:
    subsystems = demo.get_json("/builds/1/subsystems")["subsystems"]
    address = next(one["href"] for one in subsystems if one["name"] == "Charge pipe")
    designs = demo.get_json(address)["designs"]
    design = next(one["href"] for one in designs if one["name"] == "Past the steering shaft")
    pieces = {one["name"]: one["id"] for one in demo.get_json(design)["pieces"]}
    sheet = Sheet(demo, design, pieces)
    assert sheet.words() == {"gap": "go", "hose-heat": "go", "run-beside-heat": "go"}
    manifold = {"what": "exhaust manifold", "name": "Manifold", "gap": "60"}
    demo.post(sheet.address, GAP | manifold | {"piece_id": str(pieces["Straight coupler"])})
    assert sheet.words()["run-beside-heat"] == "no-go"
    heat = next(one for one in sheet.page()["checks"] if one["code"] == "run-beside-heat")
    assert "which is taken to be" in heat["why"]
    assert "bright shield" in heat["cure"]
    assert "local codes and licensed practice" in heat["caution"]["text"]
