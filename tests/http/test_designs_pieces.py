"""Pieces that are not bought new: where they come from, offering them up, shortening a bought pipe."""

import re
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from server.features.parts.tables import OffCut
from tests.asking import Browser
from tests.http.intake_build import IntakeBuild, make_build, stored

FIRST_TUBE = 1
"""Of 150 mm, 80 mm outside, with the breather's port 60 mm from its inlet face."""
COUPLER_PIECE = 0
NARROW_TUBE = 3


def editor(intake: IntakeBuild, piece_id: int) -> dict[str, Any]:
    found: dict[str, Any] = intake.browser.get_json(f"{intake.design}?piece={piece_id}")["editor"]
    return found


def resent(shown: dict[str, Any], **changes: str) -> dict[str, str]:
    """A piece's form as the browser would send it again, with some fields changed."""
    sizes = {size["name"]: size["text"] for size in shown["sizes"]}
    named = {name: shown[name] for name in ("material", "inlet_end", "outlet_end", "known_by", "name")}
    more = {name: shown["more"][name] for name in ("origin", "part_id", "offered", "offered_note", "liner")}
    flags = {"reinforced": "on"} if shown["reinforced"] else {}
    return {**sizes, **named, **more, **flags, "version": str(shown["version"]), **changes}


def sizes_of(shown: dict[str, Any]) -> dict[str, str]:
    return {size["name"]: size["text"] for size in shown["sizes"]}


def lines(intake: IntakeBuild) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = intake.browser.get_json(intake.design)["pieces"]
    return found


def test_a_mock_up_is_told_in_the_list_and_drawn_in_wide_dashes(intake: IntakeBuild) -> None:
    piece = intake.pieces[COUPLER_PIECE]
    told = {"origin": "mock-up", "offered": "touches", "offered_note": "touches the strut by a finger"}
    assert intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), **told)).status_code == 303
    page = intake.browser.get(f"{intake.design}?piece={piece}").text
    assert "mock-up, offered up: it touches, bore 80 mm" in page
    assert 'class="wall hose mock-up' in page
    assert "Piece 1 is a mock-up" in page
    assert 'value="touches the strut by a finger"' in page


def test_a_form_that_does_not_ask_where_a_piece_comes_from_leaves_it_as_it_was(intake: IntakeBuild) -> None:
    piece = intake.pieces[COUPLER_PIECE]
    intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), origin="in the garage"))
    fields = resent(editor(intake, piece))
    del fields["origin"]
    assert intake.post(f"/pieces/{piece}", **fields).status_code == 303
    assert editor(intake, piece)["more"]["origin"] == "in the garage"


def test_a_salvaged_pipe_is_salvaged_from_the_start_and_never_to_be_bought_new(intake: IntakeBuild) -> None:
    piece = stored(intake.post("/pieces", kind="salvaged pipe", outside_diameter="80", length="200"))
    more = editor(intake, piece)["more"]
    assert more["origin"] == "salvaged"
    assert "new" not in [value for value, _ in more["origins"]]


def test_a_part_of_the_list_can_be_linked_and_what_trying_it_on_showed_is_told(intake: IntakeBuild) -> None:
    build = f"/builds/{intake.build_id}"
    part = {"name": "Elbow off another model", "origin": "borrowed", "tried": "does not"}
    intake.browser.post(f"{build}/parts", part)
    piece = intake.pieces[COUPLER_PIECE]
    choices = intake.browser.get_json(f"{intake.design}?piece={piece}")["choices"]["parts"]
    number = next(value for value, name in choices if name == "Elbow off another model")
    fields = resent(editor(intake, piece), part_id=number, origin="borrowed")
    assert intake.post(f"/pieces/{piece}", **fields).status_code == 303
    assert "borrowed (does not)" in intake.browser.get(intake.design).text

    refused = intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), part_id="9999", name="Kept"))
    assert refused.status_code == 422
    assert 'id="f-part_id-problem"' in refused.text
    assert 'value="Kept"' in refused.text
    assert editor(intake, piece)["more"]["part_id"] == number


