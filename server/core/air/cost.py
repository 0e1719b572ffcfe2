"""What the loss of a run costs in boost and in power at the peak.

Both sums compare the engine with the run to the same engine with a run that loses nothing. They assume
that the turbo keeps its pressure ratio (it is not asked to work harder), that temperature and volumetric
efficiency stay, and so that air flow, and power with it, goes as the manifold's absolute pressure.
"""

from dataclasses import dataclass

from server.core.air.demand import DemandPoint


@dataclass(frozen=True, slots=True)
class LossCost:
    """What a loss costs.

    boost: manifold pressure lost, [Pa]. power: [W]. power_share: of the power without the loss, [-], at most
    all of it.
    assumption: in words for a page.
    """

    boost: float
    power: float
    power_share: float
    assumption: str


def intake_cost(loss: float, at: DemandPoint, power: float) -> LossCost:
    """Cost of a loss ahead of the compressor.

    loss: stagnation pressure, [Pa]. at: the demand at the peak, without this loss. power: there, [W].
    The compressor multiplies what it is given, so that boost falls by pressure ratio times loss.
    Errors: ValueError for a loss or power below zero.
    Source: definition of pressure ratio, at a constant one.
    """
    assumption = "At the same pressure ratio: the compressor multiplies the loss ahead of it."
    return _cost(loss * at.pressure_ratio, at.manifold_pressure, power, assumption)


def charge_cost(loss: float, at: DemandPoint, power: float) -> LossCost:
    """Cost of a loss between compressor and manifold.

    loss: stagnation pressure, [Pa]. at: the demand at the peak, without this loss. power: there, [W].
    The loss comes off the manifold's pressure as it is.
    Errors: ValueError for a loss or power below zero.
    Source: definition, at a constant compressor outlet pressure.
    """
    assumption = "At the same compressor outlet pressure: the loss comes off the manifold's pressure."
    return _cost(loss, at.manifold_pressure, power, assumption)


def _cost(boost: float, manifold_pressure: float, power: float, assumption: str) -> LossCost:
    if boost < 0.0 or power < 0.0:
        raise ValueError("Loss and power are not below zero.")
    share = min(boost / manifold_pressure, 1.0)
    return LossCost(boost, power * share, share, assumption)
