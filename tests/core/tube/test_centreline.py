"""A run's centre line in space, compared with tube-bending arithmetic from outside and with plain
geometry.
"""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.tube.centreline import Arc, Straight, dot, lay_out
from tests.core.tube.example_runs import (
    COOLER,
    EMPTY,
    HALF_TYPED,
    OUTLET,
    SEVEN,
    THREE,
    bend,
    bung,
    clamped,
    coupler,
    run,
    tube,
)
from tests.reference_values import Check, load

lengths = st.floats(1.0, 900.0)
angles = st.floats(1.0, 170.0)
rolls = st.floats(-180.0, 180.0)


def millimetres(vector: tuple[float, float, float]) -> list[float]:
    return [part * 1000.0 for part in vector]


@pytest.mark.parametrize("check", load("tube"), ids=str)
def test_agrees_with_values_from_outside(check: Check) -> None:
    rows = check.inputs["bends"]
    pieces = tuple(
        bend(
            number, row["rotation_deg"], outside_diameter=60.0,
            length=row["straight_mm"], length_out=row["after_mm"],
            bend_angle=row["angle_deg"], bend_radius=row["radius_mm"],
        )
        for number, row in enumerate(rows, start=1)
    )  # fmt: skip
    line = lay_out(run(pieces))
    if check.subject == "core.tube.centreline.length":
        assert check.allows(line.length * 1000.0)
    else:
        got = millimetres(line.corners[check.inputs["corner"]])
        assert check.tolerance_abs is not None
        assert got == pytest.approx(check.expected, abs=check.tolerance_abs)


@given(length=lengths)
def test_a_straight_run_ends_its_own_length_along_x(length: float) -> None:
    line = lay_out(run((tube(1, outside_diameter=60.0, length=length),)))
    assert millimetres(line.end.point) == pytest.approx([length, 0.0, 0.0])
    assert line.end.direction == pytest.approx((1.0, 0.0, 0.0))
    assert line.length * 1000.0 == pytest.approx(length)


@given(first=lengths, middle=lengths, last=lengths, angle=angles, radius=lengths, roll=rolls)
def test_a_bend_and_its_mirror_bring_the_flow_back_to_its_direction(
    first: float, middle: float, last: float, angle: float, radius: float, roll: float
) -> None:
    there = bend(
        1, roll, outside_diameter=60.0, length=first, length_out=middle, bend_angle=angle, bend_radius=radius
    )
    back = bend(
        2, 180.0, outside_diameter=60.0, length=middle, length_out=last, bend_angle=angle, bend_radius=radius
    )
    end = lay_out(run((there, back))).end
    assert end.direction == pytest.approx((1.0, 0.0, 0.0), abs=1e-9)
    assert end.up == pytest.approx((0.0, 0.0, 1.0), abs=1e-9)


@given(table=st.lists(st.tuples(lengths, rolls, angles, lengths, lengths), min_size=1, max_size=6))
def test_negating_every_roll_mirrors_the_run_in_the_plane_of_z(
    table: list[tuple[float, float, float, float, float]],
) -> None:
    def end(sign: float) -> tuple[float, float, float]:
        pieces = tuple(
            bend(
                number, sign * roll, outside_diameter=60.0, length=before,
                bend_angle=angle, bend_radius=radius, length_out=after,
            )
            for number, (before, roll, angle, radius, after) in enumerate(table, start=1)
        )  # fmt: skip
        return lay_out(run(pieces)).end.point

    x, y, z = end(1.0)
    assert end(-1.0) == pytest.approx((x, y, -z), abs=1e-9)


@given(table=st.lists(st.tuples(lengths, rolls, angles, lengths, lengths), min_size=1, max_size=6))
def test_each_stretch_begins_where_the_one_before_ended(
    table: list[tuple[float, float, float, float, float]],
) -> None:
    pieces = tuple(
        bend(
            number, roll, outside_diameter=60.0, length=before,
            bend_angle=angle, bend_radius=radius, length_out=after,
        )
        for number, (before, roll, angle, radius, after) in enumerate(table, start=1)
    )  # fmt: skip
    stretches = [part for line in lay_out(run(pieces)).pieces for part in line.stretches]
    for before_it, after_it in pairwise(stretches):
        assert after_it.start.point == pytest.approx(before_it.end.point, abs=1e-9)
        assert after_it.start.direction == pytest.approx(before_it.end.direction, abs=1e-9)
        assert after_it.station == pytest.approx(before_it.station + before_it.length)
        assert dot(after_it.start.direction, after_it.start.up) == pytest.approx(0.0, abs=1e-9)
        assert dot(after_it.start.direction, after_it.start.axis) == pytest.approx(0.0, abs=1e-9)


