"""Many draws of a run taken through its elements: one by one, or all at once until they fit together.

Through an element the square of the stagnation pressure falls by nearly as much whatever that pressure is
(with little speed, by γ (f L/D + K) times the square of what the flow asks for). So all elements are passed
at once, each at a pressure that is guessed; what fits badly between neighbours is put right by summing the
falls, and after a pass or two more nothing of it is left.
"""

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
_FITS = 3e-6
"""How much a pressure may still be put right by, [-]: a ten-thousandth of that, at most, is left then."""


@dataclass(frozen=True, slots=True)
class Passage:
    """A run passed in every draw. fastest: the greatest Mach number in each element, [-], one row each.

    pressures: stagnation, [Pa], a row at the inlet and behind each element. outlet: what leaves the last.
    """

    fastest: Floats
    pressures: Floats
    outlet: ManyStreams


def passed_at_once(run: ManyElements, whole: Whole, pressure: Floats) -> Passage | None:
    """All elements at once. pressure: stagnation, at the inlet, [Pa].

    None where some draw does not pass or goes too fast for this, and where draws are many.
    Source: as `through`; the guesses after Newton's method.
    """
    draws = np.broadcast_shapes(run.asked.shape[1:], run.friction[0].shape[1:], pressure.shape)
    if draws[0] > _FEW:
        return None
    together = run.together()
    pressures = np.empty((len(run.asked) + 1, *draws))
    pressures[:] = pressure
    for _ in range(_PASSES):
        inside = pressures[:-1]
        fastest, left = through(together, whole, at_pressure(inside, run.before, whole))
        fitted = _fitted(pressures, left.pressure, run.asked, whole)
        moved = fitted / pressures - 1.0
        most = float(np.abs(moved).max())
        if most <= _FITS:
            outlet = at_pressure(fitted[-1], run.widening.asked[-1], whole)
            # Fastest is what friction sped up: there the pressure is off by as much as behind the element.
            more = fitted[1:] / left.pressure - 1.0
            return Passage(_at_another_pressure(fastest, more, whole), fitted, outlet)
        if np.isnan(most):
            return None
        pressures = fitted
    return None


def _fitted(guessed: Floats, left: Any, asked: Floats, whole: Whole) -> Floats:
    """The pressures [Pa] at the inlet and behind each element, had each the one before it at its inlet.

    left: behind each, found from the pressures guessed. Source: `fanno`: by friction in one bore the square
    p₀² changes as it does at the inlet times the ratio of p₀² M², which is 1 + (γ + 1)/2 (asked/p₀)² to the
    second order.
    """
    square, behind = guessed * guessed, left * left
    ratio = 1.0 + (1.0 + whole.half) * asked * asked * (1.0 / behind - 1.0 / square[:-1])
    along = np.cumprod(ratio, axis=0)
    square[1:] += along * np.cumsum((behind - square[1:]) / along, axis=0)
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
