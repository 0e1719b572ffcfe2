"""Loss coefficients of the pieces of a run, one function a source.

A loss coefficient K is the loss of stagnation pressure over the dynamic pressure rho V^2 / 2. Every K here is
on the speed in the smaller of the two bores. Outside the range a formula was made for, the value still comes
with a note that says so; nothing is clamped.
"""

from dataclasses import dataclass
from math import degrees, log, pi, sin, sqrt

import numpy as np
from fluids.fittings import bend_miter, bend_rounded
from fluids.friction import friction_factor as darcy_friction_factor
from numpy.typing import NDArray

from server.core.air.gas import viscosity

Floats = NDArray[np.float64]

DRAWN_TUBE_ROUGHNESS = 1.5e-6
"""Roughness of smooth drawn tube, [m] (Moody, 1944)."""

STEEL_TUBE_ROUGHNESS = 46e-6
"""Roughness of commercial steel pipe, [m] (Moody, 1944)."""

BEND_METHOD = "Rennels & Hudson, Pipe Flow (2012), smooth bends; friction along the arc included"
"""The one method for smooth bends, in words for a page."""

LAMINAR_LIMIT = 2040.0
"""Reynolds number under which the friction factor is the laminar 64/Re, [-] (Avila et al., 2011)."""

TURBULENT_LIMIT = 4000.0
"""Reynolds number above which Colebrook's equation was made to hold, [-] (Moody, 1944)."""

ROUGHEST = 0.05
"""Relative roughness at the edge of Moody's chart, [-] (Moody, 1944)."""


@dataclass(frozen=True, slots=True)
class LossCoefficient:
    """A loss coefficient on the smaller bore's speed.

    value: [-]. source: the formula's origin. notes: where the input lies outside the formula's range.
    """

    value: float
    source: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Friction:
    """Friction of straight tube.

    factor: Darcy friction factor, [-]. notes: where the input lies outside the formula's range.
    """

    factor: float
    notes: tuple[str, ...] = ()


def tube_reynolds(flow: float, bore: float, temperature: float) -> float:
    """Reynolds number of air in round tube, 4 m / (pi D mu).

    flow: [kg/s]. bore: [m]. temperature: static, [K]. Returns [-]. Source: definition; Sutherland viscosity.
    """
    return 4.0 * flow / (pi * bore * viscosity(temperature))


def friction(reynolds: float, relative_roughness: float) -> Friction:
    """Darcy friction factor of straight round tube.

    reynolds: [-]. relative_roughness: roughness over bore, [-].
    Errors: ValueError where reynolds is not above zero or the roughness is negative.
    Source: Colebrook (1939) where turbulent, 64/Re where laminar, through `fluids.friction`.
    """
    if reynolds <= 0.0 or relative_roughness < 0.0:
        raise ValueError("Reynolds number is above zero and roughness not below zero.")
    notes = []
    if LAMINAR_LIMIT <= reynolds < TURBULENT_LIMIT:
        notes.append("Flow between laminar and turbulent: the friction factor is uncertain here.")
    if relative_roughness > ROUGHEST:
        notes.append("Wall rougher than one twentieth of the bore: outside Moody's chart.")
    return Friction(float(darcy_friction_factor(reynolds, relative_roughness)), tuple(notes))


def friction_factors(reynolds: Floats, relative_roughness: Floats) -> Floats:
    """The factors of `friction` for many tubes at once, [-]; the same numbers within rounding.

    Source: Colebrook (1939) solved as Clamond, Ind. Eng. Chem. Res. 48 (2009) 3665; 64/Re where laminar.
    """
    rough = relative_roughness * reynolds * (log(10.0) / 18.574)
    smooth = np.log(reynolds) + log(log(10.0) / 5.02)
    found = smooth - 0.2
    for turn in range(2):
        both = rough + found
        more = 1.0 + both
        error = (np.log(both) + (found - smooth if turn else -0.2)) / more
        found = found - (more + 0.5 * error) * error * both / (more + error * (1.0 + error / 3.0))
    turbulent = 0.25 * log(10.0) ** 2 / (found * found)
    return np.where(reynolds < LAMINAR_LIMIT, 64.0 / reynolds, turbulent)


