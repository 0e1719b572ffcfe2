"""Coolant: what it is at a temperature, and how tightly its hose may be bent.

Speed and loss in the hose are `hydraulics.line_flow`; the heat it carries is `hydraulics.heat_carried`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import inf

from server.core.air.hydraulics import Liquid

HOSE_SPEED = 2.5
"""Most speed of coolant in a hose, [m/s]: faster, it wears hose and radiator; common practice, no source."""

UNDER_PRESSURE = 0.8
"""Least bend radius of a hose under pressure over that of an empty one, [-]; common practice, no source."""

_WIDE_HOSE = 0.1
"""Bore above which a spiral hose asks for more, [m]."""


@dataclass(frozen=True, slots=True)
class CoolantState:
    """A coolant at one temperature.

    temperature: [K]. density: [kg/m3]. specific_heat: [J/(kg K)]. viscosity: dynamic, [Pa s].
    """

    temperature: float
    density: float
    specific_heat: float
    viscosity: float

    @property
    def liquid(self) -> Liquid:
        """The same as a liquid for `hydraulics`. Source: definition."""
        return Liquid(self.density, self.viscosity)


WATER = "water"
GLYCOL_HALF = "water with 50 % ethylene glycol by volume"

COOLANTS: Mapping[str, tuple[CoolantState, ...]] = {
    WATER: (
        CoolantState(278.15, 999.9, 4205.0, 1.519e-3),
        CoolantState(293.15, 998.0, 4182.0, 1.002e-3),
        CoolantState(313.15, 992.1, 4179.0, 0.653e-3),
        CoolantState(333.15, 983.3, 4185.0, 0.467e-3),
        CoolantState(353.15, 971.8, 4197.0, 0.355e-3),
        CoolantState(373.15, 957.9, 4217.0, 0.282e-3),
        CoolantState(393.15, 943.4, 4244.0, 0.232e-3),
    ),
    GLYCOL_HALF: (
        CoolantState(277.59, 1079.5, 3221.0, 6.86e-3),
        CoolantState(293.15, 1073.3, 3281.0, 3.88e-3),
        CoolantState(313.15, 1063.7, 3358.0, 2.21e-3),
        CoolantState(333.15, 1052.0, 3435.0, 1.435e-3),
        CoolantState(353.15, 1038.5, 3512.0, 0.993e-3),
        CoolantState(373.15, 1023.0, 3590.0, 0.686e-3),
    ),
}
"""Each coolant by temperature, rising. Water: Cengel, table of saturated water. Glycol: ASHRAE Handbook
Fundamentals, physical properties of secondary coolants, through the fit AEG of the library CoolProp 8.0;
other handbooks give its viscosity up to a fifth lower."""


@dataclass(frozen=True, slots=True)
class HoseKind:
    """How a hose is made. name: for the reader. bores: least bend radius in bores, [-]. wide_bores: the
    same for a bore over 100 mm, [-]."""

    name: str
    bores: float
    wide_bores: float


PLAIN_HOSE = HoseKind("rubber on fabric, built on a mandrel", 6.0, 6.0)
SPIRAL_HOSE = HoseKind("with a wire spiral, smooth outside", 8.0, 10.0)
RIBBED_HOSE = HoseKind("with a wire spiral, ribbed outside", 6.0, 8.0)

HOSE_KINDS = (PLAIN_HOSE, SPIRAL_HOSE, RIBBED_HOSE)
"""Common practice of a hose supplier, no source; the hose's own data sheet goes before it."""


@dataclass(frozen=True, slots=True)
class HoseBend:
    """A hose's bend beside the tightest that its make allows.

    bores: inside radius over bore, [-]. least: inside radius that the hose asks for, [m]. kinks: the bend is
    tighter than that, so that the hose is likely to fold: take a moulded elbow or a hard line.
    """

    bores: float
    least: float
    kinks: bool


def coolant_at(name: str, temperature: float) -> CoolantState | None:
    """A coolant at a temperature, None where it lies outside the coolant's table.

    name: one of `COOLANTS`. temperature: [K].
    Errors: ValueError for a coolant that is not known.
    Source: see `COOLANTS`; between rows density and specific heat are linear, viscosity by its logarithm
    against one over temperature.
    """
    if name not in COOLANTS:
        raise ValueError(f"The coolant must be one of: {'; '.join(COOLANTS)}.")
    table = COOLANTS[name]
    if temperature < table[0].temperature:
        return None
    for low, high in pairwise(table):
        if temperature <= high.temperature:
            return _between(low, high, temperature)
    return None


def least_bend_radius(kind: HoseKind, bore: float, pressurised: bool = False) -> float:
    """Least radius of a hose's bend, to the inside of the curve.

    bore: [m]. pressurised: the hose is under pressure whenever it is bent, and may then be bent more tightly.
    Returns [m]. Errors: ValueError for a bore that is not above zero. Source: common practice, no source.
    """
    if not 0.0 < bore < inf:
        raise ValueError("A bore is above zero.")
    bores = kind.wide_bores if bore > _WIDE_HOSE else kind.bores
    return bores * bore * (UNDER_PRESSURE if pressurised else 1.0)


def hose_bend(kind: HoseKind, bore: float, radius: float, pressurised: bool = False) -> HoseBend:
    """Whether a hose is bent more tightly than its make allows.

    bore: [m]. radius: to the inside of the curve, [m]. pressurised: as in `least_bend_radius`.
    Errors: ValueError for a bore or radius that is not above zero. Source: common practice, no source.
    """
    least = least_bend_radius(kind, bore, pressurised)
    if not 0.0 < radius < inf:
        raise ValueError("A radius is above zero.")
    return HoseBend(radius / bore, least, radius < least)


def bend_length(angle: float, radius: float, outside: float) -> float:
    """Length of hose that a bend takes up, along its middle; straight ends for the spigots come on top.

    angle: [rad]. radius: to the inside of the curve, [m]. outside: diameter, [m]. Returns [m].
    Errors: ValueError where one is not above zero.
    Source: geometry, angle (r + D/2), as in the rubber trade's hose handbooks.
    """
    if not all(0.0 < value < inf for value in (angle, radius, outside)):
        raise ValueError("Angle, radius and diameter are above zero.")
    return angle * (radius + 0.5 * outside)


def inside_radius(angle: float, length: float, outside: float) -> float | None:
    """Inside radius of an even bend made in a length of hose; the inverse of `bend_length`.

    angle: [rad]. length: along the hose's middle, [m]. outside: diameter, [m]. Returns [m], None where the
    length is too short for the angle: the inside of the curve would fold on itself.
    Errors: ValueError where one is not above zero. Source: geometry.
    """
    if not all(0.0 < value < inf for value in (angle, length, outside)):
        raise ValueError("Angle, length and diameter are above zero.")
    radius = length / angle - 0.5 * outside
    return radius if radius > 0.0 else None


def _between(low: CoolantState, high: CoolantState, temperature: float) -> CoolantState:
    part = (temperature - low.temperature) / (high.temperature - low.temperature)
    # Viscosity of a liquid is nearly exponential in one over temperature (Andrade).
    far = (1.0 / temperature - 1.0 / low.temperature) / (1.0 / high.temperature - 1.0 / low.temperature)
    return CoolantState(
        temperature,
        low.density + part * (high.density - low.density),
        low.specific_heat + part * (high.specific_heat - low.specific_heat),
        low.viscosity * (high.viscosity / low.viscosity) ** far,
    )
