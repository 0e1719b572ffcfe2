"""An intercooler as effectiveness and pressure loss."""

from server.core.air import gas
from server.core.air.gas import AirState


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
