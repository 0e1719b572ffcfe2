"""A run marched from its inlet: speed, Mach number, temperature and loss, piece by piece.

Adiabatic flow with friction: stagnation temperature stays, stagnation pressure falls. Within one bore the
stream follows the Fanno relation with f L/D + K; where the bore changes, mass and stagnation temperature are
kept and the stagnation pressure loses the step's coefficient. A run that chokes is a result, not an error.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf, pi
from typing import Literal, NamedTuple

from server.core.air import fanno, gas, losses
from server.core.air.gas import AIR, Gas, Stream

ElementKind = Literal["straight", "bend", "mitre", "step", "cone", "fitting"]

_FLOW_TOLERANCE = 1e-6


@dataclass(frozen=True, slots=True)
class Element:
    """One piece of a run as the air meets it.

    Friction, bend and extra loss act in the smaller of the two bores; a change of bore is square unless
    `half_angle` says it is a cone. A bore that differs from the previous element's outlet is a square step
    that `march` finds by itself, unless `flush` says that there is no edge.

    name: for the reader. kind: "mitre" makes the bend a mitred one; the rest is for the reader.
    bore_in, bore_out: [m]. length: of straight tube, [m]; a smooth bend's arc is not part of it, a mitred
    bend's centre line is. roughness: [m]. bend_angle: deflection, [rad]. bend_radius: of the centre line,
    [m]. half_angle: of a cone, [rad]. mitre_joints: welded joints in the bend. extra_loss_coefficient: [-].
    flush: meets the piece before without an edge, so that what little the bores differ by costs nothing.
    bend_factor, step_factor: on the loss coefficient of its bends, and of its steps and cone, [-].
    turns: further bends of the same tube: angle, [rad], radius, [m]; one without a radius is a single mitre.
    """

    name: str
    kind: ElementKind
    bore_in: float
    bore_out: float
    length: float = 0.0
    roughness: float = losses.DRAWN_TUBE_ROUGHNESS
    bend_angle: float = 0.0
    bend_radius: float = 0.0
    half_angle: float | None = None
    mitre_joints: int = 1
    extra_loss_coefficient: float = 0.0
    flush: bool = False
    bend_factor: float = 1.0
    step_factor: float = 1.0
    turns: tuple[tuple[float, float], ...] = ()


class Station(NamedTuple):
    """What the air does in one element.

    pressure: static, absolute, [Pa]. temperature: static, [K]. speed: [m/s]. mach: [-]. `_in` is just inside
    the element, after any step from the piece before; `_out` at its end; `fastest_` the greatest of both ends
    and its narrow part. reynolds: [-] and friction_factor: Darcy, [-], in the smaller bore.
    loss: stagnation pressure lost in the element and in the step into it, [Pa].
    """

    name: str
    pressure_in: float
    pressure_out: float
    temperature_in: float
    temperature_out: float
    speed_in: float
    speed_out: float
    mach_in: float
    mach_out: float
    fastest_speed: float
    fastest_mach: float
    reynolds: float
    friction_factor: float
    loss: float


@dataclass(frozen=True, slots=True)
class March:
    """A run marched from end to end.

    stations: one an element, up to the choked one where there is one. loss: stagnation pressure lost, [Pa],
    None where the run chokes. inlet, outlet: streams at the ends, outlet None where the run chokes.
    fastest_speed: [m/s], fastest_mach: [-], fastest_at: the element's name.
    choked_at: the element that cannot pass the flow, None where the run passes it.
    greatest_flow: [kg/s] that the run passes with this inlet state; found only where the run chokes.
    """

    stations: tuple[Station, ...]
    inlet: Stream
    outlet: Stream | None
    loss: float | None
    fastest_speed: float
    fastest_mach: float
    fastest_at: str
    choked_at: str | None
    greatest_flow: float | None
    notes: tuple[str, ...]

    @property
    def choked(self) -> bool:
        """Whether the run cannot pass the flow."""
        return self.choked_at is not None


def element_faults(elements: Sequence[Element]) -> tuple[str, ...]:
    """Why a run cannot be marched, in words; empty where it can. Source: geometry."""
    faults = [] if elements else ["The run has no pieces."]
    for element in elements:
        if not (0.0 < element.bore_in < inf and 0.0 < element.bore_out < inf):
            faults.append(f"{element.name}: the bore must be above zero.")
        not_negative = (
            element.length,
            element.roughness,
            element.extra_loss_coefficient,
            element.bend_factor,
            element.step_factor,
        )
        if not all(0.0 <= value < inf for value in not_negative):
            faults.append(f"{element.name}: length, roughness and loss can't be below zero.")
        if not 0.0 <= element.bend_angle < inf:
            faults.append(f"{element.name}: the bend angle can't be below zero.")
        if element.bend_angle > 0.0 and element.kind != "mitre" and not 0.0 < element.bend_radius < inf:
            faults.append(f"{element.name}: the bend needs a centre-line radius.")
        if element.kind == "mitre" and element.mitre_joints < 1:
            faults.append(f"{element.name}: a mitred bend has at least one joint.")
        if element.half_angle is not None and not 0.0 < element.half_angle <= 0.5 * pi:
            faults.append(f"{element.name}: the half angle lies above 0 and not above 90 degrees.")
    return tuple(faults)


def march(
    elements: Sequence[Element],
    flow: float,
    pressure: float,
    temperature: float,
    find_greatest: bool = True,
    of: Gas = AIR,
) -> March:
    """March a flow of air, or of another gas, through a run.

    elements: in flow direction, at least one. flow: [kg/s], above zero. pressure: static and absolute at the
    inlet, [Pa]. temperature: static at the inlet, [K]. find_greatest: whether a run that chokes is also
    marched some twenty times more to find its greatest flow. of: the gas; its viscosity is taken to be air's.
    Errors: ValueError for an input that is not above zero or a run with `element_faults`.
    Source: Fanno flow (Shapiro, chapter 6), conservation of mass and stagnation temperature, loss
    coefficients as `losses` names them.
    """
    if not (0.0 < flow < inf and 0.0 < pressure < inf and 0.0 < temperature < inf):
        raise ValueError("Flow, pressure and temperature are above zero, pressure absolute.")
    faults = element_faults(elements)
    if faults:
        raise ValueError(" ".join(faults))
    walk = _walk(elements, flow, pressure, temperature, of)
    if walk.choked_at is None or not find_greatest:
        return walk
    return replace(walk, greatest_flow=_greatest_flow(elements, pressure, temperature, of))


def greatest_flow(elements: Sequence[Element], pressure: float, temperature: float) -> float:
    """Greatest flow that a run passes with this inlet state, by bisection.

    elements: in flow direction. pressure: static and absolute at the inlet, [Pa]. temperature: static, [K].
    Returns [kg/s], to one part in a million, from the passing side. Errors: ValueError as `march`.
    Source: as `march`; whether a run chokes only turns from no to yes as the flow grows.
    """
    if not (0.0 < pressure < inf and 0.0 < temperature < inf):
        raise ValueError("Pressure and temperature are above zero, pressure absolute.")
    faults = element_faults(elements)
    if faults:
        raise ValueError(" ".join(faults))
    return _greatest_flow(elements, pressure, temperature, AIR)


def _greatest_flow(elements: Sequence[Element], pressure: float, temperature: float, of: Gas) -> float:
    area = _area(elements[0].bore_in)
    too_much = area * gas.density(pressure, temperature, of) * gas.sound_speed(temperature, of)
    passes = 0.0
    while too_much - passes > _FLOW_TOLERANCE * too_much:
        middle = 0.5 * (passes + too_much)
        if _walk(elements, middle, pressure, temperature, of).choked_at is None:
            passes = middle
        else:
            too_much = middle
    return passes


def _walk(elements: Sequence[Element], flow: float, pressure: float, temperature: float, of: Gas) -> March:
    """March without looking for the greatest flow."""
    inlet = gas.stream_from_static(flow, _area(elements[0].bore_in), pressure, temperature, of)
    if inlet.mach >= 1.0:
        return _choked([], inlet, elements[0].name, [], of)
    stations: list[Station] = []
    notes: list[str] = []
    stream = inlet
    bore = elements[0].bore_in
    for element in elements:
        path = _through(element, bore, flow, stream, notes, of)
        if path is None:
            return _choked(stations, inlet, element.name, notes, of)
        stations.append(path.station)
        stream = path.outlet
        bore = element.bore_out
    fastest = max(stations, key=_fastest_mach)
    return March(
        tuple(stations),
        inlet,
        stream,
        inlet.stagnation_pressure - stream.stagnation_pressure,
        fastest.fastest_speed,
        fastest.fastest_mach,
        fastest.name,
        None,
        None,
        tuple(notes),
    )


def _fastest_mach(station: Station) -> float:
    return station.fastest_mach


def _choked(stations: list[Station], inlet: Stream, name: str, notes: list[str], of: Gas) -> March:
    """The march that stops where the stream reaches Mach 1."""
    sonic = gas.stream_at_mach(1.0, inlet.stagnation_pressure, inlet.stagnation_temperature, of)
    return March(tuple(stations), inlet, None, None, sonic.speed, 1.0, name, name, None, tuple(notes))


@dataclass(frozen=True, slots=True)
class _Path:
    """One element passed: what to report and what leaves it."""

    station: Station
    outlet: Stream


def _through(
    element: Element, bore_before: float, flow: float, before: Stream, notes: list[str], of: Gas
) -> _Path | None:
    """Take a stream through the step into an element and through the element; None where it chokes."""
    join = 0.0 if element.flush else element.step_factor * _join_loss(bore_before, element.bore_in)
    entered = _change_bore(before, flow, bore_before, element.bore_in, join, of)
    if entered is None:
        return None
    bore = min(element.bore_in, element.bore_out)
    reynolds = losses.tube_reynolds(flow, bore, entered.temperature)
    friction = losses.friction(reynolds, element.roughness / bore)
    notes.extend(f"{element.name}: {note}" for note in friction.notes)
    step = element.step_factor * _own_step_loss(element, friction.factor)
    number = _friction_number(element, bore, friction.factor, notes)

    narrowed: Stream | None = entered
    if element.bore_out < element.bore_in:
        narrowed = _change_bore(entered, flow, element.bore_in, element.bore_out, step, of)
    passed = _rub(narrowed, number, of) if narrowed is not None else None
    outlet = passed
    if passed is not None and element.bore_out > element.bore_in:
        outlet = _change_bore(passed, flow, element.bore_in, element.bore_out, step, of)
    if passed is None or outlet is None:
        return None
    fastest = max(entered, passed, key=_mach)
    station = Station(
        element.name,
        entered.pressure,
        outlet.pressure,
        entered.temperature,
        outlet.temperature,
        entered.speed,
        outlet.speed,
        entered.mach,
        outlet.mach,
        fastest.speed,
        fastest.mach,
        reynolds,
        friction.factor,
        before.stagnation_pressure - outlet.stagnation_pressure,
    )
    return _Path(station, outlet)


def _mach(stream: Stream) -> float:
    return stream.mach


def _area(bore: float) -> float:
    return 0.25 * pi * bore * bore


def _join_loss(bore_before: float, bore: float) -> float:
    """Loss coefficient of the square step from one element into the next, on the smaller bore's speed."""
    return 0.0 if bore_before == bore else losses.step(bore_before, bore).value


