"""Rules of coolant lines and heater hoses, explained."""

from server.core.air.coolant import UNDER_PRESSURE
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, Value, among, at_least, is_
from server.core.checks.case import Case
from server.core.tube.run import Place
from server.core.units import Kind, to_si


def heater() -> Case:
    """A heater hose of 16 mm, bent round a tin of 170 mm; rated 3 bar at 125 °C, under a cap of 1.1 bar."""
    numbers = {
        "heater.bore": 16.0 * bench.MM,
        "heater.radius": 85.0 * bench.MM,
        "heater.rated_pressure": 3.0 * bench.BAR,
        "heater.rated_temperature": to_si(125.0, "degC"),
        "heater.cap": 1.1 * bench.BAR,
    }
    return bench.fitted(Place.HEATER, numbers, {"heater.shape": "bent", "heater.bleed": "no"})


_BORE = Sign("D", "bore of the hose", Kind.length)
_RADIUS = Sign("r", "radius of its tightest bend, to the inside", Kind.length)
_BORES = Sign("n", "bores of radius that it asks for", Kind.ratio)
_LEAST = Sign("r", "tightest bend that passes", Kind.length, below="least")
_FULL = Sign("k", "part of it that will do while the hose is under pressure", Kind.ratio)
_UNDER = Sign("r", "tightest bend under pressure", Kind.length, below="pressure")


def bent() -> Example:
    """A heater hose round a tin of 170 mm."""
    case = heater()
    facts = bench.facts(case)
    given: dict[Sign, Value] = {
        _BORE: facts.figure("heater.bore"),
        _RADIUS: facts.figure("heater.radius"),
        _BORES: facts.limit("coolant.bend"),
        _FULL: UNDER_PRESSURE,
    }
    told = (Told(_RADIUS, "bend"), Told(_LEAST, "bend", "limit"))
    return Example("A straight heater hose of 16 mm bore, bent to 85 mm.", case, given, told)


_RATED = Sign("p", "working pressure of the hose", Kind.pressure, below="rated")
_CAP = Sign("p", "pressure of the cap", Kind.pressure, below="cap")
_PUMP = Sign("p", "what the pump adds", Kind.pressure, below="pump")
_HIGHEST = Sign("p", "highest pressure in the hose", Kind.pressure, below="most")
_STANDS = Sign("T", "temperature that the hose is rated for", Kind.temperature, below="rated")
_HOTTEST = Sign("T", "coolant at its hottest", Kind.temperature, below="most")


def rated() -> Example:
    """A hose of 3 bar under a cap of 1.1 bar."""
    case = heater()
    facts = bench.facts(case)
    given: dict[Sign, Value] = {
        _RATED: facts.figure("heater.rated_pressure"),
        _CAP: facts.figure("heater.cap"),
        _PUMP: facts.limit("coolant.pump"),
        _STANDS: facts.figure("heater.rated_temperature"),
        _HOTTEST: facts.limit("coolant.hottest"),
    }
    told = (
        Told(_RATED, "pressure"),
        Told(_HIGHEST, "pressure", "limit"),
        Told(_STANDS, "temperature"),
        Told(_HOTTEST, "temperature", "limit"),
    )
    return Example("A hose rated 3 bar at 125 °C under a cap of 1.1 bar.", case, given, told)


_LEAVES = Sign("B", "whether air gets out at the highest spot")
_YES = Sign("Y", "the answer that passes")


def trapped() -> Example:
    """A heater hose over the bell housing without a bleed point."""
    case = heater()
    given: dict[Sign, Value] = {_LEAVES: bench.facts(case).said("heater.bleed"), _YES: ("yes",)}
    return Example("A heater hose with its highest spot midway, and no bleed point there.", case, given)


EXPLAINED = (
    Explained(
        "hose-kink",
        (is_(_LEAST, _BORES * _BORE), at_least(_RADIUS, _LEAST)),
        bent,
        (is_(_UNDER, _FULL * _LEAST), at_least(_RADIUS, _UNDER)),
        (
            "The hose's own data sheet goes before the usual number of bores; change the limit to it.",
            "A moulded hose and hard line keep their shape: for them nothing is worked out.",
        ),
    ),
    Explained(
        "coolant-rating",
        (is_(_HIGHEST, _CAP + _PUMP), at_least(_RATED, _HIGHEST), at_least(_STANDS, _HOTTEST)),
        rated,
        notes=("The working pressure counts at the temperature that is typed beside it.",),
    ),
    Explained("trapped-air", (among(_LEAVES, _YES),), trapped),
)
"""What the handbook explains about each rule: its formula as a tree, and an example worked with it."""
