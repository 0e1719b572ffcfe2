"""Fuel from pump to injectors."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air.fuel_supply import (
    FEED_SPEED,
    SPECIFIC_HEAT,
    VISCOSITY,
    Injector,
    PumpPoint,
    as_liquid,
    duty,
    fuel_for_air,
    fuel_for_power,
    injector_flow,
    injectors_needed,
    least_injector,
    pump_faults,
    pump_flow,
    pump_need,
    rail_pressure,
    tank_warming,
    warmed_by_pump,
)
from server.core.air.fuels import FUELS, METHANOL, PETROL_95, power_from_air
from server.core.air.hydraulics import bore_for_speed, line_flow

INJECTOR = Injector(static_flow=9e-6, rated_drop=300e3, dead_time=0.9e-3)
PUMP = (PumpPoint(300e3, 70e-6), PumpPoint(500e3, 50e-6), PumpPoint(600e3, 35e-6))

flows = st.floats(0.001, 0.06)
speeds = st.floats(500.0, 9000.0)
statics = st.floats(1e-3, 2e-2)


@given(st.floats(5e4, 6e5), st.floats(1.01, 4.0))
def test_four_times_the_pressure_gives_twice_the_flow_and_back(across: float, factor: float) -> None:
    """Orifice equation: flow goes as the root of pressure."""
    low, high = (injector_flow(INJECTOR, one, 745.0) for one in (across, factor * across))
    assert low is not None
    assert high is not None
    assert high.flow == pytest.approx(low.flow * factor**0.5)
    turned = Injector(high.flow / 745.0, factor * across, 0.0)
    back = injector_flow(turned, across, 745.0)
    assert back is not None
    assert back.flow == pytest.approx(low.flow)


def test_at_its_rated_pressure_an_injector_gives_its_rated_flow() -> None:
    found = injector_flow(INJECTOR, 300e3, 745.0)
    assert found is not None
    assert found.flow == pytest.approx(9e-6 * 745.0)
    assert "does not say" in found.notes[0]


def test_a_lighter_test_liquid_flatters_the_volume_and_is_put_right() -> None:
    found = injector_flow(replace(INJECTOR, rated_density=690.0), 300e3, 745.0)
    assert found is not None
    assert found.flow == pytest.approx(9e-6 * (690.0 * 745.0) ** 0.5)
    assert found.notes == ()


def test_a_regulator_with_a_hose_to_the_manifold_lifts_the_rail_with_boost() -> None:
    found = rail_pressure(300e3, 100e3, referenced=True)
    assert (found.rail, found.across) == (400e3, 300e3)


def test_without_the_hose_boost_comes_off_what_drives_the_injectors() -> None:
    found = rail_pressure(300e3, 100e3, referenced=False)
    assert (found.rail, found.across) == (300e3, 200e3)
    assert "takes pressure off" in found.notes[0]
    assert rail_pressure(300e3, -60e3, referenced=False).notes == ()


def test_boost_as_high_as_the_rail_stops_the_fuel() -> None:
    found = rail_pressure(300e3, 320e3, referenced=False)
    assert "no fuel flows" in found.notes[-1]
    assert injector_flow(INJECTOR, found.across, 745.0) is None


@given(flows, speeds, st.integers(1, 12), st.floats(0.0, 1.5e-3), st.floats(0.5, 1.0), st.integers(1, 2))
def test_the_least_injector_stands_open_just_as_long_as_it_may(
    fuel: float, rpm: float, injectors: int, dead_time: float, limit: float, injections: int
) -> None:
    static = least_injector(fuel, rpm, injectors, dead_time, limit, injections)
    if static is None:
        assert injections * dead_time * rpm / 120.0 >= limit
    else:
        found = duty(fuel, rpm, injectors, static, dead_time, injections)
        assert found.share == pytest.approx(limit)


@given(flows, speeds, statics, st.floats(0.0, 1.5e-3), st.floats(0.5, 1.0))
def test_the_least_number_of_injectors_is_enough_and_one_fewer_is_not(
    fuel: float, rpm: float, static: float, dead_time: float, limit: float
) -> None:
    count = injectors_needed(fuel, rpm, static, dead_time, limit)
    if count is None:
        assert least_injector(fuel, rpm, 4, dead_time, limit) is None
        return
    assert duty(fuel, rpm, count, static, dead_time).share <= limit * (1.0 + 1e-6)
    if count > 1:
        assert duty(fuel, rpm, count - 1, static, dead_time).share > limit * (1.0 - 1e-6)


@given(flows, st.floats(1.0, 2.0), speeds, statics)
def test_more_fuel_or_a_longer_dead_time_never_shortens_the_pulse(
    fuel: float, more: float, rpm: float, static: float
) -> None:
    first = duty(fuel, rpm, 4, static, 0.5e-3)
    assert duty(more * fuel, rpm, 4, static, 0.5e-3).pulse >= first.pulse
    assert duty(fuel, rpm, 4, static, 1.0e-3).pulse > first.pulse


def test_an_injector_that_never_shuts_is_not_possible() -> None:
    found = duty(fuel=0.05, rpm=7000.0, injectors=4, static=0.006, dead_time=0.9e-3)
    assert found.share > 1.0
    assert not found.possible


def test_fuel_follows_air_and_power_alike() -> None:
    """Both ways of asking agree where power comes from that air."""
    estimate = power_from_air(0.25, PETROL_95)
    assert fuel_for_air(0.25, PETROL_95) == pytest.approx(0.25 / (0.80 * 14.6))
    assert fuel_for_power(estimate.power, PETROL_95) == pytest.approx(estimate.fuel_flow)
    assert fuel_for_air(0.25, METHANOL) > 2.0 * fuel_for_air(0.25, PETROL_95)


@given(st.floats(300e3, 600e3))
def test_between_its_rows_a_pump_gives_something_between_them(pressure: float) -> None:
    found = pump_flow(PUMP, pressure)
    assert found.flow is not None
    assert 35e-6 <= found.flow <= 70e-6


@given(st.floats(300e3, 600e3), st.floats(0.0, 1.0))
def test_a_pump_gives_no_more_against_more_pressure(pressure: float, part: float) -> None:
    higher = pressure + part * (600e3 - pressure)
    low, high = (pump_flow(PUMP, one).flow for one in (pressure, higher))
    assert low is not None
    assert high is not None
    assert high <= low * (1.0 + 1e-12)


def test_a_pumps_table_is_read_on_a_straight_line_in_any_order() -> None:
    assert pump_flow(PUMP[::-1], 400e3).flow == pytest.approx(60e-6)
    assert pump_flow(PUMP, 600e3).flow == pytest.approx(35e-6)
    assert pump_flow(PUMP, 300e3).flow == pytest.approx(70e-6)


@pytest.mark.parametrize(("pressure", "word"), [(250e3, "Below"), (650e3, "Above")])
def test_outside_its_table_a_pump_says_nothing(pressure: float, word: str) -> None:
    found = pump_flow(PUMP, pressure)
    assert found.flow is None
    assert found.reason.startswith(word)


@pytest.mark.parametrize(
    ("table", "word"),
    [
        (PUMP[:1], "two pressures"),
        ((PUMP[0], PUMP[0]), "same pressure"),
        ((PumpPoint(-1.0, 1e-5), PUMP[0]), "not below zero"),
        ((PumpPoint(300e3, 1e-5), PumpPoint(400e3, 2e-5)), "no more"),
    ],
)
def test_a_pumps_table_that_makes_no_sense_is_refused(table: tuple[PumpPoint, ...], word: str) -> None:
    assert any(word in fault for fault in pump_faults(table))
    with pytest.raises(ValueError, match=word):
        pump_flow(table, 300e3)


def test_the_pump_gives_more_than_the_engine_burns() -> None:
    assert pump_need(0.02, 745.0) == pytest.approx(1.2 * 0.02 / 745.0)
    assert pump_need(0.02, 745.0, reserve=0.0) == pytest.approx(0.02 / 745.0)


def test_a_feed_line_that_keeps_to_its_speed_loses_little() -> None:
    flow = pump_need(0.025, PETROL_95.density)
    bore = bore_for_speed(flow, FEED_SPEED)
    line = line_flow(flow, bore, 4.0, as_liquid(PETROL_95))
    assert line.speed == pytest.approx(FEED_SPEED)
    assert 0.0 < line.loss < 100e3


def test_every_fuel_has_its_heat_and_its_viscosity() -> None:
    assert FUELS.keys() == SPECIFIC_HEAT.keys() == VISCOSITY.keys()


def test_a_pump_warms_the_fuel_and_an_almost_empty_tank_soonest() -> None:
    assert warmed_by_pump(150.0, 0.05, 2100.0) == pytest.approx(1.4286, rel=1e-3)
    assert tank_warming(150.0, 5.0, 2100.0) == pytest.approx(2.0 * tank_warming(150.0, 10.0, 2100.0))


def test_sums_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="base pressure"):
        rail_pressure(0.0, 1e5, True)
    with pytest.raises(ValueError, match="Power"):
        fuel_for_power(-1.0, PETROL_95)
    with pytest.raises(ValueError, match="above zero"):
        duty(0.02, 0.0, 4, 0.005, 0.001)
    with pytest.raises(ValueError, match="dead time"):
        duty(0.02, 6000.0, 4, 0.005, -0.001)
    with pytest.raises(ValueError, match="limit of duty"):
        least_injector(0.02, 6000.0, 4, 0.001, limit=1.1)
    with pytest.raises(ValueError, match="reserve"):
        pump_need(0.02, 745.0, reserve=-0.1)
    with pytest.raises(ValueError, match="above zero"):
        warmed_by_pump(0.0, 0.05, 2100.0)
