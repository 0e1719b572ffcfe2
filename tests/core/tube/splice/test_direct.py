"""Joints with one weld, worked by hand: where the lines meet, how the saw stands, where the throat is."""

import math
from dataclasses import replace

import numpy as np
import pytest

from server.core.tube.space.vectors import vector
from server.core.tube.splice.piece import Piece, carried, fault, straights, twelve_o_clock
from server.core.tube.splice.problem import GAP, SAW, STRAIGHTS, Answer, Problem, Splice
from server.core.tube.splice.rebuild import closure
from server.core.tube.splice.solve import splice
from tests.splice_problems import faults

MM = 1e-3
Points = list[list[float]]


def pipe(corners: Points, *radii: float) -> Piece:
    """A pipe from its flange outwards, in millimetres."""
    return Piece(tuple(vector(corner) * MM for corner in corners), tuple(radius * MM for radius in radii))


def asked(
    fixed: Piece, turning: Piece, holes: int = 1, pies: int = 0, saw: float = 45.0, gap: float = 0.0
) -> Problem:
    """Pipes of 60 mm; lengths in millimetres, angles in degrees."""
    return Problem(fixed, turning, holes, 60.0 * MM, pies, math.radians(saw), 10.0 * MM, gap * MM)


def only(answer: Answer) -> Splice:
    assert len(answer.splices) == 1, answer.reason
    return answer.splices[0]


LEVEL = pipe([[0, 0, 0], [400, 0, 0]])
FROM_THE_LEFT = pipe([[250, 300, 0], [250, -100, 0]])


def test_two_pipes_that_cross_squarely_are_mitred_at_45_degrees() -> None:
    problem = asked(LEVEL, FROM_THE_LEFT)
    found = only(splice(problem))
    assert (found.cut_fixed, found.cut_turning) == pytest.approx((0.25, 0.3))
    assert math.degrees(found.joints[0].saw) == pytest.approx(45.0)
    assert math.degrees(found.joints[0].mark) == pytest.approx(-90.0)  # the throat is at 9 o'clock
    assert found.waste == pytest.approx(0.25)  # 150 mm and 100 mm are cut off
    assert found.pies == ()
    assert faults(problem, found) == []


@pytest.mark.parametrize(
    ("far", "mark"),
    [([250, 300, 0], -90.0), ([250, -300, 0], 90.0), ([250, 0, 300], 0.0), ([250, 0, -300], 180.0)],
)
def test_the_throat_is_marked_by_the_clock_as_seen_along_the_flow(far: list[float], mark: float) -> None:
    """Left is 9 o'clock, right 3, up 12, down 6."""
    beyond = [250.0, -far[1] / 3.0, -far[2] / 3.0]
    found = only(splice(asked(LEVEL, pipe([far, beyond]))))
    assert math.degrees(found.joints[0].mark) == pytest.approx(mark)


def test_a_flange_that_looks_up_has_its_mark_towards_the_front_of_the_car() -> None:
    """Looking up along the flow with the front at 12, the left of the car is at 3 o'clock."""
    rising = pipe([[0, 0, 0], [0, 0, 400]])
    found = only(splice(asked(rising, pipe([[0, 300, 250], [0, -100, 250]]))))
    assert math.degrees(found.joints[0].mark) == pytest.approx(90.0)
    assert np.allclose(twelve_o_clock(vector([0.0, 0.0, 1.0])), [1.0, 0.0, 0.0])
    assert np.allclose(twelve_o_clock(vector([0.0, 0.6, -0.8])), [0.0, 0.8, 0.6])


def test_a_paint_line_is_carried_round_a_bend_as_along_the_pipe() -> None:
    """A bend to the left leaves the top on top; a bend up takes the top backwards."""
    forward, up, left = vector([1.0, 0.0, 0.0]), vector([0.0, 0.0, 1.0]), vector([0.0, 1.0, 0.0])
    assert np.allclose(carried(up, forward, left), up)
    assert np.allclose(carried(up, forward, up), -forward)
    assert np.allclose(carried(up, forward, forward), up)


def test_after_a_bend_up_the_mark_is_counted_from_the_carried_line() -> None:
    """Forward, then up: the top of the flange now looks back, so a throat to the rear is at 12 o'clock."""
    fixed = pipe([[0, 0, 0], [200, 0, 0], [200, 0, 500]], 90)
    found = only(splice(asked(fixed, pipe([[-200, 0, 350], [300, 0, 350]]))))
    assert math.degrees(found.joints[0].mark) == pytest.approx(0.0, abs=1e-9)
    assert found.cut_fixed == pytest.approx(0.11 + 0.09 * math.pi / 2 + 0.26)  # straight, arc, straight


def test_lines_that_pass_are_pulled_together_as_far_as_that_is_allowed() -> None:
    above = pipe([[250, 300, 0.8], [250, -100, 0.8]])
    problem = asked(LEVEL, above, gap=1.0)
    found = only(splice(problem))
    assert found.pull == pytest.approx(0.8 * MM)
    assert found.closure == pytest.approx(0.0, abs=1e-9)
    assert faults(problem, found) == []
    none = splice(asked(LEVEL, above, gap=0.5))
    assert none.splices == ()
    miss = next(miss for miss in none.misses if miss.limit == GAP)
    assert (miss.needs, miss.over) == pytest.approx((0.8 * MM, 0.3 * MM))
    assert "800 µm" in none.reason or "0.8 mm" in none.reason


