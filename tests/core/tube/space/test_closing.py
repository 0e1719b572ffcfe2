"""What the doubt of two ports does to the straights of a run between them."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from scipy.optimize import fmin_slsqp

from server.core.tube.space.bend_table import BendRow, BendTable, corners_of
from server.core.tube.space.closing import ARM, length_doubts, moved_pose
from server.core.tube.space.poses import FORWARD, LEFT, UP, Facing, Place, PortPose
from server.core.tube.space.vectors import Vector, unit, vector

SURE = vector([0.0, 0.0, 0.0])


def pose(way: Vector, doubt: Vector = SURE, aside: float = 0.0, upright: float = 0.0) -> PortPose:
    return PortPose(Place(SURE, doubt), Facing(way, aside, upright))


def bent(*angles_deg: float, roll_deg: float = 0.0) -> BendTable:
    """Bends of 100 mm radius with 150 mm between; every bend but the first is rolled by the same."""
    rolls = [0.0, *(math.radians(roll_deg) for _ in angles_deg[1:])]
    rows = [BendRow(0.15, roll, math.radians(deg), 0.1) for deg, roll in zip(angles_deg, rolls, strict=True)]
    return BendTable(tuple(rows), 0.15)


def test_a_straight_run_takes_up_what_lies_along_it_and_nothing_else() -> None:
    start = pose(FORWARD, vector([0.002, 0.001, 0.0]))
    end = pose(-FORWARD, vector([0.0015, 0.0, 0.0]), upright=0.01)
    found = length_doubts(BendTable((), 0.4), start, end)
    assert found.straights == pytest.approx([math.hypot(0.002, 0.0015)])
    assert found.out_by == pytest.approx(0.001)
    assert found.out_of_line == pytest.approx(0.01, rel=1e-3)


def test_ports_that_are_sure_leave_no_doubt() -> None:
    found = length_doubts(bent(90.0, 45.0), pose(FORWARD), pose(UP))
    assert found.straights == (0.0, 0.0, 0.0)
    assert (found.out_by, found.out_of_line) == (0.0, 0.0)


def test_one_square_bend_shares_what_moves_in_its_plane_between_its_straights() -> None:
    """Geometry: the run goes forward and then left; a move forward is the first's, left the last's."""
    found = length_doubts(bent(90.0), pose(FORWARD), pose(-LEFT, vector([0.003, 0.001, 0.0])))
    assert found.straights == pytest.approx([0.003, 0.001])
    assert found.out_by == pytest.approx(0.0, abs=1e-9)


def test_one_bend_takes_a_move_out_of_its_plane_by_turning_and_leaves_the_rest_off() -> None:
    found = length_doubts(bent(90.0), pose(FORWARD), pose(-LEFT, vector([0.0, 0.0, 0.003])))
    assert found.out_by + ARM * found.out_of_line > 0.001


def test_two_ports_in_doubt_count_as_independent() -> None:
    table, doubt = bent(60.0, 45.0, roll_deg=70.0), vector([0.002, 0.001, 0.003])
    one = length_doubts(table, pose(FORWARD, doubt), pose(UP))
    other = length_doubts(table, pose(FORWARD), pose(UP, doubt))
    both = length_doubts(table, pose(FORWARD, doubt), pose(UP, doubt))
    assert both.straights == pytest.approx(np.hypot(one.straights, other.straights))


@settings(max_examples=25, deadline=None)
@given(
    some.floats(60.0, 90.0),
    some.floats(60.0, 90.0),
    some.floats(80.0, 100.0),
    some.integers(0, 2),
)
def test_with_two_bends_out_of_one_plane_every_move_is_taken_up(
    first: float, second: float, roll: float, axis: int
) -> None:
    doubt = np.zeros(3)
    doubt[axis] = 0.001
    found = length_doubts(bent(first, second, roll_deg=roll), pose(FORWARD), pose(UP, doubt))
    assert found.out_by < 2e-5
    assert found.out_of_line < 1e-3
    assert max(found.straights) > 0.0


@settings(max_examples=40, deadline=None)
@given(some.lists(some.floats(5.0, 120.0), min_size=1, max_size=3), some.floats(-180.0, 180.0))
def test_no_straight_grows_out_of_all_measure(angles: list[float], roll: float) -> None:
    """Runs in one plane and near it too: what lengths can't reasonably take up stays off and is told."""
    doubt = vector([0.001, 0.001, 0.001])
    table = bent(*angles, roll_deg=roll)
    found = length_doubts(table, pose(FORWARD), pose(UP, doubt, aside=0.005, upright=0.005))
    assert max(found.straights) < 0.03
    assert found.out_by < 0.02


def test_of_all_changes_that_close_the_least_is_taken() -> None:
    """Against scipy.optimize.minimize (SLSQP) on the corners that the bend table itself gives."""
    table, step = bent(50.0, 40.0, 60.0, roll_deg=80.0), vector([0.0, 0.004, 0.0])

    def end_of(unknowns: Vector) -> Vector:
        rows = [
            BendRow(straight, roll / ARM, row.angle, row.radius)
            for straight, roll, row in zip(unknowns[:3], unknowns[4:], table.rows, strict=True)
        ]
        normal = vector([0.0, 0.0, 1.0])
        corners = corners_of(BendTable(tuple(rows), unknowns[3]), None, FORWARD, normal)
        return np.concatenate([corners[-1], ARM * unit(corners[-1] - corners[-2])])

    begun = np.array([0.15, 0.15, 0.15, 0.15, *(ARM * row.rotation for row in table.rows)])
    aim = end_of(begun) + np.concatenate([step, np.zeros(3)])

    def change(unknowns: Vector) -> float:
        return 1e6 * float(np.sum((unknowns - begun) ** 2))

    def off(unknowns: Vector) -> Vector:
        return np.asarray(1e3 * (end_of(unknowns) - aim)[:5])

    least = fmin_slsqp(change, begun, f_eqcons=off, acc=1e-14, iprint=0)
    found = length_doubts(table, pose(FORWARD), pose(UP, step))
    assert found.straights == pytest.approx(np.abs(least - begun)[:4], abs=2e-5)


def test_a_pose_moves_and_leans_by_its_five_numbers() -> None:
    moved = moved_pose(pose(FORWARD), np.array([0.01, 0.0, 0.0, 0.1, 0.0]))
    assert moved.place.point == pytest.approx([0.01, 0.0, 0.0])
    assert moved.facing.way == pytest.approx([math.cos(0.1), math.sin(0.1), 0.0])
