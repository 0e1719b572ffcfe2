"""Fuel from pump to injectors: what the engine asks, what injectors and pump give, and the line between.

Pressures are gauge. A flow of fuel is by mass unless it is said to be by volume.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, inf

from server.core.air.fuels import E85, ETHANOL, METHANOL, PETROL_95, PETROL_98, Fuel, power_from_air
from server.core.air.hydraulics import Liquid, scaled_flow
from server.core.measure.many import sqrt

DUTY_LIMIT = 0.85
"""Most of the time that an injector stands open, [-]; common practice, no source."""

PUMP_RESERVE = 0.2
"""Fuel that a pump gives over what the engine burns, so that some always returns, [-]; common practice, no
source."""

FEED_SPEED = 2.5
"""Most speed in a fuel line under pressure, [m/s]; common practice, no source."""

SUCTION_SPEED = 1.0
"""Most speed in a line that a fuel pump draws from, [m/s]: faster, warm fuel boils in it; common practice, no
source."""

SPECIFIC_HEAT: Mapping[str, float] = {
    PETROL_95.code: 2100.0,
    PETROL_98.code: 2100.0,
    E85.code: 2370.0,
    ETHANOL.code: 2440.0,
    METHANOL.code: 2530.0,
}
"""Of each fuel near 25 °C, [J/(kg K)], from memory; that of E85 by mass between its two."""

VISCOSITY: Mapping[str, float] = {
    PETROL_95.code: 0.4e-3,
    PETROL_98.code: 0.4e-3,
    E85.code: 1.2e-3,
    ETHANOL.code: 1.2e-3,
    METHANOL.code: 0.59e-3,
}
"""Dynamic, near 20 °C, [Pa s], from memory; ethanol's stands for E85, the safe side."""

_CYCLE = 120.0
"""Seconds of a four-stroke cycle at one revolution a minute."""


@dataclass(frozen=True, slots=True)
class Injector:
    """An injector as its maker gives it.

    static_flow: by volume, held open, [m3/s]. rated_drop: pressure across it in that test, [Pa].
    dead_time: that it takes longer to open than to shut, at the battery's voltage, [s].
    rated_density: of the test liquid, [kg/m3], None where the maker does not say.
    """

    static_flow: float
    rated_drop: float
    dead_time: float
    rated_density: float | None = None


@dataclass(frozen=True, slots=True)
class InjectorFlow:
    """Fuel through an injector held open. flow: [kg/s]. notes: what the figure rests on."""

    flow: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RailPressure:
    """Pressure in the fuel rail under boost.

    rail: that the pump works against, [Pa]. across: the injectors, [Pa]; at zero or below, boost holds the
    fuel back and nothing flows. notes: in words.
    """

    rail: float
    across: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Duty:
    """How long injectors stand open.

    pulse: of one injection, dead time included, [s]. cycle: of the engine, [s]. share: of the cycle, [-];
    from 1 on the injector never shuts. possible: below 1.
    """

    pulse: float
    cycle: float
    share: float
    possible: bool


@dataclass(frozen=True, slots=True)
class PumpPoint:
    """One row of a pump's table. pressure: [Pa]. flow: by volume, [m3/s]."""

    pressure: float
    flow: float


@dataclass(frozen=True, slots=True)
class PumpFlow:
    """What a pump gives. flow: by volume, [m3/s], None where its table does not say. reason: in words."""

    flow: float | None
    reason: str


def fuel_for_air(air: float, fuel: Fuel, mixture: float | None = None) -> float:
    """Fuel that goes with an air flow.

    air: [kg/s]. mixture: lambda, [-], the fuel's usual one under boost where None. Returns [kg/s].
    Errors: ValueError for air below zero or a mixture that is not above zero. Source: `fuels.power_from_air`.
    """
    return power_from_air(air, fuel, mixture).fuel_flow


def fuel_for_power(power: float, fuel: Fuel, consumption: float | None = None) -> float:
    """Fuel that a power takes.

    power: at the crankshaft, [W]. consumption: brake specific, [kg/J], the fuel's usual one under boost where
    None. Returns [kg/s]. Errors: ValueError for power below zero or consumption that is not above zero.
    Source: definition of brake specific consumption; the usual one is common practice, no source.
    """
    used = fuel.brake_specific_consumption if consumption is None else consumption
    if power < 0.0 or used <= 0.0:
        raise ValueError("Power is not below zero and fuel consumption above zero.")
    return power * used


