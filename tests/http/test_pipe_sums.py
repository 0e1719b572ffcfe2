"""The sums on pipes as a script asks them, and as a person types them."""

import math
from typing import Any
from urllib.parse import urlencode

import pytest

from tests.asking import Browser
from tests.asking_sums import GOOD, ask


def test_an_elbow_of_five_pieces_is_the_one_of_the_fitters_page(bench: Browser) -> None:
    """90°, four cuts, 381 mm on 273 mm pipe: 11.25°, 151.6 and 75.8 mm, cut-back 27.15 mm:
    pipingengineer.org, formula for mitre fabrication. Throat and back of a whole piece follow."""
    found = ask(bench, "mitre", GOOD["mitre"])
    assert found["saw_angle_deg"] == pytest.approx(11.25)
    ends, whole = found["segments"][0], found["segments"][1]
    assert len(found["segments"]) == 5
    assert found["segments"][-1] == ends
    assert whole["centre_mm"] == pytest.approx(151.6, abs=0.05)
    assert ends["centre_mm"] == pytest.approx(75.8, abs=0.05)
    assert 0.5 * (ends["back_mm"] - ends["throat_mm"]) == pytest.approx(27.15, abs=0.05)
    assert (whole["throat_mm"], whole["back_mm"]) == pytest.approx((97.27, 205.88), abs=0.05)
    assert found["ordinates_mm"][8] == pytest.approx(2 * 27.15, abs=0.05)
    assert found["wrap_mm"] == pytest.approx(3.14159265 * 273.1)


def test_whole_numbers_check_the_rolling_offset(bench: Browser) -> None:
    """Rise 12, offset 16: the 3-4-5 triangle."""
    found = ask(bench, "offset", GOOD["offset"])
    assert found["true_offset_mm"] == pytest.approx(20.0)
    assert found["travel_mm"] == pytest.approx(28.2843, abs=1e-4)
    assert found["roll_deg"] == pytest.approx(36.8699, abs=1e-4)
    assert "the same" in ask(bench, "offset", {"rise_mm": 0, "offset_mm": 0, "fitting_deg": 45})["reason"]


def test_a_bend_table_goes_there_and_back(bench: Browser) -> None:
    """Worked with scipy's Rotation: straights 100 and 120 mm, bends 90 and 45°, turned 60° between."""
    there = ask(bench, "bend-table", GOOD["bend-table"])
    first, second = there["rows"]
    assert (first["straight_mm"], first["angle_deg"]) == pytest.approx((100.0, 90.0), abs=1e-3)
    assert (second["straight_mm"], second["rotation_deg"], second["angle_deg"]) == pytest.approx(
        (120.0, 60.0, 45.0), abs=1e-2
    )
    back = ask(bench, "bend-table", {"rows": there["rows"], "last_straight_mm": there["last_straight_mm"]})
    assert back["developed_mm"] == pytest.approx(there["developed_mm"], abs=1e-9)
    for corner, wanted in zip(back["vertices_mm"], GOOD["bend-table"]["vertices_mm"], strict=True):
        assert corner == pytest.approx(wanted, abs=1e-6)


def test_arcs_that_overlap_are_said(bench: Browser) -> None:
    asked = {"vertices_mm": [[0, 0, 0], [300, 0, 0], [300, 100, 0], [600, 100, 0]], "radii_mm": [80, 80]}
    found = ask(bench, "bend-table", asked)
    assert found["rows"][1]["straight_mm"] == pytest.approx(-60.0)
    assert "overlap" in found["notes"][0]


def test_three_tapes_leave_two_places_each_with_its_doubt(bench: Browser) -> None:
    """The point (310, 220, ±140) mm, worked with numpy.linalg.solve."""
    found = ask(bench, "trilateration", GOOD["trilateration"])
    above, below = found["points"]
    assert above["point_mm"] == pytest.approx([310, 220, 140], abs=1e-2)
    assert below["point_mm"] == pytest.approx([310, 220, -140], abs=1e-2)
    assert above["doubt_mm"][2] > above["doubt_mm"][0] > 0.0
    far: dict[str, Any] = {"tapes": [tape | {"distance_mm": 100} for tape in GOOD["trilateration"]["tapes"]]}
    assert "don't meet" in ask(bench, "trilateration", far)["reason"]


@pytest.mark.parametrize("name", ["mitre", "offset", "bend-table", "trilateration", "route", "splice"])
def test_each_example_gets_its_answer_on_a_page(bench: Browser, name: str) -> None:
    empty = bench.get_json(f"/sums/{name}")
    assert empty["found"] is None
    found = bench.get_json(empty["example"])["found"]
    assert found["figures"] or found["tables"] or found["parts"]
    assert not found["reason"]


def test_points_are_typed_one_after_the_other(bench: Browser) -> None:
    typed = {"vertices_mm": "0 0 0; 200mm 0 0\n200 10.5in 0", "radii_mm": "95"}
    tables = bench.get_json(f"/sums/bend-table?{urlencode(typed)}")["found"]["tables"]
    assert tables[0]["rows"][0][0] == "105"
    wrong = bench.get("/sums/bend-table", params=typed | {"vertices_mm": "0 0 0; 200 up 0; 3 4 5"})
    assert wrong.status_code == 422
    assert "0 0 0; 200 up 0; 3 4 5" in wrong.text


