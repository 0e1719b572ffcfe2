"""The chance that many outputs of a joint normal law are above nothing at once, beside closed forms."""

from math import asin, pi, sqrt

import numpy as np
import pytest
from scipy.special import ndtr

from server.core.measure.normal_chance import normal_chance


@pytest.mark.parametrize("shared", [-0.95, -0.5, 0.0, 0.3, 0.9])
def test_two_outputs_meet_at_the_angle_between_them(shared: float) -> None:
    """W. F. Sheppard (1899): 1/4 + asin(rho)/(2 pi); from memory."""
    slopes = np.array([[2.0, 0.0], [shared, sqrt(1.0 - shared**2)]])
    assert normal_chance(slopes, np.zeros(2)) == pytest.approx(0.25 + asin(shared) / (2.0 * pi), abs=1e-9)


@pytest.mark.parametrize("shared", [-0.9998, -0.6, 0.2, 0.8, 0.9998])
@pytest.mark.parametrize("room", [(1.0, 2.5), (-0.5, 0.3), (-2.0, 3.0)])
def test_two_outputs_with_room_are_an_integral_over_one_of_them(
    shared: float, room: tuple[float, float]
) -> None:
    """The chance of the second under each value of the first, added up on a fine grid."""
    slopes = np.array([[1.0, 0.0], [shared, sqrt(1.0 - shared**2)]])
    first = np.linspace(-room[0], 9.0, 200_001)
    under = ndtr((room[1] + shared * first) / sqrt(1.0 - shared**2))
    expected = np.trapezoid(under * np.exp(-0.5 * first**2), first) / sqrt(2.0 * pi)
    assert normal_chance(slopes, np.array(room)) == pytest.approx(expected, abs=1e-8)


@pytest.mark.parametrize("shared", [-0.99995, 0.99995])
def test_two_outputs_that_nearly_tell_each_other_are_those_of_one_that_does(shared: float) -> None:
    slopes = np.array([[1.0, 0.0], [shared, sqrt(1.0 - shared**2)]])
    told = ndtr(1.0) if shared > 0.0 else ndtr(1.0) - ndtr(-2.0)
    assert normal_chance(slopes, np.array([1.0, 2.0])) == pytest.approx(told, abs=1e-3)


@pytest.mark.parametrize("count", [3, 8, 24])
def test_outputs_that_share_half_of_their_variance(count: int) -> None:
    """All of n above nothing, each two correlated by a half: 1/(n + 1), as the common part is just one more
    of n + 1 alike; from memory.
    """
    slopes = sqrt(0.5) * np.column_stack([np.eye(count), np.ones(count)])
    assert normal_chance(slopes, np.zeros(count)) == pytest.approx(1.0 / (count + 1), abs=1.5e-3)


def test_outputs_that_share_nothing_multiply() -> None:
    room = np.array([1.0, 2.0, 3.0, 0.5])
    assert normal_chance(np.eye(4), room) == pytest.approx(float(np.prod(ndtr(room))), rel=1e-12)


def test_groups_that_share_nothing_with_one_another_multiply() -> None:
    """Two pairs, each by Sheppard's closed form, and one by itself; which stands first is no matter."""
    slopes = np.zeros((5, 5))
    slopes[[0, 3]] = [[1.0, 0.0, 0.0, 0.0, 0.0], [0.6, 0.8, 0.0, 0.0, 0.0]]
    slopes[[1, 4]] = [[0.0, 0.0, 3.0, 0.0, 0.0], [0.0, 0.0, -0.8, 0.6, 0.0]]
    slopes[2] = [0.0, 0.0, 0.0, 0.0, 2.0]
    expected = (0.25 + asin(0.6) / (2.0 * pi)) * (0.25 + asin(-0.8) / (2.0 * pi)) * 0.5
    assert normal_chance(slopes, np.zeros(5)) == pytest.approx(expected, abs=1e-9)


def test_outputs_tied_by_a_third_are_one_group() -> None:
    """The first and the last share nothing, yet both share with the one between; beside a million draws."""
    slopes = np.array([[1.0, 0.0, 0.0], [0.6, 0.0, 0.8], [0.0, 0.0, 1.0]])
    room = np.array([0.2, 0.3, 0.4])
    draws = np.random.default_rng(7).standard_normal((1_000_000, 3))
    expected = (room + draws @ slopes.T >= 0.0).all(axis=1).mean()
    assert normal_chance(slopes, room) == pytest.approx(expected, abs=2e-3)


def test_two_limits_of_one_size_are_an_interval() -> None:
    """A gap that may be neither too wide nor too narrow, told twice over."""
    slopes = np.array([[0.2, 0.1], [-0.2, -0.1], [0.4, 0.2]])
    doubt = sqrt(0.05)
    expected = ndtr(1.5) - ndtr(-1.0)
    assert normal_chance(slopes, doubt * np.array([1.0, 1.5, 4.0])) == pytest.approx(expected, abs=1e-9)


def test_an_output_that_two_others_tell_is_counted_where_it_is_closer() -> None:
    """A sum that must stay above what both parts may: beside half a million draws."""
    slopes = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 1.0]])
    room = np.array([1.0, 1.0, 0.5])
    drawn = np.random.default_rng(1).standard_normal((2, 500_000))
    counted = (room[:, np.newaxis] + slopes @ drawn >= 0.0).all(axis=0).mean()
    assert normal_chance(slopes, room) == pytest.approx(counted, abs=2e-3)


@pytest.mark.parametrize(("room", "chance"), [(0.0, 1.0), (-1e-9, 0.0)])
def test_an_output_without_doubt_passes_or_fails(room: float, chance: float) -> None:
    assert normal_chance(np.array([[0.0, 0.0]]), np.array([room])) == chance
    beside = normal_chance(np.array([[0.0, 0.0], [1.0, 0.0]]), np.array([room, 0.0]))
    assert beside == pytest.approx(0.5 * chance)


def test_what_all_but_fails_by_itself_leaves_no_more_chance_to_all() -> None:
    room = np.array([-20.0, 1.0, 2.0])
    assert 0.0 <= normal_chance(np.eye(3), room) <= ndtr(-20.0)
