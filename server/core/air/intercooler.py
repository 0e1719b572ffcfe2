"""An intercooler as effectiveness and pressure loss."""

from dataclasses import dataclass

from server.core.air import gas
from server.core.air.gas import AirState


@dataclass(frozen=True, slots=True)
class RatedDrop:
    """What a cooler's maker, or a reading, says of its pressure drop.

    drop: [Pa]. flow: at which it was measured, [kg/s]. density: of the charge at the cooler's inlet then,
    [kg/m3].
    """

    drop: float
    flow: float
    density: float


def cooled_temperature(charge_temperature: float, coolant_temperature: float, effectiveness: float) -> float:
    """Charge temperature after the cooler.

    charge_temperature: at the cooler's inlet, [K]. coolant_temperature: of the air or water that cools, [K].
    effectiveness: 0 to 1, [-]. Returns [K].
    Errors: ValueError for an effectiveness outside [0, 1].
    Source: effectiveness with the charge as the lesser heat capacity rate,
    eps = (T_in - T_out) / (T_in - T_coolant) (Incropera, chapter 11).
    """
    if not 0.0 <= effectiveness <= 1.0:
        raise ValueError("Effectiveness lies between 0 and 1.")
    return charge_temperature - effectiveness * (charge_temperature - coolant_temperature)


def outlet_state(
    charge: AirState, coolant_temperature: float, effectiveness: float, pressure_loss: float
) -> AirState:
    """State of the charge after the cooler.

    charge: at the cooler's inlet, [Pa], [K], [kg/m3]. coolant_temperature: [K]. effectiveness: 0 to 1, [-].
    pressure_loss: through core and end tanks, [Pa].
    Errors: ValueError for an effectiveness outside [0, 1] or a loss that leaves no pressure.
    Source: effectiveness (Incropera, chapter 11); ideal gas law.
    """
    pressure = charge.pressure - pressure_loss
    if pressure <= 0.0:
        raise ValueError("The cooler's loss is as large as the charge pressure.")
    temperature = cooled_temperature(charge.temperature, coolant_temperature, effectiveness)
    return AirState(pressure, temperature, gas.density(pressure, temperature))


def pressure_drop(rated: RatedDrop, flow: float, density: float) -> float:
    """A cooler's pressure drop at another flow and density than it was rated at.

    rated: the known point. flow: through the cooler, [kg/s]. density: of the charge at its inlet, [kg/m3].
    Returns [Pa]. Errors: ValueError for a rated point or density that is not above zero, or a flow below it.
    Source: drop as flow squared over density, a constant loss coefficient (Kays & London, Compact Heat
    Exchangers, chapter 2, from memory). Where friction in fine passages rules, the power is nearer 1.8: a
    drop scaled up from a smaller rated flow then errs on the safe side.
    """
    if not all(value > 0.0 for value in (rated.drop, rated.flow, rated.density, density)) or flow < 0.0:
        raise ValueError("Rated drop, flow and density and the density here are above zero; flow not below.")
    return rated.drop * (flow / rated.flow) ** 2 * rated.density / density