def smooth_bends(bore: Floats, angle: Floats, radius: Floats) -> tuple[Floats, Floats]:
    """The loss coefficients of `smooth_bend` for many bends, each a straight line in the friction factor.

    bore: [m]. angle: [rad]. radius: [m]. Returns what of them is fixed, and what a Darcy friction factor of 1
    would add, [-].
    Source: Rennels & Hudson, Pipe Flow (2012), equation of smooth bends, as `fluids.fittings` has it.
    """
    steep = np.sin(0.5 * angle)
    ratio = radius / bore
    turned = 6.6 * (np.sqrt(steep) + steep) / ratio ** (4.0 * angle / pi)
    return 0.10 * steep, angle * ratio + 2.4 * steep + turned


def smooth_bend(bore: float, angle: float, radius: float, friction_factor: float) -> LossCoefficient:
    """Loss of a smooth round bend, the friction along its arc included: do not add the arc's length again.

    bore: [m]. angle: deflection, [rad]. radius: of the centre line, [m]. friction_factor: Darcy, [-].
    Made for angles up to 180 degrees and centre-line radii from half a bore, with a good length of tube
    after the bend. At 90 degrees Miller and Ito lie within about 10 %; the Crane table, made for rough steel
    pipe, lies 10 to 30 % higher.
    Source: Rennels & Hudson, Pipe Flow (2012), through `fluids.fittings.bend_rounded`.
    """
    notes = []
    if angle > pi:
        notes.append("Bend beyond 180°: outside the range of the bend formula.")
    if radius < 0.5 * bore:
        notes.append("Bend radius under half the bore: outside the range of the bend formula.")
    value = bend_rounded(Di=bore, angle=degrees(angle), rc=radius, fd=friction_factor, method="Rennels")
    return LossCoefficient(float(value), BEND_METHOD, tuple(notes))


def mitre(angle: float, joints: int = 1) -> LossCoefficient:
    """Loss of a mitred bend, its joints simply added: an upper estimate when there are several.

    angle: deflection of the whole bend, [rad]. joints: welded joints that share it equally, 1 or more.
    Friction is not included: add the length between the joints. Made for up to 150 degrees a joint.
    Errors: ValueError for fewer than one joint.
    Source: Rennels & Hudson, Pipe Flow (2012), through `fluids.fittings.bend_miter`.
    """
    if joints < 1:
        raise ValueError("A mitred bend has at least one joint.")
    notes = []
    joint_angle = degrees(angle / joints)
    if joint_angle > 150.0:
        notes.append("Mitre beyond 150°: outside the range of the mitre formula.")
    if joints > 1:
        notes.append("Mitre joints are added up as if they stood apart: the true loss is lower.")
    value = joints * bend_miter(angle=joint_angle, method="Rennels")
    return LossCoefficient(float(value), "Rennels & Hudson, Pipe Flow (2012), mitre", tuple(notes))


def sudden_expansion(bore_in: float, bore_out: float) -> LossCoefficient:
    """Loss of a square step up, on the speed before it.

    bore_in, bore_out: [m], bore_out not smaller. Source: Borda-Carnot, K = (1 - A1/A2)^2.
    """
    return LossCoefficient((1.0 - (bore_in / bore_out) ** 2) ** 2, "Borda-Carnot")


def sudden_contraction(bore_in: float, bore_out: float) -> LossCoefficient:
    """Loss of a square step down, on the speed after it.

    bore_in, bore_out: [m], bore_out not larger. Source: Crane TP-410, page A-26, K = (1 - A2/A1) / 2.
    """
    return LossCoefficient(0.5 * (1.0 - (bore_out / bore_in) ** 2), "Crane TP-410, page A-26")


