"""Rules of every run: bore held, steps at joints, speed, something that flexes."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import JointKind, JointPlan, PieceKind, Place, RunPlan
from server.core.units import System
from tests.core.checks.runs import (
    MM,
    bend,
    charge_case,
    check,
    coupler,
    engine,
    intake_case,
    port,
    sizes,
    tube,
    with_piece,
    with_piece_sizes,
)


def narrowed(outside: float) -> Case:
    """The charge pipe with its bend swapped for one of another outside diameter, its couplers left as they
    are.
    """
    return with_piece_sizes(charge_case(), 2, sizes(outside_diameter=outside))


def test_a_run_as_wide_as_its_smaller_port_is_go() -> None:
    found = check(charge_case(), "bore-held")
    assert found.verdict is Verdict.GO
    assert found.probability is not None
    assert found.probability > 0.99


def test_a_bore_short_by_less_than_a_wall_all_round_is_tight() -> None:
    assert check(narrowed(58.0), "bore-held").verdict is Verdict.TIGHT


def test_a_bore_far_too_small_is_no_go_by_its_own_loss_and_the_piece_is_named() -> None:
    found = check(narrowed(48.0), "bore-held")
    assert found.verdict is Verdict.NO_GO
    assert found.finding is not None
    assert (found.finding.concerns, found.finding.number) == ("piece", 2)
    assert say(found.phrase, System.metric).startswith("90° bend (2) narrows the run: 45 mm, 12 mm under")


def test_a_bore_beyond_a_wall_whose_loss_stays_within_its_share_is_still_tight() -> None:
    wide_share = replace(narrowed(53.0), limits={"bore.loss_share": 0.9})
    assert check(wide_share, "bore-held").verdict is Verdict.TIGHT


def test_without_an_engine_sheet_a_bore_beyond_a_wall_is_not_measured_as_its_loss_is_unknown() -> None:
    found = check(replace(narrowed(48.0), engine=None), "bore-held")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Fill in the engine sheet."


def test_a_missing_wall_is_asked_for_by_name() -> None:
    found = check(with_piece_sizes(charge_case(), 4, {}, without=["wall"]), "bore-held")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Type the wall of Tube (4)."
    assert found.missing[0].variable == "piece.4.wall"


def test_an_unmeasured_port_is_asked_for_by_name() -> None:
    found = check(charge_case(start=replace(port(13, "Compressor outlet", 60.0), sizes={})), "bore-held")
    assert say(found.phrase, System.metric) == "Measure the bore of Compressor outlet."


def test_without_a_port_at_each_end_there_is_nothing_to_hold_the_bore_to() -> None:
    assert check(charge_case(end=None), "bore-held").verdict is Verdict.NOT_MEASURED


@given(st.floats(40.0, 80.0), st.floats(0.1, 20.0))
def test_a_bigger_bore_never_turns_the_bore_from_go_to_no_go(outside: float, more: float) -> None:
    case = Case(_welded_tube(outside), None)
    wider = Case(_welded_tube(outside + more), None)
    if check(case, "bore-held").verdict is Verdict.GO:
        assert check(wider, "bore-held").verdict is Verdict.GO


def _welded_tube(outside: float) -> RunPlan:
    """One tube between two ports of 60 outside, on a run whose loss nobody judges."""
    joints = (JointPlan(1, JointKind.WELD), JointPlan(2, JointKind.WELD))
    ports = port(1, "One end", 60.0), port(2, "Other end", 60.0)
    return RunPlan(Place.OTHER, *ports, (tube(1, outside, 200.0),), joints)


def test_a_hose_over_a_spigot_may_step_by_the_wall_all_round() -> None:
    assert check(charge_case(), "steps").verdict is Verdict.GO


def test_a_step_of_a_wall_at_a_welded_joint_is_tight() -> None:
    assert check(Case(_welded_tube(63.0), None), "steps").verdict is Verdict.TIGHT


def test_a_step_of_many_walls_at_a_welded_joint_is_no_go() -> None:
    assert check(Case(_welded_tube(76.0), None), "steps").verdict is Verdict.NO_GO


def test_the_loss_of_a_large_step_decides_where_air_flows() -> None:
    plan = replace(_welded_tube(76.0), place=Place.CHARGE_PIPE)
    case = Case(plan, engine(Place.CHARGE_PIPE))
    assert check(case, "steps").verdict is Verdict.TIGHT
    assert check(replace(case, limits={"step.loss_share": 0.02}), "steps").verdict is Verdict.NO_GO


def test_a_step_to_an_unknown_bore_is_not_measured() -> None:
    plan = _welded_tube(60.0)
    bare = replace(plan.pieces[0], sizes=sizes(length=200.0))
    assert check(Case(replace(plan, pieces=(bare,)), None), "steps").verdict is Verdict.NOT_MEASURED


def test_air_well_under_the_mach_limit_is_go() -> None:
    found = check(charge_case(), "speed")
    assert found.verdict is Verdict.GO
    assert found.finding is not None
    assert found.finding.value is not None
    assert 0.05 < found.finding.value < 0.2


def test_air_over_the_first_mach_limit_is_tight_and_over_the_second_no_go() -> None:
    assert check(replace(charge_case(), limits={"mach.most": 0.10}), "speed").verdict is Verdict.TIGHT
    hard = replace(charge_case(), limits={"mach.most": 0.08, "mach.hard": 0.10})
    assert check(hard, "speed").verdict is Verdict.NO_GO


def test_a_run_that_chokes_says_how_much_passes() -> None:
    found = check(narrowed(22.0), "speed")
    assert found.verdict is Verdict.NO_GO
    assert "chokes" in say(found.phrase, System.metric)


def test_speed_is_not_measured_without_an_engine_sheet() -> None:
    assert check(replace(charge_case(), engine=None), "speed").verdict is Verdict.NOT_MEASURED


def test_two_frames_need_something_that_flexes() -> None:
    def framed(**more: object) -> Case:
        start = port(13, "Compressor outlet", 60.0, frame="engine")
        return charge_case(start=start, end=port(14, "Cooler inlet", 60.0, frame="body"), **more)

    assert check(framed(), "flex").verdict is Verdict.GO
    rigid = framed(
        pieces=(tube(1, 60.0, 200.0), bend(2, 60.0, 90.0)),
        joints=tuple(JointPlan(number, JointKind.WELD) for number in range(3)),
    )
    found = check(rigid, "flex")
    assert found.verdict is Verdict.NO_GO
    assert found.probability is None
    assert found.cure is not None
    assert (
        say(found.cure.phrase, System.metric) == "Put a hose or a flex piece between the engine and the body."
    )
    flexing = with_piece(rigid, 1, kind=PieceKind.FLEX)
    assert check(flexing, "flex").verdict is Verdict.GO


def test_where_no_frame_is_stated_the_rule_about_flexing_says_nothing() -> None:
    assert "flex" not in {one.rule.code for one in answer(intake_case()).checks}


def test_a_hose_with_another_bore_is_seen_at_both_its_joints() -> None:
    case = with_piece(charge_case(), 3, sizes={**coupler(3, 90.0).sizes, "bore": Estimate(90.0 * MM, 0.0)})
    found = check(case, "steps")
    assert {item.number for item in found.items if item.probability == 0.0} == {3, 4}


def test_a_stiff_run_asks_what_its_ends_move_with() -> None:
    stiff = charge_case(pieces=(tube(1, 60.0, 300.0),), joints=charge_case().plan.joints[:2])
    assert check(stiff, "flex").verdict is Verdict.NOT_MEASURED


def test_no_cure_asks_for_another_bore_of_the_air_meter() -> None:
    case = with_piece_sizes(intake_case(), 3, sizes(outside_diameter=44.0))
    for found in answer(case).checks:
        assert found.cure is None or found.cure.variable != "piece.3.outside_diameter"


def test_a_step_that_a_wide_hose_makes_is_cured_by_a_hose_that_fits() -> None:
    found = check(with_piece_sizes(charge_case(), 1, sizes(bore=63.5)), "steps")
    assert found.cure is not None
    assert say(found.cure.phrase, System.metric).endswith("fits the spigot: its bore the tube's outside.")


def test_ports_that_are_not_chosen_are_asked_for_once() -> None:
    assert len(check(intake_case(start=None, end=None), "bore-held").missing) == 1


def test_of_several_narrow_pieces_the_narrowest_is_named_first() -> None:
    """The wider one is better known, so that it stands more of its own doubts under the limit."""
    case = with_piece_sizes(intake_case(), 5, sizes(outside_diameter=70.0) | sizes(0.5 * MM, wall=2.0))
    case = with_piece_sizes(case, 7, sizes(0.001 * MM, outside_diameter=74.0, wall=2.0))
    found = check(case, "bore-held")
    assert [item.number for item in found.items[:2]] == [5, 7]
