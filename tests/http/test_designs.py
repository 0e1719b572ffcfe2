"""A run edited piece by piece: what is stored, what is answered, what is refused."""

import re

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from server.features.runs.tables import Piece
from tests.asking import fresh_key
from tests.http.intake_build import IntakeBuild, make_build, make_port

ELBOW, NARROW_TUBE = 2, 3
TUBE = {"kind": "tube", "wall": "2", "length": "120", "inlet_end": "bead", "outlet_end": "bead"}
IN_PAGE = {"hx-request": "true", "hx-target": "answers"}


def version_of(intake: IntakeBuild, piece_id: int) -> str:
    page = intake.browser.get_json(f"{intake.design}?piece={piece_id}")
    return str(page["editor"]["version"])


def names(intake: IntakeBuild) -> list[int]:
    return [piece["id"] for piece in intake.browser.get_json(intake.design)["pieces"]]


def test_a_narrow_tube_is_a_no_go_that_says_its_cure_and_the_cure_turns_it_to_go(
    intake: IntakeBuild,
) -> None:
    page = intake.browser.get_json(intake.design)
    bore = next(line for line in page["open_checks"] if line["code"] == "bore-held")
    assert bore["verdict"]["word"] == "no-go"
    assert "Tube (4)" in bore["why"]
    cured = float(re.findall(r"bore of ([\d.]+) mm", bore["cure"])[0])

    narrow = intake.pieces[NARROW_TUBE]
    outside = f"{cured + 4.0:.1f} mm"
    fields = TUBE | {"outside_diameter": outside, "version": version_of(intake, narrow)}
    assert intake.post(f"/pieces/{narrow}", **fields).status_code == 303
    assert intake.verdicts()["bore-held"] == "go"


def test_a_change_from_the_page_answers_every_check_in_one_fragment(intake: IntakeBuild) -> None:
    narrow = intake.pieces[NARROW_TUBE]
    fields = TUBE | {"outside_diameter": "80 mm", "version": version_of(intake, narrow)}
    answer = intake.browser.post(f"{intake.design}/pieces/{narrow}", fields, headers=IN_PAGE)
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="answers">')
    assert "<html" not in answer.text
    assert 'id="check-bore-held"' not in answer.text
    assert "Bore held" in answer.text
    assert 'form="piece-form"' in answer.text


def test_page_fragment_and_json_tell_the_same_verdicts(intake: IntakeBuild) -> None:
    whole = intake.browser.get(intake.design)
    fragment = intake.browser.get(intake.design, headers=IN_PAGE)
    told = intake.browser.get_json(intake.design)
    assert "HX-Target" in whole.headers["vary"]
    for line in told["open_checks"]:
        assert f'id="check-{line["code"]}"' in whole.text
        assert f'id="check-{line["code"]}"' in fragment.text
    restored = intake.browser.get(intake.design, headers=IN_PAGE | {"hx-history-restore-request": "true"})
    assert restored.text.startswith("<!doctype html>")


@pytest.mark.parametrize(
    ("field", "text", "accepted"),
    [
        ("outside_diameter", "as wide as a thumb", "2 1/2 in"),
        ("outside_diameter", "-80 mm", "1 to 500 mm"),
        ("outside_diameter", "80 psi", "2 1/2 in"),
        ("wall", "45 mm", "0.2 to 20 mm"),
        ("length", "9 m", "up to 5 m"),
        ("material", "unobtainium", "aluminium"),
    ],
)
def test_what_can_not_be_used_is_said_beside_its_field_and_kept(
    intake: IntakeBuild, field: str, text: str, accepted: str
) -> None:
    narrow = intake.pieces[NARROW_TUBE]
    fields = TUBE | {"outside_diameter": "60", "version": version_of(intake, narrow)} | {field: text}
    before = intake.browser.get_json(f"{intake.design}?piece={narrow}")["editor"]["sizes"]
    answer = intake.post(f"/pieces/{narrow}", **fields)
    assert answer.status_code == 422
    assert f'id="f-{field}-problem"' in answer.text
    assert accepted in answer.text
    if field != "material":
        assert f'value="{text}"' in answer.text
    assert intake.browser.get_json(f"{intake.design}?piece={narrow}")["editor"]["sizes"] == before


def test_a_second_person_is_told_and_sees_both_values(intake: IntakeBuild) -> None:
    piece = intake.pieces[1]
    version = version_of(intake, piece)
    mine = TUBE | {"outside_diameter": "80", "length": "155 mm", "version": version}
    theirs = TUBE | {"outside_diameter": "80", "length": "170 mm", "version": version}
    assert intake.post(f"/pieces/{piece}", **mine).status_code == 303
    answer = intake.post(f"/pieces/{piece}", **theirs)
    assert answer.status_code == 412
    assert "155 mm" in answer.text
    assert "170 mm" in answer.text
    saved_again = theirs | {"version": version_of(intake, piece)}
    assert intake.post(f"/pieces/{piece}", **saved_again).status_code == 303


