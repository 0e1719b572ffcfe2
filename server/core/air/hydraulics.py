"""Liquids in orifices and lines: what oil feed, fuel line and coolant hose have in common."""

from dataclasses import dataclass
from math import inf, pi

from server.core.air import losses
from server.core.measure.many import sqrt

SHARP_ORIFICE = pi / (pi + 2.0)
"""Discharge coefficient of a sharp-edged hole in a thin plate, [-] (Kirchhoff's jet; Merritt, Hydraulic
Control Systems, section 3.4). A drilled restrictor that is longer than it is wide passes more, up to about
0.8."""

STEADY_REYNOLDS = 300.0
"""Reynolds number in a sharp hole above which its coefficient hardly changes, [-] (Merritt, section 3.4, from
memory)."""


@dataclass(frozen=True, slots=True)
class Liquid:
    """A liquid at one temperature. density: [kg/m3]. viscosity: dynamic, [Pa s]."""

    density: float
    viscosity: float

    @property
    def kinematic(self) -> float:
        """Kinematic viscosity, [m2/s]. Source: definition."""
        return self.viscosity / self.density


@dataclass(frozen=True, slots=True)
class LineFlow:
    """A liquid in a line of one bore.

    speed: [m/s]. reynolds: [-]. friction_factor: Darcy, [-]. loss: of pressure, [Pa]. notes: where the
    input lies outside the formula's range.
    """

    speed: float
    reynolds: float
    friction_factor: float
    loss: float
    notes: tuple[str, ...] = ()


def area(bore: float) -> float:
    """Area of a round bore. bore: [m]. Returns [m2]. Source: geometry."""
    return 0.25 * pi * bore * bore


def orifice_flow(bore: float, drop: float, density: float, coefficient: float = SHARP_ORIFICE) -> float:
    """Liquid that a round hole passes, far smaller than the lines on both sides.

    bore: of the hole, [m]. drop: of pressure across it, [Pa]. density: [kg/m3]. coefficient: of discharge,
    [-]. Returns [m3/s]. Errors: ValueError for an input that is not above zero.
    Source: orifice equation, Q = Cd A sqrt(2 dp / rho) (Merritt, Hydraulic Control Systems, section 3.4).
    """
    _above_zero(bore, drop, density, coefficient)
    return coefficient * area(bore) * sqrt(2.0 * drop / density)


def orifice_bore(flow: float, drop: float, density: float, coefficient: float = SHARP_ORIFICE) -> float:
    """Bore of the round hole that passes a flow; the inverse of `orifice_flow`.

    flow: [m3/s]. drop: of pressure across it, [Pa]. density: [kg/m3]. coefficient: of discharge, [-].
    Returns [m]. Errors: ValueError for an input that is not above zero. Source: orifice equation.
    """
    _above_zero(flow, drop, density, coefficient)
    return sqrt(4.0 * flow / (pi * coefficient * sqrt(2.0 * drop / density)))


def orifice_notes(bore: float, flow: float, liquid: Liquid) -> tuple[str, ...]:
    """What to know of a flow through a hole: empty where the coefficient can be relied on.

    bore: [m]. flow: [m3/s]. Errors: ValueError where one is not above zero. Source: Merritt, section 3.4.
    """
    _above_zero(bore, flow)
    if _reynolds(flow, bore, liquid) >= STEADY_REYNOLDS:
        return ()
    return ("So thick a liquid in so small a hole: it passes less than the orifice formula says.",)


def scaled_flow(flow: float, drop: float, other_drop: float) -> float:
    """Flow of the same hole and liquid at another pressure drop.

    flow: at drop, in any unit. drop, other_drop: [Pa]. Returns that unit.
    Errors: ValueError for a drop that is not above zero or a flow below zero.
    Source: orifice equation: flow goes as the root of the pressure drop.
    """
    _above_zero(drop, other_drop)
    if flow < 0.0:
        raise ValueError("A flow is not below zero.")
    return flow * sqrt(other_drop / drop)


def line_flow(
    flow: float,
    bore: float,
    length: float,
    liquid: Liquid,
    roughness: float = losses.DRAWN_TUBE_ROUGHNESS,
    fittings: float = 0.0,
) -> LineFlow:
    """Speed and pressure loss of a liquid in a level line.

    flow: [m3/s]. bore: [m]. length: [m]. roughness: [m]. fittings: their loss coefficients added up, on the
    speed in the bore, [-].
    Errors: ValueError for flow or bore not above zero, or length, roughness or fittings below zero.
    Source: Darcy-Weisbach; Colebrook or 64/Re by `losses.friction`, through `fluids.friction`.
    """
    _above_zero(flow, bore)
    if min(length, roughness, fittings) < 0.0:
        raise ValueError("Length, roughness and fittings are not below zero.")
    speed = flow / area(bore)
    reynolds = _reynolds(flow, bore, liquid)
    friction = losses.friction(reynolds, roughness / bore)
    coefficient = friction.factor * length / bore + fittings
    loss = 0.5 * coefficient * liquid.density * speed * speed
    return LineFlow(speed, reynolds, friction.factor, loss, friction.notes)


def bore_for_speed(flow: float, speed: float) -> float:
    """Least bore in which a flow keeps to a speed.

    flow: [m3/s]. speed: [m/s]. Returns [m]. Errors: ValueError where one is not above zero. Source:
    continuity.
    """
    _above_zero(flow, speed)
    return sqrt(4.0 * flow / (pi * speed))


def warmed_by(drop: float, density: float, specific_heat: float) -> float:
    """How much warmer a liquid is after a pressure drop that does no work, all its heat kept.

    drop: [Pa]. density: [kg/m3]. specific_heat: [J/(kg K)]. Returns [K].
    Errors: ValueError for an input that is not above zero.
    Source: energy balance, dT = dp / (rho cp), the liquid's expansion left out.
    """
    _above_zero(drop, density, specific_heat)
    return drop / (density * specific_heat)


def heat_carried(flow: float, specific_heat: float, rise: float) -> float:
    """Heat that a flow takes with it.

    flow: [kg/s]. specific_heat: [J/(kg K)]. rise: of its temperature, [K], below zero where it cools.
    Returns [W]. Errors: ValueError for a flow below zero or a specific heat that is not above zero.
    Source: energy balance, m cp dT.
    """
    _above_zero(specific_heat)
    if flow < 0.0:
        raise ValueError("A flow is not below zero.")
    return flow * specific_heat * rise


def flow_for_heat(heat: float, specific_heat: float, rise: float) -> float:
    """Flow that takes a heat with it at a rise in temperature; the inverse of `heat_carried`.

    heat: [W]. specific_heat: [J/(kg K)]. rise: [K]. Returns [kg/s].
    Errors: ValueError for an input that is not above zero. Source: energy balance.
    """
    _above_zero(heat, specific_heat, rise)
    return heat / (specific_heat * rise)


def _reynolds(flow: float, bore: float, liquid: Liquid) -> float:
    return 4.0 * flow / (pi * bore * liquid.kinematic)


def _above_zero(*given: float) -> None:
    if not all(0.0 < value < inf for value in given):
        raise ValueError("Flow, bore, pressure, density and the rest of a liquid's sum are above zero.")