def test_a_corner_at_fault_is_told_beside_the_corners_as_typed(bench: Browser) -> None:
    twice = bench.get("/sums/bend-table", params={"vertices_mm": "0 0 0; 0 0 0; 9 0 0", "radii_mm": "95"})
    assert twice.status_code == 422
    assert "in the same place" in twice.text


def test_a_step_through_two_elbows(bench: Browser) -> None:
    """Worked by hand: 300 mm ahead, 200 to the left, radius 100: 100 mm of straight, two quarter circles."""
    (found, *_) = ask(bench, "route", GOOD["route"])["routes"]
    assert found["length_mm"] == pytest.approx(100.0 + math.pi * 100.0)
    assert sum(found["straights_mm"]) == pytest.approx(100.0)
    assert [(bend["angle_deg"], abs(bend["rotation_deg"])) for bend in found["bends"]] == [
        (pytest.approx(90.0), pytest.approx(0.0)), (pytest.approx(90.0), pytest.approx(180.0)),
    ]  # fmt: skip
    assert found["vertices_mm"][0] == [0, 0, 0]
    assert found["vertices_mm"][-1] == pytest.approx([300, 200, 0])
    assert found["closure_mm"] < 1e-6


def test_a_route_is_typed_as_it_is_sent(bench: Browser) -> None:
    """The same step, with a crate in its way by which no elbow passes; the page says so, not a trace."""
    typed = {
        "start.point_mm": "0 0 0", "start.direction": "1 0 0",
        "end.point_mm": "300 200 0", "end.direction": "2 0 0",
        "bends[0].radius_mm": "10 cm", "bends[0].angle_deg": "90",
        "shortest_straight_mm": "0", "outside_diameter_mm": "50", "most_bends": "2",
        "keep_outs[0].shape": "box", "keep_outs[0].centre_mm": "150 100 0",
        "keep_outs[0].half_sizes_mm": "90 20 90", "keep_outs[0].axes": "1 0 0; 0 1 0; 0 0 1",
    }  # fmt: skip
    assert bench.get_json(f"/sums/route?{urlencode(typed)}")["found"]["reason"]
    clear = {name: text for name, text in typed.items() if "keep_outs" not in name}
    assert bench.get_json(f"/sums/route?{urlencode(clear)}")["found"]["parts"]
    wrong = bench.get("/sums/route", params=typed | {"start.direction": "ahead 0 0"})
    assert wrong.status_code == 422
    assert "ahead is not a number" in wrong.text


def test_two_pipes_that_pass_within_the_pull_are_joined_with_one_weld(bench: Browser) -> None:
    """Square to each other, 250 mm along one and 300 mm along the other, 0.4 mm apart: worked by hand."""
    found = ask(bench, "splice", GOOD["splice"])
    (one,) = found["splices"]
    assert (one["cut_fixed_mm"], one["cut_turning_mm"]) == pytest.approx((250.0, 300.0))
    assert one["clocking"] == 0
    assert one["rotation_deg"] == 0.0
    (joint,) = one["joints"]
    assert (joint["saw_angle_deg"], joint["mark_deg"]) == pytest.approx((45.0, -90.0))
    assert one["axis_gap_mm"] == pytest.approx(0.4)
    assert one["vertices_mm"][0] == [0, 0, 0]
    assert one["vertices_mm"][-1] == pytest.approx([250, 300, 0.4])
    assert one["closure_mm"] == pytest.approx(0.0, abs=1e-6)
    assert one["pie_cuts"] == []


def test_where_no_splice_is_within_the_limits_it_is_said_how_far_off(bench: Browser) -> None:
    found = ask(bench, "splice", GOOD["splice"] | {"axis_gap_limit_mm": 0.1})
    assert found["splices"] == []
    assert "the pull" in found["reason"]
    (miss,) = found["misses"]
    assert miss["limit"] == "axis_gap_limit_mm"
    assert (miss["needs"], miss["over"]) == pytest.approx((0.4, 0.3))


def test_pipes_of_two_sizes_are_not_spliced(bench: Browser) -> None:
    found = ask(bench, "splice", GOOD["splice"] | {"other_outside_diameter_mm": 76.1})
    assert "ellipses" in found["reason"]


def test_a_splice_is_typed_and_told_on_a_page(bench: Browser) -> None:
    """The example of the page: each way is a part, with its welds as a list."""
    page = bench.get_json(bench.get_json("/sums/splice")["example"])
    assert page["found"]["parts"]
    assert page["found"]["parts"][0]["tables"][0]["label"] == "Welds"
    wrong = bench.get("/sums/splice", params={"fixed.vertices_mm": "0 0 0; 0 0 0", "turning.holes": "six"})
    assert wrong.status_code == 422
    assert 'value="0 0 0; 0 0 0"' in wrong.text
    assert "whole number" in wrong.text
