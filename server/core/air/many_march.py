"""Many runs of the same make-up marched at once, for every draw of a doubt: as `march` and `back_march` do.

The same relations as `march`, on arrays with one entry a draw. A draw in which the run chokes is marked and
holds no numbers. Source of each relation: the function of `gas`, `fanno` or `losses` that it repeats.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.core.air import losses
from server.core.air.gas import Gas, viscosity
from server.core.air.march import Element

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]
Numbers = float | Floats
"""One for all draws, or one for each."""

_CLOSE = 1e-3
"""How close the pressure behind a hot run has to come, [Pa], as in `back_march`."""
_JUST = 0.05
"""How close two inlet pressures have to be, between which the flow begins to pass, [Pa]; as there."""
_TRIES = 80
_RAISED = 1.3
_NEWTON_STEPS = 60
_SETTLED = 1e-9
"""The last step of Newton's method, relative [-]: what is left after it is its square, about."""


@dataclass(frozen=True, slots=True)
class ManyStations:
    """One element in every draw. fastest_speed: [m/s]. fastest_mach: [-]. loss: [Pa]."""

    name: str
    fastest_speed: Floats
    fastest_mach: Floats
    loss: Floats


@dataclass(frozen=True, slots=True)
class ManyMarches:
    """Every draw of a run marched. passes: which of them pass the flow; the rest hold no numbers.

    inlet_pressure, outlet_pressure: static, absolute, [Pa]. loss: stagnation pressure, [Pa]. sonic: of hot
    runs, the draws that pass the flow at Mach 1 alone.
    """

    stations: tuple[ManyStations, ...]
    passes: Marks
    inlet_pressure: Floats
    outlet_pressure: Floats
    loss: Floats
    sonic: Marks

    def part(self, meets: Marks) -> "ManyMarches":
        """Some of the draws."""
        stations = tuple(
            ManyStations(one.name, one.fastest_speed[meets], one.fastest_mach[meets], one.loss[meets])
            for one in self.stations
        )
        return ManyMarches(
            stations,
            self.passes[meets],
            self.inlet_pressure[meets],
            self.outlet_pressure[meets],
            self.loss[meets],
            self.sonic[meets],
        )


@dataclass(frozen=True, slots=True)
class _Flow:
    """What stays along a run. number: flow √(R T₀ / γ), so that over A p₀ it is `gas.flow_number`."""

    flow: Numbers
    temperature: Numbers
    number: Floats
    of: Gas


@dataclass(frozen=True, slots=True)
class _State:
    """mach: [-], not a number where the run choked. pressure: stagnation, [Pa]."""

    mach: Floats
    pressure: Any


def march_many(
    elements: Sequence[Element], flow: Numbers, pressure: Numbers, temperature: Numbers, of: Gas
) -> ManyMarches:
    """March every draw of a run from its stagnation state at the inlet.

    elements: as `march` takes them, no mitres among them, each number one or an array of draws. flow:
    [kg/s]. pressure: stagnation, absolute, [Pa]. temperature: stagnation, [K]. of: the gas, its numbers one
    or an array of draws. Errors: none; a draw whose numbers are not above zero does not pass.
    Source: as `march`.
    """
    with np.errstate(all="ignore"):
        whole = _whole(flow, temperature, of)
        area = _area(_plain(elements[0].bore_in))
        mach = _subsonic_mach(whole.number / (area * pressure), of)
        return _walk(elements, whole, _State(mach, pressure))


def back_march_many(
    elements: Sequence[Element],
    flow: Numbers,
    outlet_pressure: Numbers,
    temperature: Numbers,
    of: Gas,
    near: float,
) -> ManyMarches:
    """Every draw of a run with the inlet pressure that the pressure behind it asks for.

    outlet_pressure: static, absolute, [Pa]. near: an inlet pressure to begin at, [Pa]. The rest as
    `march_many`. Source: as `back_march`.
    """
    with np.errstate(all="ignore"):
        whole = _whole(flow, temperature, of)
        shape = np.broadcast_shapes(np.shape(whole.number), np.shape(outlet_pressure), _shape(elements))
        area = _area(_plain(elements[0].bore_in))

        def walk(inlet: Floats) -> ManyMarches:
            return _walk(elements, whole, _inlet(whole, area, inlet))

        return _solved(walk, np.broadcast_to(outlet_pressure, shape), np.full(shape, near))


