"""Where a port is and which way it faces; directions are read off a car by hand, geometry is the source."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.measure.estimate import Estimate
from server.core.tube.space.bend_table import table_of
from server.core.tube.space.poses import (
    FORWARD,
    LEFT,
    UP,
    Facing,
    Level,
    Place,
    Tilt,
    beside,
    by_angles,
    by_offsets,
    by_stick,
    by_words,
    dip_of,
    flow_at,
    heading_of,
    leaned,
    run_axes,
)
from server.core.tube.space.vectors import Vector, angle_between, unit, vector

ACROSS_THE_CAR = np.array([1.0, -1.0, 1.0])
"""Turns a point into its mirror image, left for right."""

directions = st.lists(st.floats(-1.0, 1.0), min_size=3, max_size=3).filter(
    lambda parts: math.hypot(*parts) > 0.1
)


def test_the_axes_are_those_of_iso_8855() -> None:
    """Forward, left, up are right-handed: turning from forward to left is about up."""
    assert np.allclose(np.cross(FORWARD, LEFT), UP)


@pytest.mark.parametrize(
    ("level", "tilt", "way"),
    [
        (Level.FORWARD, Tilt.LEVEL, (1.0, 0.0, 0.0)),
        (Level.LEFT, Tilt.LEVEL, (0.0, 1.0, 0.0)),
        (Level.RIGHT, Tilt.LEVEL, (0.0, -1.0, 0.0)),
        (Level.REAR, Tilt.LEVEL, (-1.0, 0.0, 0.0)),
        (Level.REAR_RIGHT, Tilt.LEVEL, (-math.sqrt(0.5), -math.sqrt(0.5), 0.0)),
        (Level.FORWARD, Tilt.DOWN_30, (math.sqrt(0.75), 0.0, -0.5)),
        (Level.LEFT, Tilt.UP_60, (0.0, 0.5, math.sqrt(0.75))),
        (Level.REAR, Tilt.DOWN, (0.0, 0.0, -1.0)),
        (Level.FORWARD, Tilt.UP, (0.0, 0.0, 1.0)),
    ],
)
def test_words_say_a_direction(level: Level, tilt: Tilt, way: tuple[float, float, float]) -> None:
    assert np.allclose(by_words(level, tilt, 0.05).way, way, atol=1e-12)


def test_flow_leaves_a_start_as_it_faces_and_enters_an_end_against_it() -> None:
    """Two openings side by side that both face forward: air goes out forward and comes back rearward."""
    assert np.array_equal(flow_at(FORWARD, starts=True), FORWARD)
    assert np.array_equal(flow_at(FORWARD, starts=False), -FORWARD)
    hairpin = table_of(
        [vector([0, 0, 0]), vector([0.2, 0, 0]), vector([0.2, 0.3, 0]), vector([0, 0.3, 0])], [0.1, 0.1]
    )
    turned = sum(row.angle for row in hairpin.rows)
    assert turned == pytest.approx(
        angle_between(flow_at(FORWARD, starts=True), flow_at(FORWARD, starts=False))
    )


@given(directions)
def test_a_car_seen_in_a_mirror_has_the_same_flow_in_the_mirror(parts: list[float]) -> None:
    """Left for right: facing, flow and heading are mirrored, dip is not."""
    way = unit(vector(parts))
    image = way * ACROSS_THE_CAR
    for starts in (True, False):
        assert np.allclose(flow_at(image, starts=starts), flow_at(way, starts=starts) * ACROSS_THE_CAR)
    assert math.sin(heading_of(image)) == pytest.approx(-math.sin(heading_of(way)), abs=1e-9)
    assert dip_of(image) == pytest.approx(dip_of(way))


def test_a_mirrored_pipe_is_another_pipe() -> None:
    """Its bends are rolled the other way: a left-hand set of axes anywhere would be seen here."""
    start, flow = vector([0.1, 0.2, 0.3]), flow_at(by_words(Level.LEFT, Tilt.LEVEL, 0.0).way, starts=True)
    corners = [start, start + 0.2 * flow, start + 0.2 * flow + 0.3 * FORWARD]
    corners.append(corners[-1] + 0.3 * UP)
    rolls = [row.rotation for row in table_of(corners, [0.05, 0.05]).rows]
    image = [row.rotation for row in table_of([one * ACROSS_THE_CAR for one in corners], [0.05, 0.05]).rows]
    # Looking downstream it turns to 3 o'clock, then to 12: against the clock, and so against the right hand.
    assert rolls[1] == pytest.approx(-math.pi / 2.0)
    assert image[1] == pytest.approx(-rolls[1])


@given(st.floats(-3.1, 3.1), st.floats(-1.5, 1.5))
def test_heading_and_dip_are_read_back(heading: float, dip: float) -> None:
    way = by_angles(Estimate(heading), Estimate(dip)).way
    assert dip_of(way) == pytest.approx(dip, abs=1e-7)
    assert heading_of(way) == pytest.approx(heading, abs=1e-7)


def test_a_heading_tells_little_of_a_steep_port() -> None:
    """At 60° below level, 4° of heading move the direction by half as much."""
    steep = by_angles(Estimate(0.3, math.radians(4.0)), Estimate(math.radians(60.0), math.radians(1.0)))
    assert steep.aside == pytest.approx(math.radians(2.0))
    assert steep.upright == pytest.approx(math.radians(1.0))


def test_small_angles_lean_to_the_left_and_up() -> None:
    forward = Facing(FORWARD, 0.0, 0.0)
    assert leaned(forward, 0.1, 0.0)[1] > 0.0
    assert leaned(forward, 0.0, 0.1)[2] > 0.0
    assert angle_between(leaned(forward, 0.1, 0.0), FORWARD) == pytest.approx(0.1)


def test_a_longer_stick_tells_the_direction_better() -> None:
    tip = [Estimate(0.3, 0.002), Estimate(0.0, 0.002), Estimate(-0.3, 0.002)]
    facing = by_stick(tip)
    assert facing is not None
    assert dip_of(facing.way) == pytest.approx(math.radians(45.0))
    twice = by_stick([Estimate(2.0 * one.value, one.doubt) for one in tip])
    assert twice is not None
    assert twice.upright == pytest.approx(facing.upright / 2.0)


def test_the_doubt_by_stick_is_that_of_many_sticks() -> None:
    """Brute force: the tip read again and again."""
    tip, doubts = vector([0.25, 0.1, -0.15]), vector([0.001, 0.003, 0.002])
    facing = by_stick([Estimate(*pair) for pair in zip(tip.tolist(), doubts.tolist(), strict=True)])
    assert facing is not None
    drawn = np.random.default_rng(5).normal(tip, doubts, (20_000, 3))
    _, left, up = run_axes(facing.way)
    along = drawn @ facing.way
    assert np.std(drawn @ left / along) == pytest.approx(facing.aside, rel=0.03)
    assert np.std(drawn @ up / along) == pytest.approx(facing.upright, rel=0.03)


def test_a_stick_without_length_says_nothing() -> None:
    assert by_stick([Estimate(0.0, 0.001)] * 3) is None


def test_a_tape_out_of_square_counts_over_the_other_two_offsets() -> None:
    """1° at most is 0.58° of standard uncertainty: 10 mm over a metre; worked by hand."""
    place = by_offsets([Estimate(1.0, 0.001), Estimate(0.0, 0.001), Estimate(0.0, 0.001)])
    assert place.doubt[0] == pytest.approx(0.001)
    assert place.doubt[1] == pytest.approx(math.hypot(0.001, math.radians(1.0) / math.sqrt(3.0)))


def test_beside_another_port_both_doubts_count() -> None:
    base = Place(vector([0.5, 0.1, 0.3]), vector([0.003, 0.003, 0.003]))
    found = beside(base, Place(vector([-0.1, 0.0, 0.2]), vector([0.004, 0.004, 0.004])))
    assert np.allclose(found.point, [0.4, 0.1, 0.5])
    assert np.allclose(found.doubt, 0.005)


@given(directions)
def test_the_axes_of_a_run_are_right_handed_with_12_oclock_up(parts: list[float]) -> None:
    flow = unit(vector(parts))
    axes = run_axes(flow)
    assert np.allclose(axes @ axes.T, np.eye(3), atol=1e-9)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    assert np.allclose(axes[0], flow)
    assert axes[2][2] >= -0.01


def test_12_oclock_of_a_plumb_run_is_forward() -> None:
    down: Vector = -UP
    assert np.allclose(run_axes(down)[2], FORWARD)
