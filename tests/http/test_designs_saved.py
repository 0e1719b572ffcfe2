"""What a design says of the save just made: what changed, what to mind with it, and the way back."""

import re

from tests.http.intake_build import IntakeBuild
from tests.http.test_designs_pieces import FIRST_TUBE, editor, resent, sizes_of


def bar(text: str) -> str:
    """The words at the foot of a design."""
    foot = text[text.index('<div class="bar">') :]
    return re.sub(r"(<[^>]+>|\s)+", " ", foot[: foot.index("verdict-bar")])


def test_a_save_says_what_changed_and_can_be_undone_and_done_again(intake: IntakeBuild) -> None:
    piece = intake.pieces[FIRST_TUBE]
    before = sizes_of(editor(intake, piece))
    changed = resent(editor(intake, piece), outside_diameter="76 mm", name="Straight")
    in_page = intake.browser.post(
        f"{intake.design}/pieces/{piece}", changed, headers={"hx-request": "true", "hx-target": "answers"}
    )
    assert "Saved: Name not said → Straight; Outside diameter 80 mm → 76 mm." in bar(in_page.text)
    for outside in (before["outside_diameter"], "76 mm"):
        shown = intake.browser.get_json(f"{intake.design}?piece={piece}&told=piece-{piece}")
        undo = shown["saved"]["undo"]
        answer = intake.browser.post(undo["href"], dict(undo["fields"]))
        assert answer.headers["location"].endswith(f"?piece={piece}&told=undone-{piece}#editor")
        assert sizes_of(editor(intake, piece))["outside_diameter"] == outside
    assert intake.browser.post(undo["href"], dict(undo["fields"])).status_code == 412


def test_a_size_that_is_emptied_says_that_the_piece_is_not_measured_now(intake: IntakeBuild) -> None:
    piece = intake.pieces[FIRST_TUBE]
    saved = intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), outside_diameter=""))
    assert "Tube (2) has no outside diameter now: what rests on it is not measured." in bar(
        intake.browser.follow(saved).text
    )


def test_a_pipe_that_is_there_and_gets_another_diameter_asks_whether_it_is_another(
    intake: IntakeBuild,
) -> None:
    piece = intake.pieces[FIRST_TUBE]
    old = {"origin": "in the garage", "known_by": "measured", "name": "Tube of the old kit"}
    first = intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), **old))
    assert "another piece?" not in bar(intake.browser.follow(first).text)
    wider = intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), outside_diameter="83 mm"))
    told = intake.browser.follow(wider)
    assert "Tube of the old kit (2) is there already (in the garage). Is this another piece?" in bar(
        told.text
    )
    shown = intake.browser.get_json(wider.headers["location"].split("#")[0])
    undo = shown["saved"]["undo"]
    back = intake.browser.follow(intake.browser.post(undo["href"], dict(undo["fields"])))
    assert "Undone: Outside diameter 83 mm → 80 mm." in bar(back.text)
    assert "another piece?" not in bar(back.text)
    intake.post(f"/pieces/{piece}", **resent(editor(intake, piece), outside_diameter="83 mm"))
    shown = intake.browser.get_json(wider.headers["location"].split("#")[0])
    another = shown["saved"]["another"]
    assert intake.browser.post(another["href"], dict(another["fields"])).status_code == 303
    assert editor(intake, piece)["more"]["origin"] == "new"
    assert sizes_of(editor(intake, piece))["outside_diameter"] == "83 mm"
