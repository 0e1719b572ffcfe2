"""Rules of the intake: suction, collapse, and the air meter's range, straights and housing."""

import math
from dataclasses import replace

from server.core.air.meter import meter_scale
from server.core.checks.answer import answer
from server.core.checks.case import Case, MeterPlace
from server.core.checks.cure import CureKind
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import PieceKind, Place
from server.core.units import System
from tests.core.checks.runs import (
    CALIPER,
    MM,
    check,
    engine,
    intake_case,
    intake_run,
    port,
    sizes,
    with_piece,
    with_piece_sizes,
)


def test_an_intake_within_the_suction_limit_is_go_and_says_what_it_costs() -> None:
    found = check(intake_case(), "intake-loss")
    assert found.verdict is Verdict.GO
    assert "It costs" in say(found.phrase, System.metric)


def test_an_intake_over_the_suction_limit_is_no_go_and_a_bore_cures_it() -> None:
    narrow = replace(
        with_piece_sizes(intake_case(), 7, sizes(outside_diameter=54.0)), limits={"suction.most": 3000.0}
    )
    found = check(narrow, "intake-loss")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert (found.cure.kind, found.cure.variable) == (CureKind.NUMBER, "piece.7.outside_diameter")


def test_the_loss_is_not_measured_while_a_bend_lacks_its_radius() -> None:
    found = check(with_piece_sizes(intake_case(), 7, {}, without=["bend_radius"]), "intake-loss")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Type the bend radius of 45° bend (7)."


def test_the_loss_counts_what_stands_before_the_run() -> None:
    found = check(intake_case(), "intake-loss")
    flow = answer(intake_case()).flow
    assert flow is not None
    assert found.finding is not None
    assert found.finding.value == flow.loss + 1500.0


def test_hoses_with_wire_stand_suction() -> None:
    assert check(intake_case(), "suction-collapse").verdict is Verdict.GO


def test_a_long_hose_without_wire_is_no_go_and_shorter_or_wire_cures_it() -> None:
    case = with_piece(intake_case(), 4, reinforced=False)
    found = check(with_piece_sizes(case, 4, sizes(length=300.0)), "suction-collapse")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.variable == "piece.4.length"


def test_a_short_coupler_without_wire_is_held_up_by_its_spigots() -> None:
    assert check(with_piece(intake_case(), 2, reinforced=False), "suction-collapse").verdict is Verdict.GO


def test_a_thick_long_hose_without_wire_is_tight_as_its_wall_alone_stands_it() -> None:
    case = with_piece(intake_case(), 4, reinforced=False)
    found = check(with_piece_sizes(case, 4, sizes(length=300.0, wall=12.0)), "suction-collapse")
    assert found.verdict is Verdict.TIGHT


def test_a_hose_without_wire_and_without_length_is_not_measured() -> None:
    case = with_piece(intake_case(), 4, reinforced=False)
    found = check(with_piece_sizes(case, 4, {}, without=["length"]), "suction-collapse")
    assert found.verdict is Verdict.NOT_MEASURED


def with_range(most: float | None) -> Case:
    return replace(intake_case(), engine=engine(Place.INTAKE, meter_range=most))


def test_a_meter_with_range_to_spare_is_go() -> None:
    assert check(with_range(0.30), "meter-range").verdict is Verdict.GO


def test_a_meter_at_the_end_of_its_range_is_tight_and_beyond_it_no_go() -> None:
    assert check(with_range(0.22), "meter-range").verdict is Verdict.TIGHT
    assert check(with_range(0.15), "meter-range").verdict is Verdict.NO_GO


def test_a_meter_of_unknown_range_is_not_measured() -> None:
    assert check(with_range(None), "meter-range").verdict is Verdict.NOT_MEASURED


def test_without_a_meter_no_rule_speaks_of_one() -> None:
    case = intake_case()
    plan = replace(case.plan, pieces=case.plan.pieces[3:], joints=case.plan.joints[3:])
    no_meter = replace(case, plan=plan, engine=engine(Place.INTAKE, meter_place=MeterPlace.NONE))
    assert not {one.rule.code for one in answer(no_meter).checks if one.rule.code.startswith("meter")}


def test_enough_straight_round_the_meter_is_go() -> None:
    assert check(intake_case(), "meter-straights").verdict is Verdict.GO


def test_too_little_straight_before_the_meter_is_no_go_and_the_length_is_told() -> None:
    found = check(replace(intake_case(), limits={"meter.before": 4.0}), "meter-straights")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.value is not None
    assert found.cure.variable == "piece.2.length"