def test_a_part_of_another_build_can_not_be_linked(intake: IntakeBuild) -> None:
    other = make_build(intake.browser, "Another")
    intake.browser.post(f"/builds/{other}/parts", {"name": "Elsewhere", "origin": "buy"})
    piece = intake.pieces[COUPLER_PIECE]
    offered = intake.browser.get_json(f"{intake.design}?piece={piece}")["choices"]["parts"]
    assert offered == [["", "none"]]
    assert intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), part_id="1")).status_code == 422


def test_two_people_who_say_where_a_piece_comes_from_see_both_answers(intake: IntakeBuild) -> None:
    piece = intake.pieces[COUPLER_PIECE]
    shown = editor(intake, piece)
    assert intake.post(f"/pieces/{piece}", **resent(shown, origin="salvaged")).status_code == 303
    answer = intake.post(f"/pieces/{piece}", **resent(shown, origin="borrowed"))
    assert answer.status_code == 412
    assert "Where it comes from</td><td>salvaged</td><td>borrowed" in answer.text


def test_a_flex_keeps_its_travel_its_liner_and_what_holds_it(intake: IntakeBuild) -> None:
    flex = {"kind": "flex", "bore": "76", "length": "150", "travel": "1 in", "liner": "downstream"}
    piece = stored(intake.post("/pieces", **flex, supported="on"))
    shown = editor(intake, piece)
    assert sizes_of(shown)["travel"] == "1 in"
    assert (shown["more"]["liner"], shown["more"]["supported"]) == ("downstream", True)
    assert intake.post("/pieces", **(flex | {"travel": "3 m"})).status_code == 422
    intake.post(f"/pieces/{piece}/swap", kind="tube", version=str(shown["version"]))
    assert editor(intake, piece)["more"]["liner"] == ""


def test_a_weld_keeps_its_filler_of_the_list_or_typed(intake: IntakeBuild) -> None:
    piece = intake.pieces[FIRST_TUBE]

    def joint() -> dict[str, Any]:
        found: dict[str, Any] = editor(intake, piece)["joints"][1]
        return found

    def post(**fields: str) -> int:
        version = str(joint()["version"])
        return intake.post(f"/joints/{joint()['id']}", kind="weld", version=version, **fields).status_code

    assert post(filler="308L") == 303
    assert (joint()["words"], joint()["filler"]) == ("weld, 308L", "308L")
    assert post(filler="other") == 422
    assert post(filler="other", filler_other="310") == 303
    assert (joint()["words"], joint()["filler"], joint()["filler_other"]) == ("weld, 310", "other", "310")


# Shortening


def cut(intake: IntakeBuild, piece: int, **fields: str) -> Any:
    return intake.post(f"/pieces/{piece}/cut", version=str(editor(intake, piece)["version"]), **fields)


def halves(intake: IntakeBuild) -> list[int]:
    return [line["id"] for line in lines(intake)]


def make_long_tube(intake: IntakeBuild) -> int:
    """A bought pipe of 500 mm with a gauge port 400 mm along, after the first tube."""
    tube = {"kind": "tube", "outside_diameter": "80", "wall": "2", "length": "500 mm", "name": "Bought pipe"}
    fields = {**tube, "inlet_end": "bead", "outlet_end": "bead", "after": str(intake.pieces[FIRST_TUBE])}
    piece = stored(intake.post("/pieces", **fields))
    intake.post(f"/pieces/{piece}/bungs", name="Gauge", at="400", bore="10", fixing="welded")
    return piece


def test_a_pipe_shortened_by_a_weld_becomes_two_and_keeps_its_side_port(intake: IntakeBuild) -> None:
    piece = make_long_tube(intake)
    assert cut(intake, piece, cut_at="100 mm", take_out="6 in", join="weld").status_code == 303
    order = halves(intake)
    other = order[order.index(piece) + 1]
    first, second = editor(intake, piece), editor(intake, other)
    assert (sizes_of(first)["length"], sizes_of(second)["length"]) == ("100", "247.6")
    assert (first["outlet_end"], second["inlet_end"]) == ("weld", "weld")
    assert (first["inlet_end"], second["outlet_end"]) == ("bead", "bead")
    assert first["bungs"] == []
    assert [bung["at"]["si"] for bung in second["bungs"]] == pytest.approx([0.2476 - 0.1])
    assert first["joints"][1]["kind"] == "weld"
    assert "cut from a longer pipe" in lines(intake)[order.index(other)]["detail"]
    assert "Cut from a pipe of 500 mm" in intake.browser.get(f"{intake.design}?piece={other}").text


