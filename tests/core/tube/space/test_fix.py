"""Three tapes to a point, compared with values from a reference library and with brute force."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import fsolve

from server.core.tube.space.fix import Tape, fixes
from server.core.tube.space.vectors import vector

CORNER = [vector(p) for p in ([0.0, 0.0, 0.0], [0.8, 0.0, 0.0], [0.0, 0.6, 0.0])]


def tapes(*distances: float, doubt: float = 0.0005) -> list[Tape]:
    return [Tape(point, distance, doubt) for point, distance in zip(CORNER, distances, strict=True)]


def test_three_tapes_leave_two_places() -> None:
    """The point (310, 220, ±140) mm, worked with numpy.linalg.solve."""
    found = fixes(tapes(0.4050926, 0.5550676, 0.5100000))
    assert np.allclose(
        [one.point for one in found.fixes], [[0.31, 0.22, 0.14], [0.31, 0.22, -0.14]], atol=1e-6
    )


def test_the_doubt_is_that_of_many_tapes_read_again() -> None:
    """Brute force over the tapes' readings; the place itself is compared with scipy's fsolve."""
    truth = vector([0.31, 0.22, 0.5])
    distances = [float(np.linalg.norm(truth - point)) for point in CORNER]
    found = fixes(tapes(*distances)).fixes[0]
    rng = np.random.default_rng(4)
    drawn = np.array(
        [
            fixes(tapes(*(np.array(distances) + rng.normal(0.0, 0.0005, 3)))).fixes[0].point
            for _ in range(4000)
        ]
    )
    assert np.allclose(drawn.std(axis=0), found.doubt, rtol=0.05)
    assert found.worst >= found.doubt.max()

    def off(point: np.ndarray) -> list[float]:
        return [float(np.linalg.norm(point - hook)) - d for hook, d in zip(CORNER, distances, strict=True)]

    assert np.allclose(found.point, fsolve(off, [0.3, 0.3, 0.3]), atol=1e-9)


@given(st.lists(st.floats(-1.0, 1.0), min_size=12, max_size=12))
def test_the_place_itself_is_one_of_the_two(numbers: list[float]) -> None:
    hooks = [vector(numbers[at : at + 3]) for at in (0, 3, 6)]
    truth = vector(numbers[9:])
    area = float(np.linalg.norm(np.cross(hooks[1] - hooks[0], hooks[2] - hooks[0])))
    lengths = [float(np.linalg.norm(truth - hook)) for hook in hooks]
    assume(area > 0.05 and min(lengths) > 0.05)
    found = fixes([Tape(hook, length, 0.001) for hook, length in zip(hooks, lengths, strict=True)])
    if found.fixes:
        assert min(float(np.linalg.norm(one.point - truth)) for one in found.fixes) < 1e-5
    else:  # in the plane of the hooks to the last digit
        assert found.short < 1e-9


def test_the_first_place_is_where_the_points_run_counter_clockwise() -> None:
    found = fixes(tapes(0.5, 0.6, 0.6))
    assert found.fixes[0].point[2] > 0.0 > found.fixes[1].point[2]


def test_tapes_that_do_not_meet_say_by_how_much() -> None:
    found = fixes(tapes(0.1, 0.1, 0.1))
    assert found.fixes == ()
    assert found.short == pytest.approx(0.4)  # the middle of the triangle is 0.5 m from each corner
    assert "400 mm" in found.reason


def test_near_the_plane_of_the_points_the_doubt_grows_and_is_told() -> None:
    truth = vector([0.3, 0.2, 0.001])
    found = fixes(tapes(*(float(np.linalg.norm(truth - point)) for point in CORNER)))
    assert found.fixes[0].doubt[2] > 0.05
    assert "near the plane" in found.notes[0]


def test_points_in_one_line_are_no_triangle() -> None:
    hooks = [vector([x, 0.0, 0.0]) for x in (0.0, 0.4, 0.8)]
    assert "in one line" in fixes([Tape(hook, 0.5, 0.001) for hook in hooks]).reason
    same = [hooks[0], hooks[0], hooks[2]]
    assert "in one line" in fixes([Tape(hook, 0.5, 0.001) for hook in same]).reason


def test_a_place_in_the_plane_itself_has_no_doubt_to_give_across_it() -> None:
    hooks = [vector(p) for p in ([0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, 2.0, 0.0])]
    found = fixes(
        [Tape(hooks[0], math.sqrt(2.0), 0.001), *(Tape(hook, math.sqrt(2.0), 0.001) for hook in hooks[1:])]
    )
    assert all(one.worst > 0.01 or math.isinf(one.worst) for one in found.fixes)
