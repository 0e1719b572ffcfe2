"""The wastegate's rules on an engine of known demand; sums are worked again by hand from their definitions.

Limits: common practice, no source.
"""

from dataclasses import replace
from math import pi, sqrt

import pytest

from server.core.air.exhaust import exhaust_flow, exhaust_gas
from server.core.air.fuels import FUELS
from server.core.checks.case import Case, engine_case
from server.core.checks.register import rule
from server.core.checks.rule import RuleClass, Verdict
from server.core.phrase import say
from server.core.tube.run import Place
from server.core.units import System
from tests.core.checks.fitted import Changes, check_of, cured, fitted_case, item_of
from tests.core.checks.test_checks_of_the_fuel import SHEET

BAR = 1e5
USUAL: dict[str, float | str] = {
    "gate.kind": "external",
    "gate.crack": 0.6 * BAR,
    "gate.boost_least": 0.7 * BAR,
    "gate.valve_bore": 0.038,
    "gate.diaphragm": 0.070,
    "gate.exhaust": 1.5 * BAR,
    "gate.share": 0.30,
    "gate.signal": "compressor",
    "gate.clipped": "yes",
    "gate.hose_off": "cut",
}
UNPUSHED: Changes = {"gate.diaphragm": None}


def gated(changes: Changes | None = None) -> Case:
    """An external gate of 38 mm on a diaphragm of 70 mm, cracked by hand at 0.6 bar, for 1.0 bar of boost."""
    engine = engine_case(
        SHEET, Place.WASTEGATE, efficiency_doubt=0.03, boost_doubt=2000.0, bonnet_temperature=350.0
    )
    return replace(fitted_case(Place.WASTEGATE, USUAL, changes or {}), engine=engine)


def test_the_exhaust_s_push_takes_its_part_off_the_spring() -> None:
    """Valve over diaphragm 38² / 70² = 0.2947; at 1.5 bar before the turbine for 1.0 of boost the spring's
    0.6 bar cracks at 0.6 / (1 + 0.2947 x 1.5) = 0.416 bar, by hand.
    """
    found = check_of(gated(), "gate-spring").finding
    assert found is not None
    assert found.value == pytest.approx(0.416 * BAR, rel=1e-3)
    assert "brings it down from the 60 kPa" in say(found.phrase, System.metric)


@pytest.mark.parametrize("missing", ["gate.diaphragm", "gate.exhaust", "gate.kind"])
def test_a_push_that_is_not_known_is_not_counted_and_that_is_said(missing: str) -> None:
    found = check_of(gated({missing: None}), "gate-spring").finding
    assert found is not None
    assert found.value == pytest.approx(0.6 * BAR)
    assert "push is not counted" in say(found.phrase, System.metric)


def test_the_arms_of_a_flap_multiply_the_push() -> None:
    """Arms of 0.5: 0.6 / (1 + 0.5 x 0.2947 x 1.5) = 0.491 bar; without the arms nothing is counted."""
    flap: Changes = {"gate.kind": "internal", "gate.arms": 0.5}
    found = check_of(gated(flap), "gate-spring").finding
    assert found is not None
    assert found.value == pytest.approx(0.4914 * BAR, rel=1e-3)
    bare = check_of(gated({"gate.kind": "internal"}), "gate-spring").finding
    assert bare is not None
    assert bare.value == pytest.approx(0.6 * BAR)


def test_a_spring_over_the_least_boost_is_cured_by_a_softer_one() -> None:
    stiff = gated({**UNPUSHED, "gate.crack": 0.9 * BAR})
    assert check_of(stiff, "gate-spring").verdict is Verdict.NO_GO
    assert 0.66 * BAR < cured(stiff, "gate-spring") < 0.70 * BAR


@pytest.mark.parametrize(
    ("crack", "verdict"),
    [(0.60, Verdict.GO), (0.52, Verdict.TIGHT), (0.40, Verdict.NO_GO), (1.2, Verdict.NO_GO)],
)
def test_the_boost_asked_lies_between_the_spring_s_and_what_a_solenoid_reaches(
    crack: float, verdict: Verdict
) -> None:
    """1.0 bar over 0.6, 0.52, 0.4 and 1.2: 1.67 of at most 1.9; 1.92, within 2; 2.5; and 0.83, under it."""
    found = check_of(gated({**UNPUSHED, "gate.crack": crack * BAR}), "gate-duty")
    assert found.verdict is verdict
    assert item_of(found, "reach").value == pytest.approx(1.0 / crack, rel=1e-6)
    assert item_of(found, "reach").limit == pytest.approx(1.9)


