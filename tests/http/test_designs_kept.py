"""Designs that begin from others: copies, old parts as patterns, what differs; set aside and put back."""

from typing import Any

from sqlalchemy import Engine

from tests.asking import number_in
from tests.bench.measure import counting
from tests.http.intake_build import IntakeBuild, stored

NARROW_TUBE = 3
COPIED = ("detail", "name", "verdict", "loss", "speed")


def page_of(intake: IntakeBuild, design_id: int, query: str = "") -> Any:
    return intake.browser.get_json(f"/builds/{intake.build_id}/designs/{design_id}{query}")


def copy_of(intake: IntakeBuild, name: str = "") -> int:
    return stored(intake.post("/copy", copy_name=name))


def at(intake: IntakeBuild, design_id: int, address: str, **fields: str) -> Any:
    return intake.browser.post(f"/builds/{intake.build_id}/designs/{design_id}{address}", fields)


def subsystem(intake: IntakeBuild) -> Any:
    return intake.browser.get_json(f"/builds/{intake.build_id}/subsystems/{intake.subsystem_id}")


def log_text(intake: IntakeBuild) -> str:
    return intake.browser.get(f"/builds/{intake.build_id}/log").text


def new_pattern(intake: IntakeBuild, **fields: str) -> int:
    address = f"/builds/{intake.build_id}/subsystems/{intake.subsystem_id}/designs"
    return stored(intake.browser.post(address, {"name": "The old pipe", "pattern": "on", **fields}))


# Copies


def test_a_copy_has_all_pieces_side_ports_and_joints_and_leaves_the_other_alone(intake: IntakeBuild) -> None:
    joint = page_of(intake, intake.design_id, f"?piece={intake.pieces[0]}")["editor"]["joints"][0]
    clamp = {"kind": "hose and clamp", "clamp": "T-bolt", "overlap": "30", "version": str(joint["version"])}
    intake.post(f"/joints/{joint['id']}", **clamp)
    copy = copy_of(intake, "Cut-down pipe")
    before, after = page_of(intake, intake.design_id), page_of(intake, copy)
    assert after["name"] == "Cut-down pipe"
    assert (after["from_port"], after["to_port"]) == (before["from_port"], before["to_port"])
    assert [[p[key] for key in COPIED] for p in after["pieces"]] == [
        [p[key] for key in COPIED] for p in before["pieces"]
    ]
    assert not {p["id"] for p in after["pieces"]} & {p["id"] for p in before["pieces"]}
    first = page_of(intake, copy, f"?piece={after['pieces'][0]['id']}")["editor"]
    assert first["joints"][0]["clamp"] == "T-bolt"
    assert not after["chosen"]

    at(intake, copy, f"/pieces/{after['pieces'][0]['id']}/removal")
    assert len(page_of(intake, intake.design_id)["pieces"]) == 7


def test_a_copy_without_a_name_is_named_after_what_it_is_a_copy_of(intake: IntakeBuild) -> None:
    assert page_of(intake, copy_of(intake))["name"] == "Bought elbow, a copy"
    refused = intake.post("/copy", copy_name="x" * 90)
    assert refused.status_code == 422
    assert "x" * 90 in refused.text


def test_a_copy_of_a_shortened_pipe_can_be_made_whole_on_its_own(intake: IntakeBuild) -> None:
    tube = {"kind": "tube", "outside_diameter": "80", "wall": "2", "length": "500"}
    piece = stored(intake.post("/pieces", **tube))
    intake.post(f"/pieces/{piece}/cut", cut_at="100", take_out="50", join="coupler", version="1")
    copy = copy_of(intake)
    pieces = page_of(intake, copy)["pieces"]
    assert len(pieces) == 10
    half = pieces[-1]["id"]
    version = str(page_of(intake, copy, f"?piece={half}")["editor"]["version"])
    assert at(intake, copy, f"/pieces/{half}/whole", version=version).status_code == 303
    assert len(page_of(intake, copy)["pieces"]) == 8
    assert len(page_of(intake, intake.design_id)["pieces"]) == 10


def test_a_longer_run_is_copied_in_as_many_queries_as_a_short_one(
    intake: IntakeBuild, engine: Engine
) -> None:
    with counting(engine) as short:
        copy_of(intake)
    for _ in range(10):
        intake.post("/pieces", kind="tube", outside_diameter="80", wall="2", length="40")
        intake.post("/pieces", kind="coupler", bore="80")
    with counting(engine) as long:
        copy_of(intake)
    assert [one[:60] for one in long] == [one[:60] for one in short]


def test_a_new_design_can_start_from_one_that_is_there(intake: IntakeBuild) -> None:
    address = f"/builds/{intake.build_id}/subsystems/{intake.subsystem_id}/designs"
    start = {"name": "Second try", "start_from": str(intake.design_id)}
    made = page_of(intake, stored(intake.browser.post(address, start)))
    assert len(made["pieces"]) == 7
    assert made["from_port"] == "Air meter outlet"
    refused = intake.browser.post(address, start | {"start_from": "999"})
    assert refused.status_code == 422
    assert "Second try" in refused.text


# What differs


