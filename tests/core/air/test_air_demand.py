"""From outside air to the manifold: demand over speed, its peak, power, cost of a loss, and the air meter."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air import atmosphere, compressor, cost, demand, fuels, intercooler, meter
from server.core.air.demand import (
    EnginePoint,
    EngineSheet,
    demand_curve,
    peak,
    sheet_faults,
    sheet_speeds,
    walk_at,
)
from server.core.air.gas import AirState

SHEET = EngineSheet(
    displacement=2.1e-3,
    redline=6600.0,
    points=(
        EnginePoint(2000.0, 0.85, 20e3),
        EnginePoint(4000.0, 0.95, 100e3),
        EnginePoint(6600.0, 0.90, 100e3),
    ),
    elevation=240.0,
    ambient_temperature=293.15,
    compressor_efficiency=0.70,
    intercooler_effectiveness=0.70,
    intercooler_loss=8e3,
    intake_loss=3e3,
    fuel="petrol-95",
    overboost=130e3,
)


def test_the_walk_from_outside_to_manifold_adds_up_at_one_speed() -> None:
    """Worked by hand from the definitions: U.S. Standard Atmosphere at 240 m is 98.47 kPa."""
    (at,) = demand_curve(SHEET, [6600.0])
    assert at.ambient_pressure == pytest.approx(98_475.0, rel=1e-4)
    assert at.compressor_inlet_pressure == pytest.approx(95_475.0, rel=1e-4)
    assert at.compressor_outlet_pressure == pytest.approx(206_475.0, rel=1e-4)
    assert at.pressure_ratio == pytest.approx(206_475.0 / 95_475.0, rel=1e-4)
    outlet = 293.15 * (1.0 + (at.pressure_ratio**0.285714 - 1.0) / 0.70)
    assert at.compressor_outlet_temperature == pytest.approx(outlet, rel=1e-5)
    assert at.manifold_temperature == pytest.approx(outlet - 0.70 * (outlet - 293.15), rel=1e-5)
    assert at.manifold_pressure == pytest.approx(198_475.0, rel=1e-4)
    assert at.flow == pytest.approx(
        0.90 * 2.1e-3 * 55.0 * 198_475.0 / (287.05 * at.manifold_temperature), rel=1e-4
    )
    assert at.compressor_power == pytest.approx(at.flow * 1005.0 * (outlet - 293.15), rel=1e-5)


def test_between_points_efficiency_and_boost_are_interpolated_linearly() -> None:
    (at,) = demand_curve(SHEET, [3000.0])
    assert at.volumetric_efficiency == pytest.approx(0.90)
    assert at.boost == pytest.approx(60e3)
    assert not at.beyond_points


def test_outside_the_points_the_nearest_stands_in_and_says_so() -> None:
    low, high = demand_curve(SHEET, [1000.0, 7000.0])
    assert (low.boost, high.boost) == (20e3, 100e3)
    assert low.beyond_points
    assert high.beyond_points
    assert "nearest point" in high.notes[-1]


def test_the_order_in_which_points_were_typed_does_not_matter() -> None:
    shuffled = replace(SHEET, points=SHEET.points[::-1])
    assert demand_curve(shuffled, [3000.0, 5000.0]) == demand_curve(SHEET, [3000.0, 5000.0])


def test_the_peak_is_the_greatest_mass_flow() -> None:
    curve = demand_curve(SHEET, sheet_speeds(SHEET, 250.0))
    top = peak(curve)
    assert top is not None
    assert top.flow == max(point.flow for point in curve)
    assert top.rpm == 6600.0
    assert peak([]) is None


def test_the_speeds_of_a_plot_hold_every_point_and_the_redline() -> None:
    speeds = sheet_speeds(SHEET, 300.0)
    assert speeds == tuple(sorted(set(speeds)))
    assert {2000.0, 4000.0, 6600.0} <= set(speeds)
    assert sheet_speeds(replace(SHEET, points=()), 300.0) == ()
    assert sheet_speeds(replace(SHEET, redline=1500.0), 300.0) == (1500.0,)
    with pytest.raises(ValueError, match="step"):
        sheet_speeds(SHEET, 0.0)


@given(st.floats(0.0, 3000.0), st.floats(10.0, 1000.0))
def test_a_higher_garage_asks_for_a_greater_pressure_ratio_and_gives_less_air(
    low: float, climb: float
) -> None:
    """Boost is gauge: the same reading stands on less air outside (BST-03 of the reference values)."""
    below, above = (demand_curve(replace(SHEET, elevation=z), [5000.0])[0] for z in (low, low + climb))
    assert above.pressure_ratio > below.pressure_ratio
    assert above.flow < below.flow


def test_below_a_ratio_of_one_no_work_is_counted_and_it_is_said() -> None:
    sucking = replace(SHEET, points=(EnginePoint(2000.0, 0.8, -30e3),))
    (at,) = demand_curve(sucking, [2000.0])
    assert at.compressor_power == 0.0
    assert at.compressor_outlet_temperature == 293.15
    assert "restriction" in at.notes[0]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"displacement": 0.0}, "Displacement"),
        ({"displacement": float("nan")}, "Displacement"),
        ({"fuel": "diesel"}, "fuel"),
        ({"points": ()}, "one engine speed or more"),
        ({"points": (EnginePoint(2e3, 0.8, 0.0), EnginePoint(2e3, 0.9, 0.0))}, "same engine speed"),
        ({"points": (EnginePoint(2e3, 0.0, 0.0),)}, "volumetric efficiency must"),
        ({"points": (EnginePoint(2e3, 0.8, -120e3),)}, "gauge"),
        ({"compressor_efficiency": 0.0}, "Compressor efficiency"),
        ({"intercooler_effectiveness": 1.2}, "effectiveness"),
        ({"intake_loss": -1.0}, "below zero"),
        ({"intake_loss": 120e3}, "as large as the pressure outside"),
        ({"elevation": 20_000.0}, "standard atmosphere"),
    ],
)
def test_a_sheet_that_gives_no_curve_says_why(change: dict[str, object], words: str) -> None:
    sheet = replace(SHEET, **change)  # type: ignore[arg-type]
    (fault,) = sheet_faults(sheet)
    assert words in fault
    with pytest.raises(ValueError, match=words):
        demand_curve(sheet, [3000.0])


def test_air_at_a_point_is_that_of_a_sheet_of_this_point_alone() -> None:
    point = EnginePoint(5200.0, 0.93, 0.8e5)
    (of_sheet,) = demand_curve(replace(SHEET, points=(point,)), [5200.0])
    assert walk_at(SHEET, point).demand(SHEET.compressor_efficiency) == of_sheet


def test_a_point_without_air_is_refused() -> None:
    for point in (EnginePoint(5200.0, 0.0, 0.8e5), EnginePoint(5200.0, 0.93, -120e3)):
        with pytest.raises(ValueError, match="above zero"):
            walk_at(SHEET, point).demand(SHEET.compressor_efficiency)


def test_a_good_sheet_has_no_faults() -> None:
    assert sheet_faults(SHEET) == ()


def test_elevation_out_of_range_is_refused_and_not_clamped() -> None:
    for elevation in (-700.0, 12_000.0, float("nan")):
        assert atmosphere.elevation_fault(elevation) is not None
        with pytest.raises(ValueError, match="standard atmosphere"):
            atmosphere.standard(elevation)


def test_impossible_engine_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        demand.air_demand(2e-3, 6000.0, 0.9, 0.0, 300.0)
    with pytest.raises(ValueError, match="efficiency"):
        compressor.compress(300.0, 2.0, 1.5, 0.1)
    with pytest.raises(ValueError, match="pressure outside"):
        compressor.pressure_ratio(200e3, 0.0, 100e3, 100e3)
    with pytest.raises(ValueError, match="Effectiveness"):
        intercooler.cooled_temperature(400.0, 300.0, 1.1)
    with pytest.raises(ValueError, match="charge pressure"):
        intercooler.outlet_state(AirState(100e3, 400.0, 0.87), 300.0, 0.7, 100e3)


@given(st.floats(0.01, 1.0), st.sampled_from(sorted(fuels.FUELS)))
def test_power_goes_as_the_air_and_no_fuel_beats_its_own_heat(flow: float, code: str) -> None:
    fuel = fuels.FUELS[code]
    one, two = fuels.power_from_air(flow, fuel), fuels.power_from_air(2.0 * flow, fuel)
    assert two.power == pytest.approx(2.0 * one.power)
    assert one.power == pytest.approx(one.efficiency * one.fuel_flow * fuel.heating_value)
    assert 0.2 < one.efficiency < 0.35


def test_power_is_marked_observed_and_its_defaults_as_common_practice() -> None:
    notes = fuels.power_from_air(0.2, fuels.PETROL_95).notes
    assert "Observed" in notes[0]
    assert all("common practice" in note for note in notes[1:])
    typed = fuels.power_from_air(0.2, fuels.PETROL_95, mixture=0.8, brake_specific_consumption=8e-8)
    assert len(typed.notes) == 1


def test_a_blend_by_volume_is_weighed_by_mass() -> None:
    """E85: 85 % by volume is 85.7 % by mass; feeding E85's ratio in as ethanol's would give 10.5."""
    share = fuels.mass_share(0.85, 789.0, 745.0)
    assert share == pytest.approx(0.8572, abs=1e-4)
    assert fuels.blended(share, 9.0, 14.7) == pytest.approx(9.81, abs=0.01)


def test_fuels_and_flows_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="nothing to burn"):
        fuels.stoichiometric_ratio(1.0, 0.0, 2.0)
    with pytest.raises(ValueError, match="above zero"):
        fuels.power_from_air(0.2, fuels.E85, mixture=0.0)


def test_a_loss_ahead_of_the_compressor_costs_its_pressure_ratio_more() -> None:
    """Definition of pressure ratio: at a constant one the outlet falls by ratio times the inlet's fall."""
    (at,) = demand_curve(SHEET, [6600.0])
    intake = cost.intake_cost(2000.0, at, 200e3)
    charge = cost.charge_cost(2000.0, at, 200e3)
    fallen = (at.compressor_inlet_pressure - 2000.0) * at.pressure_ratio - SHEET.intercooler_loss
    assert intake.boost == pytest.approx(at.manifold_pressure - fallen)
    assert charge.boost == 2000.0
    assert intake.power == pytest.approx(at.pressure_ratio * charge.power)
    assert charge.power_share == pytest.approx(2000.0 / at.manifold_pressure)
    with pytest.raises(ValueError, match="below zero"):
        cost.charge_cost(-1.0, at, 200e3)


def test_the_power_cost_is_what_the_speed_density_sum_gives_back() -> None:
    """Power goes as air; the air of a manifold 2 kPa lower at the same temperature, by the definition."""
    (at,) = demand_curve(SHEET, [6600.0])
    lower = demand.air_demand(2.1e-3, 6600.0, 0.90, at.manifold_pressure - 2000.0, at.manifold_temperature)
    before = fuels.power_from_air(at.flow, fuels.PETROL_95).power
    after = fuels.power_from_air(lower.flow_kg_s, fuels.PETROL_95).power
    assert cost.charge_cost(2000.0, at, before).power == pytest.approx(before - after)


def test_a_wider_meter_housing_reads_low_as_the_area() -> None:
    """Continuity: the element feels speed, and speed goes as one over the area."""
    scale = meter.meter_scale(0.080, 0.100)
    assert scale.area_ratio == pytest.approx(1.5625)
    assert scale.reads == pytest.approx(0.64)
    assert meter.meter_share(0.22, 0.25) == pytest.approx(0.88)
    with pytest.raises(ValueError, match="above zero"):
        meter.meter_share(0.2, 0.0)
    with pytest.raises(ValueError, match="above zero"):
        meter.meter_scale(0.08, 0.0)
