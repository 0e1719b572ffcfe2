"""Which routes are shown; the thresholds are common practice, no source."""

import math

from server.core.tube.route.problem import BendKind, Route
from server.core.tube.route.ranked import worth_showing
from server.core.tube.space.bend_table import BendRow, BendTable

KIND = BendKind(0.1, math.pi / 2.0, True)


def route(straight: float, *turns: tuple[float, float]) -> Route:
    """A route by its bends, each (angle, rotation) [°]; straight: before each [m]."""
    rows = tuple(BendRow(straight, math.radians(roll), math.radians(angle), 0.1) for angle, roll in turns)
    return Route((), (KIND,) * len(rows), BendTable(rows, straight), 0.0, 0.0)


def test_one_more_bend_has_to_make_it_clearly_shorter_while_there_is_a_choice() -> None:
    ways = [route(0.3, (90, 0), (90, roll)) for roll in (90, 120, 150)]
    little = route(0.22, (90, 0), (60, 90), (30, 90))
    much = route(0.15, (90, 0), (60, 90), (30, 90))
    assert worth_showing([*ways, little]) == tuple(ways)
    assert worth_showing([*ways, much]) == (*ways, much)


def test_where_there_is_little_choice_longer_ones_of_another_shape_come_last() -> None:
    two = route(0.3, (90, 0), (90, 90))
    longer = [route(0.22, (90, 0), (60, roll), (30, 90)) for roll in (30, 60, 90)]
    assert worth_showing([two, *longer]) == (two, *longer[:2])


def test_the_same_shape_slid_along_is_shown_once() -> None:
    first, slid = route(0.30, (60, 0), (60, 90)), route(0.31, (63, 0), (57, 92))
    other_side = route(0.31, (60, 0), (60, -90))
    assert worth_showing([first, slid, other_side]) == (first, other_side)


def test_half_turns_of_roll_are_the_same_either_way() -> None:
    assert len(worth_showing([route(0.3, (60, 0), (60, 179)), route(0.3, (60, 0), (60, -179))])) == 1
