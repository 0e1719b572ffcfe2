"""Oil of a turbo: what its feed passes, whether that takes a restrictor, and the bore that drains it.

A drain has to do two things. Oil has to run down it, reckoned as a round tube that runs half full: area and
wetted wall are then both half of the full tube's, so that its speed is that of the full tube at the same
slope, by Darcy's friction, and its flow half. And air has to go up as oil goes down, from the turbo's
housing on: it does while the oil is slow for the bore, which for hot thin oil asks for the wider tube.
Manning's formula is not used: it was made for water in rough channels. Bends, and the crankcase's pressure
below, are left out.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import inf, log10, pi, sin, sqrt

from scipy.optimize import brentq

from server.core.air import hydraulics
from server.core.air.hydraulics import SHARP_ORIFICE, Liquid, area
from server.core.air.losses import DRAWN_TUBE_ROUGHNESS, LAMINAR_LIMIT, TURBULENT_LIMIT

GRAVITY = 9.80665
"""Standard gravity, [m/s2]."""

SELF_VENTING = 0.3
"""Speed of a full tube over sqrt(g bore) up to which air goes up against the liquid, [-] (Hills, Designing
piping for gravity flow, Chemical Engineering, 1983; on the safe side)."""

WIDEST = 0.2
"""No drain is wider, [m]: a bore above it means that the oil does not run down this slope."""

_THINNEST = 2e-6
"""Viscosity down to which Walther's equation holds with its 0.7, [m2/s] (ASTM D341, from memory)."""

_NARROWEST = 1e-4
"""A bore that no turbulent drain is as narrow as, [m]."""

GRADES: Mapping[int, tuple[float, float]] = {
    20: (6.9e-6, 9.3e-6),
    30: (9.3e-6, 12.5e-6),
    40: (12.5e-6, 16.3e-6),
    50: (16.3e-6, 21.9e-6),
    60: (21.9e-6, 26.1e-6),
}
"""Kinematic viscosity at 100 °C of a grade's hot number, least and most, [m2/s] (SAE J300, from memory)."""

USUAL_DRAINS: Mapping[str, float] = {
    "-10 line, 16 mm (5/8 in)": 0.0159,
    "19 mm (3/4 in) hose": 0.01905,
}
"""Bores that are usually fitted, [m]; common practice, no source. A -10 hose may be narrower inside:
measure it."""


class Bearing(StrEnum):
    """How a turbo's shaft is held."""

    ball = "ball"
    journal = "journal"
    not_known = "not known"


class Drawing(StrEnum):
    """What the maker's drawing says of a restrictor in the oil feed."""

    asks = "asks for one"
    none = "asks for none"
    not_seen = "not seen"


class Restrictor(StrEnum):
    """What to do about a restrictor."""

    fit = "fit the one that the drawing gives"
    leave_out = "fit none"
    ask = "find the maker's drawing"


@dataclass(frozen=True, slots=True)
class RestrictorAnswer:
    """Whether the oil feed takes a restrictor. answer: what to do. reason: in words."""

    answer: Restrictor
    reason: str


_BY_DRAWING: Mapping[Drawing, RestrictorAnswer] = {
    Drawing.asks: RestrictorAnswer(Restrictor.fit, "The maker's drawing asks for a restrictor."),
    Drawing.none: RestrictorAnswer(
        Restrictor.leave_out, "The maker's drawing asks for none: a needless one starves the bearing."
    ),
}

_BY_BEARING: Mapping[Bearing, str] = {
    Bearing.ball: "A ball bearing often takes a restrictor; its bore is for the maker's drawing to say.",
    Bearing.journal: "A journal bearing usually takes none; a needless one kills it. The drawing decides.",
    Bearing.not_known: "Neither bearing nor drawing is known: nothing says whether it takes a restrictor.",
}


@dataclass(frozen=True, slots=True)
class FeedFlow:
    """Oil through a restrictor. flow: [m3/s]. notes: where the sum is uncertain."""

    flow: float
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FullFlow:
    """A liquid that fills a tube. speed: [m/s]. reynolds: [-]. laminar: how it runs."""

    speed: float
    reynolds: float
    laminar: bool


@dataclass(frozen=True, slots=True)
class DrainFlow:
    """Oil that a drain takes down, without the air in it.

    oil: the lesser of the two, [m3/s]. by_friction: what runs down half full, [m3/s]. by_venting: what
    still lets air up, [m3/s]. speed: of the froth, half full, [m/s]. reynolds: [-]. laminar: how it runs.
    notes: where the sum is uncertain.
    """

    by_friction: float
    by_venting: float
    speed: float
    reynolds: float
    laminar: bool
    notes: tuple[str, ...] = ()

    @property
    def oil(self) -> float:
        """What the drain takes, [m3/s]. Source: the lesser of the two."""
        return min(self.by_friction, self.by_venting)


