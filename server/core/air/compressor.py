"""A compressor as pressure ratio and isentropic efficiency, with constant specific heat."""

from dataclasses import dataclass

from server.core.air.gas import GAMMA, SPECIFIC_HEAT


@dataclass(frozen=True, slots=True)
class Compression:
    """What a compressor does to the air.

    outlet_temperature: [K]. power: power given to the air, [W]. notes: what a reader must know.
    """

    outlet_temperature: float
    power: float
    notes: tuple[str, ...] = ()


def pressure_ratio(
    manifold_pressure: float, charge_loss: float, ambient_pressure: float, intake_loss: float
) -> float:
    """Pressure ratio the compressor works at, losses on both sides included.

    manifold_pressure: absolute, [Pa]. charge_loss: compressor outlet to manifold, [Pa].
    ambient_pressure: absolute, [Pa]. intake_loss: outside to compressor inlet, [Pa]. Returns [-].
    Errors: ValueError where the intake loss leaves no pressure. Source: definition.
    """
    inlet_pressure = ambient_pressure - intake_loss
    if inlet_pressure <= 0.0:
        raise ValueError("The intake loss is as large as the pressure outside.")
    return (manifold_pressure + charge_loss) / inlet_pressure


def compress(inlet_temperature: float, ratio: float, efficiency: float, flow: float) -> Compression:
    """Outlet temperature and power of an adiabatic compressor, constant specific heat.

    inlet_temperature: [K]. ratio: outlet over inlet absolute pressure, [-].
    efficiency: isentropic, above 0 up to 1, [-]. flow: [kg/s].
    Below a ratio of 1 the wheel is only a restriction: the temperature stays and no work is counted.
    Errors: ValueError for an efficiency outside (0, 1].
    Source: isentropic efficiency, T2 = T1 + T1 (r^((gamma - 1)/gamma) - 1) / eta; power = m cp (T2 - T1)
    (Cengel & Boles, Thermodynamics, chapter 7).
    """
    if not 0.0 < efficiency <= 1.0:
        raise ValueError("Isentropic efficiency lies above 0 and not above 1.")
    if ratio < 1.0:
        note = "Pressure ratio below 1: the compressor is a restriction here, no work is counted."
        return Compression(inlet_temperature, 0.0, (note,))
    ideal_rise = inlet_temperature * (ratio ** ((GAMMA - 1.0) / GAMMA) - 1.0)
    rise = ideal_rise / efficiency
    return Compression(inlet_temperature + rise, flow * SPECIFIC_HEAT * rise)
