"""A route made into pieces, rebuilt piece by piece as the drawing and the cut sheet lay a run out."""

import math

import numpy as np
import pytest

from server.core.tube.bought import bend_of
from server.core.tube.centreline import lay_out
from server.core.tube.laid import Fit, LaidRun, Tube, fit_of, laid_run, plans_of, typed_piece
from server.core.tube.route.problem import Asked, BendKind, End
from server.core.tube.route.search import find_routes
from server.core.tube.run import EndForm, JointKind, PieceKind, Place, PortPlan, RunPlan
from server.core.tube.space.in_car import in_car, miss
from server.core.tube.space.poses import Level, PortPose, Tilt, by_words, flow_at
from server.core.tube.space.poses import Place as Spot
from server.core.tube.space.vectors import vector

TUBE = Tube(0.060, 0.0015, "aluminium")
HOSE = Fit(JointKind.HOSE_AND_CLAMP, 0.0635)


def pose(point: tuple[float, float, float], level: Level, tilt: Tilt) -> PortPose:
    return PortPose(Spot(vector(point), vector((0.003,) * 3)), by_words(level, tilt, 0.05))


START = pose((0.10, 0.05, 0.30), Level.FORWARD_LEFT, Tilt.DOWN_30)
END = pose((0.65, 0.30, -0.05), Level.LEFT, Tilt.LEVEL)


def laid(start: PortPose, end: PortPose, first: Fit, last: Fit, kind: BendKind) -> LaidRun:
    """The first route between two poses, as pieces."""

    def off(one: PortPose, fit: Fit, starts: bool) -> End:
        flow = flow_at(one.facing.way, starts=starts)
        step = (fit.taken + fit.straight) * (1.0 if starts else -1.0)
        return End(one.place.point + step * flow, flow)

    ends = off(start, first, True), off(end, last, False)
    routes = find_routes(Asked(*ends, (kind,), 0.02, TUBE.outside))
    assert routes.found, routes.reason
    return laid_run(routes.found[0], ends[0].flow, TUBE, first, last)


def rebuilt(run: LaidRun) -> RunPlan:
    ports = [PortPlan(at, "Port", EndForm.BEAD) for at in (1, 2)]
    return RunPlan(Place.CHARGE_PIPE, ports[0], ports[1], *plans_of(run))


@pytest.mark.parametrize(
    ("first", "last"),
    [
        (HOSE, Fit(JointKind.HOSE_AND_CLAMP, 0.060)),
        (Fit(JointKind.V_BAND), Fit(JointKind.FLANGE)),
        (Fit(JointKind.WELD), HOSE),
    ],
)
@pytest.mark.parametrize("leg", [0.0, 0.03])
def test_the_pieces_end_at_the_other_port_as_it_faces(first: Fit, last: Fit, leg: float) -> None:
    """To a hundredth of a millimetre, through the very sums that drawings and checks use."""
    run = laid(START, END, first, last, BendKind(0.09, math.pi / 2.0, True, leg, leg))
    off = miss(lay_out(rebuilt(run)), START, END)
    assert off.distance < 2e-5
    assert off.angle < 1e-4


def test_a_run_that_leaves_straight_down_rolls_from_forward() -> None:
    start = pose((0.0, 0.0, 0.4), Level.FORWARD, Tilt.DOWN)
    run = laid(start, END, HOSE, HOSE, BendKind(0.09, math.pi / 2.0, True))
    assert miss(lay_out(rebuilt(run)), start, END).distance < 2e-5


def test_at_a_hose_the_pipe_begins_off_the_port_and_has_room_for_its_clamp() -> None:
    """A coupler of 76 mm with 32 mm over each end leaves 12 mm between them."""
    run = laid(START, END, HOSE, HOSE, BendKind(0.09, math.pi / 2.0, True))
    coupler, tube, *_ = run.pieces
    assert coupler.kind is PieceKind.REDUCER
    assert coupler.sizes["bore"] == 0.0635
    assert coupler.sizes["bore_out"] == TUBE.outside
    assert tube.inlet is EndForm.BEAD
    assert tube.sizes["length"] >= 0.044
    assert HOSE.taken == pytest.approx(0.012)


def test_points_in_the_car_run_from_port_to_port() -> None:
    run = laid(START, END, HOSE, HOSE, BendKind(0.09, math.pi / 2.0, True))
    pieces = in_car(lay_out(rebuilt(run)), START)
    every = np.concatenate([piece.points for piece in pieces])
    assert float(np.linalg.norm(every - START.place.point, axis=1).min()) < 0.004
    assert float(np.linalg.norm(every - END.place.point, axis=1).min()) < 0.004
    steps = np.linalg.norm(np.diff(pieces[1].points, axis=0), axis=1)
    assert steps.max() <= 0.004 + 1e-9


def test_what_is_typed_into_the_forms_is_as_fine_as_a_saw() -> None:
    run = laid(START, END, HOSE, HOSE, BendKind(0.09, math.pi / 2.0, True))
    bend = typed_piece(next(one for one in run.pieces if one.kind is PieceKind.BEND))
    assert bend["bend_radius"] == "90.0 mm"
    assert bend["bend_angle"].endswith("°")
    assert bend["inlet_end"] == "weld"


def test_how_a_run_joins_a_port() -> None:
    assert fit_of(EndForm.V_BAND, 0.089).joint is JointKind.V_BAND
    assert fit_of(EndForm.BEAD, 0.060) == Fit(JointKind.HOSE_AND_CLAMP, 0.060)


@pytest.mark.parametrize(
    ("words", "radius", "angle", "leg"),
    [
        ("Aluminium bend 63.5 × 1.5 mm, 90°, R 95", 0.095, 90.0, 0.0),
        ("304 stainless bend, 76.1 × 1.5 mm, 45°, radius 114 mm", 0.114, 45.0, 0.0),
        ("Bend 60x2, 60 °, R90, legs 50 mm", 0.090, 60.0, 0.05),
    ],
)
def test_a_bend_is_read_off_the_words_of_a_parts_list(
    words: str, radius: float, angle: float, leg: float
) -> None:
    bend = bend_of(words)
    assert bend is not None
    assert bend.radius == pytest.approx(radius)
    assert math.degrees(bend.angle) == pytest.approx(angle)
    assert (bend.leg_in, bend.leg_out) == (leg, leg)


@pytest.mark.parametrize(
    "words", ["", "Silicone elbow 63.5 mm, 45°", "Bend 60 × 1.5, 90°", "Bend 60 × 1.5, 90°, R 20"]
)
def test_words_that_do_not_tell_a_whole_bend_tell_none(words: str) -> None:
    assert bend_of(words) is None
