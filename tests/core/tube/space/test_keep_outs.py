"""Distances to balls, capsules and boxes, against whole numbers and scipy's bounded least squares."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import lsq_linear
from scipy.spatial.transform import Rotation

from server.core.tube.space.keep_outs import Box, Capsule, KeepOut, ball, room, solids
from server.core.tube.space.vectors import vector

BAR = Capsule(vector([0, 0, 0]), vector([0.4, 0, 0]), radius=0.02, gap=0.01)
TURNED = Rotation.from_euler("xyz", [20, -35, 50], degrees=True).as_matrix()
CRATE = Box(vector([0.1, -0.2, 0.3]), vector([0.05, 0.1, 0.2]), TURNED, gap=0.0)

places = st.lists(st.floats(-0.6, 0.6), min_size=3, max_size=3).map(vector)


def test_a_ball_is_as_far_as_its_centre_less_its_radius() -> None:
    """Whole numbers: 2, 3 and 6 make 7."""
    around = ball(vector([1, 1, 1]), 2.0, 0.0)
    assert around.distance(vector([3, 4, 7])) == pytest.approx(5.0)
    assert around.distance(vector([1, 1, 1])) == pytest.approx(-2.0)


def test_a_capsule_is_seen_from_beside_it_and_from_beyond_its_ends() -> None:
    """Whole numbers: 3, 4 and 5, in hundredths."""
    beside, beyond, inside = BAR.distance(np.array([[0.2, 0.03, 0.04], [0.43, 0.04, 0.0], [0.1, 0.0, 0.01]]))
    assert [beside, beyond, inside] == pytest.approx([0.03, 0.03, -0.01])


def test_a_box_is_seen_from_faces_edges_corners_and_inside() -> None:
    """Whole numbers: 3 and 4 make 5; 2, 3 and 6 make 7."""
    cube = Box(np.zeros(3), np.ones(3), np.eye(3), 0.0)
    seen = cube.distance(np.array([[4.0, 0.5, 0.0], [4.0, 5.0, 0.0], [3.0, 4.0, -7.0], [0.7, 0.0, 0.1]]))
    assert seen.tolist() == pytest.approx([3.0, 5.0, 7.0, -0.3])


@given(places)
def test_a_turned_box_is_as_near_as_its_nearest_point(place: np.ndarray) -> None:
    """scipy.optimize.lsq_linear finds the nearest point of the box among bounded sums of its edges."""
    nearest = lsq_linear(CRATE.axes.T, place - CRATE.centre, (-CRATE.half_sizes, CRATE.half_sizes), tol=1e-14)
    apart = math.sqrt(2.0 * nearest.cost)
    assert max(float(CRATE.distance(place)), 0.0) == pytest.approx(apart, abs=1e-6)


@given(places)
def test_a_capsule_is_the_nearest_of_its_balls(place: np.ndarray) -> None:
    middles = np.linspace(BAR.start, BAR.end, 401)
    nearest = float(np.linalg.norm(place - middles, axis=1).min()) - BAR.radius
    told = float(BAR.distance(place))
    assert told <= nearest + 1e-12
    assert told == pytest.approx(nearest, abs=5e-4)


def test_room_is_what_is_left_of_the_gap_beside_the_pipe() -> None:
    """A 60 mm pipe 100 mm beside a 40 mm bar: 100 − 20 − 10 (gap) − 30."""
    straight = np.linspace([-0.5, 0.1, 0.0], [0.9, 0.1, 0.0], 57)
    nearer = straight * (1.0, 0.5, 1.0)
    left = room(np.stack([straight, nearer]), [BAR, ball(vector([0, 0.5, 0]), 0.1, 0.0)], 0.03)
    assert left == pytest.approx(np.array([[0.04, 0.27], [-0.01, 0.32]]))
    assert room(straight, [], 0.03).shape == (0,)


def test_room_in_one_pass_is_the_room_beside_each() -> None:
    shapes: tuple[KeepOut, ...] = (BAR, CRATE, ball(vector([0.2, 0.1, 0.0]), 0.05, 0.01))
    points = np.random.default_rng(3).uniform(-0.5, 0.5, (500, 3))
    left = solids(shapes).room(points.T[:, None], 0.03)
    for one, shape in zip(left, shapes, strict=True):
        assert one == pytest.approx(shape.distance(points) - shape.gap - 0.03, abs=1e-12)
    assert left.min(axis=1) == pytest.approx(room(points, shapes, 0.03), abs=1e-12)
