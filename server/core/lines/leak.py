"""The pressure test of the charge side: how hard, how long, and how much it may fall.

Source: ideal gas, p V = m R T with absolute pressures; leak rate Q = V dp/dt (pressure change method, EN
1779).
"""

from dataclasses import dataclass
from math import pi

GAS_CONSTANT_OF_AIR = 287.05
"""[J/(kg K)]. Source: U.S. Standard Atmosphere, 1976."""

START = 30_000.0
"""Where a test begins, gauge [Pa]. Source: common practice, no source."""

STEPS = 3.0
"""So many of the gauge's steps the allowed fall should come to. Source: common practice, no source."""

MOST_FALL = 0.2
"""Up to this part of the test pressure a fall counts as steady [-]. Source: common practice, no source."""

_LEAST_TIME, _MOST_TIME = 60.0, 600.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A length of pipe under test: bore [m], length [m]."""

    bore: float
    length: float


@dataclass(frozen=True, slots=True)
class LeakTest:
    """What a test asks for.

    start, pressure: gauge [Pa], begun at the first, held at the second. volume [m3]. time: how long it is
    held [s]. allowed: how far it may fall in that time at one temperature [Pa].
    """

    start: float
    pressure: float
    volume: float
    time: float
    allowed: float


@dataclass(frozen=True, slots=True)
class LeakResult:
    """What a test came to.

    by_cooling: the part of the fall that the air's cooling makes [Pa]; by_leak: the rest [Pa]; rate: of
    the leak [Pa m3/s]; mass: of air lost [kg/s]; passes: whether the rest is within what is allowed.
    """

    by_cooling: float
    by_leak: float
    rate: float
    mass: float
    passes: bool


def volume_of(stretches: tuple[Stretch, ...], more: float = 0.0) -> float:
    """The volume of pipes in a row [m3], with that of cooler and tanks beside [m3]. Source: geometry."""
    return more + sum(0.25 * pi * one.bore**2 * one.length for one in stretches)


def plan(volume: float, boost: float, allowed_rate: float, gauge_step: float) -> LeakTest:
    """A test that the gauge in hand can read.

    volume: of the charge side, blanked at the throttle [m3]; boost: intended, gauge [Pa]; allowed_rate:
    leak that is taken [Pa m3/s]; gauge_step: the least fall that the gauge shows [Pa]. It is never tested
    above intended boost, and held until the allowed leak would show as three steps, within 1 to 10 minutes.
    Raises ValueError where one is not above zero. Source: ideal gas; the times are common practice, no
    source.
    """
    if min(volume, boost, allowed_rate, gauge_step) <= 0.0:
        raise ValueError("volume, boost, leak and step of the gauge must all be above zero")
    time = min(max(STEPS * gauge_step * volume / allowed_rate, _LEAST_TIME), _MOST_TIME)
    return LeakTest(min(START, boost), boost, volume, time, allowed_rate * time / volume)


def notes(test: LeakTest, gauge_step: float) -> tuple[str, ...]:
    """What to know of a planned test, in words; gauge_step: the least fall that the gauge shows [Pa].

    Source: ideal gas; the limits are common practice, no source.
    """
    if test.allowed > MOST_FALL * test.pressure:
        return ("So large a leak slows as the pressure falls: the figure is rough. Take less.",)
    if test.allowed < STEPS * gauge_step:
        return ("The fall that is allowed is too small for this gauge: take a finer one.",)
    return ()


def allowed_fall(volume: float, pressure: float, rate: float, time: float) -> float:
    """How far a volume [m3] shut in at a gauge pressure [Pa] may fall in so long [s] by a leak that is taken
    [Pa m3/s]: never more than the part of it up to which a leak is steady [Pa].

    Source: pressure change method, EN 1779; the part is common practice, no source.
    """
    return min(rate * time / volume, MOST_FALL * pressure)


def leak_rate(volume: float, fall: float, time: float) -> float:
    """The leak that lets a closed volume [m3] fall by so much [Pa] in so long [s], at one temperature [Pa
    m3/s].

    Source: pressure change method, EN 1779.
    """
    return volume * fall / time


def mass_rate(rate: float, temperature: float) -> float:
    """A leak [Pa m3/s] of air at a temperature [K] as mass [kg/s]. Source: ideal gas."""
    return rate / (GAS_CONSTANT_OF_AIR * temperature)


def rate_of(mass: float, temperature: float) -> float:
    """A leak of air as mass [kg/s] at a temperature [K], as a rate [Pa m3/s]. Source: ideal gas."""
    return mass * GAS_CONSTANT_OF_AIR * temperature


def free_air_rate(rate: float, outside: float) -> float:
    """A leak [Pa m3/s] as air at the open air's pressure, absolute [Pa], and its own temperature [m3/s].

    Source: ideal gas.
    """
    return rate / outside


def cooled(pressure: float, before: float, after: float) -> float:
    """What a closed volume comes to [Pa, absolute] that was at a pressure [Pa, absolute] at one
    temperature and is at another [K]. Source: ideal gas at constant volume.
    """
    return pressure * after / before


def judge(
    test: LeakTest, outside: float, first: float, last: float, before: float, after: float
) -> LeakResult:
    """What a test came to.

    outside: the open air's pressure, absolute [Pa]; first, last: the gauge's readings [Pa]; before, after:
    the air's temperature at each [K]. A rise counts as no leak. Source: ideal gas.
    """
    begun, ended = first + outside, last + outside
    expected = cooled(begun, before, after)
    by_leak = max(expected - ended, 0.0)
    rate = leak_rate(test.volume, by_leak, test.time)
    return LeakResult(
        by_cooling=begun - expected,
        by_leak=by_leak,
        rate=rate,
        mass=mass_rate(rate, after),
        passes=by_leak <= test.allowed,
    )