def test_a_pipe_shortened_by_a_coupler_gets_one_between_two_beaded_ends(intake: IntakeBuild) -> None:
    piece = make_long_tube(intake)
    long = intake.browser.get_json(intake.design)["drawing"]["length"]
    assert cut(intake, piece, cut_at="45", take_out="100", join="coupler").status_code == 303
    order = halves(intake)
    coupler, other = order[order.index(piece) + 1 :][:2]
    shown = editor(intake, coupler)
    assert (shown["kind"], sizes_of(shown)["bore"], sizes_of(shown)["length"]) == ("coupler", "80", "76")
    assert [sizes["text"] for joint in shown["joints"] for sizes in joint["sizes"]].count("32 mm") == 2
    assert editor(intake, other)["inlet_end"] == "bead"
    short = intake.browser.get_json(intake.design)["drawing"]["length"]
    by = float(re.findall(r"[\d.]+", long)[0]) - float(re.findall(r"[\d.]+", short)[0])
    assert by == pytest.approx(100.0 - 12.0, abs=1.5)
    assert "many rollers want about 50 mm" in intake.browser.get(f"{intake.design}?piece={piece}").text


@pytest.mark.parametrize("join", ["weld", "coupler"])
def test_a_cut_pipe_can_be_made_whole_again_from_either_half(intake: IntakeBuild, join: str) -> None:
    piece = make_long_tube(intake)
    before, order = editor(intake, piece), halves(intake)
    for half in (0, -1):
        cut(intake, piece, cut_at="100", take_out="150", join=join)
        place = halves(intake).index(piece)
        either = halves(intake)[place : place + (2 if join == "weld" else 3)][half]
        version = str(editor(intake, either)["version"])
        assert intake.post(f"/pieces/{either}/whole", version=version).status_code == 303
        after = editor(intake, piece)
        assert halves(intake) == order
        assert sizes_of(after) == sizes_of(before)
        assert [bung["at"] for bung in after["bungs"]] == [bung["at"] for bung in before["bungs"]]
        assert (after["inlet_end"], after["outlet_end"]) == ("bead", "bead")
        joints = [(joint["id"], joint["kind"]) for joint in after["joints"]]
        assert joints == [(joint["id"], joint["kind"]) for joint in before["joints"]]
        assert not after["cut"]["was_cut"]


def test_what_came_out_of_a_part_of_the_list_goes_on_the_shelf_once_it_is_cut(
    intake: IntakeBuild, engine: Engine
) -> None:
    def shelf() -> list[tuple[float, str]]:
        with Session(engine) as session:
            return [(row.length, row.note) for row in session.exec(select(OffCut))]

    intake.browser.post(f"/builds/{intake.build_id}/parts", {"name": "80 mm tube", "origin": "buy"})
    piece = make_long_tube(intake)
    choices = intake.browser.get_json(f"{intake.design}?piece={piece}")["choices"]["parts"]
    number = next(value for value, name in choices if name == "80 mm tube")
    intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), part_id=number))
    cut(intake, piece, cut_at="100", take_out="150", join="weld")
    assert shelf() == []
    intake.post(f"/pieces/{piece}/whole", version=str(editor(intake, piece)["version"]))
    cut(intake, piece, cut_at="100", take_out="150", join="weld", to_shelf="on")
    assert [note for _, note in shelf()] == ["out of Bought pipe"]
    assert shelf()[0][0] == pytest.approx(0.15)
    intake.post(f"/pieces/{piece}/whole", version=str(editor(intake, piece)["version"]))
    assert shelf() == []