def _solved(walk: Callable[[Floats], ManyMarches], behind: Floats, start: Floats) -> ManyMarches:
    """Close in on every draw's inlet pressure, by the secant method inside a bracket."""
    pressure = start.copy()
    low, high = np.zeros_like(start), np.full_like(start, np.inf)
    best, best_over = start.copy(), np.full_like(start, np.nan)
    slope = np.ones_like(start)
    found = walk(pressure)
    for _ in range(_TRIES):
        over = found.outlet_pressure - behind
        passes = found.passes
        moved = pressure - best
        rise = (over - best_over) / moved
        slope = np.where(passes & np.isfinite(rise) & (rise > 0.0), rise, 1.0)
        best = np.where(passes, pressure, best)
        best_over = np.where(passes, over, best_over)
        high = np.where(passes & (over >= 0.0), np.minimum(high, pressure), high)
        low = np.where(~passes | (over < 0.0), np.maximum(low, pressure), low)
        done = passes & (np.abs(over) <= _CLOSE)
        sonic = ~done & (high - low <= _JUST) & (best_over > 1.0)
        if bool((done | (sonic & passes & (pressure == best))).all()):
            break
        step = best - best_over / slope
        middle = np.where(np.isfinite(high), 0.5 * (low + high), np.maximum(low, best) * _RAISED)
        step = np.where((step > low) & (step < high), step, middle)
        pressure = np.where(done, pressure, np.where(sonic, best, step))
        found = walk(pressure)
    sonic = ~(np.abs(found.outlet_pressure - behind) <= _CLOSE)
    return ManyMarches(found.stations, found.passes, pressure, found.outlet_pressure, found.loss, sonic)


def _whole(flow: Numbers, temperature: Numbers, of: Gas) -> _Flow:
    of = Gas(_plain(of.constant), _plain(of.gamma))
    flow, temperature = _plain(flow), _plain(temperature)
    return _Flow(flow, temperature, flow * np.sqrt(of.constant * temperature / of.gamma), of)


def _shape(elements: Sequence[Element]) -> tuple[int, ...]:
    """Of the draws, told from what differs between them."""
    numbers = [
        number
        for one in elements
        for number in (
            *(one.bore_in, one.bore_out, one.length, one.half_angle),
            *(one.bend_angle, one.bend_radius, one.bend_factor, one.step_factor),
        )
    ]
    return np.broadcast_shapes(*(np.shape(number) for number in numbers if number is not None))


def _plain(number: Any) -> Any:
    """Without the ways of `measure.many`: here every draw goes its own."""
    return number.view(np.ndarray) if isinstance(number, np.ndarray) else number


def _inlet(whole: _Flow, area: Any, pressure: Floats) -> _State:
    """The stream of a static inlet pressure and the stagnation temperature; as `back_march` begins."""
    of = whole.of
    quadratic = (whole.flow * of.constant / (pressure * area)) ** 2 / (2.0 * of.specific_heat)
    static = 2.0 * whole.temperature / (1.0 + np.sqrt(1.0 + 4.0 * quadratic * whole.temperature))
    speed = whole.flow * of.constant * static / (pressure * area)
    mach = speed / np.sqrt(of.gamma * of.constant * static)
    mach = np.where(mach < 1.0, mach, np.nan)
    return _State(mach, pressure * _pressure_ratio(mach, of))


def _walk(elements: Sequence[Element], whole: _Flow, inlet: _State) -> ManyMarches:
    stations = []
    state, bore = inlet, _plain(elements[0].bore_in)
    for element in elements:
        station, state = _through(element, bore, whole, state)
        stations.append(station)
        bore = _plain(element.bore_out)
    passes = np.isfinite(state.mach)
    # What no draw moves holds one number so far.
    full = [_broadcast(one, passes.shape) for one in stations]
    return ManyMarches(
        tuple(full),
        passes,
        np.broadcast_to(inlet.pressure / _pressure_ratio(inlet.mach, whole.of), passes.shape),
        state.pressure / _pressure_ratio(state.mach, whole.of),
        inlet.pressure - state.pressure,
        ~passes,
    )


