"""Pipes that turn more than once, end in a mitre, or are cut within their bend."""

from tests.http.intake_build import IntakeBuild, stored
from tests.http.test_designs_pieces import FIRST_TUBE, cut, editor, halves, resent, sizes_of


def test_a_pipe_that_turns_more_than_once_is_typed_turn_by_turn(intake: IntakeBuild) -> None:
    """30° on 100 mm is 52.4 mm of arc, then 80 mm straight, and a mitre; geometry."""
    piece = intake.pieces[FIRST_TUBE]
    rows = "90°; 30°; 100 mm; 80 mm\n0; 20; 0; 0"
    assert intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), turns=rows)).status_code == 303
    shown = editor(intake, piece)
    assert shown["more"]["turns"] == rows
    assert not shown["cut"]["possible"], "a middle length comes out of a pipe that bends once at most"
    cuts = intake.browser.get_json(f"{intake.design}/cuts")["pieces"]
    facts = next(dict(map(tuple, one["facts"])) for one in cuts if one["number"] == 2)
    assert facts["Finished length"] == "282.4 mm"
    assert facts["Saw at the outlet"].startswith("10° from square")
    for wrong in ("90; 30; 100", "0; 0; 100; 80", "0; 175; 100; 80", "0; 30; 9000; 80"):
        refused = intake.post(f"/pieces/{piece}", **resent(shown, turns=wrong))
        assert refused.status_code == 422
        assert wrong in refused.text, "what was typed stays"


def test_a_weld_may_cut_a_bend_square_and_both_halves_bend_on_in_one_plane(intake: IntakeBuild) -> None:
    """Arc of 188.5 mm: 30 mm before the cut turn by 14.3°, 138.5 mm after it by 66.1°; geometry."""
    bend = {"kind": "bend", "outside_diameter": "80", "wall": "2", "bend_angle": "90", "bend_radius": "120"}
    piece = stored(intake.post("/pieces", **bend, length="300", length_out="100", roll="30"))
    assert cut(intake, piece, cut_at="330", take_out="20", join="weld").status_code == 303
    first, second = (sizes_of(editor(intake, one)) for one in (piece, halves(intake)[-1]))
    assert (first["length"], first["bend_angle"], first["roll"]) == ("300", "14.32", "30")
    assert (second["length"], second["bend_angle"], second["roll"]) == ("0", "66.13", "")
    sheets = intake.browser.get_json(f"{intake.design}/cuts")["pieces"]
    told = [dict(map(tuple, one["facts"])).get("Careful", "") for one in sheets[-2:]]
    assert all("Bent tube is oval" in text for text in told)
