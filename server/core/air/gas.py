"""Perfect gases, dry air first: constants, density, sound speed, viscosity, stagnation and static states.

One set of constants serves the whole package, so that two functions never disagree about what air is; a gas
that is not air is handed in. The specific heat is held constant; air's from 250 K to 450 K truly differs by
less than 1.5 %.
"""

from dataclasses import dataclass

from server.core.measure.many import sqrt

GAS_CONSTANT = 287.05
"""Specific gas constant of dry air, [J/(kg K)] (U.S. Standard Atmosphere, 1976)."""

GAMMA = 1.4
"""Ratio of specific heats of dry air, [-]."""

SPECIFIC_HEAT = 1005.0
"""Specific heat of dry air at constant pressure, [J/(kg K)], held constant."""

SUTHERLAND_FACTOR = 1.458e-6
"""Sutherland factor of air, [kg/(s m K^0.5)] (U.S. Standard Atmosphere, 1976, table 2)."""

SUTHERLAND_TEMPERATURE = 110.4
"""Sutherland temperature of air, [K] (U.S. Standard Atmosphere, 1976, table 2)."""


@dataclass(frozen=True, slots=True)
class Gas:
    """A perfect gas. constant: specific gas constant, [J/(kg K)]. gamma: ratio of specific heats, [-]."""

    constant: float
    gamma: float

    @property
    def specific_heat(self) -> float:
        """At constant pressure, [J/(kg K)]. Source: perfect gas, cp = gamma R / (gamma - 1)."""
        return self.gamma * self.constant / (self.gamma - 1.0)

    @property
    def critical_flow_number(self) -> float:
        """Greatest value of `flow_number`, reached at Mach 1, [-]."""
        exponent = -(self.gamma + 1.0) / (2.0 * (self.gamma - 1.0))
        return float(((self.gamma + 1.0) / 2.0) ** exponent)


AIR = Gas(GAS_CONSTANT, GAMMA)
"""Dry air."""

CRITICAL_FLOW_NUMBER = AIR.critical_flow_number
"""Greatest value of `flow_number` of air, [-]."""


@dataclass(frozen=True, slots=True)
class AirState:
    """Still or static state of air.

    pressure: absolute pressure, [Pa]. temperature: [K]. density: [kg/m3].
    """

    pressure: float
    temperature: float
    density: float


@dataclass(frozen=True, slots=True)
class Stream:
    """Gas moving through one cross-section.

    pressure: static, absolute, [Pa]. temperature: static, [K]. speed: [m/s]. mach: [-].
    stagnation_pressure: absolute, [Pa]. stagnation_temperature: [K].
    """

    pressure: float
    temperature: float
    speed: float
    mach: float
    stagnation_pressure: float
    stagnation_temperature: float


def density(pressure: float, temperature: float, of: Gas = AIR) -> float:
    """Density of a gas.

    pressure: absolute, [Pa]. temperature: [K]. Returns [kg/m3]. Source: ideal gas law.
    """
    return pressure / (of.constant * temperature)


def sound_speed(temperature: float, of: Gas = AIR) -> float:
    """Speed of sound in a gas.

    temperature: static, [K]. Returns [m/s]. Source: ideal gas, a = sqrt(gamma R T).
    """
    return sqrt(of.gamma * of.constant * temperature)


def viscosity(temperature: float) -> float:
    """Dynamic viscosity of air.

    temperature: static, [K]. Returns [Pa s].
    Source: Sutherland's formula with the constants of the U.S. Standard Atmosphere, 1976, equation 51.
    """
    return SUTHERLAND_FACTOR * temperature * sqrt(temperature) / (temperature + SUTHERLAND_TEMPERATURE)


def temperature_ratio(mach: float, of: Gas = AIR) -> float:
    """Stagnation over static temperature, T0/T = 1 + (gamma - 1)/2 M^2.

    mach: [-]. Returns [-]. Source: energy balance of adiabatic flow (NACA Report 1135, equation 43).
    """
    return 1.0 + 0.5 * (of.gamma - 1.0) * mach * mach