def _own_step_loss(element: Element, friction_factor: float) -> float:
    """Loss coefficient of an element's own change of bore, on the smaller bore's speed."""
    if element.bore_in == element.bore_out:
        return 0.0
    coefficient = losses.step(element.bore_in, element.bore_out, element.half_angle).value
    if element.half_angle is None:
        return coefficient
    return coefficient + losses.cone_friction(
        element.bore_in, element.bore_out, element.half_angle, friction_factor
    )


def _friction_number(element: Element, bore: float, friction_factor: float, notes: list[str]) -> float:
    """f L/D + K of what an element does in its smaller bore. A cone's wall friction is in its step."""
    number = element.extra_loss_coefficient
    if element.half_angle is None or element.bore_in == element.bore_out:
        number += friction_factor * element.length / bore
    if element.bend_angle > 0.0:
        if element.kind == "mitre":
            bend = losses.mitre(element.bend_angle, element.mitre_joints)
        else:
            bend = losses.smooth_bend(bore, element.bend_angle, element.bend_radius, friction_factor)
        notes.extend(f"{element.name}: {note}" for note in bend.notes)
        number += element.bend_factor * bend.value
    for angle, radius in element.turns:
        one = losses.smooth_bend(bore, angle, radius, friction_factor) if radius else losses.mitre(angle)
        notes.extend(f"{element.name}: {note}" for note in one.notes)
        number += element.bend_factor * one.value
    return number