def test_an_edit_without_a_version_is_asked_for_one(intake: IntakeBuild) -> None:
    answer = intake.post(f"/pieces/{intake.pieces[1]}", **(TUBE | {"outside_diameter": "80"}))
    assert answer.status_code == 428


def test_pieces_move_along_the_run_and_back(intake: IntakeBuild) -> None:
    first, second = intake.pieces[:2]
    intake.post(f"/pieces/{second}/move", where="earlier")
    assert names(intake)[:2] == [second, first]
    intake.post(f"/pieces/{second}/move", where="earlier")
    assert names(intake)[:2] == [second, first]
    intake.post(f"/pieces/{second}/move", where="later")
    assert names(intake) == list(intake.pieces)


def test_a_piece_taken_out_comes_back_where_it_was_with_its_side_port(intake: IntakeBuild) -> None:
    piece = intake.pieces[NARROW_TUBE]
    intake.post(f"/pieces/{piece}/removal")
    assert piece not in names(intake)
    page = intake.browser.get_json(intake.design)
    assert [item["id"] for item in page["removed"]] == [piece]
    assert "Put it back" in intake.browser.get(intake.design).text
    intake.post(f"/pieces/{piece}/return")
    assert names(intake) == list(intake.pieces)
    assert intake.browser.get_json(f"{intake.design}?piece={piece}")["editor"]["bungs"]


def test_a_new_piece_goes_after_the_one_it_was_asked_after(intake: IntakeBuild) -> None:
    after = str(intake.pieces[0])
    intake.post("/pieces", **(TUBE | {"outside_diameter": "80", "after": after}))
    order = names(intake)
    assert len(order) == 8
    assert order[0] == intake.pieces[0]
    assert order[1] not in intake.pieces


def test_the_form_for_a_new_piece_starts_with_the_sizes_of_the_one_before(intake: IntakeBuild) -> None:
    page = intake.browser.get_json(f"{intake.design}?add=tube&after={intake.pieces[1]}")
    sizes = {size["name"]: size["text"] for size in page["new_piece"]["sizes"]}
    assert sizes["outside_diameter"] == "80"
    assert sizes["length"] == ""


def test_the_same_new_piece_sent_five_times_at_once_is_stored_once(
    intake: IntakeBuild, engine: Engine
) -> None:
    fields = TUBE | {"outside_diameter": "80", "operation_key": fresh_key()}
    answers = intake.browser.post_at_once(f"{intake.design}/pieces", fields, 5)
    assert {answer.status_code for answer in answers} == {303}
    assert len({answer.headers["location"] for answer in answers}) == 1
    with Session(engine) as session:
        rows = session.exec(select(Piece).where(Piece.design_id == intake.design_id)).all()
    assert len(rows) == 8


def test_a_side_port_beyond_the_end_of_its_piece_is_refused(intake: IntakeBuild) -> None:
    answer = intake.post(
        f"/pieces/{intake.pieces[1]}/bungs", at="300", bore="19", fixing="welded", name="Gauge"
    )
    assert answer.status_code == 422
    assert "0 to 150 mm" in answer.text


def test_an_unplaced_line_is_a_no_go_until_its_side_port_is_back(intake: IntakeBuild) -> None:
    assert intake.verdicts()["side-ports"] == "go"
    editor = intake.browser.get_json(f"{intake.design}?piece={intake.pieces[1]}")["editor"]
    intake.post(f"/bungs/{editor['bungs'][0]['id']}/removal")
    assert intake.verdicts()["side-ports"] == "no-go"


def test_a_performance_check_can_be_conceded_with_a_reason_and_taken_back(intake: IntakeBuild) -> None:
    assert intake.post("/concessions", rule="bore-held").status_code == 422
    intake.post("/concessions", rule="bore-held", reason="The long elbow is out of stock until spring.")
    page = intake.browser.get_json(intake.design)
    line = next(item for item in page["open_checks"] if item["code"] == "bore-held")
    assert line["verdict"]["word"] == "no-go"
    assert line["conceded"] == "The long elbow is out of stock until spring."
    intake.post("/concessions", rule="bore-held", withdraw="on")
    page = intake.browser.get_json(intake.design)
    assert not next(item for item in page["open_checks"] if item["code"] == "bore-held")["conceded"]


