"""How hot the outside of a hot pipe is: from the gas through the metal and any wrap to the air around.

The gas inside and the air outside are taken to conduct heat as dry air does. Close behind an engine the gas
comes in pulses and heats the pipe more than a steady flow would (common practice, no source).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi

import numpy as np
from scipy.constants import Stefan_Boltzmann, g

from server.core.air.gas import density, viscosity
from server.core.air.heat_balance import face
from server.core.air.losses import friction, friction_factors, tube_reynolds
from server.core.measure.many import (
    any_above,
    cube,
    fourth,
    greatest,
    least,
    log,
    many,
    plain,
    sqrt,
    with_ways,
)

PRANDTL = 0.70
"""Prandtl number of air, [-]; within 4 % from 250 K to 1000 K."""

LAMINAR_NUSSELT = 3.66
"""Nusselt number of laminar flow in a evenly warm tube, [-]. Source: Incropera & DeWitt, section 8.4."""

LAMINAR_TO, TURBULENT_FROM = 2300.0, 4000.0
"""Reynolds numbers between which the flow is neither; the two are mixed evenly (Gnielinski, 2013)."""

_SEA_LEVEL = 101_325.0

_MOST_TURNS = 50
_STILL = 1e-8
"""Part of a skin's temperature that the last turn may change it by [-]: the next would by far less."""


@dataclass(frozen=True, slots=True)
class Layer:
    """What is laid round a pipe. thickness: [m]. conductivity: [W/(m K)]."""

    thickness: float
    conductivity: float


@dataclass(frozen=True, slots=True)
class Surface:
    """A hot pipe in still or moving air.

    temperature: of what can be touched, the outermost skin, [K]. under: of the pipe's outside under the
    layers, [K]. loss: per length, [W/m]. inside_film, outside_film: heat-transfer coefficients without
    radiation, [W/(m2 K)].
    """

    temperature: float
    under: float
    loss: float
    inside_film: float
    outside_film: float


def air_conductivity(temperature: float) -> float:
    """Thermal conductivity of air, [W/(m K)].

    temperature: [K]. Source: U.S. Standard Atmosphere, 1976, equation 53.

    >>> round(air_conductivity(288.15), 5)
    0.02533
    """
    below = temperature + 245.4 * 10.0 ** (-12.0 / temperature)
    conductivity: float = 2.64638e-3 * temperature * sqrt(temperature) / below
    return conductivity


def gnielinski(reynolds: float, prandtl: float, friction_factor: float) -> float:
    """Nusselt number of turbulent flow in a tube, [-].

    friction_factor: Darcy. Reynolds number 3000 to 5 million, Prandtl number 0.5 to 2000, dimensionless.
    Source: V. Gnielinski, Int. Chem. Eng. 16 (1976) 359.
    """
    eighth = friction_factor / 8.0
    below = 1.0 + 12.7 * eighth**0.5 * (prandtl ** (2.0 / 3.0) - 1.0)
    nusselt: float = eighth * (reynolds - 1000.0) * prandtl / below
    return nusselt


