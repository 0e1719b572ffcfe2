"""How much work a run is. The times are common practice, no source; the counts are counting."""

from dataclasses import replace

import pytest

from server.core.tube.making import making
from server.core.tube.run import JointKind, JointPlan, PieceKind
from tests.core.tube.example_runs import EMPTY, SEVEN, SINGLE, THREE, bend, run


def test_two_couplers_on_a_beaded_tube_are_two_cuts_two_beads_and_four_clamps() -> None:
    work = making(THREE)
    assert (work.cuts, work.beads, work.clamped, work.welds) == (2, 2, 4, 0)
    assert work.minutes == pytest.approx(2 * 10 + 2 * 6 + 4 * 4)


def test_a_welded_tube_with_a_side_port_has_two_welds_and_a_bung() -> None:
    work = making(SINGLE)
    assert (work.welds, work.bungs) == (2, 1)


def test_a_bend_comes_to_length_and_a_salvaged_pipe_has_to_be_cleaned() -> None:
    one = bend(1, outside_diameter=60.0, wall=1.5, bend_angle=90.0, bend_radius=90.0, length=40.0)
    assert making(run((one,))).cuts == 0
    assert making(run((replace(one, kind=PieceKind.SALVAGED),))).cleaned == 1


def test_a_v_band_is_bolted_up() -> None:
    joints = (JointPlan(1, JointKind.V_BAND), JointPlan(2, JointKind.WELD))
    assert making(run(SINGLE.pieces, joints)).bolted == 1


def test_more_pieces_are_more_work() -> None:
    minutes = [making(plan).minutes for plan in (EMPTY, THREE, SEVEN)]
    assert minutes == sorted(minutes)
