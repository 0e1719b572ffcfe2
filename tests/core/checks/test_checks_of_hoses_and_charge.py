"""Rules of hoses as such, and of the charge pipe: rating, heat, oil mist, end force, loss against boost."""

from dataclasses import replace

import pytest

from server.core.air.demand import EnginePoint
from server.core.checks.case import Case, engine_case
from server.core.checks.cure import CureKind
from server.core.checks.hoses import derated
from server.core.checks.rule import Verdict, may_concede
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import Place
from server.core.units import System
from tests.core.checks.runs import (
    BAR,
    charge_case,
    check,
    engine,
    intake_case,
    port,
    sheet,
    sizes,
    with_joint,
    with_piece,
    with_piece_sizes,
)


def test_a_hose_rated_above_the_highest_boost_at_its_temperature_is_go() -> None:
    assert check(charge_case(), "hose-pressure").verdict is Verdict.GO


def test_a_hose_rated_cold_loses_its_rating_in_hot_charge_and_is_no_go() -> None:
    cold = with_piece(charge_case(), 1, rated_pressure=1.6 * BAR, rated_temperature=293.15)
    assert check(cold, "hose-pressure").verdict is Verdict.NO_GO
    warm = with_piece(charge_case(), 1, rated_pressure=1.6 * BAR, rated_temperature=423.15)
    assert check(warm, "hose-pressure").verdict is Verdict.GO


def test_a_hose_without_a_rating_is_not_measured() -> None:
    found = check(with_piece(charge_case(), 1, rated_pressure=None), "hose-pressure")
    assert found.verdict is Verdict.NOT_MEASURED
    told = say(found.phrase, System.metric)
    assert told.startswith("Type the working pressure of Coupler (1), and at which temperature.")
    assert "Common practice, no source: a hose like it stands 1" in told


def test_what_is_usual_is_not_told_of_a_rubber_that_nobody_named() -> None:
    bare = with_piece(charge_case(), 1, rated_pressure=None, material="rubber")
    told = say(check(bare, "hose-pressure").phrase, System.metric)
    assert told == "Type the working pressure of Coupler (1), and at which temperature."


def test_a_rating_is_full_up_to_its_temperature_half_at_the_limit_and_never_below_nothing() -> None:
    assert derated(3.0, 293.15, 453.15, 280.0) == 3.0
    assert derated(3.0, 293.15, 453.15, 453.15) == pytest.approx(1.5)
    assert derated(3.0, 293.15, 453.15, 900.0) == 0.0


def test_lined_silicone_in_warm_charge_is_go() -> None:
    assert check(charge_case(), "hose-heat").verdict is Verdict.GO


def test_nbr_in_hot_charge_is_no_go_with_a_named_move() -> None:
    found = check(with_piece(charge_case(), 1, material="NBR"), "hose-heat")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.kind is CureKind.MOVE


def test_a_hot_engine_bay_counts_as_well_as_the_air_inside() -> None:
    case = replace(intake_case(), engine=engine(Place.INTAKE, bonnet_temperature=473.15))
    found = check(case, "hose-heat")
    assert found.verdict is Verdict.NO_GO
    assert "around" in say(found.phrase, System.metric)


def test_a_hose_whose_rubber_is_not_named_is_not_measured() -> None:
    found = check(with_piece(charge_case(), 1, material="rubber"), "hose-heat")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Say which rubber Coupler (1) is made of."


def test_plain_silicone_after_the_breather_is_tight_with_a_named_move() -> None:
    found = check(with_piece(intake_case(), 6, material="silicone"), "hose-fluid")
    assert found.verdict is Verdict.TIGHT
    assert found.cure is not None
    assert "lined silicone or FKM for Coupler (6)" in say(found.cure.phrase, System.metric)


def test_plain_silicone_before_the_breather_stays_dry() -> None:
    assert check(with_piece(intake_case(), 4, material="silicone"), "hose-fluid").verdict is Verdict.GO


def test_oil_mist_through_a_rubber_nobody_named_is_not_measured() -> None:
    assert (
        check(with_piece(intake_case(), 6, material="rubber"), "hose-fluid").verdict is Verdict.NOT_MEASURED
    )


def held(newton: float, **more: object) -> dict[str, object]:
    joint = charge_case().plan.joints[2]
    return {"sizes": {**joint.sizes, "holds": Estimate(newton, 20.0)}, **more}


def test_joints_that_hold_well_over_what_pushes_are_go() -> None:
    assert check(charge_case(), "end-force").verdict is Verdict.GO


def test_a_joint_with_too_little_in_reserve_is_tight_and_with_none_no_go() -> None:
    assert check(with_joint(charge_case(), 2, **held(480.0)), "end-force").verdict is Verdict.TIGHT
    found = check(with_joint(charge_case(), 2, **held(300.0)), "end-force")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.variable == "joint.62.holds"


def test_what_a_joint_holds_has_no_source_so_without_a_figure_it_is_not_measured() -> None:
    joint = charge_case().plan.joints[2]
    bare = {name: size for name, size in joint.sizes.items() if name != "holds"}
    found = check(with_joint(charge_case(), 2, sizes=bare), "end-force")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "has no source" in say(found.phrase, System.metric)
    # 1.3 bar on 60 mm outside
    assert "368 N pushes" in say(found.phrase, System.metric)


