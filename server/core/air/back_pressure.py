"""A run marched for the pressure that it needs at its inlet, where the pressure at its outlet is known."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, pi, sqrt

from server.core.air.gas import AIR, Gas
from server.core.air.march import Element, March, element_faults, march

_CLOSE = 1e-3
"""How close the outlet's pressure has to come, [Pa]."""

_JUST = 0.05
"""How close two inlet pressures have to be between which the flow begins to pass, [Pa]."""

_TRIES = 80
_RAISED = 1.3
"""By what the inlet's pressure is raised while the run does not pass the flow, [-]."""


Walk = Callable[[float], March]
"""A run marched from a static inlet pressure [Pa]."""


@dataclass(frozen=True, slots=True)
class BackMarch:
    """A run with the inlet pressure that its outlet asks for.

    march: from that inlet on. inlet_pressure: static, absolute, [Pa]. sonic: the flow reaches Mach 1 at a
    place and the pressure behind it no longer matters; the inlet is then where the run only just passes it.
    """

    march: March
    inlet_pressure: float
    sonic: bool


def back_march(
    elements: Sequence[Element],
    flow: float,
    outlet_pressure: float,
    stagnation_temperature: float,
    of: Gas = AIR,
    near: float | None = None,
) -> BackMarch:
    """The inlet pressure at which a run passes a flow against a pressure behind it.

    elements: in flow direction, at least one. flow: [kg/s]. outlet_pressure: static, absolute, just inside
    the run's outlet, [Pa]. stagnation_temperature: kept along the run, as no heat is counted as lost, which
    errs on the safe side, [K]. of: the gas. near: an inlet pressure to begin looking at, [Pa].
    Errors: ValueError for an input that is not above zero, or a run with `element_faults`.
    Source: `march`, solved for its inlet by the secant method inside a bracket: the outlet's pressure only
    rises with the inlet's.
    """
    if not all(0.0 < value < inf for value in (flow, outlet_pressure, stagnation_temperature)):
        raise ValueError("Flow, pressure and temperature are above zero, pressure absolute.")
    faults = element_faults(elements)
    if faults:
        raise ValueError(" ".join(faults))

    def walk(pressure: float) -> March:
        still = _static_temperature(elements[0].bore_in, flow, pressure, stagnation_temperature, of)
        return march(elements, flow, pressure, still, find_greatest=False, of=of)

    blocked, passing = 0.0, outlet_pressure if near is None else near
    found = walk(passing)
    while found.outlet is None:
        blocked, passing = passing, passing * _RAISED
        found = walk(passing)
    return _solved(walk, outlet_pressure, blocked, passing, found)


def _solved(walk: Walk, outlet_pressure: float, blocked: float, passing: float, found: March) -> BackMarch:
    """Close in on the inlet pressure. `blocked`: the highest that is too low; `passing`: one that passes."""
    assert found.outlet is not None
    over = found.outlet.pressure - outlet_pressure
    high = passing if over >= 0.0 else inf
    low = blocked if over >= 0.0 else passing
    pressure, slope = passing, 1.0
    for _ in range(_TRIES):
        if abs(over) <= _CLOSE:
            return BackMarch(found, pressure, False)
        if high - low <= _JUST and over > 1.0:
            break
        step = pressure - over / slope
        if not low < step < high:
            step = 0.5 * (low + high) if high < inf else low * _RAISED
        tried = walk(step)
        if tried.outlet is None:
            low, slope = step, 1.0
            continue
        now_over = tried.outlet.pressure - outlet_pressure
        slope = _slope(now_over - over, step - pressure)
        found, pressure, over = tried, step, now_over
        low, high = (low, step) if over >= 0.0 else (step, high)
    return BackMarch(found, pressure, True)


def _slope(rise: float, run: float) -> float:
    """The outlet pressure's rise for the inlet's; 1 where the two last tries do not tell."""
    return rise / run if run != 0.0 and rise / run > 0.0 else 1.0


def _static_temperature(
    bore: float, flow: float, pressure: float, stagnation_temperature: float, of: Gas
) -> float:
    """Static temperature [K] of a stream whose static pressure and stagnation temperature are known.

    Source: energy balance T0 = T + v²/(2 cp) with v = m R T / (p A), a quadratic in T.
    """
    area = 0.25 * pi * bore * bore
    quadratic = (flow * of.constant / (pressure * area)) ** 2 / (2.0 * of.specific_heat)
    return 2.0 * stagnation_temperature / (1.0 + sqrt(1.0 + 4.0 * quadratic * stagnation_temperature))
