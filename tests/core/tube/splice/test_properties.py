"""What must hold of every splice: it knows no place in space, and no side."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from server.core.tube.splice.problem import Problem
from server.core.tube.splice.solve import joined
from tests.splice_problems import Floats, all_of, moved

KNOWN = all_of(seed=21, count=24)
DIRECT = [one.problem for one in KNOWN if not one.pies]
WITH_PIES = [one.problem for one in KNOWN if one.pies][:4]

turns = st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3)
places = st.lists(st.floats(-2.0, 2.0), min_size=3, max_size=3)


def elsewhere(problem: Problem, turned: Floats, by: Floats) -> Problem:
    return replace(
        problem, fixed=moved(problem.fixed, turned, by), turning=moved(problem.turning, turned, by)
    )


@given(st.sampled_from(DIRECT), turns, places)
@settings(max_examples=20, deadline=None)
def test_turning_the_whole_car_changes_nothing_but_coordinates(
    problem: Problem, rotation: list[float], place: list[float]
) -> None:
    turned, by = Rotation.from_rotvec(rotation).as_matrix(), np.array(place)
    here, there = joined(problem)[0], joined(elsewhere(problem, turned, by))[0]
    assert (there.cut_fixed, there.cut_turning) == pytest.approx((here.cut_fixed, here.cut_turning), abs=1e-5)
    assert there.joints[0].saw == pytest.approx(here.joints[0].saw, abs=1e-5)
    assert there.waste == pytest.approx(here.waste, abs=1e-5)
    assert np.allclose(there.corners, np.array(here.corners) @ turned.T + by, atol=2e-5)


@given(st.sampled_from(WITH_PIES), turns, places)
@settings(max_examples=2, deadline=None)
def test_a_joint_with_pie_pieces_is_as_good_anywhere(
    problem: Problem, rotation: list[float], place: list[float]
) -> None:
    """It is a search, so the last digits may differ; how many welds and how much is cut off does not."""
    turned, by = Rotation.from_rotvec(rotation).as_matrix(), np.array(place)
    here, there = joined(problem)[0], joined(elsewhere(problem, turned, by))[0]
    assert len(there.pies) == len(here.pies)
    assert there.cut_fixed + there.cut_turning == pytest.approx(here.cut_fixed + here.cut_turning, abs=5e-3)


@pytest.mark.parametrize("problem", [*DIRECT, *WITH_PIES[:1]])
def test_the_other_pipe_called_fixed_finds_the_same_joint(problem: Problem) -> None:
    """The turning pipe stands as it was clocked, the other is not turned; the flow runs the other way."""
    here = joined(problem)[0]
    stands = problem.turning.turned(here.choice.rotation)
    swapped = joined(replace(problem, fixed=stands, turning=problem.fixed, holes=1))
    assert len(swapped[0].pies) <= len(here.pies)
    if not here.pies:
        near = min(
            abs(one.cut_turning - here.cut_fixed) + abs(one.cut_fixed - here.cut_turning) for one in swapped
        )
        assert near < 2e-5
        assert np.allclose(swapped[0].corners[::-1], here.corners, atol=2e-5)