def test_a_side_port_in_the_way_is_refused_with_where_to_cut_instead(intake: IntakeBuild) -> None:
    piece = intake.pieces[FIRST_TUBE]
    order = halves(intake)
    answer = cut(intake, piece, cut_at="50 mm", take_out="20 mm", join="weld")
    assert answer.status_code == 422
    assert "Crankcase breather stands there" in answer.text
    assert "a first cut at 10 mm to 15.5 mm or 84.5 mm to 120 mm from the inlet face" in answer.text
    assert 'value="50 mm"' in answer.text
    assert 'value="20 mm"' in answer.text
    assert halves(intake) == order


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"cut_at": "", "take_out": "20", "join": "weld"}, "First cut is missing"),
        ({"cut_at": "80", "take_out": "much", "join": "weld"}, "c-take_out-problem"),
        ({"cut_at": "80", "take_out": "20", "join": "glue"}, "weld, coupler"),
        ({"cut_at": "20", "take_out": "900", "join": "weld"}, "can come out of this pipe"),
    ],
)
def test_a_cut_that_can_not_be_read_or_made_says_what_would_do(
    intake: IntakeBuild, fields: dict[str, str], said: str
) -> None:
    answer = cut(intake, intake.pieces[FIRST_TUBE], **fields)
    assert answer.status_code == 422
    assert said in answer.text
    assert len(halves(intake)) == 7


def test_a_hose_is_not_shortened_this_way(intake: IntakeBuild) -> None:
    piece = intake.pieces[COUPLER_PIECE]
    assert not editor(intake, piece)["cut"]["possible"]
    assert cut(intake, piece, cut_at="30", take_out="10", join="weld").status_code == 422


def test_a_cut_on_what_somebody_else_changed_is_not_made(intake: IntakeBuild) -> None:
    piece = make_long_tube(intake)
    fields = {
        "cut_at": "100",
        "take_out": "50",
        "join": "weld",
        "version": str(editor(intake, piece)["version"]),
    }
    intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), name="Renamed"))
    assert intake.post(f"/pieces/{piece}/cut", **fields).status_code == 412
    assert len(halves(intake)) == 8
    del fields["version"]
    assert intake.post(f"/pieces/{piece}/cut", **fields).status_code == 428


def test_a_pipe_cut_twice_is_made_whole_last_cut_first(intake: IntakeBuild) -> None:
    piece = make_long_tube(intake)
    cut(intake, piece, cut_at="100", take_out="50", join="weld")
    other = halves(intake)[halves(intake).index(piece) + 1]
    cut(intake, other, cut_at="100", take_out="20", join="weld")
    answer = intake.post(f"/pieces/{piece}/whole", version=str(editor(intake, piece)["version"]))
    assert answer.status_code == 422
    assert "make the later cut whole first" in answer.text
    for half in (other, piece):
        version = str(editor(intake, half)["version"])
        assert intake.post(f"/pieces/{half}/whole", version=version).status_code == 303
    assert sizes_of(editor(intake, piece))["length"] == "500 mm"


def test_a_size_put_right_after_the_cut_does_not_take_the_way_back(intake: IntakeBuild) -> None:
    piece = make_long_tube(intake)
    cut(intake, piece, cut_at="100", take_out="50", join="weld")
    other = halves(intake)[halves(intake).index(piece) + 1]
    intake.post(f"/pieces/{other}", **resent(editor(intake, other), length="340"))
    intake.post(f"/pieces/{other}/whole", version=str(editor(intake, other)["version"]))
    assert sizes_of(editor(intake, piece))["length"] == "500 mm"


def test_a_bend_is_cut_in_its_leg_and_the_straight_half_is_a_tube(intake: IntakeBuild) -> None:
    bend = {"kind": "bend", "outside_diameter": "80", "wall": "2", "bend_angle": "90", "bend_radius": "120"}
    piece = stored(intake.post("/pieces", **bend, length="300", length_out="100", roll="30"))
    assert cut(intake, piece, cut_at="290", take_out="50", join="coupler").status_code == 422
    assert cut(intake, piece, cut_at="100", take_out="50", join="weld").status_code == 303
    other = halves(intake)[-1]
    first, second = editor(intake, piece), editor(intake, other)
    assert (first["kind"], sizes_of(first)["length"]) == ("tube", "100")
    assert (second["kind"], sizes_of(second)["length"], sizes_of(second)["roll"]) == ("bend", "150", "30")
    intake.post(f"/pieces/{other}/whole", version=str(second["version"]))
    assert editor(intake, piece)["kind"] == "bend"
    assert sizes_of(editor(intake, piece))["roll"] == "30"


