"""Coolant, its hose, and the sums of liquids that it shares with oil and fuel."""

from math import pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air.coolant import (
    COOLANTS,
    GLYCOL_HALF,
    HOSE_KINDS,
    HOSE_SPEED,
    PLAIN_HOSE,
    SPIRAL_HOSE,
    WATER,
    HoseKind,
    bend_length,
    coolant_at,
    hose_bend,
    inside_radius,
    least_bend_radius,
)
from server.core.air.hydraulics import (
    Liquid,
    bore_for_speed,
    flow_for_heat,
    heat_carried,
    line_flow,
    orifice_bore,
    orifice_flow,
    orifice_notes,
    scaled_flow,
    warmed_by,
)

names = st.sampled_from(sorted(COOLANTS))
bores = st.floats(0.005, 0.15)
kinds = st.sampled_from(HOSE_KINDS)


@pytest.mark.parametrize("name", sorted(COOLANTS))
def test_a_row_of_the_table_is_given_back_as_it_stands(name: str) -> None:
    for row in COOLANTS[name]:
        found = coolant_at(name, row.temperature)
        assert found is not None
        assert found.density == pytest.approx(row.density)
        assert found.viscosity == pytest.approx(row.viscosity)


@given(names, st.floats(278.5, 370.0), st.floats(0.1, 3.0))
def test_hotter_coolant_is_thinner_and_lighter(name: str, temperature: float, hotter: float) -> None:
    cool, warm = (coolant_at(name, one) for one in (temperature, temperature + hotter))
    assert cool is not None
    assert warm is not None
    assert warm.viscosity < cool.viscosity
    assert warm.density < cool.density


@pytest.mark.parametrize("temperature", [250.0, 400.0])
@pytest.mark.parametrize("name", [WATER, GLYCOL_HALF])
def test_outside_its_table_a_coolant_is_not_known(name: str, temperature: float) -> None:
    assert coolant_at(name, temperature) is None


def test_an_unknown_coolant_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="water"):
        coolant_at("oil", 350.0)


def test_glycol_carries_less_heat_and_loses_more_pressure_than_water() -> None:
    loss, heat = {}, {}
    for name in (WATER, GLYCOL_HALF):
        state = coolant_at(name, 358.15)
        assert state is not None
        loss[name] = line_flow(1.5e-4, 0.010, 1.0, state.liquid).loss
        heat[name] = heat_carried(1.5e-4 * state.density, state.specific_heat, 8.0)
    assert loss[GLYCOL_HALF] > loss[WATER]
    assert heat[GLYCOL_HALF] < heat[WATER]


@given(st.floats(1e2, 2e5), st.floats(3000.0, 4300.0), st.floats(0.5, 40.0))
def test_the_flow_for_a_heat_carries_that_heat(heat: float, specific_heat: float, rise: float) -> None:
    flow = flow_for_heat(heat, specific_heat, rise)
    assert heat_carried(flow, specific_heat, rise) == pytest.approx(heat)
    assert heat_carried(flow, specific_heat, -rise) == pytest.approx(-heat)


@given(kinds, bores, st.floats(0.01, 3.0), st.booleans())
def test_a_hose_kinks_exactly_where_it_is_bent_tighter_than_its_least(
    kind: HoseKind, bore: float, radius: float, pressurised: bool
) -> None:
    found = hose_bend(kind, bore, radius, pressurised)
    assert found.kinks is (radius < least_bend_radius(kind, bore, pressurised))
    assert found.bores == pytest.approx(radius / bore)


def test_a_hose_under_pressure_may_be_bent_more_tightly() -> None:
    assert least_bend_radius(PLAIN_HOSE, 0.016, pressurised=True) < least_bend_radius(PLAIN_HOSE, 0.016)


def test_a_heater_hose_round_a_mug_kinks() -> None:
    """Common practice, no source: a plain 16 mm hose asks for about 100 mm."""
    assert hose_bend(PLAIN_HOSE, 0.016, 0.040).kinks
    assert not hose_bend(PLAIN_HOSE, 0.016, 0.100).kinks
    assert hose_bend(SPIRAL_HOSE, 0.016, 0.100).kinks