def test_the_duty_left_is_said_and_a_soft_spring_is_cured_by_a_stiffer_one() -> None:
    """1.0 over 0.6 uses 0.667 of the way from 1 to 2: a third is left."""
    found = check_of(gated(UNPUSHED), "gate-duty")
    assert "33.3 % of the solenoid's duty is left" in say(found.phrase, System.metric)
    soft = gated({**UNPUSHED, "gate.crack": 0.4 * BAR})
    assert 1.0 / 1.9 * BAR < cured(soft, "gate-duty") < 0.6 * BAR


def test_an_engine_without_boost_asks_no_duty() -> None:
    case = gated()
    assert case.engine is not None
    points = tuple(replace(point, boost=0.0) for point in SHEET.points)
    still = replace(case, engine=replace(case.engine, sheet=replace(SHEET, points=points)))
    assert check_of(still, "gate-duty").verdict is Verdict.NOT_MEASURED


def needed_by_hand(case: Case, gauge: float) -> float:
    """Bore of a choked gate with a coefficient of 0.7 at 950 °C (Heywood, appendix C) [m]."""
    assert case.engine is not None
    fuel = FUELS[SHEET.fuel]
    flow = 0.30 * exhaust_flow(case.engine.at_peak.flow, fuel, fuel.boost_lambda)
    gas = exhaust_gas(SHEET.fuel, fuel.boost_lambda, 1223.15)
    gamma = gas.gamma
    choked = (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (2.0 * (gamma - 1.0)))
    per_area = (101325.0 + gauge) * sqrt(gamma / (gas.constant * 1223.15)) * choked
    return sqrt(4.0 * flow / (pi * 0.7 * per_area))


def test_the_bore_that_is_needed_is_that_of_a_choked_hole() -> None:
    case = gated()
    found = check_of(case, "gate-flow").finding
    assert found is not None
    assert found.limit == pytest.approx(needed_by_hand(case, 1.5 * BAR), rel=1e-6)
    assert found.value == pytest.approx(0.038)


def test_a_gate_that_is_too_small_is_cured_by_a_bore() -> None:
    small = gated({"gate.valve_bore": 0.020, "gate.share": 0.40})
    assert check_of(small, "gate-flow").verdict is Verdict.NO_GO
    assert cured(small, "gate-flow") > needed_by_hand(small, 1.5 * BAR)


def test_exhaust_pressure_that_nobody_typed_is_taken_from_boost_and_that_is_said() -> None:
    found = check_of(gated({"gate.exhaust": None}), "gate-flow").finding
    assert found is not None
    assert found.limit is not None
    assert found.limit > needed_by_hand(gated(), 1.5 * BAR)
    assert "taken from boost" in say(found.phrase, System.metric)


@pytest.mark.parametrize(
    ("changes", "verdict", "told"),
    [
        ({}, Verdict.GO, ""),
        ({"gate.signal": "cooler", "gate.hose_off": "spring"}, Verdict.GO, ""),
        ({"gate.signal": "manifold"}, Verdict.TIGHT, "Behind the throttle"),
        ({"gate.signal": "tee"}, Verdict.NO_GO, "has a tee"),
        ({"gate.clipped": "no"}, Verdict.NO_GO, "not clipped"),
        ({"gate.hose_off": "unproven"}, Verdict.NO_GO, "nothing proven holds boost back"),
        ({"gate.hose_off": "unproven", "gate.signal": "manifold"}, Verdict.NO_GO, "nothing proven"),
        ({"gate.hose_off": None}, Verdict.NOT_MEASURED, "Say: with any one signal hose off?"),
    ],
)
def test_a_signal_is_safe_untee_d_clipped_and_with_a_hose_off(
    changes: Changes, verdict: Verdict, told: str
) -> None:
    found = check_of(gated(changes), "gate-signal")
    assert found.verdict is verdict
    assert told in say(found.phrase, System.metric)
    if verdict in {Verdict.TIGHT, Verdict.NO_GO}:
        assert found.cure is not None


def test_nobody_may_concede_the_signal_and_every_rule_warns() -> None:
    assert rule("gate-signal").rule_class is RuleClass.INJURY
    for code in ("gate-spring", "gate-duty", "gate-flow", "gate-signal"):
        caution = rule(code).caution
        assert caution is not None
        assert "local codes and licensed practice come first" in caution.text