def _broadcast(one: ManyStations, shape: tuple[int, ...]) -> ManyStations:
    numbers = (one.fastest_speed, one.fastest_mach, one.loss)
    return ManyStations(one.name, *(np.broadcast_to(number, shape) for number in numbers))


def _through(element: Element, bore_before: Any, whole: _Flow, before: _State) -> tuple[ManyStations, _State]:
    """As `march` takes a stream through the step into an element and through the element."""
    of = whole.of
    bore_in, bore_out = _plain(element.bore_in), _plain(element.bore_out)
    factor = _plain(element.step_factor)
    join = 0.0 if element.flush else factor * _square_step(bore_before, bore_in)
    entered = _change_bore(before, whole, bore_before, bore_in, join)
    own = np.any(bore_in != bore_out)
    bore = np.minimum(bore_in, bore_out)
    friction = _friction(element, bore, whole, entered)
    step = factor * _own_step(element, friction) if own else 0.0
    number = _friction_number(element, bore, friction)
    narrows = bore_out < bore_in
    narrowed = entered
    if np.any(narrows):
        narrowed = _chosen(narrows, _change_bore(entered, whole, bore_in, bore_out, step), entered)
    passed = _rub(narrowed, number, of)
    outlet = passed
    if np.any(bore_out > bore_in):
        widened = _change_bore(passed, whole, bore_in, bore_out, step)
        outlet = _chosen(bore_out > bore_in, widened, passed)
    mach = np.maximum(entered.mach, passed.mach)
    speed = mach * np.sqrt(of.gamma * of.constant * whole.temperature / _temperature_ratio(mach, of))
    return ManyStations(element.name, speed, mach, before.pressure - outlet.pressure), outlet


def _chosen(meets: Any, first: _State, second: _State) -> _State:
    if np.all(meets):
        return first
    return _State(np.where(meets, first.mach, second.mach), np.where(meets, first.pressure, second.pressure))


def _friction(element: Element, bore: Any, whole: _Flow, entered: _State) -> Any:
    """Darcy factor in the smaller bore, at the temperature just inside the element."""
    static = whole.temperature / _temperature_ratio(entered.mach, whole.of)
    reynolds = 4.0 * whole.flow / (pi * bore * viscosity(static))
    return losses.friction_factors(reynolds, element.roughness / bore)


def _friction_number(element: Element, bore: Any, friction: Any) -> Any:
    number: Any = element.extra_loss_coefficient
    if element.half_angle is None:
        number = number + friction * _plain(element.length) / bore
    else:
        same = _plain(element.bore_in) == _plain(element.bore_out)
        number = number + np.where(same, friction * _plain(element.length) / bore, 0.0)
    angle = _plain(element.bend_angle)
    if np.any(angle > 0.0):
        bend = losses.smooth_bends(bore, angle, _plain(element.bend_radius), friction)
        number = number + _plain(element.bend_factor) * np.where(angle > 0.0, bend, 0.0)
    return number


def _square_step(bore_in: Any, bore_out: Any) -> Any:
    """As `losses.sudden_expansion` and `sudden_contraction`; nothing between equal bores."""
    widens = (1.0 - (bore_in / bore_out) ** 2) ** 2
    return np.where(bore_out > bore_in, widens, 0.5 * (1.0 - (bore_out / bore_in) ** 2))


def _own_step(element: Element, friction: Any) -> Any:
    bore_in, bore_out = _plain(element.bore_in), _plain(element.bore_out)
    if element.half_angle is None:
        return _square_step(bore_in, bore_out)
    angle = _plain(element.half_angle)
    steep = np.sin(angle)
    ratio = np.minimum(bore_in, bore_out) / np.maximum(bore_in, bore_out)
    narrow = angle <= pi / 8.0
    reducer = np.where(narrow, 0.8 * steep, 0.5 * np.sqrt(steep)) * (1.0 - ratio**2)
    diffuser = np.where(narrow, 2.6 * steep, 1.0) * (1.0 - ratio**2) ** 2
    rubbed = friction * (1.0 - ratio**4) / (8.0 * steep)
    return np.where(bore_out <= bore_in, reducer, diffuser) + rubbed


