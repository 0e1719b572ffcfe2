"""Air outside, by elevation."""

from functools import lru_cache

from fluids.atmosphere import ATMOSPHERE_1976

from server.core.air import gas
from server.core.air.gas import AirState

LOWEST_ELEVATION = -610.0
"""Lowest geometric altitude for which the model is documented, [m]."""

HIGHEST_ELEVATION = 11_000.0
"""Highest geometric altitude accepted, [m]: no garage and no road stands higher."""


def elevation_fault(elevation: float) -> str | None:
    """Why an elevation cannot be used, or None where it can.

    elevation: geometric altitude, [m]. Source: range of the U.S. Standard Atmosphere, 1976.
    """
    if LOWEST_ELEVATION <= elevation <= HIGHEST_ELEVATION:
        return None
    return (
        f"The standard atmosphere is used from {LOWEST_ELEVATION:.0f} m to {HIGHEST_ELEVATION:.0f} m "
        "above sea level."
    )


@lru_cache(maxsize=64)
def standard(elevation: float) -> AirState:
    """Pressure, temperature and density of the standard atmosphere.

    elevation: geometric altitude, [m]. Returns an AirState in [Pa], [K], [kg/m3].
    Errors: ValueError outside the range that `elevation_fault` tells; nothing is clamped.
    Source: U.S. Standard Atmosphere, 1976, through `fluids.atmosphere`.
    """
    fault = elevation_fault(elevation)
    if fault is not None:
        raise ValueError(fault)
    air = ATMOSPHERE_1976(elevation)
    return AirState(air.P, air.T, air.rho)


def outside(elevation: float, temperature: float) -> AirState:
    """Air outside on a day that is warmer or colder than the standard one.

    elevation: geometric altitude, [m]. temperature: [K]. Returns an AirState in [Pa], [K], [kg/m3].
    Pressure is the standard atmosphere's; weather moves it by about 3 % either way.
    Errors: ValueError as `standard`. Source: U.S. Standard Atmosphere, 1976; ideal gas law.
    """
    pressure = standard(elevation).pressure
    return AirState(pressure, temperature, gas.density(pressure, temperature))