@dataclass(frozen=True, slots=True)
class DrainBore:
    """The least bore that drains a flow of oil.

    bore: the wider of the two, [m], None where no bore does. by_friction: so that the oil runs down half
    full, [m]. by_venting: so that air goes up, [m]. reason: which of them decides, or why there is none, in
    words.
    """

    bore: float | None
    by_friction: float | None
    by_venting: float | None
    reason: str


def restrictor(bearing: Bearing, drawing: Drawing) -> RestrictorAnswer:
    """Whether the oil feed takes a restrictor: only the maker's drawing settles it.

    Source: common practice, no source.
    """
    if drawing in _BY_DRAWING:
        return _BY_DRAWING[drawing]
    return RestrictorAnswer(Restrictor.ask, _BY_BEARING[bearing])


def feed_flow(bore: float, drop: float, oil: Liquid, coefficient: float = SHARP_ORIFICE) -> FeedFlow:
    """Oil that a restrictor passes.

    bore: of its hole, [m]. drop: of pressure across it, [Pa]: at most what the gauge shows, as the bearing
    behind it takes its part. oil: at the feed's temperature. coefficient: of discharge, [-].
    Errors: ValueError for an input that is not above zero. Source: `hydraulics.orifice_flow`.
    """
    flow = hydraulics.orifice_flow(bore, drop, oil.density, coefficient)
    return FeedFlow(flow, hydraulics.orifice_notes(bore, flow, oil))


def oil_viscosity(temperature: float, cold: tuple[float, float], hot: tuple[float, float]) -> float:
    """Kinematic viscosity of an oil from two that are known, as on its data sheet at 40 and 100 °C.

    temperature: [K]. cold, hot: temperature [K] and viscosity [m2/s] of each, the hot one thinner.
    Returns [m2/s]. Made for oils between their cloud point and the start of boiling, from 2 mm2/s up.
    Errors: ValueError where a number is not above zero, the hot oil not hotter and thinner, or thinner than
    the equation was made for.
    Source: Walther's equation as in ASTM D341, log log (nu + 0.7) = A - B log T, nu in mm2/s.
    """
    given = (temperature, *cold, *hot)
    if not all(0.0 < value < inf for value in given) or cold[0] >= hot[0] or cold[1] <= hot[1]:
        raise ValueError("Temperatures and viscosities are above zero, the hot oil hotter and thinner.")
    if hot[1] < _THINNEST:
        raise ValueError("Walther's equation was made for oils of 2 mm2/s and more.")
    slope = (_walther(cold[1]) - _walther(hot[1])) / (log10(hot[0]) - log10(cold[0]))
    height = _walther(cold[1]) - slope * (log10(temperature) - log10(cold[0]))
    return float((10.0 ** (10.0**height) - 0.7) * 1e-6)


def full_flow(
    bore: float, gradient: float, liquid: Liquid, roughness: float = DRAWN_TUBE_ROUGHNESS
) -> FullFlow:
    """Speed of a liquid that fills a round tube and runs down a gradient of head.

    bore: [m]. gradient: head lost for each length of tube; for a tube that drains freely the sine of its
    slope, [-]. roughness: [m].
    Errors: ValueError for a bore or gradient that is not above zero.
    Source: Hagen-Poiseuille up to a Reynolds number of 2040; beyond, Darcy-Weisbach with Colebrook's
    friction, which a known gradient turns into a formula for speed (White, Fluid Mechanics, section 6.7).
    """
    if not (0.0 < bore < inf and 0.0 < gradient < inf):
        raise ValueError("Bore and gradient are above zero.")
    slow = GRAVITY * gradient * bore * bore / (32.0 * liquid.kinematic)
    reynolds = slow * bore / liquid.kinematic
    if reynolds <= LAMINAR_LIMIT:
        return FullFlow(slow, reynolds, True)
    speed = _turbulent_speed(bore, gradient, liquid.kinematic, roughness)
    return FullFlow(speed, speed * bore / liquid.kinematic, False)