def _rub(stream: Stream, number: float, of: Gas) -> Stream | None:
    """A stream after the friction number f L/D + K in one bore; None where it chokes."""
    if number == 0.0:
        return stream
    mach = fanno.mach_after(stream.mach, number, of)
    if mach is None:
        return None
    stagnation_pressure = stream.stagnation_pressure
    stagnation_pressure *= gas.flow_number(stream.mach, of) / gas.flow_number(mach, of)
    return gas.stream_at_mach(mach, stagnation_pressure, stream.stagnation_temperature, of)


def _change_bore(
    stream: Stream, flow: float, bore_in: float, bore_out: float, coefficient: float, of: Gas
) -> Stream | None:
    """A stream after a change of bore; None where it chokes.

    Widening loses K rho V^2/2 of the speed before it. Narrowing is lossless down to the small bore, where the
    loss is rubbed off as the jet spreads again, so that it is on the speed after it.
    """
    if bore_in == bore_out:
        return stream
    stagnation_pressure = stream.stagnation_pressure
    if bore_out > bore_in:
        stagnation_pressure -= coefficient * 0.5 * of.gamma * stream.pressure * stream.mach**2
        if stagnation_pressure <= 0.0:
            return None
    changed = gas.stream_from_stagnation(
        flow, _area(bore_out), stagnation_pressure, stream.stagnation_temperature, of
    )
    if changed is None or bore_out > bore_in:
        return changed
    return _rub(changed, coefficient, of)
