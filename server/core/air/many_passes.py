"""Many draws of a run taken through its elements: one by one, or all at once until they fit together.

Through an element the square of the stagnation pressure falls by nearly as much whatever that pressure is
(with little speed, by γ (f L/D + K) times the square of what the flow asks for). So all elements are passed
at once, each at a pressure that is guessed; what fits badly between neighbours is put right by summing the
falls, and after a pass or two more nothing of it is left. Where the pressure behind the run is what is known,
the falls are summed from there, and the pressure at the inlet is found in the same passes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.core.air import losses
from server.core.air.gas import viscosity
from server.core.air.many_elements import Change, ManyElement, ManyElements
from server.core.air.many_stream import ManyStreams, Whole, after_friction, after_widening, at_pressure

Floats = NDArray[np.float64]

_FEW = 400
"""Draws beyond which passing element by element costs no more."""
_PASSES = 5
"""A run that does not fit together after these goes fast, or chokes."""
_FITS = 1e-5
"""How much a pressure may still be put right by, [-]: a thousandth of that, at most, is left then near Mach
0.3, a hundred-thousandth at the speeds of cold runs."""


@dataclass(frozen=True, slots=True)
class Passage:
    """A run passed in every draw. fastest: the greatest Mach number in each element, [-], one row each.

    pressures: stagnation, [Pa], a row at the inlet and behind each element. outlet: what leaves the last.
    """

    fastest: Floats
    pressures: Floats
    outlet: ManyStreams


def passed_one_by_one(run: Sequence[ManyElement], whole: Whole, inlet: ManyStreams) -> Passage:
    """Element by element; draws that do not pass hold no numbers. Source: as `through`."""
    stream = inlet
    machs, pressures = [], [inlet.pressure]
    for element in run:
        fastest, stream = through(element, whole, stream)
        machs.append(fastest)
        pressures.append(stream.pressure)
    shape = stream.mach.shape
    return Passage(_rows(machs, shape), _rows(pressures, shape), stream)


def passed_at_once(run: ManyElements, whole: Whole, pressure: Floats) -> Passage | None:
    """All elements at once. pressure: stagnation, at the inlet, [Pa].

    None where some draw does not pass or goes too fast for this, and where draws are many.
    Source: as `through`; the guesses after Newton's method.
    """
    draws = _draws_of(run, pressure)
    return _fitted_together(run, whole, pressure, None, draws) if draws <= _FEW else None


def passed_back(run: ManyElements, whole: Whole, near: Floats, behind: Floats) -> Passage | None:
    """A run with the inlet pressure that the pressure behind it asks for.

    near: a guess of the pressure at the inlet. behind: at the outlet. Both stagnation, [Pa].
    None where some draw does not pass or goes too fast for this.
    Source: as `passed_at_once`; many draws pass element by element.
    """
    return _fitted_together(run, whole, near, behind, _draws_of(run, near, behind))


def _draws_of(run: ManyElements, *numbers: Floats) -> int:
    draws: int = np.broadcast_shapes((run.draws,), *(np.shape(one) for one in numbers))[0]
    return draws


def _fitted_together(
    run: ManyElements, whole: Whole, pressure: Floats, behind: Floats | None, draws: int
) -> Passage | None:
    """Passed until all fits. pressure: at the inlet. behind: at the outlet, where it is that which stays."""
    together = run.together() if draws <= _FEW else None
    each = run.each() if together is None else []
    pressures = np.empty((len(run.asked) + 1, draws))
    pressures[:] = pressure
    for _ in range(_PASSES):
        if together is not None:
            entering = at_pressure(pressures[:-1], run.before, whole)
            fastest, leaving = through(together, whole, entering)
            left = leaving.pressure
        else:
            inlet = at_pressure(pressures[0], run.before[0], whole)
            passage = passed_one_by_one(each, whole, inlet)
            fastest, pressures, left = passage.fastest, passage.pressures, passage.pressures[1:]
        fitted = _fitted(pressures, left, behind, run.asked, whole)
        most = float(np.abs(fitted / pressures - 1.0).max())
        if most <= _FITS:
            outlet = at_pressure(fitted[-1], run.widening.asked[-1], whole)
            # Fastest is what friction sped up: there the pressure is off by as much as behind the element.
            more = fitted[1:] / left - 1.0
            return Passage(_at_another_pressure(fastest, more, whole), fitted, outlet)
        if np.isnan(most):
            return None
        pressures = fitted
    return None


def _fitted(guessed: Floats, left: Any, outlet: Floats | None, asked: Floats, whole: Whole) -> Floats:
    """The pressures [Pa] at the inlet and behind each element, had each the one before it at its inlet.

    left: behind each, found from the pressures guessed. outlet: behind the last, where it is that which stays
    and not the one at the inlet. Source: `fanno`: by friction in one bore the square p₀² changes as it does
    at the inlet times the ratio of p₀² M², of which the logarithm is that of (γ + 1)/2 x (1 + (γ + 3)/4 x) to
    the second order in x = (asked/p₀)².
    """
    square, behind = guessed * guessed, left * left
    before, after = (asked * asked / some for some in (square[:-1], behind))
    growth = (1.0 + whole.half) * (after - before) * (1.0 + (1.0 + 0.5 * whole.half) * (before + after))
    along = np.exp(np.cumsum(growth, axis=0))
    misfit = np.cumsum((behind - square[1:]) / along, axis=0)
    if outlet is not None:
        at_inlet = (outlet * outlet - square[-1]) / along[-1] - misfit[-1]
        square[0] += at_inlet
        misfit += at_inlet
    square[1:] += along * misfit
    return np.asarray(np.sqrt(square))


def _at_another_pressure(mach: Floats, more: Floats, whole: Whole) -> Floats:
    """A Mach number where the stagnation pressure is so much more [-]. Source: slope of `gas.flow_number`."""
    square = mach * mach
    return np.asarray(mach * (1.0 - more * (1.0 + whole.half * square) / (1.0 - square)))


def through(element: ManyElement, whole: Whole, before: ManyStreams) -> tuple[Floats, ManyStreams]:
    """As `march` takes a stream through the step into an element and through the element.

    Returns the greatest Mach number in it, and what leaves it. Source: as `march`.
    """
    entered = _changed(before, element.into, 0.0, whole)
    static = whole.temperature / whole.temperature_ratio(entered.mach)
    friction = losses.friction_factors(element.reynolds / viscosity(static), element.roughness)
    narrowed = _changed(entered, element.narrowing, friction, whole)
    fixed, rubbed = element.friction
    passed = after_friction(narrowed, fixed + rubbed * friction, element.asked, whole)
    outlet = _changed(passed, element.widening, friction, whole)
    return np.maximum(entered.mach, passed.mach), outlet


def _changed(stream: ManyStreams, change: Change | None, friction: Any, whole: Whole) -> ManyStreams:
    """As `march` changes bore: a widening loses of the speed before it, a narrowing of the speed after it."""
    if change is None:
        return stream
    pressure = stream.pressure
    if change.widening is not None:
        fixed, rubbed = change.widening
        pressure = after_widening(stream, fixed + rubbed * friction, whole)
    changed = at_pressure(pressure, change.asked, whole)
    if change.narrowing is None:
        return changed
    fixed, rubbed = change.narrowing
    return after_friction(changed, fixed + rubbed * friction, change.asked, whole)


def _rows(numbers: Sequence[Any], shape: tuple[int, ...]) -> Floats:
    """One row each; what no draw moves so far holds one number for all."""
    found = np.empty((len(numbers), *shape))
    for row, number in zip(found, numbers, strict=True):
        row[...] = number
    return found
