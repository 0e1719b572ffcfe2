"""What is said where there is no route: what stands in the way, and what would help."""

import math

import pytest

from server.core.tube.route.problem import Asked, BendKind, End
from server.core.tube.route.search import find_routes
from server.core.tube.space.keep_outs import Capsule, KeepOut, ball
from server.core.tube.space.vectors import vector

ELBOW = BendKind(0.1, math.radians(90.0))
KNEE = BendKind(0.1, math.radians(45.0))
FROM = End(vector([0, 0, 0]), vector([1, 0, 0]))
Triple = tuple[float, float, float]


def why(
    point: Triple,
    flow: Triple,
    *bends: BendKind,
    most: int = 3,
    shortest: float = 0.02,
    keep_outs: tuple[KeepOut, ...] = (),
) -> str:
    """The reason for a 50 mm pipe from the origin, flowing forward."""
    end = End(vector(list(point)), vector(list(flow)))
    found = find_routes(Asked(FROM, end, bends, shortest, 0.05, most, keep_outs))
    assert found.found == ()
    return found.reason


def test_ends_in_one_place() -> None:
    assert "same place" in why((0, 0, 0), (1, 0, 0), ELBOW)


def test_parallel_lines_and_one_bend() -> None:
    assert "parallel, 200 mm apart" in why((0.5, 0.2, 0), (1, 0, 0), ELBOW, most=1)
    assert "Allow two bends" in why((0.5, 0.2, 0), (1, 0, 0), ELBOW, most=1)


def test_lines_that_miss_each_other_and_one_bend() -> None:
    assert "miss each other by 30 mm" in why((0.5, 0.3, 0.03), (0, 1, 0), ELBOW, most=1)


def test_a_turn_right_round_with_too_few_bends() -> None:
    assert "must turn by 180°, and one bend turns it by 90° at the most" in why(
        (0, 0.3, 0), (-1, 0, 0), ELBOW, most=1
    )
    assert "3 bends turn it by 135° at the most" in why((0, 0.3, 0), (-1, 0, 0), KNEE)


def test_no_bends_at_all() -> None:
    assert "200 mm out of line" in why((0.5, 0.2, 0), (1, 0, 0))
    assert "turn by 90° and no bend" in why((0.5, 0.2, 0), (0, 1, 0))
    assert "10 mm apart in one line, and the shortest straight is 20 mm" in why((0.01, 0, 0), (1, 0, 0))
    assert "behind the start" in why((-0.3, 0, 0), (1, 0, 0))


def test_bends_that_are_larger_than_the_gap() -> None:
    """Two elbows of radius 100 step by 200 mm at the least: 150 is reached only by tighter or lesser ones."""
    reason = why((0.3, 0.15, 0), (1, 0, 0), ELBOW, most=2)
    assert "radius of 100 mm" in reason
    assert "a bend that may be cut down" in reason
    assert "half the radius" in reason


def test_an_end_inside_a_keep_out_and_a_wall_between() -> None:
    inside = ball(vector([0.5, 0.3, 0]), 0.05, 0.01)
    assert "The end lies too near to keep-out 1 already, by 85 mm" in why(
        (0.5, 0.3, 0), (0, 1, 0), ELBOW, keep_outs=(inside,)
    )
    bar = Capsule(vector([0.25, 0, -9]), vector([0.25, 0, 9]), 0.05, 0.0)
    reason = why((0.5, 0, 0), (1, 0, 0), KNEE, keep_outs=(bar,))
    assert "keep-out 1 out of the way" in reason


@pytest.mark.parametrize("flow", [(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, 0, 1)])
@pytest.mark.parametrize("point", [(0.4, 0, 0), (-0.4, 0, 0), (0, 0.4, 0), (0.4, 0.4, 0.4), (0, 0, 0)])
def test_ends_square_to_each_other_always_get_a_route_or_a_reason(point: Triple, flow: Triple) -> None:
    end = End(vector(list(point)), vector(list(flow)))
    found = find_routes(Asked(FROM, end, (ELBOW,), 0.02, 0.05))
    assert bool(found.found) != bool(found.reason)