def cone(bore_in: float, bore_out: float, half_angle: float) -> LossCoefficient:
    """Loss of a conical reducer or diffuser, on the smaller bore's speed, wall friction not included.

    bore_in, bore_out: [m]. half_angle: between wall and axis, above 0 up to pi/2, [rad].
    At wide angles it meets the square steps. Below about 3 degrees wall friction is the larger part.
    Errors: ValueError for a half angle outside (0, pi/2].
    Source: Crane TP-410, page A-26, a the half angle and b the smaller bore over the larger:
    reducer 0.8 sin(a) (1 - b^2) up to 22.5 degrees, 0.5 sqrt(sin(a)) (1 - b^2) beyond;
    diffuser 2.6 sin(a) (1 - b^2)^2 up to 22.5 degrees, (1 - b^2)^2 beyond.
    """
    if not 0.0 < half_angle <= 0.5 * pi:
        raise ValueError("The half angle of a cone lies above 0 and not above 90 degrees.")
    narrow = half_angle <= pi / 8.0
    if bore_out <= bore_in:
        area_step = 1.0 - (bore_out / bore_in) ** 2
        shape = 0.8 * sin(half_angle) if narrow else 0.5 * sqrt(sin(half_angle))
        return LossCoefficient(shape * area_step, "Crane TP-410, page A-26, reducer")
    area_step = 1.0 - (bore_in / bore_out) ** 2
    shape = 2.6 * sin(half_angle) if narrow else 1.0
    return LossCoefficient(shape * area_step**2, "Crane TP-410, page A-26, enlargement")


def cone_friction(bore_in: float, bore_out: float, half_angle: float, friction_factor: float) -> float:
    """Wall friction of a cone as a loss coefficient on the smaller bore's speed.

    bore_in, bore_out: [m]. half_angle: above 0 up to pi/2, [rad]. friction_factor: Darcy, [-]. Returns [-].
    Source: geometry, f dx / D summed along the cone, f (1 - b^4) / (8 sin a)
    (as the friction term of Rennels & Hudson, Pipe Flow, 2012).
    """
    ratio = min(bore_in, bore_out) / max(bore_in, bore_out)
    return friction_factor * (1.0 - ratio**4) / (8.0 * sin(half_angle))


def step(bore_in: float, bore_out: float, half_angle: float | None = None) -> LossCoefficient:
    """Loss of any change of bore, on the smaller bore's speed, wall friction not included.

    bore_in, bore_out: [m]. half_angle: of a cone, [rad]; None for a square step.
    Errors: ValueError for a bore that is not above zero or a half angle outside (0, pi/2].
    Source: `sudden_expansion`, `sudden_contraction` or `cone`.
    """
    if bore_in <= 0.0 or bore_out <= 0.0:
        raise ValueError("A bore is above zero.")
    if half_angle is not None:
        return cone(bore_in, bore_out, half_angle)
    if bore_out > bore_in:
        return sudden_expansion(bore_in, bore_out)
    return sudden_contraction(bore_in, bore_out)


def sharp_entrance() -> LossCoefficient:
    """Loss where still air enters a tube with a square, flush edge.

    K is 0.5, [-]. Source: Crane TP-410, page A-30.
    """
    return LossCoefficient(0.5, "Crane TP-410, page A-30, flush entrance")


def exit_loss() -> LossCoefficient:
    """Loss where a tube ends in still air: all of its dynamic pressure.

    K is 1, [-]. Source: Crane TP-410, page A-30.
    """
    return LossCoefficient(1.0, "Crane TP-410, page A-30, exit")


def typed_loss(loss: float, flow: float, bore: float, air_density: float) -> LossCoefficient:
    """Loss coefficient of a filter, a cooler or any piece whose loss was read at one flow.

    loss: stagnation pressure lost, [Pa], at flow [kg/s] and air_density [kg/m3]. bore: of the tube, [m].
    Errors: ValueError where flow, bore or density is not above zero. Source: definition of K.
    """
    if flow <= 0.0 or bore <= 0.0 or air_density <= 0.0:
        raise ValueError("Flow, bore and density are above zero.")
    area = pi * bore * bore / 4.0
    dynamic_pressure = (flow / area) ** 2 / (2.0 * air_density)
    return LossCoefficient(loss / dynamic_pressure, "as typed")
