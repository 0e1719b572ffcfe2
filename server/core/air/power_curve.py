"""Power and torque over the engine's speeds, as the air stands for them, with their doubt."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, pi

from server.core.air.demand import DemandPoint
from server.core.air.fuels import Fuel, power_from_air

CONSUMPTION_DOUBT = 0.05
MIXTURE_DOUBT = 0.05
"""Standard uncertainties of the usual fuel consumption and of the usual mixture under boost, of the value,
[-]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class PowerPoint:
    """The engine's output at one speed.

    rpm: [1/min]. power: at the crankshaft, observed, [W]. torque: [N m]. doubt: of the power, one standard
    uncertainty, [W].
    """

    rpm: float
    power: float
    torque: float
    doubt: float


def torque(power: float, rpm: float) -> float:
    """Torque of a shaft that gives a power.

    power: [W]. rpm: [1/min]. Returns [N m]. Errors: ValueError for a speed that is not above zero.
    Source: definition, P = T 2 pi n.
    """
    if rpm <= 0.0:
        raise ValueError("Torque needs an engine speed above zero.")
    return power / (2.0 * pi * rpm / 60.0)


def power_doubt(power: float, flow_share: float) -> float:
    """Standard uncertainty of an observed power.

    power: [W]. flow_share: standard uncertainty of the air flow, of the flow, [-]. Returns [W].
    Errors: ValueError for a share below zero.
    Source: JCGM 100:2008, 5.1.6, a product of independent factors: flow, consumption, mixture.
    """
    if flow_share < 0.0:
        raise ValueError("A doubt is not below zero.")
    return power * hypot(flow_share, CONSUMPTION_DOUBT, MIXTURE_DOUBT)


def power_curve(
    curve: Sequence[DemandPoint], fuel: Fuel, flow_shares: Sequence[float]
) -> tuple[PowerPoint, ...]:
    """Power and torque at each point of a demand curve.

    flow_shares: standard uncertainty of each point's flow, of the flow, [-], as many as there are points.
    Source: `fuels.power_from_air`, `torque`, `power_doubt`.
    """
    found = []
    for at, share in zip(curve, flow_shares, strict=True):
        power = power_from_air(at.flow, fuel).power
        found.append(PowerPoint(at.rpm, power, torque(power, at.rpm), power_doubt(power, share)))
    return tuple(found)
