"""Power over the engine's speeds: torque by its definition, and a doubt made of its three factors."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air.demand import EnginePoint, EngineSheet, demand_curve
from server.core.air.fuels import PETROL_95, power_from_air
from server.core.air.power_curve import (
    CONSUMPTION_DOUBT,
    MIXTURE_DOUBT,
    power_curve,
    power_doubt,
    torque,
)

HORSEPOWER = 745.6999
POUND_FOOT = 1.355818
"""One horsepower of 550 ft·lbf/s in watts, one lbf·ft in newton metres (NIST SP 811, appendix B.8)."""

SHEET = EngineSheet(
    displacement=2.1e-3,
    redline=6600.0,
    points=(EnginePoint(2000.0, 0.85, 20e3), EnginePoint(6000.0, 0.92, 100e3)),
    elevation=240.0,
    ambient_temperature=298.15,
    compressor_efficiency=0.72,
    intercooler_effectiveness=0.7,
    intercooler_loss=7e3,
    intake_loss=2e3,
    fuel="petrol-95",
    overboost=125e3,
)


@pytest.mark.parametrize("horsepower", [1.0, 100.0, 249.0])
def test_at_5252_rpm_horsepower_and_pound_feet_are_the_same_number(horsepower: float) -> None:
    """33,000 / 2π = 5252.1: the definition of horsepower (NIST SP 811, appendix B.8)."""
    assert torque(horsepower * HORSEPOWER, 5252.113) / POUND_FOOT == pytest.approx(horsepower, rel=1e-5)


@given(st.floats(1e3, 1e6), st.floats(500.0, 12_000.0))
def test_half_the_speed_takes_twice_the_torque(power: float, rpm: float) -> None:
    assert torque(power, 0.5 * rpm) == pytest.approx(2.0 * torque(power, rpm))


def test_the_curve_is_the_power_of_the_air_at_each_speed() -> None:
    curve = demand_curve(SHEET, [2000.0, 4000.0, 6000.0])
    found = power_curve(curve, PETROL_95, [0.05, 0.04, 0.04])
    assert [point.rpm for point in found] == [2000.0, 4000.0, 6000.0]
    for at, point in zip(curve, found, strict=True):
        assert point.power == power_from_air(at.flow, PETROL_95).power
        assert point.torque == pytest.approx(point.power * 30.0 / (3.14159265 * at.rpm), rel=1e-8)


def test_the_doubts_of_flow_consumption_and_mixture_join_as_independent_factors_do() -> None:
    """JCGM 100:2008, 5.1.6: relative uncertainties of a product add as squares."""
    assert power_doubt(200e3, 0.04) == pytest.approx(200e3 * sqrt(0.04**2 + 0.05**2 + 0.05**2))
    assert (CONSUMPTION_DOUBT, MIXTURE_DOUBT) == (0.05, 0.05), "common practice, no source"
    (point,) = power_curve(demand_curve(SHEET, [6000.0]), PETROL_95, [0.04])
    assert point.doubt == power_doubt(point.power, 0.04)


def test_a_shaft_that_stands_and_a_doubt_below_zero_are_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        torque(1e3, 0.0)
    with pytest.raises(ValueError, match="not below zero"):
        power_doubt(1e3, -0.01)