def drain_flow(
    bore: float, slope: float, oil: Liquid, froth: float, roughness: float = DRAWN_TUBE_ROUGHNESS
) -> DrainFlow | None:
    """Oil that a drain takes down by gravity.

    bore: [m]. slope: below level, [rad]. oil: at the drain's temperature. froth: its volume with the air in
    it over the oil's own, 1 for none, [-]: froth is lighter by as much, and taken to be as thick as the oil,
    which flatters it. roughness: [m]. None where the slope is not downhill: nothing runs.
    Errors: ValueError for a bore that is not above zero or froth below 1.
    Source: `full_flow` of the full tube, half of its area; `SELF_VENTING`.
    """
    if not 0.0 < bore < inf or not 1.0 <= froth < inf:
        raise ValueError("The bore is above zero, and froth takes at least the oil's own volume.")
    if not 0.0 < slope <= 0.5 * pi:
        return None
    full = full_flow(bore, sin(slope), _froth(oil, froth), roughness)
    notes: list[str] = []
    if not full.laminar and full.reynolds < TURBULENT_LIMIT:
        notes.append("Flow between laminar and turbulent: the friction is uncertain here.")
    if slope > 0.25 * pi:
        notes.append("Steeper than 45°: oil clings round the wall rather than running half full.")
    by_friction = 0.5 * area(bore) * full.speed / froth
    by_venting = area(bore) * SELF_VENTING * sqrt(GRAVITY * bore) / froth
    return DrainFlow(by_friction, by_venting, full.speed, full.reynolds, full.laminar, tuple(notes))


def least_drain(
    flow: float, slope: float, oil: Liquid, froth: float, roughness: float = DRAWN_TUBE_ROUGHNESS
) -> DrainBore:
    """Least bore that drains a flow of oil by gravity; the inverse of `drain_flow`.

    flow: of oil, without the air in it, [m3/s]. slope: of the flattest stretch, below level, [rad]. oil: at
    the drain's temperature; a cold start asks for more. froth: as in `drain_flow`, [-]. roughness: [m].
    Errors: ValueError for a flow that is not above zero or froth below 1.
    Source: as `drain_flow`; in closed form where laminar, else by Brent's method.
    """
    if not 0.0 < flow < inf or not 1.0 <= froth < inf:
        raise ValueError("The flow is above zero, and froth takes at least the oil's own volume.")
    if not 0.0 < slope <= 0.5 * pi:
        return DrainBore(None, None, None, "The drain does not run downhill here: no bore drains it.")
    mix, gradient = _froth(oil, froth), sin(slope)
    by_venting = (4.0 * froth * flow / (pi * SELF_VENTING * sqrt(GRAVITY))) ** 0.4
    by_friction = (256.0 * mix.kinematic * froth * flow / (pi * GRAVITY * gradient)) ** 0.25
    if not full_flow(max(by_friction, by_venting), gradient, mix, roughness).laminar:
        by_friction = _turbulent_bore(2.0 * froth * flow, gradient, mix.kinematic, roughness)
    bore = max(by_friction, by_venting)
    if bore > WIDEST:
        return DrainBore(None, None, None, "No sensible bore drains so much oil, so thick, down this slope.")
    reason = "So that air goes up." if by_venting > by_friction else "So that the oil runs down half full."
    return DrainBore(bore, by_friction, by_venting, reason)


def usual_drains(least: float) -> tuple[str, ...]:
    """Names of the usual drains whose bore is at least this. least: [m]. Source: common practice, no
    source."""
    return tuple(name for name, bore in USUAL_DRAINS.items() if bore >= least)


def _froth(oil: Liquid, froth: float) -> Liquid:
    return Liquid(oil.density / froth, oil.viscosity)


def _turbulent_speed(bore: float, gradient: float, kinematic: float, roughness: float) -> float:
    """Speed [m/s] at a gradient by Colebrook (1939): Re sqrt(f) does not depend on the speed."""
    pull = sqrt(2.0 * GRAVITY * gradient * bore)
    return -2.0 * pull * log10(roughness / (3.7 * bore) + 2.51 * kinematic / (bore * pull))


def _turbulent_bore(volume: float, gradient: float, kinematic: float, roughness: float) -> float:
    """Bore [m] of the full tube that passes a volume flow [m3/s]; infinite beyond twice the widest drain."""

    def over(bore: float) -> float:
        return area(bore) * _turbulent_speed(bore, gradient, kinematic, roughness) - volume

    return float(brentq(over, _NARROWEST, 2.0 * WIDEST)) if over(2.0 * WIDEST) > 0.0 else inf


def _walther(kinematic: float) -> float:
    return log10(log10(1e6 * kinematic + 0.7))