def pressure_ratio(mach: float, of: Gas = AIR) -> float:
    """Stagnation over static pressure, p0/p = (T0/T)^(gamma/(gamma - 1)).

    mach: [-]. Returns [-]. Source: isentropic flow (NACA Report 1135, equation 44).
    """
    return float(temperature_ratio(mach, of) ** (of.gamma / (of.gamma - 1.0)))


def density_ratio(mach: float, of: Gas = AIR) -> float:
    """Stagnation over static density, (T0/T)^(1/(gamma - 1)).

    mach: [-]. Returns [-]. Source: isentropic flow (NACA Report 1135, equation 45).
    """
    return float(temperature_ratio(mach, of) ** (1.0 / (of.gamma - 1.0)))


def flow_number(mach: float, of: Gas = AIR) -> float:
    """How much flow a section passes at a Mach number: m sqrt(R T0 / gamma) / (A p0).

    It equals M (T0/T)^(-(gamma + 1)/(2 (gamma - 1))) and is greatest at Mach 1.
    mach: [-]. Returns [-]. Source: continuity and isentropic flow (NACA Report 1135).
    """
    exponent = -(of.gamma + 1.0) / (2.0 * (of.gamma - 1.0))
    return float(mach * temperature_ratio(mach, of) ** exponent)


def subsonic_mach(number: float, of: Gas = AIR) -> float | None:
    """Subsonic Mach number at which a section has this flow number; the inverse of `flow_number`.

    number: [-]. Returns [-], or None where the section cannot pass so much.
    Source: Newton's method; from the low side it climbs without overshooting, as the curve is concave.
    """
    if number > of.critical_flow_number:
        return None
    mach = number
    for _ in range(60):
        value = flow_number(mach, of)
        slope = value * (1.0 - mach * mach) / (mach * temperature_ratio(mach, of)) if mach > 0.0 else 1.0
        if slope <= 0.0:
            break
        step = (number - value) / slope
        mach = min(mach + step, 1.0)
        if abs(step) <= 1e-15 + 1e-14 * mach:
            break
    return mach


def stream_from_static(
    flow: float, area: float, pressure: float, temperature: float, of: Gas = AIR
) -> Stream:
    """Stream through a section whose static state is known.

    flow: [kg/s]. area: [m2]. pressure: static, absolute, [Pa]. temperature: static, [K].
    The Mach number may come out above 1: the caller decides what that means. Source: continuity.
    """
    speed = flow / (density(pressure, temperature, of) * area)
    mach = speed / sound_speed(temperature, of)
    return Stream(
        pressure,
        temperature,
        speed,
        mach,
        pressure * pressure_ratio(mach, of),
        temperature * temperature_ratio(mach, of),
    )


def stream_from_stagnation(
    flow: float, area: float, pressure: float, temperature: float, of: Gas = AIR
) -> Stream | None:
    """Subsonic stream through a section whose stagnation state is known, such as air drawn from still air.

    flow: [kg/s]. area: [m2]. pressure: stagnation, absolute, [Pa]. temperature: stagnation, [K].
    Returns None where the section is choked: it cannot pass so much. Source: continuity, isentropic flow.
    """
    mach = subsonic_mach(flow * sqrt(of.constant * temperature / of.gamma) / (area * pressure), of)
    if mach is None:
        return None
    return stream_at_mach(mach, pressure, temperature, of)


def stream_at_mach(
    mach: float, stagnation_pressure: float, stagnation_temperature: float, of: Gas = AIR
) -> Stream:
    """Stream with a known Mach number and stagnation state.

    mach: [-]. stagnation_pressure: absolute, [Pa]. stagnation_temperature: [K]. Source: isentropic flow.
    """
    temperature = stagnation_temperature / temperature_ratio(mach, of)
    return Stream(
        stagnation_pressure / pressure_ratio(mach, of),
        temperature,
        mach * sound_speed(temperature, of),
        mach,
        stagnation_pressure,
        stagnation_temperature,
    )
