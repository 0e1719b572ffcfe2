"""Exhaust gas, growth of hot metal, and the inlet pressure that a run asks for."""

from collections.abc import Callable, Mapping
from math import pi
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from server.core.air import gas
from server.core.air.back_pressure import back_march
from server.core.air.exhaust import exhaust_flow, exhaust_gas, molar_heat, products
from server.core.air.expansion import growth, metal_named
from server.core.air.fuels import FUELS
from server.core.air.gas import Gas
from server.core.air.march import Element, march
from tests.reference_values import Check, load

DRY_AIR = {"N2": (0.7808, 28.014e-3), "O2": (0.2095, 31.998e-3)}
"""Share by volume and molar mass [kg/mol] (U.S. Standard Atmosphere, 1976, table 3)."""

ARGON = (0.0097, 39.948e-3, 20.786)
"""The same, carbon dioxide counted with it, and its heat, 5/2 R [J/(mol K)]."""


def _air_heat(given: Mapping[str, Any]) -> float:
    at = given["temperature_k"]
    share, mass, heat = ARGON
    total = share * heat + sum(part * molar_heat(name, at) for name, (part, _) in DRY_AIR.items())
    return total / (share * mass + sum(part * weight for part, weight in DRY_AIR.values()))


def _dry_share(given: Mapping[str, Any]) -> float:
    shares = products(given["fuel"], given["mixture"])
    return shares[given["name"]] / (1.0 - shares["H2O"])


def _flow(given: Mapping[str, Any]) -> float:
    fuel = FUELS[given["fuel"]]
    return exhaust_flow(given["air_kg_s"], fuel, given["air_fuel_ratio"] / fuel.stoichiometric_ratio)


def _expansion(given: Mapping[str, Any]) -> float:
    metal = metal_named(given["material"])
    assert metal is not None
    return metal.expansion


def _growth(given: Mapping[str, Any]) -> float:
    return growth(given["length_m"], given["expansion_per_k"], given["cold_k"], given["hot_k"])


SUBJECTS: Mapping[str, Callable[[Mapping[str, Any]], float]] = {
    "core.air.exhaust.molar_heat": lambda given: molar_heat(given["name"], given["temperature_k"]),
    "core.air.exhaust.air_heat": _air_heat,
    "core.air.exhaust.dry_share": _dry_share,
    "core.air.exhaust.exhaust_flow": _flow,
    "core.air.expansion.metal_named": _expansion,
    "core.air.expansion.growth": _growth,
}


@pytest.mark.parametrize("wanted", [one for one in load("exhaust") if one.subject in SUBJECTS], ids=str)
def test_the_hot_side_meets_its_published_values(wanted: Check) -> None:
    assert wanted.allows(SUBJECTS[wanted.subject](wanted.inputs))


def test_every_published_value_of_the_hot_side_is_compared_somewhere() -> None:
    """The usual limits are compared with the other limits of the checks."""
    assert {one.subject for one in load("exhaust")} == {*SUBJECTS, "core.checks.limits"}


@given(st.sampled_from(sorted(FUELS)), st.floats(0.6, 1.5), st.floats(300.0, 1400.0))
def test_exhaust_is_a_gas_between_air_and_steam(fuel: str, mixture: float, temperature: float) -> None:
    shares = products(fuel, mixture)
    assert sum(shares.values()) == pytest.approx(1.0)
    assert all(share >= 0.0 for share in shares.values())
    found = exhaust_gas(fuel, mixture, temperature)
    assert 1.2 < found.gamma < 1.4
    assert 280.0 < found.constant < 345.0
    assert found.specific_heat == pytest.approx(found.gamma * found.constant / (found.gamma - 1.0))


@given(st.sampled_from(sorted(FUELS)))
def test_a_hair_rich_and_a_hair_lean_are_one_gas(fuel: str) -> None:
    rich, lean = (exhaust_gas(fuel, 1.0 + hair, 1000.0) for hair in (-1e-9, 1e-9))
    assert rich.constant == pytest.approx(lean.constant, rel=1e-6)
    assert rich.gamma == pytest.approx(lean.gamma, rel=1e-6)


def test_an_unknown_fuel_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="petrol-95"):
        exhaust_gas("steam", 1.0, 1000.0)


def test_the_expansion_of_an_unknown_metal_is_not_made_up() -> None:
    assert metal_named("card") is None