def test_straights_are_not_measured_while_a_length_is_missing() -> None:
    case = with_piece_sizes(intake_case(), 4, {}, without=["length"])
    assert check(case, "meter-straights").verdict is Verdict.NOT_MEASURED


def test_a_meter_in_its_own_housing_after_its_old_pipe_is_go() -> None:
    assert check(intake_case(), "meter-housing").verdict is Verdict.GO


def test_a_meter_in_a_larger_housing_is_not_measured_until_said_to_be_re_scaled() -> None:
    case = replace(intake_case(), original_meter_bore=Estimate(70.0 * MM, CALIPER))
    found = check(case, "meter-housing")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "reads about 23.4 % low" in say(found.phrase, System.metric)
    assert round(1.0 - meter_scale(0.070, 0.080).reads, 3) == 0.234
    assert (
        check(replace(case, plan=replace(case.plan, meter_rescaled=True)), "meter-housing").verdict
        is Verdict.GO
    )


def test_a_new_pipe_just_before_the_meter_is_not_measured_either() -> None:
    case = intake_case()
    new_pipe = with_piece(case, 1, kind=case.plan.pieces[4].kind)
    found = check(new_pipe, "meter-housing")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "is new and may change what it reads" in say(found.phrase, System.metric)


def test_the_rule_of_the_housing_warns_of_running_lean() -> None:
    caution = check(intake_case(), "meter-housing").rule.caution
    assert caution is not None
    assert caution.signal == "WARNING"
    assert "lean under boost" in caution.text


def test_a_housing_nobody_measured_is_asked_for() -> None:
    found = check(replace(intake_case(), original_meter_bore=None), "meter-housing")
    assert say(found.phrase, System.metric) == "Measure the bore of the meter housing it was calibrated in."


def from_the_meter() -> Case:
    """The same intake where the meter is the car's and the run begins at its outlet."""
    run = intake_run()
    start = replace(port(11, "Air meter outlet", 84.0), is_meter=True)
    case = intake_case(start=start, pieces=run.pieces[3:], joints=run.joints[3:])
    return replace(case, original_meter_bore=Estimate(81.0 * MM, CALIPER))


def test_a_run_that_begins_at_the_meter_is_judged_from_there() -> None:
    straights = check(from_the_meter(), "meter-straights")
    assert straights.verdict is Verdict.GO
    assert [item.item for item in straights.items] == ["port.11.after"]
    assert check(from_the_meter(), "meter-housing").verdict is Verdict.GO
    assert check(from_the_meter(), "side-ports").verdict is Verdict.GO


def test_a_bend_straight_at_the_meters_outlet_is_no_go() -> None:
    case = from_the_meter()
    elbow = replace(
        case.plan.pieces[0],
        kind=PieceKind.HOSE_ELBOW,
        sizes=sizes(
            bore=84.0, wall=4.5, bend_angle=math.radians(90), bend_radius=90.0, length=20.0, length_out=60.0
        ),
    )
    plan = replace(case.plan, pieces=(elbow, *case.plan.pieces[1:]))
    found = check(replace(case, plan=plan), "meter-straights")
    assert found.verdict is Verdict.NO_GO
    assert "Air meter outlet has 20 mm of straight after it" in say(found.phrase, System.metric)


def test_a_port_of_another_bore_than_calibrated_asks_for_the_calibration() -> None:
    case = replace(from_the_meter(), original_meter_bore=Estimate(75.0 * MM, CALIPER))
    found = check(case, "meter-housing")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "reads about 14.3 % low" in say(found.phrase, System.metric)
    rescaled = replace(case, plan=replace(case.plan, meter_rescaled=True))
    assert check(rescaled, "meter-housing").verdict is Verdict.GO


def test_nothing_stands_after_the_meter_on_a_run_that_ends_there() -> None:
    run = intake_run()
    end = replace(port(12, "Air meter inlet", 84.0), is_meter=True)
    found = check(intake_case(end=end, pieces=run.pieces[4:5], joints=run.joints[4:6]), "side-ports")
    assert found.verdict is Verdict.NO_GO


def test_the_bend_in_a_salvaged_pipe_loses_what_a_bought_bend_loses() -> None:
    bought = intake_case()
    bend = bought.plan.pieces[6]
    salvaged = with_piece(bought, 7, kind=PieceKind.SALVAGED)
    assert bend.kind is PieceKind.BEND
    first, second = answer(bought).flow, answer(salvaged).flow
    assert first is not None
    assert second is not None
    assert first.loss == second.loss
