"""Adiabatic flow with friction in tube of one bore (Fanno flow)."""

from math import log, sqrt

from server.core.air.gas import AIR, Gas

_NEWTON_STEPS = 60


def _length_number(inverse_square: float, gamma: float) -> float:
    """f L*/D as a function of y = 1/M^2, in which it is convex and nearly straight."""
    y = inverse_square
    log_factor = (gamma + 1.0) / (2.0 * gamma)
    return (y - 1.0) / gamma + log_factor * log((gamma + 1.0) / (2.0 * y + gamma - 1.0))


def length_to_sonic(mach: float, of: Gas = AIR) -> float:
    """Friction f L*/D that takes a subsonic stream to Mach 1.

    mach: above 0 up to 1, [-]. Returns [-], with the Darcy friction factor.
    Source: Fanno flow; Shapiro, Dynamics and Thermodynamics of Compressible Fluid Flow, chapter 6.
    """
    return _length_number(1.0 / (mach * mach), of.gamma)


def mach_after(mach: float, friction_number: float, of: Gas = AIR) -> float | None:
    """Mach number after a length of tube, subsonic.

    mach: at its inlet, above 0 up to 1, [-]. friction_number: f L/D + K, [-].
    Returns [-], or None where the tube chokes before its end.
    Source: Fanno flow (Shapiro, chapter 6), solved by Newton's method in 1/M^2; the curve is convex, so that
    from the inlet's side every step stays above the answer.
    """
    start = 1.0 / (mach * mach)
    gamma = of.gamma
    goal = _length_number(start, gamma) - friction_number
    if goal < 0.0:
        return None
    y = start
    for _ in range(_NEWTON_STEPS):
        slope = 2.0 * (y - 1.0) / (gamma * (2.0 * y + gamma - 1.0))
        if slope <= 0.0:
            break
        step = (_length_number(y, gamma) - goal) / slope
        y = max(y - step, 1.0)
        if abs(step) <= 1e-14 * y:
            break
    return 1.0 / sqrt(y)


def temperature_to_sonic(mach: float, of: Gas = AIR) -> float:
    """Static temperature over that at Mach 1, T/T*. mach: [-]. Returns [-]. Source: Fanno flow (Shapiro)."""
    return (of.gamma + 1.0) / (2.0 + (of.gamma - 1.0) * mach * mach)


def pressure_to_sonic(mach: float, of: Gas = AIR) -> float:
    """Static pressure over that at Mach 1, p/p*. mach: [-]. Returns [-]. Source: Fanno flow (Shapiro)."""
    return sqrt(temperature_to_sonic(mach, of)) / mach