def test_no_rubber_joins_the_halves_of_an_exhaust_pipe(browser: Browser) -> None:
    build = make_build(browser)
    subsystem = stored(browser.post(f"/builds/{build}/subsystems", {"kind": "downpipe"}))
    design = stored(browser.post(f"/builds/{build}/subsystems/{subsystem}/designs", {"name": "Bought pipe"}))
    address = f"/builds/{build}/designs/{design}"
    tube = {"kind": "tube", "outside_diameter": "76", "wall": "1.5", "length": "500"}
    piece = stored(browser.post(f"{address}/pieces", tube))
    assert browser.get_json(f"{address}?piece={piece}")["choices"]["joins"] == ["weld"]
    fields = {"cut_at": "100", "take_out": "50", "join": "coupler", "version": "1"}
    assert browser.post(f"{address}/pieces/{piece}/cut", fields).status_code == 422


def test_a_size_changed_in_place_does_not_make_the_other_forms_of_the_piece_stale(
    intake: IntakeBuild,
) -> None:
    piece = make_long_tube(intake)
    headers = {"hx-request": "true", "hx-target": "answers"}
    fields = resent(editor(intake, piece), length="480")
    answer = intake.browser.post(f"{intake.design}/pieces/{piece}", fields, headers=headers)
    for form in ("piece-form", "swap-form", "cut-form"):
        version = re.findall(rf'name="version" value="(\d+)" form="{form}"', answer.text)
        assert version == [str(editor(intake, piece)["version"])]


def test_a_pipe_is_made_whole_though_its_other_half_or_its_coupler_was_taken_out(intake: IntakeBuild) -> None:
    piece = make_long_tube(intake)
    order = halves(intake)
    for taken in (1, 2):
        cut(intake, piece, cut_at="100", take_out="150", join="coupler")
        place = halves(intake).index(piece)
        intake.post(f"/pieces/{halves(intake)[place + taken]}/removal")
        version = str(editor(intake, piece)["version"])
        assert intake.post(f"/pieces/{piece}/whole", version=version).status_code == 303
        assert halves(intake) == order
        assert intake.browser.get_json(intake.design)["removed"] == []
        assert [bung["name"] for bung in editor(intake, piece)["bungs"]] == ["Gauge"]


def test_a_piece_that_was_never_cut_has_no_way_back(intake: IntakeBuild) -> None:
    piece = intake.pieces[FIRST_TUBE]
    answer = intake.post(f"/pieces/{piece}/whole", version=str(editor(intake, piece)["version"]))
    assert answer.status_code == 422
    assert not editor(intake, piece)["cut"]["was_cut"]


def test_what_a_cure_puts_in_place_of_a_pipe_that_is_there_is_to_be_bought(intake: IntakeBuild) -> None:
    piece = intake.pieces[NARROW_TUBE]
    old = {"origin": "in the garage", "known_by": "measured", "name": "Tube of the old kit"}
    intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), **old))
    page = intake.browser.get_json(intake.design)
    cured = next(line for line in page["open_checks"] if line["code"] == "bore-held")
    assert cured["cure"].endswith("in place of Tube of the old kit (4).")
    assert cured["cure_href"] == f"?piece={piece}#swap-kind"
    version = str(editor(intake, piece)["version"])
    assert intake.post(f"/pieces/{piece}/swap", kind="tube", anew="on", version=version).status_code == 303
    another = editor(intake, piece)
    assert (another["more"]["origin"], another["known_by"], another["name"]) == ("new", "as sold", "")
    outside = re.findall(r"\(([\d.]+ mm) outside\)", cured["cure"])[0]
    intake.post(f"/pieces/{piece}", **resent(another, outside_diameter=outside))
    assert intake.verdicts()["bore-held"] == "go"
