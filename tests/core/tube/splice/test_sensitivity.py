"""How much a splice hangs on each reading, worked by hand and seen against solving it anew."""

import math
from dataclasses import replace

import pytest

from server.core.tube.splice.sensitivity import Felt, Reading, felt, readings_of
from server.core.tube.splice.solve import joined
from tests.core.tube.splice.test_direct import FROM_THE_LEFT, LEVEL, MM, asked, pipe
from tests.splice_problems import all_of

CROSSING = asked(LEVEL, FROM_THE_LEFT)


def of(reading: Reading) -> Felt:
    (best,) = joined(CROSSING)
    return felt(CROSSING, best, [reading])[0]


def test_a_flange_read_too_far_forward_moves_the_cut_in_the_other_pipe() -> None:
    """The turning pipe runs 400 mm to the right and is crossed after 300 mm: a quarter arrives there."""
    forward = of(Reading(True, 0, 0, MM))
    assert forward.cut_fixed == pytest.approx(0.25 * MM, rel=1e-3)
    assert forward.pull == pytest.approx(0.0, abs=1e-9)


def test_a_flange_read_too_high_asks_for_a_pull() -> None:
    high = of(Reading(True, 0, 2, MM))
    assert high.pull == pytest.approx(0.25 * MM, rel=1e-3)
    assert high.off == pytest.approx(1.0 * MM, rel=0.5)  # what was cut as planned misses by about the reading


def test_a_far_end_that_is_cut_off_has_no_say_along_its_pipe() -> None:
    along = of(Reading(False, 1, 0, MM))
    assert along.cut_fixed == pytest.approx(0.0, abs=1e-9)
    assert along.off == pytest.approx(0.0, abs=1e-9)


def test_every_coordinate_of_every_corner_is_a_reading() -> None:
    every = readings_of(CROSSING, MM)
    assert len(every) == 12
    (best,) = joined(CROSSING)
    assert len(felt(CROSSING, best, every)) == 12


def test_pie_pieces_take_up_the_change() -> None:
    """Both cuts stay; an end read 1 mm out along the piece makes it 1 mm longer."""
    problem = asked(LEVEL, pipe([[900, 0, 40], [500, 0, 40]]), pies=1)
    (best,) = joined(problem)
    told = felt(problem, best, [Reading(True, 0, 0, MM), Reading(True, 1, 0, MM)])
    turn = 2.0 * best.joints[0].saw
    assert told[0].cut_fixed == told[0].cut_turning == 0.0
    assert told[0].pie == pytest.approx(math.cos(turn) * MM, rel=0.05)
    assert told[0].saw > 0.0
    assert told[1].pie == pytest.approx(0.0, abs=1e-9)


def test_a_joint_solved_again_is_the_one_that_is_found_anew() -> None:
    """On a flange that turns freely, where stations and rotation move together."""
    for known in all_of(seed=5, count=24)[::4]:
        best = joined(known.problem)[0]
        if best.joints[0].saw < 0.02:
            continue  # two pipes in one line, moved, meet nowhere near
        reading = Reading(True, 0, 1, 0.01 * MM)
        told = felt(known.problem, best, [reading])[0]
        corners = [corner.copy() for corner in known.problem.turning.corners]
        corners[0][1] += 0.01 * MM
        turning = replace(known.problem.turning, corners=tuple(corners))
        anew = joined(replace(known.problem, turning=turning, saw=math.radians(50.0)))
        stations = [best.cut_fixed + told.cut_fixed, best.cut_turning + told.cut_turning]
        near = min(math.dist(stations, (one.cut_fixed, one.cut_turning)) for one in anew if not one.pies)
        assert near < 0.01 * MM