def rail_pressure(base: float, boost: float, referenced: bool) -> RailPressure:
    """Pressure in the rail and across the injectors under boost.

    base: with the regulator's hose off and the engine still, [Pa]. boost: in the manifold, below zero at
    idle, [Pa]. referenced: the regulator's hose goes to the manifold, so that the rail follows boost one to
    one. Errors: ValueError for a base that is not above zero. Source: statics.
    """
    if not 0.0 < base < inf:
        raise ValueError("The base pressure is above zero.")
    if referenced:
        return RailPressure(base + boost, base)
    notes: tuple[str, ...] = ()
    if boost > 0.0:
        notes = ("Without a hose to the manifold boost takes pressure off the injectors as it rises.",)
    if boost >= base:
        notes = (*notes, "Boost is as high as the rail's pressure: no fuel flows.")
    return RailPressure(base, base - boost, notes)


def injector_flow(injector: Injector, across: float, density: float) -> InjectorFlow | None:
    """Fuel through an injector held open.

    across: pressure across it, [Pa]. density: of the fuel, [kg/m3].
    None where the pressure across it is not above zero: nothing flows.
    Errors: ValueError for a density or an injector's figure that is not above zero.
    Source: orifice equation, by volume as the root of pressure over density.
    """
    _above_zero(injector.static_flow, injector.rated_drop, density)
    if across <= 0.0:
        return None
    volume = scaled_flow(injector.static_flow, injector.rated_drop, across)
    if injector.rated_density is None:
        note = "The test liquid is taken to be as dense as the fuel: its maker does not say."
        return InjectorFlow(volume * density, (note,))
    _above_zero(injector.rated_density)
    return InjectorFlow(volume * sqrt(injector.rated_density / density) * density)


def duty(
    fuel: float, rpm: float, injectors: int, static: float, dead_time: float, injections: int = 1
) -> Duty:
    """Share of the time that injectors stand open, four-stroke.

    fuel: of the whole engine, [kg/s]. rpm: [1/min]. injectors: how many. static: flow of one held open,
    [kg/s]. dead_time: [s], once for each injection. injections: for each injector and cycle.
    Errors: ValueError for a number that is not above zero, or fuel or dead time below zero.
    Source: conservation of mass over a cycle.
    """
    _above_zero(rpm, injectors, static, injections)
    if fuel < 0.0 or dead_time < 0.0:
        raise ValueError("Fuel and dead time are not below zero.")
    cycle = _CYCLE / rpm
    pulse = fuel * cycle / (injectors * injections * static) + dead_time
    share = injections * pulse / cycle
    return Duty(pulse, cycle, share, share < 1.0)


def least_injector(
    fuel: float, rpm: float, injectors: int, dead_time: float, limit: float = DUTY_LIMIT, injections: int = 1
) -> float | None:
    """Flow of one injector, held open, that keeps to a duty; the inverse of `duty`.

    fuel: of the whole engine, [kg/s]. rpm: [1/min]. dead_time: [s]. limit: of duty, above 0 up to 1, [-].
    injections: for each injector and cycle. Returns [kg/s], None where dead time alone fills the duty.
    Errors: ValueError for a number that is not above zero, dead time below zero or a limit outside (0, 1].
    Source: as `duty`; the usual limit is common practice, no source.
    """
    _above_zero(fuel, rpm, injectors, injections)
    open_share = _open_share(rpm, dead_time, limit, injections)
    return fuel / (injectors * open_share) if open_share > 0.0 else None


def injectors_needed(
    fuel: float, rpm: float, static: float, dead_time: float, limit: float = DUTY_LIMIT, injections: int = 1
) -> int | None:
    """Least number of like injectors that keeps to a duty.

    fuel: of the whole engine, [kg/s]. rpm: [1/min]. static: flow of one held open, [kg/s]. dead_time: [s].
    limit: of duty, above 0 up to 1, [-]. injections: for each injector and cycle.
    None where dead time alone fills the duty. Errors and source: as `least_injector`.
    """
    _above_zero(fuel, rpm, static, injections)
    open_share = _open_share(rpm, dead_time, limit, injections)
    if open_share <= 0.0:
        return None
    # A hair's rounding must not ask for one injector more.
    return max(1, ceil(fuel / (static * open_share) - 1e-9))


