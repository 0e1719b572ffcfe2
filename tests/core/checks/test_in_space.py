"""Keep-outs as neighbours of a run that lies in the car; distances worked by hand."""

from dataclasses import replace
from math import radians

import pytest

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.in_space import seen_in_car
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.tube.run import (
    EndForm,
    Frame,
    JointKind,
    JointPlan,
    NeighbourPlan,
    PieceKind,
    PiecePlan,
    Place,
    PortPlan,
    RunPlan,
    What,
)
from server.core.tube.space.poses import Level, PortPose, Tilt, by_words
from server.core.tube.space.poses import Place as Spot
from server.core.tube.space.solids import Shape, Solid
from server.core.tube.space.vectors import vector


def port(number: int, frame: Frame) -> PortPlan:
    return PortPlan(number, f"Port {number}", EndForm.WELD, frame=frame)


TUBE = PiecePlan(
    7,
    1,
    PieceKind.TUBE,
    "Tube",
    "aluminium",
    {"outside_diameter": Estimate(0.06), "wall": Estimate(0.0015), "length": Estimate(0.5)},
)
PLAN = RunPlan(
    Place.COOLER_PIPE,
    port(1, Frame.ENGINE),
    port(2, Frame.BODY),
    (TUBE,),
    (JointPlan(1, JointKind.WELD), JointPlan(2, JointKind.WELD)),
)
"""Half a metre of straight tube, welded to both ports."""


def pose(forward: float, level: Level) -> PortPose:
    """On the line that runs forward, 0.2 m up; its place is known to 3 mm."""
    place = Spot(vector((forward, 0.0, 0.2)), vector((0.003, 0.003, 0.003)))
    return PortPose(place, by_words(level, Tilt.LEVEL, 0.02))


START, END = pose(0.0, Level.FORWARD), pose(0.5, Level.REAR)


def bar(what: What, up: float, **more: float) -> Solid:
    """20 mm across, from left to right over the middle of the run; its surface is known to 4 mm."""
    numbers = {"at_forward": Estimate(0.25), "at_left": Estimate(-0.3), "at_up": Estimate(up)}
    numbers |= {"to_forward": Estimate(0.25), "to_left": Estimate(0.3), "to_up": Estimate(up)}
    numbers |= {"across": Estimate(0.02, 0.008), "gap": Estimate(0.01)}
    return Solid(5, "Bar", what, Shape.CAPSULE, "", numbers | {k: Estimate(v) for k, v in more.items()})


def near(plan: RunPlan, *solids: Solid) -> RunPlan:
    return replace(plan, neighbours=(*plan.neighbours, *seen_in_car(plan, START, END, solids).near))


def verdict(plan: RunPlan, code: str) -> Verdict:
    return next(one.verdict for one in answer(Case(plan)).checks if one.rule.code == code)


def test_a_bar_over_the_run_is_its_neighbour_with_the_clear_gap() -> None:
    """0.1 m above the middle line, less 30 mm of tube and 10 mm of bar: 60 mm."""
    (one,) = near(PLAN, bar(What.BRAKE_LINE, 0.3)).neighbours
    assert one.sizes["gap"].value == pytest.approx(0.060, abs=1e-4)
    assert one.piece_id == TUBE.id
    assert one.id == -5
    assert one.sizes["gap"].doubt > 0.005  # its own 4 mm of width, a tape out of square, the ports' 3 mm


def test_what_is_far_off_is_no_neighbour() -> None:
    assert near(PLAN, bar(What.BRAKE_LINE, 0.4)).neighbours == ()


def test_what_the_run_goes_through_has_no_gap() -> None:
    (one,) = near(PLAN, bar(What.BRAKE_LINE, 0.21)).neighbours
    assert one.sizes["gap"].value == 0.0
    assert verdict(near(PLAN, bar(What.BRAKE_LINE, 0.21)), "line-gap") is Verdict.NO_GO


def test_a_gap_that_is_measured_goes_before_the_same_reckoned() -> None:
    measured = NeighbourPlan(
        3, What.BRAKE_LINE, "Line on the bulkhead", TUBE.id, sizes={"gap": Estimate(0.09)}
    )
    assert near(replace(PLAN, neighbours=(measured,)), bar(What.BRAKE_LINE, 0.3)).neighbours == (measured,)


def test_a_run_that_does_not_end_at_its_port_has_no_neighbours_in_the_car() -> None:
    seen = seen_in_car(PLAN, START, pose(0.55, Level.REAR), (bar(What.BRAKE_LINE, 0.3),))
    assert seen.lies.miss.distance == pytest.approx(0.05)
    assert not seen.lies.closes
    assert seen.near == ()


@pytest.mark.parametrize(("at", "word"), [(0.515, Verdict.GO), (0.55, Verdict.NO_GO)])
def test_a_run_that_misses_its_port_is_told(at: float, word: Verdict) -> None:
    """15 mm are taken up as it is fitted, 50 mm are not; common practice, no source."""
    lies = seen_in_car(PLAN, START, pose(at, Level.REAR), ()).lies
    (check,) = [one for one in answer(Case(PLAN, lies=lies)).checks if one.rule.code == "reach"]
    assert check.verdict is word
    (off, _) = check.items
    assert off.value == pytest.approx(at - 0.5)


def test_a_hose_lies_as_it_is_bent_and_so_misses_no_port() -> None:
    hose = replace(
        TUBE, kind=PieceKind.HOSE, material="EPDM", sizes={"bore": Estimate(0.02), "length": Estimate(0.5)}
    )
    plan = replace(PLAN, pieces=(hose,))
    lies = seen_in_car(plan, START, pose(0.3, Level.REAR), ()).lies
    assert "reach" not in {one.rule.code for one in answer(Case(plan, lies=lies)).checks}


def test_the_flattest_bit_of_a_run_is_found_between_its_ends() -> None:
    """Down at 30°, then bent up by 40° to 10° uphill; geometry."""
    arc = {"length_out": 0.1, "bend_angle": radians(40.0), "bend_radius": 0.09}
    sizes = {**TUBE.sizes, **{name: Estimate(size) for name, size in arc.items()}}
    bend = replace(TUBE, kind=PieceKind.BEND, roll=radians(90.0), sizes=sizes)
    plan = replace(PLAN, pieces=(bend,))
    down = PortPose(START.place, by_words(Level.FORWARD, Tilt.DOWN_30, 0.02))
    found = seen_in_car(plan, down, END, ()).lies
    assert found.flattest == pytest.approx(radians(-10.0), abs=1e-9)


def test_the_rule_of_measured_gaps_answers_for_it() -> None:
    """60 mm are left; 15 mm of engine movement and 20 mm beside a brake line are asked: common practice."""
    assert verdict(near(PLAN, bar(What.BRAKE_LINE, 0.3)), "line-gap") is Verdict.GO
    assert verdict(near(PLAN, bar(What.BRAKE_LINE, 0.27)), "line-gap") is Verdict.NO_GO


def test_the_gap_that_a_keep_out_needs_is_asked_where_it_is_more_than_usual() -> None:
    assert verdict(near(PLAN, bar(What.LOOM, 0.3)), "gap") is Verdict.GO
    wide = bar(What.LOOM, 0.3)
    wide = replace(wide, numbers=dict(wide.numbers) | {"gap": Estimate(0.06)})
    assert verdict(near(PLAN, wide), "gap") is Verdict.TIGHT


def test_a_hot_run_is_still_to_be_looked_along() -> None:
    hot = replace(PLAN, place=Place.DOWNPIPE)
    assert verdict(near(hot, bar(What.LOOM, 0.3)), "line-gap") is Verdict.NOT_MEASURED
