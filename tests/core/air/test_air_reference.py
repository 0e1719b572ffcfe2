"""Air against the world: every value of `tests/reference/air.toml`."""

from collections import Counter
from collections.abc import Callable
from math import log10, pi, radians, sqrt

import pytest

from server.core.air import atmosphere, compressor, demand, fanno, fuels, gas, intercooler, losses
from server.core.air.march import Element, March, march
from server.core.air.tube_sum import TubeLoss, tube_loss
from tests.reference_values import Check, load

CHECKS = load("air")


def _line(
    bore: float,
    length: float,
    roughness: float,
    standard_volume_flow: float,
    standard_temperature: float,
    pressure: float,
    temperature: float,
) -> March:
    """A compressed-air line whose flow is given in standard volume."""
    flow = standard_volume_flow * gas.density(101_325.0, standard_temperature)
    return march([Element("line", "straight", bore, bore, length, roughness)], flow, pressure, temperature)


def _static_drop(**given: float) -> float:
    (station,) = _line(**given).stations
    return station.pressure_in - station.pressure_out


def _tube(**given: float) -> TubeLoss:
    return tube_loss(bends=[], **given)


def _moving(pressure: float, temperature: float, speed: float) -> gas.Stream:
    """Air that moves at a speed through a section of 1 m2."""
    flow = gas.density(pressure, temperature) * speed
    return gas.stream_from_static(flow, 1.0, pressure, temperature)


def _cooled(
    pressure: float,
    temperature: float,
    coolant_temperature: float,
    effectiveness: float,
    pressure_loss: float,
) -> gas.AirState:
    charge = gas.AirState(pressure, temperature, gas.density(pressure, temperature))
    return intercooler.outlet_state(charge, coolant_temperature, effectiveness, pressure_loss)


def _ratio_at(elevation: float, gauge: float) -> float:
    ambient = atmosphere.standard(elevation).pressure
    return compressor.pressure_ratio(ambient + gauge, 0.0, ambient, 0.0)


def _bend(bore: float, angle_deg: float, radius: float, friction_factor: float) -> float:
    return losses.smooth_bend(bore, radians(angle_deg), radius, friction_factor).value


def _step(bore_in: float, bore_out: float, half_angle_deg: float | None = None) -> float:
    half_angle = None if half_angle_deg is None else radians(half_angle_deg)
    return losses.step(bore_in, bore_out, half_angle).value