EXHAUST = exhaust_gas("petrol-95", 0.8, 1073.15)
RUN = (
    Element("first", "straight", 0.070, 0.070, length=0.8),
    Element("bend", "bend", 0.070, 0.070, length=0.1, bend_angle=1.2, bend_radius=0.11),
    Element("wider", "straight", 0.076, 0.076, length=1.5),
)


def test_back_pressure_of_straight_tube_is_what_integrating_the_equations_of_motion_gives() -> None:
    """Independent of the Fanno formulas: mass, energy and momentum integrated from the outlet backwards."""
    bore, length, flow, outlet, stagnation = 0.06, 2.0, 0.22, 105e3, 1073.15
    found = back_march(
        (Element("tube", "straight", bore, bore, length=length),), flow, outlet, stagnation, EXHAUST
    )
    factor = found.march.stations[0].friction_factor
    flux = flow / (0.25 * pi * bore * bore)

    def temperature(pressure: float) -> float:
        # cp T + v²/2 = cp T0 with v = flux R T / p, by fixed point.
        now = stagnation
        for _ in range(200):
            now = stagnation - (flux * EXHAUST.constant * now / pressure) ** 2 / (2.0 * EXHAUST.specific_heat)
        return now

    def slope(_: float, state: NDArray[np.float64]) -> list[float]:
        # dp = -(f/2D) rho v² dx - flux dv, dv by a small difference of the energy balance in p.
        pressure = float(state[0])
        speed = flux * EXHAUST.constant * temperature(pressure) / pressure
        step = 1e-4 * pressure
        ahead = flux * EXHAUST.constant * temperature(pressure + step) / (pressure + step)
        behind = flux * EXHAUST.constant * temperature(pressure - step) / (pressure - step)
        by_pressure = (ahead - behind) / (2.0 * step)
        return [-factor * flux * speed / (2.0 * bore) / (1.0 + flux * by_pressure)]

    walked = solve_ivp(slope, (length, 0.0), [outlet], rtol=1e-8, atol=1e-3)
    assert found.inlet_pressure == pytest.approx(float(walked.y[0][-1]), rel=1e-5)


@given(st.floats(0.02, 0.35), st.floats(95e3, 140e3), st.floats(700.0, 1300.0))
def test_marching_on_from_the_inlet_found_ends_at_the_pressure_behind(
    flow: float, behind: float, stagnation: float
) -> None:
    found = back_march(RUN, flow, behind, stagnation, EXHAUST)
    assert not found.sonic
    assert found.march.outlet is not None
    assert found.march.outlet.pressure == pytest.approx(behind, abs=0.01)
    assert found.march.inlet.pressure == found.inlet_pressure
    assert found.march.inlet.stagnation_temperature == pytest.approx(stagnation, rel=1e-9)
    assert found.march.loss is not None
    assert found.march.loss > 0.0


@given(st.floats(0.05, 0.3), st.floats(1.01, 1.3))
def test_more_flow_asks_for_more_pressure_and_a_guess_changes_nothing(flow: float, factor: float) -> None:
    less = back_march(RUN, flow, 105e3, 1073.15, EXHAUST)
    more = back_march(RUN, factor * flow, 105e3, 1073.15, EXHAUST)
    assert more.inlet_pressure > less.inlet_pressure
    again = back_march(RUN, flow, 105e3, 1073.15, EXHAUST, near=more.inlet_pressure)
    assert again.inlet_pressure == pytest.approx(less.inlet_pressure, abs=0.02)


def test_a_flow_that_goes_sonic_still_passes_at_the_pressure_that_takes() -> None:
    found = back_march(RUN, 1.5, 105e3, 1073.15, EXHAUST)
    assert found.sonic
    assert found.march.fastest_mach == pytest.approx(1.0, abs=0.01)
    assert march(
        RUN,
        1.5,
        0.98 * found.inlet_pressure,
        found.march.inlet.temperature,
        find_greatest=False,
        of=EXHAUST,
    ).choked


@pytest.mark.parametrize("wrong", [(0.0, 1e5, 1000.0), (0.1, 0.0, 1000.0), (0.1, 1e5, 0.0)])
def test_nothing_is_marched_backwards_from_nothing(wrong: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="above zero"):
        back_march(RUN, *wrong)


def test_a_lighter_hotter_gas_has_its_own_sound_speed() -> None:
    """From memory: a = sqrt(gamma R T), 1.4, 287.05 and 1.3, 300."""
    assert gas.sound_speed(288.15) == pytest.approx(340.3, rel=1e-3)
    assert gas.sound_speed(1000.0, Gas(300.0, 1.3)) == pytest.approx((1.3 * 300.0 * 1000.0) ** 0.5)
