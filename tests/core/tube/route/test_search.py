"""Routes on problems built backwards from a run, each walked again from its bends and straights alone."""

import math

import numpy as np
import pytest

from server.core.tube.route.problem import Asked, BendKind, End, Route
from server.core.tube.route.search import find_routes
from server.core.tube.space.bend_table import corners_of, table_of
from server.core.tube.space.vectors import vector
from tests.route_problems import Built, built, faults

ELBOW = BendKind(0.1, math.radians(90.0))
FROM = End(vector([0, 0, 0]), vector([1, 0, 0]))


@pytest.mark.parametrize("seed", range(1000, 1030))
def test_there_is_a_route_wherever_one_was_built(seed: int) -> None:
    """Two or three bends, every other time with keep-outs: closed, clear, hardly longer than the run."""
    problem: Built = built(seed)
    found = find_routes(problem.asked).found
    assert found
    assert [fault for route in found for fault in faults(problem.asked, route)] == []
    assert min(route.length for route in found) <= 1.02 * problem.table.developed


def lengths(route: Route) -> list[float]:
    straights = [*(row.straight for row in route.table.rows), route.table.last_straight]
    return [round(1e3 * straight, 6) for straight in straights]


def test_two_elbows_make_a_step() -> None:
    """Worked by hand: 300 mm ahead, 200 mm to the left, radius 100: no straight between the two elbows."""
    found = find_routes(
        Asked(FROM, End(vector([0.3, 0.2, 0.0]), vector([1, 0, 0])), (ELBOW,), 0.0, 0.05)
    ).found
    assert len(found[0].kinds) == 2
    assert found[0].length == pytest.approx(0.1 + math.pi * 0.1)
    assert sum(lengths(found[0])) == pytest.approx(100.0)


def test_one_elbow_where_the_lines_meet() -> None:
    found = find_routes(
        Asked(FROM, End(vector([0.3, 0.4, 0.0]), vector([0, 1, 0])), (ELBOW,), 0.0, 0.05)
    ).found
    assert lengths(found[0]) == pytest.approx([200.0, 300.0])


def test_a_straight_needs_no_bend() -> None:
    found = find_routes(Asked(FROM, End(vector([0.3, 0.0, 0.0]), vector([1, 0, 0])), (), 0.1, 0.05)).found
    assert lengths(found[0]) == [300.0]


@pytest.mark.parametrize("seed", range(1000, 1004))
def test_corners_to_bends_and_back_are_the_same_corners(seed: int) -> None:
    for route in find_routes(built(seed).asked).found:
        first, second, third = route.corners[:3]
        normal = np.cross(second - first, third - second)
        way = (second - first) / np.linalg.norm(second - first)
        table = table_of(route.corners, [kind.radius for kind in route.kinds])
        again = corners_of(table, first, way, normal / np.linalg.norm(normal))
        assert np.allclose(again, route.corners, rtol=0.0, atol=1e-9)
        pieces = sum(row.straight + row.radius * row.angle for row in route.table.rows)
        assert pieces + route.table.last_straight == pytest.approx(route.length, abs=1e-12)