SUBJECTS: dict[str, Callable[..., float]] = {
    "atmosphere.standard pressure": lambda **given: atmosphere.standard(**given).pressure,
    "atmosphere.standard temperature": lambda **given: atmosphere.standard(**given).temperature,
    "atmosphere.standard density": lambda **given: atmosphere.standard(**given).density,
    "gas.density": gas.density,
    "gas.viscosity": gas.viscosity,
    "gas.sound_speed": gas.sound_speed,
    "gas.pressure_ratio inverse": lambda mach: 1.0 / gas.pressure_ratio(mach),
    "gas.density_ratio inverse": lambda mach: 1.0 / gas.density_ratio(mach),
    "gas.temperature_ratio inverse": lambda mach: 1.0 / gas.temperature_ratio(mach),
    "gas.flow_number area": lambda mach: gas.CRITICAL_FLOW_NUMBER / gas.flow_number(mach),
    "gas.stream_from_static stagnation temperature": lambda **given: _moving(**given).stagnation_temperature,
    "gas.stream_from_static stagnation pressure": lambda **given: _moving(**given).stagnation_pressure,
    "demand.air_demand flow": lambda **given: demand.air_demand(**given).flow_kg_s,
    "compressor.compress temperature": lambda **given: compressor.compress(**given).outlet_temperature,
    "compressor.compress power": lambda **given: compressor.compress(**given).power,
    "compressor.pressure_ratio": compressor.pressure_ratio,
    "compressor.pressure_ratio at elevation": _ratio_at,
    "fuels.stoichiometric_ratio": fuels.stoichiometric_ratio,
    "fuels.FUELS stoichiometric_ratio": lambda code: fuels.FUELS[code].stoichiometric_ratio,
    "intercooler.outlet_state temperature": lambda **given: _cooled(**given).temperature,
    "intercooler.outlet_state density": lambda **given: _cooled(**given).density,
    "losses.friction": lambda **given: losses.friction(**given).factor,
    "losses.smooth_bend": _bend,
    "losses.mitre": lambda angle_deg, joints: losses.mitre(radians(angle_deg), joints).value,
    "losses.step": _step,
    "losses.sharp_entrance": lambda: losses.sharp_entrance().value,
    "losses.exit_loss": lambda: losses.exit_loss().value,
    "fanno.length_to_sonic": fanno.length_to_sonic,
    "fanno.temperature_to_sonic": fanno.temperature_to_sonic,
    "fanno.pressure_to_sonic": fanno.pressure_to_sonic,
    "fanno.mach_after": lambda **given: fanno.mach_after(**given) or 0.0,
    "march.march static drop": _static_drop,
    "march.march speed in": lambda **given: _line(**given).stations[0].speed_in,
    "march.march speed out": lambda **given: _line(**given).stations[0].speed_out,
    "tube_sum.tube_loss speed": lambda **given: _tube(**given).speed,
    "tube_sum.tube_loss mach": lambda **given: _tube(**given).mach,
}


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_a_value_agrees_with_its_source(check: Check) -> None:
    ours = SUBJECTS[check.subject.removeprefix("core.air.")](**check.inputs)
    assert check.allows(ours), f"{check.quantity}: {check.source} has {check.expected}, ours is {ours}"


def test_the_values_come_from_many_sources_and_lean_on_no_single_formula() -> None:
    assert len({(check.source, check.quantity) for check in CHECKS}) >= 40
    for subject, count in Counter(check.subject for check in CHECKS).items():
        assert count <= 5, f"{subject} has {count} checks"


def test_the_compressed_air_line_read_as_gauge_would_miss_its_source() -> None:
    """Crane TP-410, example 7-16: 65 psi is gauge; as absolute the drop comes out a quarter too large."""
    given = next(check for check in CHECKS if check.id == "PIP-03-drop")
    wrong = {**given.inputs, "pressure": given.inputs["pressure"] - 101_325.0}
    assert given.allows(_static_drop(**given.inputs))
    assert _static_drop(**wrong) > 1.2 * given.expected


def test_speed_density_with_gauge_pressure_would_halve_the_flow() -> None:
    """ENG-03 of Heywood's definition: 200 kPa absolute is 98.7 kPa gauge."""
    at_absolute = demand.air_demand(2e-3, 6000.0, 0.95, 200e3, 318.15).flow_kg_s
    at_gauge = demand.air_demand(2e-3, 6000.0, 0.95, 200e3 - 101_325.0, 318.15).flow_kg_s
    assert at_absolute == pytest.approx(0.2080, rel=1e-3)
    assert at_gauge < 0.5 * at_absolute


def test_the_friction_factor_solves_colebrooks_equation() -> None:
    """Colebrook (1939), put back into its own equation."""
    for reynolds in (5e3, 5e4, 2e5, 1e6):
        for roughness in (0.0, 3e-5, 1e-3, 1e-2):
            factor = losses.friction(reynolds, roughness).factor
            right = -2.0 * log10(roughness / 3.7 + 2.51 / (reynolds * sqrt(factor)))
            assert 1.0 / sqrt(factor) == pytest.approx(right, rel=1e-3)


def test_a_circle_of_one_metre_bore_passes_what_continuity_says() -> None:
    """Continuity: 1 kg/s of air at 1 kg/m3 through a bore of 1 m runs at 4/pi m/s."""
    temperature = 101_325.0 / gas.GAS_CONSTANT
    assert _tube(
        bore=1.0, length=0.0, roughness=0.0, flow=1.0, pressure=101_325.0, temperature=temperature
    ).speed == pytest.approx(4.0 / pi)
