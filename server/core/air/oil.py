"""Oil of a turbo: what its feed passes, whether that takes a restrictor, and the bore that drains it.

The drain is reckoned as a round tube that runs half full, so that air goes up as oil goes down. At half
full area and wetted wall are both half of the full tube's: its speed is that of the full tube at the same
slope, by Darcy's friction, and its flow half. Manning's formula is not used: it was made for water in rough
channels.
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

FROTH = 2.0
"""Volume of the froth that leaves a turbo over the oil's own, [-]; common practice, no source."""

WIDEST = 0.2
"""No drain is wider, [m]: a bore above it means that the oil does not run down this slope."""

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
    """Oil down a drain that runs half full.

    oil: without the air in it, [m3/s]. speed: of the froth, [m/s]. reynolds: [-]. laminar: how it runs.
    notes: where the sum is uncertain.
    """

    oil: float
    speed: float
    reynolds: float
    laminar: bool
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DrainBore:
    """The least bore that drains a flow of oil. bore: [m], None where no bore does. reason: in words."""

    bore: float | None
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
    Returns [m2/s]. Made for mineral and like oils between their cloud point and the start of boiling.
    Errors: ValueError where a number is not above zero, or the hot oil not hotter and thinner.
    Source: Walther's equation as in ASTM D341, log log (nu + 0.7) = A - B log T, nu in mm2/s.
    """
    given = (temperature, *cold, *hot)
    if not all(0.0 < value < inf for value in given) or cold[0] >= hot[0] or cold[1] <= hot[1]:
        raise ValueError("Temperatures and viscosities are above zero, the hot oil hotter and thinner.")
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
    bore: float, slope: float, oil: Liquid, froth: float = FROTH, roughness: float = DRAWN_TUBE_ROUGHNESS
) -> DrainFlow | None:
    """Oil that a drain takes down by gravity, running half full.

    bore: [m]. slope: below level, [rad]. oil: at the drain's temperature. froth: its volume with the air in
    it over the oil's own, 1 for none, [-]: froth is lighter by as much, and taken to be as thick as the
    oil, which flatters it. roughness: [m]. None where the slope is not downhill: nothing runs.
    Errors: ValueError for a bore that is not above zero or froth below 1.
    Source: `full_flow` of the full tube, half of its area; see above.
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
    flow = 0.5 * area(bore) * full.speed / froth
    return DrainFlow(flow, full.speed, full.reynolds, full.laminar, tuple(notes))


def least_drain(
    flow: float, slope: float, oil: Liquid, froth: float = FROTH, roughness: float = DRAWN_TUBE_ROUGHNESS
) -> DrainBore:
    """Least bore that drains a flow of oil by gravity, running half full; the inverse of `drain_flow`.

    flow: of oil, without the air in it, [m3/s]. slope: of the flattest stretch, below level, [rad]. oil: at
    the drain's temperature; a cold start asks for more. froth: [-]. roughness: [m].
    Errors: ValueError for a flow that is not above zero or froth below 1.
    Source: as `drain_flow`; solved in closed form where laminar, else by Brent's method.
    """
    if not 0.0 < flow < inf or not 1.0 <= froth < inf:
        raise ValueError("The flow is above zero, and froth takes at least the oil's own volume.")
    if not 0.0 < slope <= 0.5 * pi:
        return DrainBore(None, "The drain does not run downhill here: no bore drains it.")
    mix, volume, gradient = _froth(oil, froth), 2.0 * froth * flow, sin(slope)
    bore = (128.0 * mix.kinematic * volume / (pi * GRAVITY * gradient)) ** 0.25
    if 4.0 * volume / (pi * bore * mix.kinematic) > LAMINAR_LIMIT:

        def over(tried: float) -> float:
            return area(tried) * _turbulent_speed(tried, gradient, mix.kinematic, roughness) - volume

        # The turbulent tube is the wider of the two; one that is not found below 2 × WIDEST is none.
        bore = float(brentq(over, bore, 2.0 * WIDEST)) if over(2.0 * WIDEST) > 0.0 else inf
    if bore > WIDEST:
        return DrainBore(None, "No sensible bore drains so much of so thick an oil down this slope.")
    return DrainBore(bore, "Running half full, air going up above the oil.")


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


def _walther(kinematic: float) -> float:
    return log10(log10(1e6 * kinematic + 0.7))
