"""A stream in many draws at once: what it does at a stagnation pressure, after friction, and after a step.

The relations of `gas` and `fanno` on arrays with one entry a draw; a draw that chokes holds no numbers. Each
root begins so near that at the speeds of most runs a step or two of Newton's method find it.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from server.core.air.gas import Gas
from server.core.measure.many import plain

Floats = NDArray[np.float64]
Numbers = float | Floats
"""One for all draws, or one for each."""

_NEWTON_STEPS = 60
_SETTLED = 1e-13
"""What Newton's method may leave, told by the square of its last step, [-]."""
_SMALLEST = 1e-16
"""Square of a step that rounding alone may take, [-]."""
_ALMOST_SONIC = 1.0 - 1e-8
_DIGITS = 14
"""Of an exponent: air's comes out whole so."""
_SERIES = 5
"""Terms of the Mach number as a series of the flow number."""


@dataclass(frozen=True, slots=True)
class Whole:
    """What stays along a run, each number one for all draws or one for each.

    flow: [kg/s]. temperature: stagnation, [K]. number: flow √(R T₀ / γ), so that over A p₀ it is
    `gas.flow_number`. half: (γ - 1)/2. exponent: of the flow number, (γ + 1)/(2 (γ - 1)).
    cubes: whether that is 3, as in air. critical: the
    greatest flow number. series: of the Mach number over the flow number, in its square.
    """

    flow: Any
    temperature: Any
    number: Any
    of: Gas
    half: Any
    exponent: Any
    cubes: bool
    critical: Any
    series: tuple[Any, ...]

    def temperature_ratio(self, mach: Any) -> Any:
        """As `gas.temperature_ratio`."""
        return 1.0 + self.half * mach * mach

    def pressure_ratio(self, mach: Any) -> Any:
        """As `gas.pressure_ratio`: its exponent is half more than that of the flow number."""
        ratio = self.temperature_ratio(mach)
        return self.raised(ratio) * np.sqrt(ratio)

    def raised(self, ratio: Any) -> Any:
        """A temperature ratio to the power of `exponent`."""
        return ratio * ratio * ratio if self.cubes else ratio**self.exponent


@dataclass(frozen=True, slots=True)
class ManyStreams:
    """mach: [-], not a number where the run choked. pressure: stagnation, [Pa]."""

    mach: Floats
    pressure: Any


def whole_of(flow: Numbers, temperature: Numbers, of: Gas) -> Whole:
    """What stays along a run. flow: [kg/s]. temperature: stagnation, [K].

    Source: `gas.flow_number`, which is M (1 + h M²)^-e, turned round after Lagrange term by term.
    """
    of = Gas(plain(of.constant), plain(of.gamma))
    flow, temperature = plain(flow), plain(temperature)
    half = 0.5 * (of.gamma - 1.0)
    exponent = np.round(0.25 * (of.gamma + 1.0) / half, _DIGITS)
    series: list[Any] = [1.0]
    for order in range(1, _SERIES):
        odd = 2 * order + 1
        term: Any = 1.0 / odd
        for down in range(order):
            term = term * half * (exponent * odd - down) / (down + 1)
        series.append(term)
    cubes = bool(np.all(exponent == 3.0))
    number = flow * np.sqrt(of.constant * temperature / of.gamma)
    critical = (0.5 * (of.gamma + 1.0)) ** -exponent
    return Whole(flow, temperature, number, of, half, exponent, cubes, critical, tuple(series))


def at_pressure(pressure: Any, asked: Any, whole: Whole) -> ManyStreams:
    """The streams of a stagnation pressure [Pa] in a bore. asked: `Whole.number` over the bore's area, [Pa].

    Source: as `gas.subsonic_mach`; the series it begins at lies on the low side.
    """
    number = asked / pressure
    passes = number <= whole.critical
    if np.count_nonzero(passes) < passes.size:
        number = np.where(passes, number, np.nan)
    square = number * number
    rise = whole.series[-1]
    for term in whole.series[-2::-1]:
        rise = rise * square + term
    mach = np.minimum(number * rise, _ALMOST_SONIC)
    for _ in range(_NEWTON_STEPS):
        square = mach * mach
        ratio = 1.0 + whole.half * square
        left = 1.0 - square
        step = (number * whole.raised(ratio) - mach) * ratio / left
        mach = np.minimum(mach + step, _ALMOST_SONIC)
        if not np.count_nonzero(step * step > _SETTLED * left * mach + _SMALLEST):
            break
    return ManyStreams(mach, pressure)


def after_friction(before: ManyStreams, friction: Any, asked: Any, whole: Whole) -> ManyStreams:
    """The streams after a friction number f L/D + K [-] in one bore. asked: of it, as `at_pressure`.

    Source: as `fanno.mach_after`: with t = 2 (1/M² - 1)/(γ + 1), t - ln(1 + t) falls by
    2 γ/(γ + 1) times that number. It begins at the root's second order, which lies on the high side.
    """
    gamma = whole.of.gamma
    scale = 0.5 * (gamma + 1.0)
    t = (1.0 / (before.mach * before.mach) - 1.0) / scale
    fall = friction * (gamma / scale)
    above = 1.0 + t
    goal = t - np.log(above) - fall
    passes = goal >= 0.0
    if np.count_nonzero(passes) < passes.size:
        goal = np.where(passes, goal, np.nan)
    first = fall * above / t
    t = t - first * (1.0 + 0.5 * first / (t * above))
    for _ in range(_NEWTON_STEPS):
        above = 1.0 + t
        step = (t - np.log(above) - goal) * above / t
        t = t - step
        if not np.count_nonzero(step * step > _SETTLED * t + _SMALLEST):
            break
    square = 1.0 / (1.0 + scale * t)
    mach = np.sqrt(square)
    pressure = asked * whole.raised(1.0 + whole.half * square) / mach
    return ManyStreams(mach, pressure)


def after_widening(before: ManyStreams, coefficient: Any, whole: Whole) -> Any:
    """Stagnation pressure [Pa] after a step up, of which so much of the dynamic pressure before it is lost.

    Not a number where nothing is left. Source: as `march` changes bore.
    """
    static = before.pressure / whole.pressure_ratio(before.mach)
    pressure = before.pressure - coefficient * (0.5 * whole.of.gamma) * static * before.mach * before.mach
    left = pressure > 0.0
    return pressure if np.count_nonzero(left) == left.size else np.where(left, pressure, np.nan)
