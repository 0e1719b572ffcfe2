"""Many runs of the same make-up marched at once, for every draw of a doubt: as `march` and `back_march` do.

The same relations as `march`, on arrays with one entry a draw, element by element. With few draws most of
that goes by in calls, so a run is first taken through all its elements at once (`many_passes`), where it does
not go too fast for that. A draw in which the run chokes is marked and holds no numbers. Source of each
relation: the function of `gas`, `fanno` or `losses` that it repeats.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.core.air.gas import Gas
from server.core.air.many_elements import area_of, many_elements
from server.core.air.many_passes import Passage, passed_at_once, passed_back, passed_one_by_one
from server.core.air.many_stream import ManyStreams, Numbers, Whole, at_pressure, whole_of
from server.core.air.march import Element
from server.core.measure.many import plain

Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]

_CLOSE = 1e-3
"""How close the pressure behind a hot run has to come, [Pa], as in `back_march`."""
_JUST = 0.05
"""How close two inlet pressures have to be, between which the flow begins to pass, [Pa]; as there."""
_TRIES = 80
_RAISED = 1.3


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

    names: of the elements. fastest_speeds: [m/s], fastest_machs: [-] and losses: [Pa], one row an element.
    inlet_pressure, outlet_pressure: static, absolute, [Pa]. loss: stagnation pressure, [Pa]. sonic: of hot
    runs, the draws that pass the flow at Mach 1 alone.
    """

    names: tuple[str, ...]
    fastest_speeds: Floats
    fastest_machs: Floats
    losses: Floats
    passes: Marks
    inlet_pressure: Floats
    outlet_pressure: Floats
    loss: Floats
    sonic: Marks

    @property
    def stations(self) -> tuple[ManyStations, ...]:
        """Element by element."""
        rows = zip(self.names, self.fastest_speeds, self.fastest_machs, self.losses, strict=True)
        return tuple(ManyStations(*row) for row in rows)

    def part(self, meets: Marks) -> "ManyMarches":
        """Some of the draws."""
        return ManyMarches(
            self.names,
            self.fastest_speeds[:, meets],
            self.fastest_machs[:, meets],
            self.losses[:, meets],
            self.passes[meets],
            self.inlet_pressure[meets],
            self.outlet_pressure[meets],
            self.loss[meets],
            self.sonic[meets],
        )


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
        whole = whole_of(flow, temperature, of)
        run = many_elements(elements, whole)
        asked = np.atleast_1d(whole.number / area_of(plain(elements[0].bore_in)))
        there = np.where((asked > 0.0) & (pressure > 0.0), plain(pressure), np.nan)
        inlet = at_pressure(there, asked, whole)
        passage = passed_at_once(run, whole, inlet.pressure) or passed_one_by_one(run.each(), whole, inlet)
        return _told(elements, whole, inlet, passage)


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
    `march_many`. Where every draw passes below Mach 1 the pressure behind comes within 1e-8 of what is asked
    for, [-]. Source: as `back_march`.
    """
    with np.errstate(all="ignore"):
        whole = whole_of(flow, temperature, of)
        run = many_elements(elements, whole)
        behind = plain(outlet_pressure)
        area, area_behind = (area_of(plain(bore)) for bore in (elements[0].bore_in, elements[-1].bore_out))
        start, outlet = _at_static(whole, area, near), _at_static(whole, area_behind, behind)
        passage = passed_back(run, whole, start.pressure, outlet.pressure)
        if passage is not None:
            inlet = at_pressure(passage.pressures[0], run.before[0], whole)
            return _told(elements, whole, inlet, passage)
        each = run.each()
        shape = np.broadcast_shapes((run.draws,), np.shape(behind))

        def walk(inlet: Floats) -> ManyMarches:
            stream = _at_static(whole, area, inlet)
            return _told(elements, whole, stream, passed_one_by_one(each, whole, stream))

        return _solved(walk, np.broadcast_to(behind, shape), np.full(shape, near))


def _solved(walk: Callable[[Floats], ManyMarches], behind: Floats, start: Floats) -> ManyMarches:
    """Close in on every draw's inlet pressure, by the secant method inside a bracket."""
    pressure = start.copy()
    low, high = np.zeros_like(start), np.full_like(start, np.inf)
    best, best_over = start.copy(), np.full_like(start, np.nan)
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
    return replace(found, inlet_pressure=pressure, sonic=sonic)


def _at_static(whole: Whole, area: Any, pressure: Numbers) -> ManyStreams:
    """The stream of a static pressure and the stagnation temperature; as `back_march` begins."""
    of = whole.of
    quadratic = (whole.flow * of.constant / (pressure * area)) ** 2 / (2.0 * of.specific_heat)
    static = 2.0 * whole.temperature / (1.0 + np.sqrt(1.0 + 4.0 * quadratic * whole.temperature))
    speed = whole.flow * of.constant * static / (pressure * area)
    mach = speed / np.sqrt(of.gamma * of.constant * static)
    mach = np.where((mach > 0.0) & (mach < 1.0), mach, np.nan)
    return ManyStreams(mach, pressure * whole.pressure_ratio(mach))


def _told(elements: Sequence[Element], whole: Whole, inlet: ManyStreams, passage: Passage) -> ManyMarches:
    mach, outlet = passage.fastest, passage.outlet
    passes = np.isfinite(outlet.mach)
    ratio = whole.temperature_ratio(mach)
    return ManyMarches(
        tuple(one.name for one in elements),
        mach * np.sqrt(whole.of.gamma * whole.of.constant * whole.temperature / ratio),
        mach,
        -np.diff(passage.pressures, axis=0),
        passes,
        np.broadcast_to(inlet.pressure / whole.pressure_ratio(inlet.mach), passes.shape),
        outlet.pressure / whole.pressure_ratio(outlet.mach),
        inlet.pressure - outlet.pressure,
        ~passes,
    )
