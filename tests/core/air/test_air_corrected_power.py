"""Power observed and corrected, and what a cooler's drop does away from where it was rated."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air.corrected_power import (
    DISPUTED,
    LEAST_FACTOR,
    MECHANICAL_EFFICIENCY,
    MOST_FACTOR,
    corrected_power,
    correction_factor,
    dry_pressure,
    vapour_pressure,
)
from server.core.air.intercooler import RatedDrop, pressure_drop


def test_the_formulas_numbers_are_its_mechanical_efficiency_rounded() -> None:
    """Indicated power is corrected and friction is not: 1/0.85 and 0.15/0.85, as the standard derives it."""
    assert pytest.approx(1.0 / MECHANICAL_EFFICIENCY, abs=0.005) == 1.18
    assert pytest.approx((1.0 - MECHANICAL_EFFICIENCY) / MECHANICAL_EFFICIENCY, abs=0.005) == 0.18


def test_observed_comes_first_and_the_corrected_figure_with_its_factor_and_notes() -> None:
    """At 95 kPa dry and 25 °C, worked by hand: 1.18 × 99/95 - 0.18 = 1.0497."""
    found = corrected_power(200e3, 95e3, 298.0)
    assert found.observed == 200e3
    assert found.factor == pytest.approx(1.0497, abs=1e-4)
    assert found.corrected == pytest.approx(found.factor * found.observed)
    assert found.in_range
    assert "0.93 to 1.07" in found.notes[0]
    assert "85 %" in found.notes[1]
    assert found.notes[-1] == DISPUTED
    assert "from memory" in found.formula


def test_an_engine_that_breathes_by_itself_is_not_called_disputed() -> None:
    assert DISPUTED not in corrected_power(100e3, 95e3, 298.0, boosted=False).notes


@pytest.mark.parametrize(("dry", "inside"), [(99e3, True), (80e3, False), (120e3, False)])
def test_a_factor_outside_the_standards_range_is_said_to_be_so(dry: float, inside: bool) -> None:
    found = corrected_power(200e3, dry, 298.0)
    assert found.in_range is inside
    assert found.in_range == (LEAST_FACTOR <= found.factor <= MOST_FACTOR)
    assert any("not one to quote" in note for note in found.notes) is not inside


@given(st.floats(85e3, 105e3), st.floats(263.0, 318.0), st.floats(0.0, 0.95))
def test_damp_or_warm_or_thin_air_asks_for_more_correction(
    pressure: float, temperature: float, humidity: float
) -> None:
    dry = dry_pressure(pressure, temperature, humidity)
    assert dry <= pressure
    factor = correction_factor(dry, temperature)
    assert correction_factor(dry_pressure(pressure, temperature, humidity + 0.05), temperature) > factor
    assert correction_factor(dry, temperature + 1.0) > factor
    assert correction_factor(dry - 100.0, temperature) > factor


def test_air_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="humidity"):
        vapour_pressure(293.15, 80.0)
    with pytest.raises(ValueError, match="between -45"):
        vapour_pressure(20.0, 0.5)
    with pytest.raises(ValueError, match="absolute"):
        dry_pressure(1_000.0, 303.15, 1.0)
    with pytest.raises(ValueError, match="above zero"):
        correction_factor(0.0, 298.0)
    with pytest.raises(ValueError, match="not below zero"):
        corrected_power(-1.0, 99e3, 298.0)


@given(st.floats(0.01, 0.5), st.floats(0.5, 4.0))
def test_a_coolers_drop_goes_as_flow_squared_over_density(flow: float, density: float) -> None:
    rated = RatedDrop(8e3, 0.25, 2.1)
    here = pressure_drop(rated, flow, density)
    assert pressure_drop(rated, rated.flow, rated.density) == pytest.approx(rated.drop)
    assert pressure_drop(rated, 2.0 * flow, density) == pytest.approx(4.0 * here)
    assert pressure_drop(rated, flow, 2.0 * density) == pytest.approx(0.5 * here)
    assert pressure_drop(rated, 0.0, density) == 0.0


def test_a_drop_rated_at_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        pressure_drop(RatedDrop(8e3, 0.0, 2.1), 0.2, 2.1)