def test_a_figure_without_its_origin_is_not_measured() -> None:
    found = check(with_joint(charge_case(), 2, holds_origin=""), "end-force")
    assert found.verdict is Verdict.NOT_MEASURED


def test_a_bracket_that_takes_the_thrust_cures_the_joint() -> None:
    case = with_joint(charge_case(), 2, **held(300.0, bracket=True))
    assert check(case, "end-force").verdict is Verdict.GO


def test_the_end_force_is_reckoned_at_the_highest_boost_there_is_not_at_steady_boost() -> None:
    found = check(charge_case(), "end-force")
    assert "at 130 kPa" in say(found.phrase, System.metric)


def test_a_charge_pipe_that_loses_little_of_the_boost_is_go() -> None:
    assert check(charge_case(), "charge-loss").verdict is Verdict.GO


def test_a_narrow_charge_pipe_loses_too_much_and_a_bore_cures_it() -> None:
    found = check(with_piece_sizes(charge_case(), 2, sizes(outside_diameter=43.0)), "charge-loss")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.variable == "piece.2.outside_diameter"


def test_the_loss_against_boost_is_not_measured_without_an_engine_sheet() -> None:
    assert check(replace(charge_case(), engine=None), "charge-loss").verdict is Verdict.NOT_MEASURED


def tapering() -> Case:
    """1.6 bar in the middle, 0.7 at the peak, and an over-boost typed below the steady one."""
    points = (EnginePoint(3000.0, 0.88, 1.6 * BAR), EnginePoint(6600.0, 0.90, 0.7 * BAR))
    found = engine_case(
        replace(sheet(), points=points, overboost=1.0 * BAR),
        Place.CHARGE_PIPE,
        efficiency_doubt=0.03,
        boost_doubt=3000.0,
        bonnet_temperature=363.15,
    )
    return replace(charge_case(), engine=found)


def test_the_highest_boost_is_never_under_a_steady_one_at_another_speed() -> None:
    assert "the highest boost there is is 160 kPa" in say(
        check(tapering(), "hose-pressure").phrase, System.metric
    )


def test_hoses_are_held_to_the_hottest_air_not_to_that_of_the_greatest_flow() -> None:
    case = tapering()
    assert case.engine is not None
    state = case.engine.state({name: size.value for name, size in case.variables().items()})
    assert state.hottest > state.temperature + 20.0
    # 1.6 bar over 98.5 kPa outside with 6 kPa lost in the cooler: ratio 2.73, rise 25 °C air by 137 K at 72 %
    assert state.hottest - 273.15 == pytest.approx(162.0, abs=2.0)


def test_a_hose_too_hot_for_its_material_is_cured_by_one_that_stands_it() -> None:
    found = check(with_piece(charge_case(), 3, material="EPDM"), "hose-heat")
    assert found.cure is not None
    told = say(found.cure.phrase, System.metric)
    assert "FKM or PTFE" in told
    assert "EPDM" not in told
    assert "NBR" not in told


@pytest.mark.parametrize(
    ("place", "material", "verdict"),
    [
        (Place.OIL_DRAIN, "silicone", Verdict.NO_GO),
        (Place.OIL_DRAIN, "EPDM", Verdict.NO_GO),
        (Place.OIL_DRAIN, "NBR", Verdict.GO),
        (Place.OIL_DRAIN, "lined silicone", Verdict.GO),
        (Place.OIL_FEED, "PTFE", Verdict.GO),
        (Place.OIL_FEED, "rubber", Verdict.NOT_MEASURED),
        (Place.FUEL, "FKM", Verdict.GO),
        (Place.FUEL, "NBR", Verdict.NO_GO),
        (Place.FUEL, "lined silicone", Verdict.NO_GO),
    ],
)
def test_a_hose_stands_the_oil_or_fuel_in_it_or_is_no_go(
    place: Place, material: str, verdict: Verdict
) -> None:
    """Common practice, no source; SAE J30 R9 for injection fuel hose. It can hurt, so nobody concedes it."""
    case = replace(
        charge_case(place=place), engine=engine(place), concessions={"oil-and-fuel-hose": "looks fine"}
    )
    for number in (1, 3, 5):
        case = with_piece(case, number, material=material)
    found = check(case, "oil-and-fuel-hose")
    assert found.verdict is verdict
    assert found.conceded is None
    assert not may_concede(found.rule)
    if verdict is Verdict.NO_GO:
        assert found.cure is not None
        named = "SAE J30 R9" if place is Place.FUEL else "FKM"
        assert named in say(found.cure.phrase, System.metric)


def test_oil_mist_softens_plain_silicone_all_along_a_breather() -> None:
    crankcase = port(13, "Crankcase breather", 19.0, medium="crankcase breather")
    case = charge_case(place=Place.BREATHER, start=crankcase)
    found = check(with_piece(case, 1, material="silicone"), "hose-fluid")
    assert found.verdict is Verdict.TIGHT