def _change_bore(state: _State, whole: _Flow, bore_in: Any, bore_out: Any, coefficient: Any) -> _State:
    """As `march` changes bore: a widening loses of the speed before it, a narrowing of the speed after it."""
    if not np.any(bore_in != bore_out):
        return state
    of = whole.of
    widens = bore_out > bore_in
    static = state.pressure / _pressure_ratio(state.mach, of)
    lost = np.where(widens, coefficient * 0.5 * of.gamma * static * state.mach**2, 0.0)
    pressure = state.pressure - lost
    pressure = np.where(pressure > 0.0, pressure, np.nan)
    mach = _subsonic_mach(whole.number / (_area(bore_out) * pressure), of)
    changed = _State(mach, pressure)
    if np.all(widens) or not np.any(coefficient):
        return changed
    return _rub(changed, np.where(widens, 0.0, coefficient), of)


def _rub(state: _State, number: Any, of: Gas) -> _State:
    """A stream after the friction number f L/D + K in one bore; as `fanno.mach_after`."""
    if not np.any(number):
        return state
    mach = _mach_after(state.mach, number, of.gamma)
    return _State(mach, state.pressure * _flow_number(state.mach, of) / _flow_number(mach, of))


def _mach_after(mach: Floats, number: Any, gamma: Any) -> Floats:
    start = 1.0 / (mach * mach)
    goal = _length_number(start, gamma) - number
    y = start
    for _ in range(_NEWTON_STEPS):
        slope = 2.0 * (y - 1.0) / (gamma * (2.0 * y + gamma - 1.0))
        step = (_length_number(y, gamma) - goal) / slope
        step = np.where(slope > 0.0, step, 0.0)
        y = np.maximum(y - step, 1.0)
        if not np.any(np.abs(step) > _SETTLED * y):
            break
    return np.where(goal >= 0.0, 1.0 / np.sqrt(y), np.nan)


def _length_number(y: Floats, gamma: Any) -> Floats:
    factor = (gamma + 1.0) / (2.0 * gamma)
    found: Floats = (y - 1.0) / gamma + factor * np.log((gamma + 1.0) / (2.0 * y + gamma - 1.0))
    return found


def _subsonic_mach(number: Any, of: Gas) -> Floats:
    """As `gas.subsonic_mach`; begun at the series of the inverse, which lies on the low side of it."""
    gamma = of.gamma
    mach = np.minimum(number * (1.0 + 0.25 * (gamma + 1.0) * number * number), 1.0 - 1e-9)
    for _ in range(_NEWTON_STEPS):
        value = _flow_number(mach, of)
        slope = value * (1.0 - mach * mach) / (mach * _temperature_ratio(mach, of))
        step = np.where(slope > 0.0, (number - value) / slope, 0.0)
        mach = np.minimum(mach + step, 1.0)
        if not np.any(np.abs(step) > _SETTLED * mach):
            break
    critical = (0.5 * (gamma + 1.0)) ** (-(gamma + 1.0) / (2.0 * (gamma - 1.0)))
    return np.where(number <= critical, mach, np.nan)


def _area(bore: Any) -> Any:
    return 0.25 * pi * bore * bore


def _temperature_ratio(mach: Any, of: Gas) -> Any:
    return 1.0 + 0.5 * (of.gamma - 1.0) * mach * mach


def _pressure_ratio(mach: Any, of: Gas) -> Any:
    return _temperature_ratio(mach, of) ** (of.gamma / (of.gamma - 1.0))


def _flow_number(mach: Any, of: Gas) -> Any:
    exponent = -(of.gamma + 1.0) / (2.0 * (of.gamma - 1.0))
    return mach * _temperature_ratio(mach, of) ** exponent