def test_what_differs_from_the_design_it_began_from_is_told_piece_by_piece(intake: IntakeBuild) -> None:
    copy = copy_of(intake)
    assert page_of(intake, copy)["difference"]["lines"] == []
    pieces = page_of(intake, copy)["pieces"]
    tube = pieces[NARROW_TUBE]["id"]
    fields = {
        "outside_diameter": "80",
        "wall": "2",
        "length": "100",
        "inlet_end": "bead",
        "outlet_end": "bead",
    }
    at(intake, copy, f"/pieces/{tube}", version="1", **fields)
    at(intake, copy, f"/pieces/{pieces[5]['id']}/removal")
    told = page_of(intake, copy)["difference"]
    assert told["name"] == "Bought elbow"
    assert told["same"] == 5
    assert [(line["before"], line["after"]) for line in told["lines"]] == [(4, 4), (6, None)]
    changes = {change["label"]: (change["before"], change["after"]) for change in told["lines"][0]["changes"]}
    assert changes == {"Outside diameter": ("60 mm", "80 mm"), "Length": ("120 mm", "100 mm")}
    text = intake.browser.get(f"/builds/{intake.build_id}/designs/{copy}").text
    assert "2 pieces differ from Bought elbow" in text
    assert page_of(intake, intake.design_id)["difference"] is None


# Patterns


def test_an_old_part_as_a_pattern_is_checked_but_never_chosen(intake: IntakeBuild) -> None:
    pattern = new_pattern(intake, start_from=str(intake.design_id))
    page = page_of(intake, pattern)
    assert page["pattern"]
    assert page["open_checks"]
    answer = at(intake, pattern, "/choice", because="it fitted once")
    assert answer.status_code == 422
    assert "never built" in answer.text
    assert "can&#39;t be chosen" in answer.text
    assert page_of(intake, intake.design_id)["chosen"]


def test_a_pattern_alone_leaves_its_subsystem_without_a_design_and_the_first_copy_is_chosen(
    intake: IntakeBuild,
) -> None:
    intake.post("/choice", withdraw="on", because="Starting over from the old pipe.")
    pattern = new_pattern(intake)
    intake.post("/removal")
    subsystems = intake.browser.get_json(f"/builds/{intake.build_id}/subsystems")["subsystems"]
    assert subsystems[0]["verdict"] is None
    copy = stored(at(intake, pattern, "/copy", copy_name="From the old pipe"))
    assert page_of(intake, copy)["chosen"]


def test_a_chosen_design_does_not_become_a_pattern(intake: IntakeBuild) -> None:
    version = str(page_of(intake, intake.design_id)["settings"]["version"])
    answer = intake.post("", name="Kept as typed", version=version, pattern="on")
    assert answer.status_code == 422
    assert "Kept as typed" in answer.text
    assert "This design is chosen to be built" in answer.text
    assert not page_of(intake, intake.design_id)["pattern"]


# Choice taken back, set aside, put back


def test_a_choice_is_taken_back_with_a_reason_that_the_log_keeps(intake: IntakeBuild) -> None:
    refused = intake.post("/choice", withdraw="on")
    assert refused.status_code == 422
    assert "Reason is missing" in refused.text
    assert page_of(intake, intake.design_id)["chosen"]
    intake.post("/choice", withdraw="on", because="The elbow is no longer made.")
    page = page_of(intake, intake.design_id)
    assert (page["chosen"], page["no_longer"]) == (False, "The elbow is no longer made.")
    copy = copy_of(intake)
    at(intake, copy, "/choice", because="Shorter.", no_go_known="on")
    assert "No longer chosen: Bought elbow. The elbow is no longer made." in log_text(intake)
    assert "Chosen: Bought elbow, a copy. Shorter." in log_text(intake)


def test_a_design_is_set_aside_and_put_back(intake: IntakeBuild) -> None:
    refused = intake.post("/removal")
    assert refused.status_code == 422
    assert "say first that it is no longer chosen" in refused.text
    copy = copy_of(intake, "Not this one")
    assert number_in(at(intake, copy, "/removal").headers["location"]) == copy
    assert [design["name"] for design in subsystem(intake)["designs"]] == ["Bought elbow"]
    assert "Put it back" in intake.browser.get(f"/builds/{intake.build_id}/designs/{copy}").text
    assert "Set aside: Not this one" in log_text(intake)
    assert at(intake, copy, "/choice", because="after all").status_code == 422
    at(intake, copy, "/return")
    assert [design["name"] for design in subsystem(intake)["designs"]] == ["Bought elbow", "Not this one"]
    assert "Set aside" not in log_text(intake)


def test_a_design_of_a_subsystem_that_is_set_aside_can_still_be_looked_at(intake: IntakeBuild) -> None:
    address = f"/builds/{intake.build_id}/subsystems/{intake.subsystem_id}"
    assert intake.browser.post(f"{address}/removal", {}).status_code == 303
    assert intake.browser.get(address).status_code == 200
    assert len(page_of(intake, intake.design_id)["pieces"]) == 7


def test_a_design_page_costs_no_more_queries_whatever_is_on_its_run(
    intake: IntakeBuild, engine: Engine
) -> None:
    address = f"/builds/{intake.build_id}/designs/{copy_of(intake)}"
    with counting(engine) as before:
        intake.browser.get(address)
    for number in range(10):
        intake.browser.post(f"/builds/{intake.build_id}/parts", {"name": f"Part {number}", "origin": "buy"})
        intake.browser.post(f"{address}/pieces", {"kind": "tube", "outside_diameter": "80", "length": "40"})
    with counting(engine) as after:
        intake.browser.get(address)
    # What the writes did not touch is still kept: fewer, not more.
    assert len(after) <= len(before) <= 18
