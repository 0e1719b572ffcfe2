"""What a joint begins as, and what a new piece takes over from the one before it."""

from typing import Any

from tests.http.intake_build import IntakeBuild, stored
from tests.http.test_designs_pieces import COUPLER_PIECE, FIRST_TUBE, editor, resent, sizes_of


def joints(intake: IntakeBuild, piece_id: int) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = editor(intake, piece_id)["joints"]
    return found


WELD_ENDS = {"inlet_end": "weld", "outlet_end": "weld"}


def test_two_weld_ends_are_welded_until_somebody_says_otherwise(intake: IntakeBuild) -> None:
    tube = intake.pieces[FIRST_TUBE]
    assert [one["kind"] for one in joints(intake, tube)] == ["hose and clamp", "hose and clamp"]
    intake.post(f"/pieces/{tube}", **resent(editor(intake, tube), outlet_end="weld"))
    bend = {"kind": "bend", "after": str(tube), "outside_diameter": "80", "wall": "2", "length": "50"}
    turn = {"bend_angle": "45", "bend_radius": "120", "length_out": "50"}
    piece = stored(intake.post("/pieces", **bend, **turn, **WELD_ENDS))
    first, last = joints(intake, piece)
    assert (first["kind"], last["kind"]) == ("weld", "hose and clamp")
    said = {"kind": "V-band", "version": str(first["version"]), "piece": str(piece)}
    intake.post(f"/joints/{first['id']}", **said)
    intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), length="60"))
    assert joints(intake, piece)[0]["kind"] == "V-band", "what somebody said stays"


def test_a_clamp_is_copied_from_the_last_clamp_though_a_weld_stands_between(intake: IntakeBuild) -> None:
    coupler, tube = intake.pieces[COUPLER_PIECE], intake.pieces[FIRST_TUBE]
    first, second = joints(intake, coupler)
    clamp = {"kind": "hose and clamp", "clamp": "T-bolt", "overlap": "30", "version": str(first["version"])}
    intake.post(f"/joints/{first['id']}", **clamp)
    weld = {"kind": "weld", "filler": "5356", "version": str(second["version"])}
    intake.post(f"/joints/{second['id']}", **weld)
    third = joints(intake, tube)[1]
    assert third["like"] == 1
    assert "Same as joint 1" in intake.browser.get(f"{intake.design}?piece={tube}").text
    intake.post(f"/joints/{third['id']}/copy", version=str(third["version"]), piece=str(tube))
    assert joints(intake, tube)[1]["words"] == "hose and clamp, T-bolt"


def test_a_new_piece_begins_as_the_one_before_ends(intake: IntakeBuild) -> None:
    def offered(kind: str, after: int) -> dict[str, Any]:
        page = intake.browser.get_json(f"{intake.design}?add={kind}&after={after}")
        found: dict[str, Any] = page["new_piece"]
        return found

    tube = offered("tube", intake.pieces[COUPLER_PIECE])
    assert tube["inlet_end"] == "bead", "it goes into a hose"
    assert sizes_of(tube)["outside_diameter"] == "80 mm", "the hose's bore is the tube's outside"
    coupler = offered("coupler", intake.pieces[FIRST_TUBE])
    assert sizes_of(coupler)["bore"] == "80"
    assert sizes_of(coupler)["wall"] == "", "a hose's wall is not a tube's"


def test_a_screw_that_was_looked_at_is_told_and_not_copied_to_the_next_joint(intake: IntakeBuild) -> None:
    """A no-go from the form to the answer and the dossier; the next clamp's screw is another one."""
    first, second = joints(intake, intake.pieces[0])
    seen = {"screw": "against a hose", "screw_at": "4 o'clock, 7 mm socket"}
    held = {"kind": "hose and clamp", "clamp": "T-bolt", "clamp_least": "86", "clamp_most": "94"}
    assert (
        intake.post(f"/joints/{first['id']}", **held, **seen, version=str(first["version"])).status_code
        == 303
    )
    page = intake.browser.get_json(intake.design)
    told = next(one for one in page["open_checks"] if one["code"] == "clamp-screw")
    assert told["verdict"]["word"] == "no-go"
    assert "(4 o'clock, 7 mm socket) stands against a hose" in told["why"]
    assert intake.post(f"/joints/{second['id']}/copy", version=str(second["version"])).status_code == 303
    assert [joint["screw"] for joint in joints(intake, intake.pieces[0])] == ["against a hose", ""]
