"""A wastegate: what opens it, at which boost, and how much exhaust it has to let past the turbine.

A poppet outside the turbine and a flap within it are one sum: forces are taken at the diaphragm's rod, and a
flap's lever is the ratio of its two arms. Pressures here are gauge unless a docstring says absolute.
Friction of bush and stem is left out; it makes the gate open a little later and shut a little earlier.
"""

from dataclasses import dataclass
from math import inf, pi, sqrt

from server.core.air import gas
from server.core.air.gas import Gas

BOOST_REACH = 2.0
"""Boost that a signal solenoid reaches over what the spring alone gives, [-]; common practice, no source."""

USUAL_COEFFICIENT = 0.7
"""Discharge coefficient of an open gate, [-]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Gate:
    """A wastegate with its actuator.

    valve_area: that the exhaust presses on, [m2]. diaphragm_area: effective, [m2].
    preload: the spring's force with the gate shut, [N]. rate: of the spring, [N/m].
    arms: of a flap, pivot to flap's centre over pivot to rod, [-]; 1 for a poppet on the rod itself.
    """

    valve_area: float
    diaphragm_area: float
    preload: float
    rate: float
    arms: float = 1.0


@dataclass(frozen=True, slots=True)
class GateForces:
    """Forces at the rod, opening positive, [N].

    exhaust: its push on the valve. diaphragm: the signal's. spring: below zero.
    """

    exhaust: float
    diaphragm: float
    spring: float

    @property
    def net(self) -> float:
        """Sum of the forces, [N]: above zero the gate opens further. Source: statics."""
        return self.exhaust + self.diaphragm + self.spring


@dataclass(frozen=True, slots=True)
class Opening:
    """Boost at which a gate stands open by some lift; at no lift it is where the gate cracks.

    boost: [Pa], None where the exhaust opens it by itself. by_hand: the same with no exhaust flowing, as a
    hand pump and gauge find it, [Pa]. taken_off: by the exhaust's push, [Pa]. notes: what a reader must know.
    """

    boost: float | None
    by_hand: float
    taken_off: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SpringNeed:
    """Spring for a least boost.

    preload: force with the gate shut, [N]. pressed_in: how far the spring is then pressed, [m], None where
    its rate is not known. by_hand: pressure at which a hand pump cracks it, [Pa].
    """

    preload: float
    pressed_in: float | None
    by_hand: float


@dataclass(frozen=True, slots=True)
class ControlRange:
    """The boost asked within what a signal solenoid can do.

    ratio: boost asked over the spring's, [-]. used: share of the range, 0 at spring boost and 1 at its end,
    [-]; beyond both ends it says by how much. left: what is left of it, [-]. possible: within both ends.
    """

    ratio: float
    used: float
    possible: bool
    reason: str

    @property
    def left(self) -> float:
        """Share of the range that is left, [-]; below zero beyond its end. Source: definition."""
        return 1.0 - self.used


@dataclass(frozen=True, slots=True)
class Bypass:
    """Exhaust that has to go past the turbine. flow: [kg/s]. share: of all exhaust, [-]. notes: in words."""

    flow: float
    share: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class GateFlow:
    """Exhaust through an open gate. flow: [kg/s]. choked: sound's speed is reached in it, so that less
    pressure behind would not help."""

    flow: float
    choked: bool


def gate_faults(gate: Gate) -> tuple[str, ...]:
    """Why a gate gives no sum, in words; empty where it does. Source: definitions."""
    faults = []
    if not all(0.0 < value < inf for value in (gate.valve_area, gate.diaphragm_area, gate.arms)):
        faults.append("Areas of valve and diaphragm and the ratio of the arms are above zero.")
    if not all(0.0 <= value < inf for value in (gate.preload, gate.rate)):
        faults.append("Preload and rate of the spring are not below zero.")
    return tuple(faults)


def forces(gate: Gate, signal: float, exhaust: float, behind: float = 0.0, lift: float = 0.0) -> GateForces:
    """Forces at the rod of a gate.

    signal: over the diaphragm, less what presses on its other side, [Pa]. exhaust: before the turbine, [Pa].
    behind: in the pipe that the gate opens into, [Pa]. lift: of the valve or of the flap's centre, [m].
    Errors: ValueError for a gate with `gate_faults` or a lift below zero.
    Source: statics, moments about a flap's pivot.
    """
    _check(gate, lift)
    return GateForces(
        exhaust=gate.arms * gate.valve_area * (exhaust - behind),
        diaphragm=gate.diaphragm_area * signal,
        spring=-_spring(gate, lift),
    )


def boost_to_open(gate: Gate, exhaust: float, behind: float = 0.0, lift: float = 0.0) -> Opening:
    """Boost that opens a gate by a lift; with no lift, the boost that cracks it.

    exhaust: before the turbine at that boost, [Pa]. behind: in the pipe that the gate opens into, [Pa].
    lift: [m]. The exhaust's full pressure is taken to press on the valve at any lift: a gate that stands open
    feels less, so that the boost to hold it open is somewhat higher.
    Errors: ValueError for a gate with `gate_faults` or a lift below zero. Source: statics, `forces` at zero.
    """
    _check(gate, lift)
    by_hand = _spring(gate, lift) / gate.diaphragm_area
    taken_off = gate.arms * gate.valve_area * (exhaust - behind) / gate.diaphragm_area
    return _opening(by_hand - taken_off, by_hand)


def boost_to_open_at_ratio(gate: Gate, ratio: float, behind: float = 0.0, lift: float = 0.0) -> Opening:
    """As `boost_to_open`, where only the exhaust's pressure over boost is known.

    ratio: pressure before the turbine over boost, both gauge, [-]. behind: [Pa]. lift: [m].
    Errors: ValueError for a gate with `gate_faults`, a lift or a ratio below zero.
    Source: statics, `forces` at zero with the exhaust's pressure a multiple of boost.
    """
    _check(gate, lift)
    if ratio < 0.0:
        raise ValueError("Exhaust pressure over boost is not below zero.")
    by_hand = _spring(gate, lift) / gate.diaphragm_area
    valve = gate.arms * gate.valve_area / gate.diaphragm_area
    return _opening((by_hand + valve * behind) / (1.0 + valve * ratio), by_hand)


def spring_for(gate: Gate, boost: float, exhaust: float, behind: float = 0.0) -> SpringNeed:
    """Spring preload that keeps a gate shut up to a boost; the gate's own preload plays no part.

    boost: the least there has to be, [Pa]. exhaust: before the turbine at that boost, [Pa]. behind: [Pa].
    Errors: ValueError for a gate with `gate_faults`, a boost that is not above zero, or exhaust below what
    stands behind the gate. Source: statics, `forces` at zero.
    """
    _check(gate, 0.0)
    if not 0.0 < boost < inf or exhaust < behind:
        raise ValueError("The boost is above zero, and the exhaust's pressure not below that behind.")
    preload = gate.diaphragm_area * boost + gate.arms * gate.valve_area * (exhaust - behind)
    pressed_in = preload / gate.rate if gate.rate > 0.0 else None
    return SpringNeed(preload, pressed_in, preload / gate.diaphragm_area)


def control_range(asked: float, spring: float, reach: float = BOOST_REACH) -> ControlRange:
    """Where the boost asked lies between the spring's own and the most that a solenoid reaches.

    asked: [Pa]. spring: boost with the solenoid disconnected, [Pa]. reach: most over the spring's, [-].
    Errors: ValueError where asked or spring is not above zero or the reach not above 1.
    Source: common practice, no source.
    """
    if not (0.0 < asked < inf and 0.0 < spring < inf and 1.0 < reach < inf):
        raise ValueError("Boost asked and the spring's are above zero, and the reach above 1.")
    ratio = asked / spring
    used = (ratio - 1.0) / (reach - 1.0)
    if used < 0.0:
        return ControlRange(ratio, used, False, "The spring alone gives more boost than is asked.")
    if used > 1.0:
        return ControlRange(ratio, used, False, "More boost than a solenoid usually reaches on this spring.")
    return ControlRange(ratio, used, True, "Between the spring's boost and what a solenoid usually reaches.")


def turbine_swallow(
    corrected: float,
    pressure: float,
    temperature: float,
    map_pressure: float = 101_325.0,
    map_temperature: float = 288.15,
) -> float:
    """Exhaust that a turbine passes, from the corrected flow of its map.

    corrected: as read on the map, [kg/s]. pressure: absolute, before the turbine, [Pa]. temperature: there,
    [K]. map_pressure, map_temperature: that the map is corrected to, [Pa], [K]; the map says which.
    Returns [kg/s]. Errors: ValueError for an input that is not above zero.
    Source: corrected flow, m = m_c (p / p_map) / sqrt(T / T_map) (SAE J1826, from memory).
    """
    if not all(0.0 < v < inf for v in (corrected, pressure, temperature, map_pressure, map_temperature)):
        raise ValueError("Flow, pressures and temperatures are above zero, pressures absolute.")
    return corrected * (pressure / map_pressure) / sqrt(temperature / map_temperature)


def bypass_of_swallow(exhaust: float, swallow: float) -> Bypass:
    """Exhaust that the turbine does not pass at the boost asked.

    exhaust: of the engine there, [kg/s]. swallow: of the turbine there, [kg/s].
    Errors: ValueError where one is not above zero. Source: conservation of mass.
    """
    if not (0.0 < exhaust < inf and 0.0 < swallow < inf):
        raise ValueError("Exhaust and what the turbine passes are above zero.")
    over = exhaust - swallow
    if over <= 0.0:
        return Bypass(0.0, 0.0, ("The turbine passes all of the exhaust: nothing is left for the gate.",))
    return Bypass(over, over / exhaust)


def bypass_of_share(exhaust: float, share: float) -> Bypass:
    """Exhaust that goes past the turbine, by a share that was typed.

    exhaust: of the engine, [kg/s]. share: 0 to below 1, [-].
    Errors: ValueError for exhaust that is not above zero or a share outside that. Source: definition.
    """
    if not 0.0 < exhaust < inf or not 0.0 <= share < 1.0:
        raise ValueError("Exhaust is above zero, and the share from 0 to below 1.")
    return Bypass(share * exhaust, share, ("The share is as typed, not from a turbine's map.",))


def choking_ratio(of: Gas) -> float:
    """Pressure behind over pressure before, both absolute, at which an orifice chokes, [-].

    Source: isentropic flow, (2 / (gamma + 1))^(gamma / (gamma - 1)) (NACA Report 1135).
    """
    return 1.0 / gas.pressure_ratio(1.0, of)


def gate_flow(
    open_area: float, before: float, temperature: float, behind: float, coefficient: float, of: Gas
) -> GateFlow:
    """Exhaust that an open gate passes.

    open_area: [m2]. before: stagnation pressure, absolute, [Pa]. temperature: stagnation, [K]. behind: static
    pressure, absolute, [Pa]. coefficient: of discharge, [-]. of: the exhaust as a gas.
    No flow where the pressure behind is as high as before.
    Errors: ValueError for an input that is not above zero.
    Source: isentropic flow through an orifice, choked or not (Heywood, Internal Combustion Engine
    Fundamentals, appendix C).
    """
    _all_above_zero(open_area)
    density_flow, choked = _flow_density(before, temperature, behind, coefficient, of)
    return GateFlow(open_area * density_flow, choked)


def gate_bore(
    flow: float, before: float, temperature: float, behind: float, coefficient: float, of: Gas
) -> float | None:
    """Diameter of a round gate, fully open, that passes a flow; the inverse of `gate_flow`.

    flow: to be bypassed, [kg/s]. The rest as in `gate_flow`. Returns [m], None where nothing drives the flow:
    the pressure behind is as high as before.
    Errors: ValueError for an input that is not above zero. Source: as `gate_flow`.
    """
    _all_above_zero(flow)
    density_flow, _ = _flow_density(before, temperature, behind, coefficient, of)
    return sqrt(4.0 * flow / (pi * density_flow)) if density_flow > 0.0 else None


def poppet_area(bore: float, lift: float) -> float:
    """Area that a poppet opens: the curtain under its edge, never more than its seat's bore.

    bore: of the seat, [m]. lift: [m]. Returns [m2]. From a lift of a quarter of the bore on the seat is the
    smaller. For a flap, whose curtain is wedge-shaped, take the lift of its centre.
    Errors: ValueError for a bore that is not above zero or a lift below zero. Source: geometry.
    """
    if not 0.0 < bore < inf or not 0.0 <= lift < inf:
        raise ValueError("The bore is above zero and the lift not below zero.")
    return min(pi * bore * lift, 0.25 * pi * bore * bore)


def _flow_density(
    before: float, temperature: float, behind: float, coefficient: float, of: Gas
) -> tuple[float, bool]:
    """Flow for each open area [kg/(s m2)], and whether it is choked."""
    _all_above_zero(before, temperature, behind, coefficient)
    ratio = before / behind
    if ratio <= 1.0:
        return 0.0, False
    choked = ratio >= gas.pressure_ratio(1.0, of)
    mach = 1.0
    if not choked:
        heat = ratio ** ((of.gamma - 1.0) / of.gamma)
        mach = sqrt(2.0 * (heat - 1.0) / (of.gamma - 1.0))
    still = before / sqrt(of.constant * temperature / of.gamma)
    return coefficient * still * gas.flow_number(mach, of), choked


def _opening(boost: float, by_hand: float) -> Opening:
    if boost <= 0.0:
        note = "The exhaust's push alone opens the gate: no boost holds against this spring."
        return Opening(None, by_hand, by_hand - boost, (note,))
    return Opening(boost, by_hand, by_hand - boost)


def _spring(gate: Gate, lift: float) -> float:
    """The spring's force at the rod [N]; a flap's rod moves by the lift over the ratio of the arms."""
    return gate.preload + gate.rate * lift / gate.arms


def _check(gate: Gate, lift: float) -> None:
    faults = gate_faults(gate)
    if faults:
        raise ValueError(" ".join(faults))
    if not 0.0 <= lift < inf:
        raise ValueError("A lift is not below zero.")


def _all_above_zero(*given: float) -> None:
    if not all(0.0 < value < inf for value in given):
        raise ValueError("Areas, flows, pressures and temperatures are above zero, pressures absolute.")