def test_pipes_in_one_line_are_cut_square_and_put_end_to_end() -> None:
    problem = asked(LEVEL, pipe([[700, 0, 0], [350, 0, 0]]))
    found = only(splice(problem))
    assert found.joints[0].saw == pytest.approx(0.0, abs=1e-9)
    assert found.cut_fixed + found.cut_turning == pytest.approx(0.7)
    assert 0.35 <= found.cut_fixed <= 0.4
    assert faults(problem, found) == []


def test_parallel_pipes_side_by_side_do_not_meet() -> None:
    none = splice(asked(LEVEL, pipe([[700, 20, 0], [350, 20, 0]]), gap=1.0))
    assert none.splices == ()
    assert next(miss.needs for miss in none.misses if miss.limit == GAP) == pytest.approx(20 * MM)


def test_pipes_that_run_the_same_way_are_never_folded_into_one() -> None:
    """Two flanges in one line that look the same way: the turn is 180°, which no saw cuts."""
    none = splice(asked(LEVEL, pipe([[-200, 0, 0], [300, 0, 0]])))
    assert none.splices == ()


def test_a_mitre_needs_half_the_diameter_times_the_slope_of_straight() -> None:
    """The lines cross 20 mm before the end; 45° on 60 mm pipe needs 30 mm of straight: 10 mm are missing."""
    short = pipe([[0, 0, 0], [270, 0, 0]])
    none = splice(asked(short, FROM_THE_LEFT))
    miss = next(miss for miss in none.misses if miss.limit == STRAIGHTS)
    assert miss.over == pytest.approx(10 * MM)
    assert splice(asked(pipe([[0, 0, 0], [280, 0, 0]]), FROM_THE_LEFT)).splices


def test_a_mitre_is_not_put_into_an_arc() -> None:
    """The same with an arc after the straight: its tangent point is at 270 mm."""
    bent = pipe([[0, 0, 0], [360, 0, 0], [360, 0, 400]], 90)
    assert splice(asked(bent, FROM_THE_LEFT)).splices == ()


def test_a_saw_that_stops_short_is_said_with_how_far() -> None:
    none = splice(asked(LEVEL, FROM_THE_LEFT, saw=40.0))
    miss = next(miss for miss in none.misses if miss.limit == SAW)
    assert (math.degrees(miss.needs), math.degrees(miss.over)) == pytest.approx((45.0, 5.0))
    assert "45.00°, 5.00° over" in none.reason


def test_a_flange_is_clocked_to_the_hole_that_lets_the_lines_meet() -> None:
    """An elbow on a flange of four holes, at clocking 0 pointing away; half a turn brings it round."""
    away = pipe([[250, 300, -200], [250, 300, 0], [250, 700, 0]], 90)
    problem = asked(LEVEL, away, holes=4)
    found = only(splice(problem))
    assert found.choice.clocking == 2
    assert math.degrees(found.choice.rotation) == pytest.approx(180.0)
    assert splice(replace(problem, holes=3)).splices == ()
    assert any(
        math.isclose(one.choice.rotation, math.pi) for one in splice(replace(problem, holes=0)).splices
    )


def test_a_rotation_is_right_handed_about_the_outward_axis() -> None:
    """The flange looks up; a quarter turn takes an elbow that points forward to the left."""
    elbow = pipe([[250, 300, -200], [250, 300, 0], [650, 300, 0]], 90)
    found = only(splice(asked(LEVEL, elbow, holes=4)))
    assert math.degrees(found.choice.rotation) == pytest.approx(270.0)


def test_the_walk_sees_a_cut_that_is_wrong() -> None:
    """A mark 5° off, or a cut 1 mm off, leaves the pipe open."""
    problem = asked(LEVEL, FROM_THE_LEFT)
    found = only(splice(problem))
    joint = replace(found.joints[0], mark=found.joints[0].mark + math.radians(5.0))
    off, angle = closure(problem.fixed, problem.turning, replace(found, joints=(joint,)))
    assert off > 20 * MM
    assert math.degrees(angle) > 4.9
    off, _ = closure(problem.fixed, problem.turning, replace(found, cut_fixed=found.cut_fixed + MM))
    assert off == pytest.approx(MM)


def test_straights_are_counted_from_tangent_to_tangent() -> None:
    """Legs of 200 and 300 mm round a square bend of 90: 110 and 210 mm of straight."""
    first, second = straights(pipe([[0, 0, 0], [200, 0, 0], [200, 300, 0]], 90))
    assert (first.length, second.length) == pytest.approx((0.11, 0.21))
    assert second.station == pytest.approx(0.11 + 0.09 * math.pi / 2)
    assert np.allclose(second.start, [0.2, 0.09, 0.0])


def test_arcs_that_overlap_are_no_pipe() -> None:
    at, why = fault(pipe([[0, 0, 0], [200, 0, 0], [200, 100, 0], [400, 100, 0]], 90, 90)) or (0, "")
    assert at == 2
    assert "overlap before it by 80 mm" in why
    assert fault(LEVEL) is None
