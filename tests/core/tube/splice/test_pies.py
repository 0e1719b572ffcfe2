"""Joints with pie pieces, and what is said where there is none."""

import math

import numpy as np
import pytest

from server.core.tube.splice.problem import SAW
from server.core.tube.splice.solve import splice
from tests.core.tube.splice.test_direct import LEVEL, MM, asked, only, pipe
from tests.splice_problems import Known, all_of, faults
from tests.splices_that_miss import Missed, all_missed, wrong

KNOWN = all_of(seed=11, count=12)
MISSED = all_missed(seed=12, count=4)


@pytest.mark.parametrize("known", KNOWN, ids=[f"{at} {one.kind}" for at, one in enumerate(KNOWN)])
def test_a_joint_that_was_cut_apart_is_found_again(known: Known) -> None:
    """With no more welds than it had, closed, every mitre in a straight. All 300: tests.bench.splices."""
    answer = splice(known.problem)
    assert answer.splices, answer.reason
    assert len(answer.splices[0].pies) <= known.pies
    for one in answer.splices:
        assert faults(known.problem, one) == []


@pytest.mark.parametrize("missed", MISSED, ids=[f"{at} {one.limit}" for at, one in enumerate(MISSED)])
def test_where_there_is_none_it_is_said_by_how_much(missed: Missed) -> None:
    """The bound is proved where the problem is made; what is said to be enough is, and less is not."""
    assert wrong(missed, splice(missed.problem)) == []


def test_one_pie_piece_joins_two_skew_pipes() -> None:
    """Pipes that pass each other by 60 mm, square to each other."""
    problem = asked(LEVEL, pipe([[250, 300, 60], [250, -100, 60]]), pies=1)
    found = only(splice(problem))
    assert len(found.pies) == 1
    assert len(found.joints) == 2
    assert faults(problem, found) == []


def test_two_mitres_make_a_parallel_offset() -> None:
    """Parallel lines 40 mm apart: both saw angles are equal, and travel² = offset² + advance²."""
    problem = asked(LEVEL, pipe([[900, 0, 40], [500, 0, 40]]), pies=1)
    found = only(splice(problem))
    one, other = found.joints
    assert one.saw == pytest.approx(other.saw, abs=1e-9)
    assert one.mark == pytest.approx(0.0, abs=1e-9)
    assert abs(other.mark) == pytest.approx(math.pi)
    assert found.pies[0].centre == pytest.approx(40 * MM / math.sin(2.0 * one.saw))
    assert abs(found.pies[0].roll) == pytest.approx(math.pi)


def test_the_throat_of_a_wedge_is_its_middle_less_both_slants() -> None:
    """A bend in one plane: both throats lie inside, centre − D/2 (tan α + tan β); mitred-bend arithmetic."""
    problem = asked(LEVEL, pipe([[600, 500, 0], [600, 200, 0]]), pies=1)
    found = only(splice(problem))
    slants = sum(math.tan(joint.saw) for joint in found.joints)
    assert sum(2.0 * joint.saw for joint in found.joints) == pytest.approx(math.pi / 2)
    assert found.pies[0].throat == pytest.approx(found.pies[0].centre - 30 * MM * slants)
    assert found.pies[0].roll == pytest.approx(0.0, abs=1e-6)


def test_a_half_turn_needs_at_least_a_sixth_of_it_at_each_of_three_cuts() -> None:
    """Two flanges side by side that look the same way: 180° by three joints is a saw of 30° at least."""
    beside = pipe([[0, 300, 0], [400, 300, 0]])
    none = splice(asked(LEVEL, beside, pies=2, saw=29.0))
    miss = next(miss for miss in none.misses if miss.limit == SAW)
    assert math.degrees(miss.needs) == pytest.approx(30.0, abs=0.01)
    assert "up to two pie pieces" in none.reason
    enough = only(splice(asked(LEVEL, beside, pies=2, saw=30.0)))
    assert [math.degrees(joint.saw) for joint in enough.joints] == pytest.approx([30.0] * 3, abs=0.01)


def test_fewer_welds_come_first_and_a_pull_is_not_the_last_word() -> None:
    """Where the direct joint has to be pulled, a joint with a pie piece and no pull is told after it."""
    problem = asked(LEVEL, pipe([[250, 300, 0.8], [250, -100, 0.8]]), pies=1, gap=1.0)
    answer = splice(problem)
    assert [len(one.pies) for one in answer.splices] == [0, 1]
    assert [one.pull > 0.0 for one in answer.splices] == [True, False]
    assert "pull" in answer.notes[0]


def test_pipe_that_must_be_found_elsewhere_is_said() -> None:
    far = asked(pipe([[0, 0, 0], [60, 0, 0]]), pipe([[900, 0, 40], [840, 0, 40]]), pies=1)
    answer = splice(far)
    assert only(answer).pies[0].centre > 0.7
    assert "elsewhere" in answer.notes[0]
    assert answer.splices[0].waste == 0.0


def test_several_limits_may_stand_in_the_way_at_once() -> None:
    """The lines pass each other by 30 mm and cross beyond the end: no single limit is enough."""
    none = splice(asked(pipe([[0, 0, 0], [200, 0, 0]]), pipe([[250, 300, 30], [250, -100, 30]])))
    assert none.misses == ()
    assert {miss.limit for miss in none.together} == {"gap", "straights"}
    assert "Several limits" in none.reason
    assert np.isfinite([miss.over for miss in none.together]).all()
