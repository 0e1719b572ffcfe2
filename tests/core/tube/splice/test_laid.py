"""The pieces that a splice leaves: laid out as a run they end where the turning flange stands."""

from itertools import pairwise
from math import cos, degrees, radians

import numpy as np
import pytest

from server.core.tube.centreline import lay_out
from server.core.tube.cutting.bench import benched
from server.core.tube.laid import LaidRun, Tube, plans_of
from server.core.tube.run import EndForm, JointKind, PieceKind, Place, RunPlan
from server.core.tube.space.bend_table import BendRow, BendTable
from server.core.tube.space.poses import run_axes
from server.core.tube.space.vectors import Vector, angle_between, unit, vector
from server.core.tube.splice.laid import laid_splice
from server.core.tube.splice.piece import Piece, from_table
from server.core.tube.splice.problem import Problem
from server.core.tube.splice.solve import splice
from tests.splice_problems import Known, all_of

SOME = all_of(seed=29, count=8)
TUBE = Tube(0.0635, 0.0016, "mild steel")
ENDS = (EndForm.FLANGE, EndForm.V_BAND)
CORNERS = [vector(one) for one in ((0.0, 0.0, 0.0), (0.2, 0, 0), (0.4, 0.3, 0.1), (0.35, 0.5, 0.3))]


def end_to_end() -> Problem:
    """Two pipes with a bend each that lie in one line where they meet: a square cut, no turn at the weld."""
    start, first, second, end = CORNERS
    fixed = Piece((start, first, first + 0.8 * (second - first)), (0.095,))
    turning = Piece((end, second, second + 0.8 * (first - second)), (0.1,))
    return Problem(fixed, turning, 1, TUBE.outside, 0, radians(30.0), 0.01, 0.0008)


def test_two_bends_and_a_square_weld_reach_the_flange_they_were_cut_for() -> None:
    problem = end_to_end()
    (found, *_) = splice(problem).splices
    pieces = laid_splice(problem, found, TUBE, ENDS)
    run = LaidRun(JointKind.FLANGE, pieces)
    line = lay_out(RunPlan(Place.DOWNPIPE, None, None, *plans_of(run)))
    corners = [vector(one) for one in line.corners]
    for one, other in ((0, 3), (0, 2), (1, 3)):
        laid, stands = (np.linalg.norm(points[other] - points[one]) for points in (corners, CORNERS))
        assert laid == pytest.approx(stands, abs=1e-6)
    assert winding(corners) == pytest.approx(winding(CORNERS), abs=1e-6)  # and no mirror image of it


@pytest.mark.parametrize("known", SOME, ids=[f"{at} {one.kind}" for at, one in enumerate(SOME)])
def test_a_taken_splice_ends_where_the_turning_flange_stands(known: Known) -> None:
    """Through every bend and mitre; what is left is rounding, and the pull where there is one."""
    problem = known.problem
    for found in splice(problem).splices:
        pieces = laid_splice(problem, found, TUBE, ENDS)
        line = lay_out(RunPlan(Place.DOWNPIPE, None, None, *plans_of(LaidRun(JointKind.FLANGE, pieces))))
        axes = run_axes(problem.fixed.axis)
        reached = problem.fixed.corners[0] + vector(line.end.point) @ axes
        assert np.linalg.norm(reached - problem.turning.corners[0]) <= found.pull + 1e-6
        assert angle_between(vector(line.end.direction) @ axes, -problem.turning.axis) < 1e-5
        mitres = [arc.angle for one in line.pieces for arc in one.arcs if arc.is_mitre]
        sawn = [2.0 * joint.saw for joint in found.joints if joint.saw > 1e-6]
        assert mitres == pytest.approx(sawn)


def test_both_sides_of_a_mitre_are_sawn_alike_and_marked_where_the_splice_says() -> None:
    """Counted from 12 o'clock of the fixed flange, the line carried along, as the sheet of splices counts."""
    problem = next(one.problem for one in SOME if one.kind == "two pies")
    found = splice(problem).splices[0]
    pieces = laid_splice(problem, found, TUBE, ENDS)
    line = lay_out(RunPlan(Place.DOWNPIPE, None, None, *plans_of(LaidRun(JointKind.FLANGE, pieces))))
    benches = benched(line, {})
    outlets = [end for one in benches for end in one.mitres if end.end == "outlet"]
    inlets = [end for one in benches for end in one.mitres if end.end == "inlet"]
    assert [end.saw for end in outlets] == pytest.approx([joint.saw for joint in found.joints])
    assert [end.saw for end in inlets] == pytest.approx([joint.saw for joint in found.joints])
    for ends in (outlets, inlets):
        for end, joint in zip(ends, found.joints, strict=True):
            assert cos(end.throat - joint.mark) == pytest.approx(1.0, abs=1e-6)


def winding(corners: list[Vector]) -> float:
    """How the third leg leaves the plane of the first two [-]; a mirror image has the other sign."""
    first, second, third = (unit(after - before) for before, after in pairwise(corners))
    return float(np.cross(first, second) @ third)


def test_each_piece_is_as_long_as_its_pipe_is_cut() -> None:
    problem = end_to_end()
    (found, *_) = splice(problem).splices
    first, last = laid_splice(problem, found, TUBE, ENDS)
    for piece, cut in ((first, found.cut_fixed), (last, found.cut_turning)):
        sizes = piece.sizes
        arc = sizes["bend_radius"] * sizes["bend_angle"]
        assert sizes["length"] + arc + sizes["length_out"] == pytest.approx(cut)
        assert piece.kind is PieceKind.SALVAGED
    assert (first.inlet, last.outlet) == ENDS
    assert "cut square" in first.name


def test_a_bend_table_starts_at_the_flange_and_turns_by_its_clock() -> None:
    """A quarter turn to 3 o'clock of a flange that looks forward goes to the car's right; geometry."""
    table = BendTable((BendRow(0.1, radians(90.0), radians(90.0), 0.1),), 0.2)
    piece = from_table(table, vector([1.0, 2.0, 3.0]), vector([1.0, 0.0, 0.0]))
    end = vector([1.2, 1.7, 3.0])
    assert piece.corners[-1] == pytest.approx(end)
    assert degrees(angle_between(piece.axis, vector([1.0, 0.0, 0.0]))) == pytest.approx(0.0)
