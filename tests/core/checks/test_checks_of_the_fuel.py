"""The fuel rules on an engine of known demand; the sums are worked again by hand from their definitions."""

from dataclasses import replace
from math import pi, sqrt

import pytest

from server.core.air.demand import EnginePoint, EngineSheet
from server.core.air.fuels import FUELS, PETROL_95
from server.core.checks.answer import Answers, Check, answer_figures
from server.core.checks.case import Case, engine_case
from server.core.checks.cure import CureKind
from server.core.checks.figures import Figures
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import JointKind, JointPlan, Place, RunPlan
from server.core.units import System

CC_MIN = 1e-6 / 60.0
L_HOUR = 1e-3 / 3600.0
SHEET = EngineSheet(
    displacement=2.1e-3,
    redline=6600.0,
    points=(EnginePoint(3000.0, 0.90, 0.8e5), EnginePoint(6600.0, 0.92, 1.0e5)),
    elevation=0.0,
    ambient_temperature=298.15,
    compressor_efficiency=0.70,
    intercooler_effectiveness=0.70,
    intercooler_loss=5000.0,
    intake_loss=1000.0,
    fuel=PETROL_95.code,
    overboost=1.3e5,
)
PLAN = RunPlan(Place.FUEL, None, None, (), (JointPlan(0, JointKind.HOSE_AND_CLAMP),))


def fuel_case(**numbers: float) -> Case:
    """Four 750 cc/min injectors at 3 bar that follow boost, a 255 l/h pump, an 8 mm line."""
    usual = {
        "fuel.injectors": 4.0,
        "fuel.injector_flow": 750.0 * CC_MIN,
        "fuel.rated_pressure": 3e5,
        "fuel.dead_time": 0.9e-3,
        "fuel.base_pressure": 3e5,
        "fuel.line_bore": 0.008,
    } | numbers
    figures = Figures(
        {key: Estimate(value, 0.01 * value) for key, value in usual.items()},
        {"fuel.referenced": "yes"},
        {"fuel.pump": ((3e5, 255.0 * L_HOUR), (4e5, 220.0 * L_HOUR), (5e5, 170.0 * L_HOUR))},
    )
    engine = engine_case(
        SHEET, Place.FUEL, efficiency_doubt=0.03, boost_doubt=5000.0, bonnet_temperature=350.0
    )
    return Case(PLAN, engine, figures=figures)


def check(case: Case, code: str) -> Check:
    return next(one for one in answer_figures(case).checks if one.rule.code == code)


def burnt(case: Case) -> float:
    """Fuel at the peak by hand: air over the stoichiometric ratio and lambda [kg/s]."""
    assert case.engine is not None
    fuel = FUELS[SHEET.fuel]
    return case.engine.at_peak.flow / (fuel.stoichiometric_ratio * fuel.boost_lambda)


def answers(**numbers: float) -> Answers:
    return answer_figures(fuel_case(**numbers))


def test_only_rules_that_need_no_run_are_answered() -> None:
    assert [one.rule.code for one in answers().checks] == ["injector-duty", "pump-flow", "fuel-line"]


def test_duty_is_the_pulse_and_the_dead_time_over_the_cycle() -> None:
    case = fuel_case()
    assert case.engine is not None
    rpm = case.engine.at_peak.rpm
    cycle = 120.0 / rpm
    one = 750.0 * CC_MIN * FUELS[SHEET.fuel].density
    by_hand = (burnt(case) * cycle / (4 * one) + 0.9e-3) / cycle
    found = check(case, "injector-duty").finding
    assert found is not None
    assert found.value == pytest.approx(by_hand, rel=1e-6)


def test_small_injectors_are_no_go_and_the_cure_is_a_size_that_was_tried() -> None:
    found = check(fuel_case(**{"fuel.injector_flow": 330.0 * CC_MIN}), "injector-duty")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.kind is CureKind.NUMBER
    assert found.cure.value is not None
    cured = check(fuel_case(**{"fuel.injector_flow": found.cure.value}), "injector-duty")
    assert cured.verdict is Verdict.GO
    assert "cc/min" in say(found.cure.phrase, System.metric)


def test_without_a_hose_to_the_manifold_boost_takes_pressure_off_the_injectors() -> None:
    """Flow as the root of the pressure that is left: 3 bar less the boost at the peak."""
    case = fuel_case()
    bare = replace(case, figures=replace(case.figures, said={"fuel.referenced": "no"}))
    with_hose, without = (check(one, "injector-duty").finding for one in (case, bare))
    assert case.engine is not None
    assert with_hose is not None
    assert without is not None
    assert with_hose.value is not None
    assert without.value is not None
    share = 0.9e-3 * case.engine.at_peak.rpm / 120.0
    left = 3e5 - case.engine.at_peak.boost
    assert without.value - share == pytest.approx((with_hose.value - share) * sqrt(3e5 / left), rel=1e-6)


def test_boost_as_high_as_the_fuel_pressure_stops_the_fuel() -> None:
    case = fuel_case(**{"fuel.base_pressure": 0.9e5})
    bare = replace(case, figures=replace(case.figures, said={"fuel.referenced": "no"}))
    found = check(bare, "injector-duty")
    assert found.verdict is Verdict.NO_GO
    assert "no fuel flows" in found.phrase.text


def test_the_pump_is_read_at_the_rail_s_pressure_between_its_rows() -> None:
    case = fuel_case()
    assert case.engine is not None
    against = 3e5 + case.engine.at_peak.boost
    by_hand = 220.0 - (against - 4e5) / 1e5 * 50.0 if against > 4e5 else 255.0 - (against - 3e5) / 1e5 * 35.0
    found = check(case, "pump-flow").finding
    assert found is not None
    assert found.value == pytest.approx(by_hand * L_HOUR, rel=1e-6)
    assert found.limit == pytest.approx(burnt(case) * 1.2 / FUELS[SHEET.fuel].density, rel=1e-6)


def test_beyond_the_pump_s_table_nothing_is_told() -> None:
    found = check(fuel_case(**{"fuel.base_pressure": 4.5e5}), "pump-flow")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "Above the highest pressure" in say(found.phrase, System.metric)


def test_a_thin_feed_line_is_tight_and_its_cure_is_a_bore() -> None:
    case = fuel_case(**{"fuel.line_bore": 0.0035})
    found = check(case, "fuel-line")
    needed = burnt(case) * 1.2 / FUELS[SHEET.fuel].density
    assert found.finding is not None
    assert found.finding.value == pytest.approx(needed / (0.25 * pi * 0.0035**2), rel=1e-6)
    assert found.verdict is Verdict.TIGHT
    assert found.cure is not None
    assert found.cure.variable == "figure.fuel.line_bore"


def test_what_was_not_typed_is_asked_for_by_its_name() -> None:
    case = fuel_case()
    empty = replace(case, figures=Figures())
    told = {one.rule.code: say(one.phrase, System.metric) for one in answer_figures(empty).checks}
    assert told == {
        "injector-duty": "Say: regulator's hose goes to the manifold?",
        "pump-flow": "Say: regulator's hose goes to the manifold?",
        "fuel-line": "Type the bore of the fuel feed line.",
    }
    assert answer_figures(empty).verdict() is Verdict.NOT_MEASURED