def churchill_chu(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of a level cylinder in still air, [-], of dimensionless numbers; Rayleigh to 1e12.

    Source: S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1049.
    """
    below = (1.0 + (0.559 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    nusselt: float = (0.60 + 0.387 * rayleigh ** (1.0 / 6.0) / below) ** 2
    return nusselt


def churchill_bernstein(reynolds: float, prandtl: float) -> float:
    """Nusselt number of a cylinder in air that blows across it, [-], of dimensionless numbers.

    Their product is 0.2 or more. Source: S. W. Churchill, M. Bernstein, J. Heat Transfer 99 (1977) 300.
    """
    below = (1.0 + (0.4 / prandtl) ** (2.0 / 3.0)) ** 0.25
    fast = (1.0 + (reynolds / 282_000.0) ** 0.625) ** 0.8
    return float(0.3 + 0.62 * reynolds**0.5 * prandtl ** (1.0 / 3.0) / below * fast)


def inside_film(flow: float, bore: float, temperature: float) -> float:
    """Heat-transfer coefficient inside a smooth tube, [W/(m2 K)].

    flow: [kg/s]. bore: [m]. temperature: of the gas, [K]. Source: `gnielinski` with Colebrook's friction,
    3.66 where laminar.
    """
    reynolds = tube_reynolds(flow, bore, temperature)
    return inside_nusselt(reynolds) * air_conductivity(temperature) / bore


def inside_nusselt(reynolds: float) -> float:
    """Nusselt number inside a smooth tube at any Reynolds number, both dimensionless [-].

    Source: as `inside_film`.
    """
    if reynolds <= LAMINAR_TO:
        return LAMINAR_NUSSELT
    at = greatest(reynolds, TURBULENT_FROM)
    turbulent = gnielinski(at, PRANDTL, _smooth(at))
    share = least((reynolds - LAMINAR_TO) / (TURBULENT_FROM - LAMINAR_TO), 1.0)
    return (1.0 - share) * LAMINAR_NUSSELT + share * turbulent


def _smooth(reynolds: float) -> float:
    """Darcy friction factor of a smooth tube, [-], of one flow or of many at once."""
    if isinstance(reynolds, np.ndarray):
        factors: float = many(friction_factors(np.asarray(reynolds), np.zeros(len(reynolds))))
        return factors
    return friction(reynolds, 0.0).factor


def still_film(diameter: float, surface: float, ambient: float) -> float:
    """Heat-transfer coefficient of a level cylinder in still air at sea level, [W/(m2 K)].

    diameter: outside, [m]. surface, ambient: [K]. Source: `churchill_chu`, air as at the mean temperature.
    """
    mean = 0.5 * (surface + ambient)
    kinematic = viscosity(mean) / density(_SEA_LEVEL, mean)
    rayleigh = g * abs(surface - ambient) / mean * cube(diameter) * PRANDTL / kinematic**2
    return churchill_chu(rayleigh, PRANDTL) * air_conductivity(mean) / diameter


def blown_film(diameter: float, surface: float, ambient: float, speed: float) -> float:
    """Heat-transfer coefficient of a cylinder across which air blows, at sea level, [W/(m2 K)].

    diameter: outside, [m]. surface, ambient: [K]. speed: [m/s]. Source: `churchill_bernstein`.
    """
    mean = 0.5 * (surface + ambient)
    reynolds = speed * diameter * density(_SEA_LEVEL, mean) / viscosity(mean)
    return churchill_bernstein(reynolds, PRANDTL) * air_conductivity(mean) / diameter


def skin_loss(diameter: float, surface: float, ambient: float, emissivity: float, film: float) -> float:
    """Heat that leaves a length of pipe by convection and radiation, [W/m].

    diameter: outside, [m]. surface, ambient: air and surroundings alike, [K]. film: [W/(m2 K)].
    Source: Newton's law of cooling; Stefan and Boltzmann, a small body in wide surroundings.
    """
    radiated = emissivity * Stefan_Boltzmann * (fourth(surface) - fourth(ambient))
    return pi * diameter * (film * (surface - ambient) + radiated)


def layer_resistance(inner_diameter: float, layer: Layer) -> float:
    """Resistance of a layer round a pipe, per length, [m K/W].

    inner_diameter: what it is laid on, [m]. Source: conduction through a cylinder, ln(D2 / D1) / (2 pi k).
    """
    return log(1.0 + 2.0 * layer.thickness / inner_diameter) / (2.0 * pi * layer.conductivity)


def hot_pipe(
    gas_temperature: float,
    flow: float,
    bore: float,
    outside_diameter: float,
    emissivity: float,
    ambient: float,
    speed: float = 0.0,
    layers: Sequence[Layer] = (),
) -> Surface:
    """The outside of a pipe that hot gas flows through, far from its ends.

    gas_temperature, ambient: [K]. flow: [kg/s]. bore, outside_diameter: of the pipe, [m]. emissivity: of the
    outermost skin, [-]. speed: of the air across it, [m/s]. layers: wrap or sleeve, from the pipe outwards;
    the pipe's own wall counts as nothing. Of still and moving air the greater film counts. Source: heat in
    equals heat out, by `inside_film`, `layer_resistance`, `still_film`, `blown_film` and `skin_loss`.
    """
    inner = inside_film(flow, bore, gas_temperature)
    to_under = 1.0 / (pi * bore * inner)
    skin, through = outside_diameter, 0.0
    for layer in layers:
        through += layer_resistance(skin, layer)
        skin += 2.0 * layer.thickness
    found, film = _skin(gas_temperature, skin, to_under + through, emissivity, ambient, speed)
    loss = skin_loss(skin, found, ambient, emissivity, film)
    return Surface(found, gas_temperature - loss * to_under, loss, inner, film)


def _skin(
    gas: float, diameter: float, resistance: float, emissivity: float, ambient: float, speed: float
) -> tuple[float, float]:
    """Temperature of the skin [K], and the film outside that goes with it [W/(m2 K)].

    resistance: from the gas to the skin, per length, [m K/W]. By turns: the balance with the film, the film
    at its temperature, which hardly changes with that.
    """
    # Nothing here asks which way a draw goes.
    gas, diameter, ambient = plain(gas), plain(diameter), plain(ambient)
    brought = 1.0 / (pi * diameter * plain(resistance))
    found = film = gas
    for _ in range(_MOST_TURNS):
        film = still_film(diameter, found, ambient)
        if speed > 0.0:
            film = greatest(film, blown_film(diameter, found, ambient, speed))
        balance = face([(emissivity, ambient)], [(film, ambient), (brought, gas)])
        before, found = found, plain(balance.temperature())
        if not any_above(abs(found - before), _STILL * found):
            break
    return with_ways(found), with_ways(film)