@given(st.floats(0.1, pi), st.floats(0.01, 2.0), st.floats(0.005, 0.2))
def test_the_radius_of_a_length_is_the_one_that_takes_it_up(
    angle: float, radius: float, outside: float
) -> None:
    assert inside_radius(angle, bend_length(angle, radius, outside), outside) == pytest.approx(radius)


def test_a_length_too_short_for_its_bend_has_no_radius() -> None:
    assert inside_radius(radians(180.0), 0.03, 0.025) is None


@given(st.floats(1e-6, 2e-3), st.floats(0.3, 6.0))
def test_the_bore_for_a_speed_runs_at_that_speed(flow: float, speed: float) -> None:
    bore = bore_for_speed(flow, speed)
    assert line_flow(flow, bore, 1.0, Liquid(1000.0, 1e-3)).speed == pytest.approx(speed)


@given(st.floats(1e-6, 1e-3), st.floats(1e3, 1e7), st.floats(680.0, 1100.0), st.floats(0.5, 1.0))
def test_the_hole_for_a_flow_passes_that_flow(
    flow: float, drop: float, density: float, coefficient: float
) -> None:
    bore = orifice_bore(flow, drop, density, coefficient)
    assert orifice_flow(bore, drop, density, coefficient) == pytest.approx(flow)


@given(st.floats(0.0, 1e-3), st.floats(1e3, 1e7), st.floats(1e3, 1e7))
def test_a_flow_scaled_to_another_pressure_and_back_is_itself(flow: float, drop: float, other: float) -> None:
    assert scaled_flow(scaled_flow(flow, drop, other), other, drop) == pytest.approx(flow)


@given(st.floats(1e-5, 1e-3), st.floats(0.006, 0.04), st.floats(1.05, 2.0))
def test_a_narrower_or_longer_line_loses_more(flow: float, bore: float, factor: float) -> None:
    water = Liquid(970.0, 0.35e-3)
    loss = line_flow(flow, factor * bore, 1.0, water).loss
    assert line_flow(flow, bore, 1.0, water).loss > loss
    assert line_flow(flow, factor * bore, factor, water).loss == pytest.approx(factor * loss)


def test_fittings_lose_their_share_of_the_speeds_pressure() -> None:
    water = Liquid(970.0, 0.35e-3)
    plain, fitted = (line_flow(2e-4, 0.012, 0.0, water, fittings=k) for k in (0.0, 2.0))
    assert plain.loss == 0.0
    assert fitted.loss == pytest.approx(2.0 * 0.5 * 970.0 * fitted.speed**2)
    assert fitted.speed < HOSE_SPEED


def test_a_line_between_laminar_and_turbulent_says_so() -> None:
    flow = 0.25 * pi * 0.01 * 3000.0 * 1e-6
    assert line_flow(flow, 0.01, 1.0, Liquid(1000.0, 1e-3)).notes


def test_sums_of_nothing_are_refused() -> None:
    water = Liquid(970.0, 0.35e-3)
    with pytest.raises(ValueError, match="above zero"):
        line_flow(0.0, 0.01, 1.0, water)
    with pytest.raises(ValueError, match="not below zero"):
        line_flow(1e-4, 0.01, -1.0, water)
    with pytest.raises(ValueError, match="above zero"):
        orifice_flow(0.0, 1e5, 850.0)
    with pytest.raises(ValueError, match="above zero"):
        orifice_notes(0.0, 1e-5, water)
    with pytest.raises(ValueError, match="not below zero"):
        scaled_flow(-1.0, 1e5, 2e5)
    with pytest.raises(ValueError, match="not below zero"):
        heat_carried(-1.0, 4200.0, 5.0)
    with pytest.raises(ValueError, match="above zero"):
        warmed_by(0.0, 850.0, 2000.0)
    with pytest.raises(ValueError, match="bore"):
        least_bend_radius(PLAIN_HOSE, 0.0)
    with pytest.raises(ValueError, match="radius"):
        hose_bend(PLAIN_HOSE, 0.016, 0.0)
    with pytest.raises(ValueError, match="above zero"):
        bend_length(0.0, 0.1, 0.02)
    with pytest.raises(ValueError, match="above zero"):
        inside_radius(1.0, 0.0, 0.02)