def test_concessions_are_counted_beside_what_is_open(intake: IntakeBuild) -> None:
    intake.post("/concessions", rule="bore-held", reason="The long elbow is out of stock until spring.")
    assert intake.browser.get_json(intake.design)["counts"].endswith("1 conceded")


def line_of(intake: IntakeBuild, code: str) -> dict[str, str]:
    page = intake.browser.get_json(intake.design)
    found: dict[str, str] = next(item for item in page["open_checks"] if item["code"] == code)
    return found


def test_what_a_check_misses_is_one_tap_away(intake: IntakeBuild) -> None:
    build = f"/builds/{intake.build_id}"
    editor = intake.browser.get_json(f"{intake.design}?piece={intake.pieces[0]}")["editor"]
    joint = editor["joints"][0]
    fields = {"kind": "hose and clamp", "clamp": "", "version": str(joint["version"])}
    assert intake.post(f"/joints/{joint['id']}", **fields).status_code == 303
    href = line_of(intake, "clamp")["cure_href"]
    assert href == f"?piece={intake.pieces[0]}#j-kind-{joint['id']}"
    assert f'id="j-kind-{joint["id"]}"' in intake.browser.get(intake.design + href.split("#")[0]).text

    port = f"{build}/ports/{intake.ports['compressor']}"
    spigot = {"name": "Compressor inlet", "role": "run end", "shape": "spigot", "end_form": "plain"}
    version = str(intake.browser.get_json(port)["version"])
    assert intake.browser.post(port, spigot | {"version": version}).status_code == 303
    assert line_of(intake, "bead")["cure_href"] == f"{port}#port-end_form"
    assert 'id="port-end_form"' in intake.browser.get(port).text

    breather = f"{build}/ports/{intake.ports['breather']}"
    reading = intake.browser.get_json(breather)["readings"][0]["id"]
    intake.browser.post(f"{breather}/readings/{reading}/withdrawal", {"to": "withdrawn"})
    assert line_of(intake, "side-ports")["cure_href"] == f"{breather}?measure=bore"


def test_a_hose_does_not_take_the_wall_of_the_tube_before_it(intake: IntakeBuild) -> None:
    page = intake.browser.get_json(f"{intake.design}?add=coupler&after={intake.pieces[1]}")
    assert {size["name"]: size["text"] for size in page["new_piece"]["sizes"]}["wall"] == ""


def test_a_check_that_guards_against_injury_takes_no_concession(intake: IntakeBuild) -> None:
    answer = intake.post("/concessions", rule="side-ports", reason="I will be careful.")
    assert answer.status_code == 422


def test_a_joint_keeps_its_clamp_and_asks_where_a_holding_force_comes_from(intake: IntakeBuild) -> None:
    editor = intake.browser.get_json(f"{intake.design}?piece={intake.pieces[0]}")["editor"]
    joint = editor["joints"][0]
    fields = {
        "kind": "hose and clamp",
        "clamp": "T-bolt",
        "clamp_least": "86 mm",
        "clamp_most": "94 mm",
        "overlap": "30 mm",
        "version": str(joint["version"]),
    }
    refused = intake.post(f"/joints/{joint['id']}", **fields, holds="900 N")
    assert refused.status_code == 422
    assert "own pull test" in refused.text
    assert intake.post(f"/joints/{joint['id']}", **fields).status_code == 303
    editor = intake.browser.get_json(f"{intake.design}?piece={intake.pieces[0]}")["editor"]
    assert editor["joints"][0]["clamp"] == "T-bolt"
    assert {size["name"]: size["text"] for size in editor["joints"][0]["sizes"]}["clamp_least"] == "86 mm"


def test_designs_of_another_build_are_not_there(intake: IntakeBuild) -> None:
    other = make_build(intake.browser, "Another")
    assert intake.browser.get(f"/builds/{other}/designs/{intake.design_id}").status_code == 404
    address = f"/builds/{other}/designs/{intake.design_id}/pieces/{intake.pieces[0]}/removal"
    assert intake.browser.post(address, {}).status_code == 404


def test_the_subsystem_shows_its_designs_side_by_side_and_keeps_the_reason_for_the_chosen_one(
    intake: IntakeBuild,
) -> None:
    subsystem = f"/builds/{intake.build_id}/subsystems/{intake.subsystem_id}"
    intake.browser.post(f"{subsystem}/designs", {"name": "Cut-down pipe"})
    page = intake.browser.get_json(subsystem)
    assert [design["name"] for design in page["designs"]] == ["Bought elbow", "Cut-down pipe"]
    assert page["designs"][0]["chosen"]
    second = page["designs"][1]["id"]
    choice = {"because": "It is on the shelf already."}
    intake.browser.post(f"/builds/{intake.build_id}/designs/{second}/choice", choice)
    page = intake.browser.get_json(subsystem)
    assert [design["chosen"] for design in page["designs"]] == [False, True]
    assert page["designs"][1]["chosen_because"] == "It is on the shelf already."
    assert {port["name"] for port in page["side_ports"]} == {"Crankcase breather", "Bypass return"}