def pump_faults(table: Sequence[PumpPoint]) -> tuple[str, ...]:
    """Why a pump's table says nothing, in words; empty where it does. Source: definitions."""
    faults = []
    if len(table) < 2:
        faults.append("A pump's table needs its flow at two pressures or more.")
    if any(point.pressure < 0.0 or point.flow < 0.0 for point in table):
        faults.append("Pressure and flow of a pump are not below zero.")
    ordered = sorted(table, key=lambda point: point.pressure)
    if any(low.pressure == high.pressure for low, high in pairwise(ordered)):
        faults.append("Two rows of the pump's table have the same pressure.")
    if any(high.flow > low.flow for low, high in pairwise(ordered)):
        faults.append("A pump gives no more at a higher pressure: look at the table again.")
    return tuple(faults)


def pump_flow(table: Sequence[PumpPoint], pressure: float) -> PumpFlow:
    """What a pump gives against a pressure, by the table that was typed.

    table: in any order, for the voltage that the pump will see. pressure: [Pa].
    Outside the table there is no flow to tell: it is not drawn out beyond its ends.
    Errors: ValueError for a table with `pump_faults`. Source: linear interpolation.
    """
    faults = pump_faults(table)
    if faults:
        raise ValueError(" ".join(faults))
    points = sorted(table, key=lambda point: point.pressure)
    if pressure < points[0].pressure:
        return PumpFlow(None, "Below the lowest pressure of the pump's table.")
    for low, high in pairwise(points):
        if pressure <= high.pressure:
            part = (pressure - low.pressure) / (high.pressure - low.pressure)
            return PumpFlow(low.flow + part * (high.flow - low.flow), "Between two rows of the pump's table.")
    return PumpFlow(None, "Above the highest pressure of the pump's table.")


def pump_need(fuel: float, density: float, reserve: float = PUMP_RESERVE) -> float:
    """Flow that a pump has to give at the rail's pressure, by volume.

    fuel: that the engine burns, [kg/s]. density: [kg/m3]. reserve: on top, that returns to the tank, [-].
    Returns [m3/s]. Errors: ValueError for a density that is not above zero, or fuel or reserve below zero.
    Source: definition; the usual reserve is common practice, no source.
    """
    _above_zero(density)
    if fuel < 0.0 or reserve < 0.0:
        raise ValueError("Fuel and reserve are not below zero.")
    return fuel * (1.0 + reserve) / density


def as_liquid(fuel: Fuel) -> Liquid:
    """A fuel as a liquid for `hydraulics`, near 20 °C. Source: `fuels.FUELS` and `VISCOSITY`."""
    return Liquid(fuel.density, VISCOSITY[fuel.code])


def warmed_by_pump(power: float, flow: float, specific_heat: float) -> float:
    """How much warmer fuel leaves a pump than it came, where all of the pump's heat goes into it.

    power: electrical, volts times amperes, [W]. flow: through the pump, [kg/s]. specific_heat: [J/(kg K)].
    Returns [K] for each pass. Errors: ValueError for a number that is not above zero. Source: energy balance.
    """
    _above_zero(power, flow, specific_heat)
    return power / (flow * specific_heat)


def tank_warming(power: float, fuel_left: float, specific_heat: float) -> float:
    """How fast fuel in the tank warms where nearly all of it returns and no heat is lost.

    power: electrical, of the pumps, [W]. fuel_left: in the tank, [kg]. specific_heat: [J/(kg K)].
    Returns [K/s]. Errors: ValueError for a number that is not above zero. Source: energy balance, an upper
    bound.
    """
    _above_zero(power, fuel_left, specific_heat)
    return power / (fuel_left * specific_heat)


def _open_share(rpm: float, dead_time: float, limit: float, injections: int) -> float:
    """Share of the cycle in which fuel flows, at the limit of duty, [-]."""
    if dead_time < 0.0 or not 0.0 < limit <= 1.0:
        raise ValueError("Dead time is not below zero, and the limit of duty above 0 up to 1.")
    return limit - injections * dead_time * rpm / _CYCLE


def _above_zero(*given: float) -> None:
    if not all(0.0 < value < inf for value in given):
        raise ValueError("Flow, pressure, density, speed and count are above zero.")
