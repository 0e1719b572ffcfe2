"""The isometric drawing as a page: every design of the demo from every side, and a design without pieces."""

import re

import pytest

from tests.asking import Browser
from tests.http.intake_build import make_intake


def test_a_design_leads_to_its_drawing_and_each_side_is_a_link(demo: Browser) -> None:
    link = "/builds/1/designs/1/isometric"
    assert f'href="{link}"' in demo.get("/builds/1/designs/1").text
    page = demo.get(link)
    assert page.status_code == 200
    assert page.text.count("data-turn=") == 5, "the drawing and four buttons"
    assert "/static/turn" in page.text
    assert "/static/turn" not in demo.get("/builds/1/designs/1").text, "the script is loaded only there"
    for side in ("isometric", "above", "right", "front"):
        found = demo.get_json(f"{link}?side={side}")
        assert [one["here"] for one in found["sides"]].count(True) == 1
        assert found["drawing"]["title"].endswith(side)


@pytest.mark.parametrize("design", range(1, 7))
def test_the_table_says_what_the_drawing_says(demo: Browser, design: int) -> None:
    found = demo.get_json(f"/builds/1/designs/{design}/isometric")
    drawn = {word["text"] for word in found["drawing"]["words"]}
    for leg in found["legs"]:
        assert leg["length"].removesuffix(" mm") in drawn or float(leg["length"].split()[0]) < 40.0
    assert len(found["drawing"]["balloons"]) == len(found["pieces"])
    assert found["drawing"]["description"].count("Leg ") == len(found["legs"])


def test_no_line_of_the_drawing_is_a_fault(demo: Browser) -> None:
    text = demo.get("/builds/1/designs/4/isometric").text
    assert "nan" not in text.lower().split("<desc")[0][-200:]
    for path in re.findall(r' d="([^"]+)"', text):
        assert re.fullmatch(r"[MLZ \d.\-m h v c]+", path) or path.startswith("M"), path


def test_what_is_not_there_is_said(demo: Browser) -> None:
    assert demo.get("/builds/1/designs/999/isometric").status_code == 404
    assert demo.get_json("/builds/1/designs/1/isometric?side=under")["sides"][0]["here"]


def test_once_its_start_port_is_placed_a_run_stands_in_the_car_among_its_keep_outs(browser: Browser) -> None:
    """The port stands 300 mm forward and faces the car's left: the first leg goes left."""
    intake = make_intake(browser)
    before = intake.browser.get_json(f"{intake.design}/isometric")
    assert "12 o'clock" in " ".join(before["notes"])
    assert before["legs"][0]["way"] == "along"
    start = intake.browser.get_json(intake.design)["settings"]["start_port_id"]
    place = f"/builds/{intake.build_id}/ports/{start}/place"
    for said in (
        {"way": "offsets", "forward": "300", "left": "0", "up": "100", "instrument": "tape"},
        {"way": "words", "level": "left", "tilt": "level"},
    ):
        assert intake.browser.post(place, said).status_code == 303
    near = {"shape": "ball", "what": "hose", "at": "300 100 200", "across": "60", "gap": "10"}
    far = near | {"at": "-3000 0 0"}
    for solid in (near, far):
        assert intake.browser.post(f"/builds/{intake.build_id}/keep-outs", solid).status_code == 303
    found = intake.browser.get_json(f"{intake.design}/isometric")
    assert found["legs"][0]["way"] == "left"
    assert len(found["drawing"]["ghosts"]) == 5, "one ball is near: a ring round it and four half rings"
    assert any("one keep-out" in note for note in found["notes"])
    assert any("car's axes" in note for note in found["notes"])
