"""Wastegate, fuel, oil and coolant against the world: every value of `tests/reference/supply.toml`."""

from collections import Counter
from collections.abc import Callable
from math import radians, sin, sqrt

import pytest

from server.core.air import coolant, fuel_supply, hydraulics, oil, wastegate
from server.core.air.coolant import CoolantState
from server.core.air.fuels import PETROL_95
from server.core.air.gas import Gas
from server.core.air.hydraulics import LineFlow, Liquid
from server.core.air.wastegate import Gate, GateFlow
from tests.reference_values import Check, load

CHECKS = load("supply")


def _opened(area: float, rate: float, pressed_in: float, lift: float) -> float:
    """A relief valve is a gate whose diaphragm is its poppet."""
    gate = Gate(area, area, rate * pressed_in, rate)
    return wastegate.boost_to_open(gate, exhaust=0.0, lift=lift).boost or 0.0


def _moment(pressure: float, weight_over_area: float, area: float, arm: float) -> float:
    """Taken at a rod 1 m from the fulcrum."""
    gate = Gate(area, area, 0.0, 0.0, arms=arm / 1.0)
    return wastegate.forces(gate, signal=0.0, exhaust=pressure, behind=weight_over_area).net


def _through(constant: float, gamma: float, **given: float) -> GateFlow:
    return wastegate.gate_flow(**given, of=Gas(constant, gamma))


def _choked_number(gamma: float) -> float:
    flow = _through(287.0, gamma, open_area=1.0, before=1e5, temperature=300.0, behind=1e3, coefficient=1.0)
    return flow.flow * sqrt(287.0 * 300.0) / 1e5


def _line(density: float, viscosity: float, **given: float) -> LineFlow:
    return hydraulics.line_flow(**given, liquid=Liquid(density, viscosity))


def _laminar(
    bore: float, length: float, drop: float, fall_deg: float, density: float, viscosity: float
) -> float:
    gradient = drop / (length * density * oil.GRAVITY) + sin(radians(fall_deg))
    full = oil.full_flow(bore, gradient, Liquid(density, viscosity), roughness=0.0)
    assert full.laminar
    return hydraulics.area(bore) * full.speed


def _turbulent(
    bore: float, gradient: float, density: float, kinematic: float, relative_roughness: float
) -> float:
    liquid = Liquid(density, density * kinematic)
    full = oil.full_flow(bore, gradient, liquid, roughness=relative_roughness * bore)
    assert not full.laminar
    return full.speed


def _half_over_full() -> float:
    hot = Liquid(840.0, 0.0084)
    half = oil.drain_flow(0.019, 0.3, hot, froth=1.0)
    assert half is not None
    return half.by_friction / (hydraulics.area(0.019) * oil.full_flow(0.019, sin(0.3), hot).speed)


def _coolant(name: str, temperature: float) -> CoolantState:
    found = coolant.coolant_at(name, temperature)
    assert found is not None
    return found


def _bores(kind: str, bore: float) -> float:
    (made,) = (one for one in coolant.HOSE_KINDS if one.name == kind)
    return coolant.least_bend_radius(made, bore) / bore


SUBJECTS: dict[str, Callable[..., float]] = {
    "wastegate.boost_to_open": _opened,
    "wastegate.forces moment": _moment,
    "wastegate.gate_flow": lambda **given: _through(**given).flow,
    "wastegate.gate_flow choked number": _choked_number,
    "wastegate.choking_ratio": lambda gamma: wastegate.choking_ratio(Gas(287.0, gamma)),
    "wastegate.BOOST_REACH": lambda: wastegate.BOOST_REACH,
    "fuel_supply.fuel_for_power": lambda power, consumption: fuel_supply.fuel_for_power(
        power, PETROL_95, consumption
    ),
    "fuel_supply.duty cycle": lambda rpm: fuel_supply.duty(0.0, rpm, 4, 0.005, 0.001).cycle,
    "fuel_supply.DUTY_LIMIT": lambda: fuel_supply.DUTY_LIMIT,
    "fuel_supply.PUMP_RESERVE": lambda: fuel_supply.PUMP_RESERVE,
    "fuel_supply.SPECIFIC_HEAT": lambda fuel: fuel_supply.SPECIFIC_HEAT[fuel],
    "fuel_supply.VISCOSITY": lambda fuel: fuel_supply.VISCOSITY[fuel],
    "hydraulics.scaled_flow": hydraulics.scaled_flow,
    "hydraulics.orifice_bore": hydraulics.orifice_bore,
    "hydraulics.orifice_bore area": lambda **given: hydraulics.area(hydraulics.orifice_bore(**given)),
    "hydraulics.SHARP_ORIFICE": lambda: hydraulics.SHARP_ORIFICE,
    "hydraulics.line_flow speed": lambda **given: _line(**given).speed,
    "hydraulics.line_flow loss": lambda **given: _line(**given).loss,
    "hydraulics.bore_for_speed": hydraulics.bore_for_speed,
    "hydraulics.heat_carried": hydraulics.heat_carried,
    "hydraulics.flow_for_heat": hydraulics.flow_for_heat,
    "hydraulics.warmed_by": hydraulics.warmed_by,
    "oil.full_flow laminar": _laminar,
    "oil.full_flow turbulent": _turbulent,
    "oil.drain_flow share": _half_over_full,
    "oil.SELF_VENTING": lambda: oil.SELF_VENTING,
    "oil.oil_viscosity": oil.oil_viscosity,
    "oil.GRADES least": lambda grade: oil.GRADES[grade][0],
    "oil.USUAL_DRAINS": lambda place: tuple(oil.USUAL_DRAINS.values())[place],
    "coolant.coolant_at density": lambda **given: _coolant(**given).density,
    "coolant.coolant_at specific heat": lambda **given: _coolant(**given).specific_heat,
    "coolant.coolant_at viscosity": lambda **given: _coolant(**given).viscosity,
    "coolant.least_bend_radius bores": _bores,
    "coolant.UNDER_PRESSURE": lambda: coolant.UNDER_PRESSURE,
    "coolant.bend_length": lambda angle_deg, radius, outside: coolant.bend_length(
        radians(angle_deg), radius, outside
    ),
}


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_a_value_agrees_with_its_source(check: Check) -> None:
    ours = SUBJECTS[check.subject.removeprefix("core.air.")](**check.inputs)
    assert check.allows(ours), f"{check.quantity}: {check.source} has {check.expected}, ours is {ours}"


def test_the_values_come_from_many_sources_and_lean_on_no_single_formula() -> None:
    assert len({(check.source, check.quantity) for check in CHECKS}) >= 50
    assert len({check.source for check in CHECKS}) >= 25
    for subject, count in Counter(check.subject for check in CHECKS).items():
        assert count <= 5, f"{subject} has {count} checks"


def test_no_subject_stands_without_a_value() -> None:
    assert {check.subject.removeprefix("core.air.") for check in CHECKS} == SUBJECTS.keys()