def test_a_piece_swapped_for_another_kind_keeps_the_sizes_that_both_have(intake: IntakeBuild) -> None:
    tube = intake.pieces[1]
    answer = intake.post(f"/pieces/{tube}/swap", kind="bend", version=version_of(intake, tube))
    assert answer.status_code == 303
    editor = intake.browser.get_json(f"{intake.design}?piece={tube}")["editor"]
    sizes = {size["name"]: size["text"] for size in editor["sizes"]}
    assert editor["kind"] == "bend"
    assert (sizes["outside_diameter"], sizes["wall"], sizes["bend_angle"]) == ("80", "2", "")
    assert editor["bungs"]

    answer = intake.post(f"/pieces/{tube}/swap", kind="coupler", version=str(editor["version"]))
    editor = intake.browser.get_json(f"{intake.design}?piece={tube}")["editor"]
    assert (editor["kind"], editor["material"], editor["inlet_end"]) == ("coupler", "silicone", "cuff")


def test_a_joint_takes_everything_from_the_joint_before_it(intake: IntakeBuild) -> None:
    second = intake.pieces[1]
    joints = intake.browser.get_json(f"{intake.design}?piece={second}")["editor"]["joints"]
    clamp = {
        "kind": "hose and clamp",
        "clamp": "T-bolt",
        "clamp_least": "3 1/2 in",
        "clamp_most": "100",
        "overlap": "30",
    }
    intake.post(f"/joints/{joints[0]['id']}", **clamp, version=str(joints[0]["version"]))
    address = f"/joints/{joints[1]['id']}/copy"
    answer = intake.post(address, version=str(joints[1]["version"]), piece=str(second))
    assert answer.status_code == 303
    copied = intake.browser.get_json(f"{intake.design}?piece={second}")["editor"]["joints"][1]
    assert copied["clamp"] == "T-bolt"
    assert {size["name"]: size["text"] for size in copied["sizes"]}["clamp_least"] == "3 1/2 in"
    assert intake.post(address, version=str(joints[1]["version"])).status_code == 412

    first = intake.browser.get_json(f"{intake.design}?piece={intake.pieces[0]}")["editor"]["joints"][0]
    assert intake.post(f"/joints/{first['id']}/copy", version=str(first["version"])).status_code == 422


def test_a_bore_taken_by_feel_is_asked_for_again_with_a_caliper(intake: IntakeBuild) -> None:
    narrow = intake.pieces[NARROW_TUBE]
    fields = TUBE | {"outside_diameter": "80", "version": version_of(intake, narrow)}
    intake.post(f"/pieces/{narrow}", **fields)
    port = make_port(
        intake.browser,
        intake.build_id,
        {},
        name="Stub by feel",
        role="run end",
        shape="spigot",
        end_form="bead",
    )
    for dimension, text in (("outside_diameter", "80 mm"), ("wall", "2 mm")):
        felt = {"dimension": dimension, "reading": text, "instrument": "feel"}
        intake.browser.post(f"/builds/{intake.build_id}/ports/{port}/readings", felt)
    page = intake.browser.get_json(intake.design)
    ends = {"start_port_id": str(port), "end_port_id": str(intake.ports["compressor"])}
    version = str(page["settings"]["version"])
    intake.browser.post(intake.design, {"name": "By feel", "version": version, **ends})
    lines = intake.browser.get_json(intake.design)["open_checks"]
    advice = " ".join(f"{line['cure']} {line['settles']}" for line in lines)
    assert "again with a caliper instead of by feel" in advice


def test_what_the_loss_costs_has_as_many_figures_as_its_doubt_leaves(intake: IntakeBuild) -> None:
    """JCGM 100:2008, 7.2.6. For one relative doubt the figures differ by one where it begins with 1 or 2."""
    narrow = intake.pieces[NARROW_TUBE]
    fields = TUBE | {"outside_diameter": "80 mm", "version": version_of(intake, narrow)}
    intake.post(f"/pieces/{narrow}", **fields)
    flow = intake.browser.get_json(intake.design)["flow"]
    loss, *costs = (
        text.split()[0] for text in (flow["loss"]["text"], flow["boost_cost"], flow["power_cost"])
    )
    assert "±" in flow["loss"]["text"]
    for cost in costs:
        assert abs(figures(cost) - figures(loss)) <= 1, cost


def figures(number: str) -> int:
    return len(number.replace(".", "").lstrip("0"))