def test_a_first_bend_turns_left_and_a_quarter_roll_turns_it_up() -> None:
    elbow = bend(1, outside_diameter=60.0, length=0.0, length_out=0.0, bend_angle=90.0, bend_radius=100.0)
    assert lay_out(run((elbow,))).end.direction == pytest.approx((0.0, 1.0, 0.0), abs=1e-12)
    upwards = lay_out(run((replace(elbow, roll=math.pi / 2.0),)))
    assert upwards.end.direction == pytest.approx((0.0, 0.0, 1.0), abs=1e-12)
    assert millimetres(upwards.end.point) == pytest.approx([100.0, 0.0, 100.0])


def test_what_a_coupler_covers_counts_once() -> None:
    line = lay_out(THREE)
    # Two couplers of 76 with 30 over each end leave a gap of 16; the tube between is 240.
    assert line.length * 1000.0 == pytest.approx(16.0 + 240.0 + 16.0)
    assert [piece.station * 1000.0 for piece in line.pieces] == pytest.approx([-30.0, 16.0, 226.0])


def test_a_coupler_at_an_open_end_covers_nothing_there() -> None:
    pieces = (coupler(1, bore=60.0, wall=4.5, length=76.0), tube(2, outside_diameter=60.0, length=100.0))
    line = lay_out(run(pieces, (clamped(0), clamped(1), clamped(2))))
    assert line.length * 1000.0 == pytest.approx(76.0 - 30.0 + 100.0)


def test_a_bung_stands_at_its_place_and_points_by_the_clock_looking_with_the_flow() -> None:
    bungs = (bung(1, "at twelve", 50.0, 10.0, 12.0), bung(2, "at three", 60.0, 10.0, 3.0))
    twelve, three = lay_out(run((tube(1, bungs, outside_diameter=60.0, length=100.0),))).bungs
    assert millimetres(twelve.point) == pytest.approx([50.0, 0.0, 0.0])
    assert twelve.outward == pytest.approx((0.0, 0.0, 1.0))
    # Looking along +x with z up, the right hand is at -y.
    assert three.outward == pytest.approx((0.0, -1.0, 0.0), abs=1e-12)
    assert three.station * 1000.0 == pytest.approx(60.0)


def test_a_bung_in_an_arc_stands_on_the_arc() -> None:
    elbow = bend(1, outside_diameter=60.0, length=50.0, length_out=50.0, bend_angle=90.0, bend_radius=100.0)
    halfway = 50.0 + 100.0 * math.pi / 4.0
    place = lay_out(run((replace(elbow, bungs=(bung(1, "halfway", halfway, 10.0, 12.0),)),))).bungs[0]
    drop = 100.0 * math.sqrt(0.5)
    assert millimetres(place.point) == pytest.approx([50.0 + drop, 100.0 - drop, 0.0])


def test_a_bung_beyond_its_piece_is_drawn_at_the_end_and_says_so() -> None:
    bungs = (bung(1, "too far", 150.0, 10.0, 12.0),)
    place = lay_out(run((tube(1, bungs, outside_diameter=60.0, length=100.0),))).bungs[0]
    assert place.beyond
    assert millimetres(place.point) == pytest.approx([100.0, 0.0, 0.0])


def test_a_half_typed_run_says_which_sizes_it_stands_in_for() -> None:
    assumed = dict(lay_out(HALF_TYPED).assumed)
    assert assumed[4] == ("length",)
    assert "bend_radius" in assumed[2]
    assert "overlap" in assumed[1]
    assert lay_out(SEVEN).assumed == ()


def test_a_coupler_without_sizes_is_drawn_round_the_port_it_covers() -> None:
    line = lay_out(run((coupler(1),), (clamped(0), clamped(1)), OUTLET, COOLER)).pieces[0]
    assert line.sizes.fit_in * 1000.0 == pytest.approx(60.0)
    assert line.sizes.outside_in > line.sizes.fit_in


def test_a_run_without_pieces_has_no_length() -> None:
    line = lay_out(EMPTY)
    assert line.pieces == ()
    assert line.length == 0.0


def test_stretches_are_legs_about_an_arc() -> None:
    kinds = [type(part) for part in lay_out(SEVEN).pieces[1].stretches]
    assert kinds == [Straight, Arc, Straight]
