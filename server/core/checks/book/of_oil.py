"""Rules of a turbo's oil, explained: what feeds it, and what drains it."""

from math import sin

from server.core.air.hydraulics import SHARP_ORIFICE, Liquid
from server.core.air.oil import GRAVITY, SELF_VENTING, feed_flow, full_flow
from server.core.checks import oil_drain, oil_feed
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import PI, Root, Sign, Value, among, at_least, at_most, is_
from server.core.checks.case import Case
from server.core.tube.run import Place
from server.core.units import Kind

_FITTED = Sign("R", "whether a restrictor is fitted")
_DRAWN = Sign("A", "what the maker's drawing allows")
_BORE = Sign("D", "bore of the restrictor", Kind.length)
_ASKED = Sign("D", "its bore by the drawing", Kind.length, below="drawn")
_SLACK = Sign("s", "by how much it may differ", Kind.length)
_LEAST = Sign("D", "narrowest bore that passes", Kind.length, below="least")
_WIDEST = Sign("D", "widest bore that passes", Kind.length, below="most")


def restricted() -> Example:
    """A ball bearing whose drawing asks for a restrictor of 1 mm; one of 0.8 mm is fitted."""
    numbers = {"oil.restrictor_asked": 1.0 * bench.MM, "oil.restrictor_bore": 0.8 * bench.MM}
    said = {"oil.bearing": "ball", "oil.drawing": "yes", "oil.restrictor": "yes"}
    case = bench.fitted(Place.OIL_FEED, numbers, said)
    facts = bench.facts(case)
    given: dict[Sign, Value] = {
        _FITTED: facts.said("oil.restrictor"),
        _DRAWN: (facts.said("oil.drawing"),),
        _BORE: facts.figure("oil.restrictor_bore"),
        _ASKED: facts.figure("oil.restrictor_asked"),
        _SLACK: facts.limit("oil.restrictor_slack"),
    }
    told = (Told(_BORE, "narrow"), Told(_LEAST, "narrow", "limit"), Told(_WIDEST, "wide", "limit"))
    text = "A ball bearing whose drawing asks for a restrictor of 1 mm; one of 0.8 mm is fitted."
    return Example(text, case, given, told)


_FEED = Sign("D", "bore of the oil feed line", Kind.length, below="feed")
_USUAL = Sign("D", "least bore that is usual for the bearing", Kind.length, below="usual")
_DROP = Sign("p", "oil pressure at the gauge, hot", Kind.pressure)
_DENSITY = Sign("ρ", "density of hot oil", Kind.density)
_JET = Sign("C", "discharge coefficient of a sharp hole, π / (π + 2)", Kind.ratio)
_PASSED = Sign("V", "hot oil through the restrictor", Kind.volume_flow, "cc/min")
_ENOUGH = Sign("V", "least that it has to pass", Kind.volume_flow, "cc/min", below="least")


def fed() -> Example:
    """A feed of 4 mm bore, a restrictor of 1 mm and 4 bar of hot oil at a ball bearing."""
    numbers = {
        "oil.feed_bore": 4.0 * bench.MM,
        "oil.restrictor_bore": 1.0 * bench.MM,
        "oil.pressure": 4.0 * bench.BAR,
    }
    case = bench.fitted(Place.OIL_FEED, numbers, {"oil.bearing": "ball", "oil.restrictor": "yes"})
    facts = bench.facts(case)
    bore, drop = facts.figure("oil.restrictor_bore"), facts.figure("oil.pressure")
    given: dict[Sign, Value] = {
        _FEED: facts.figure("oil.feed_bore"),
        _USUAL: oil_feed.least_feed(facts),
        _BORE: bore,
        _DROP: drop,
        _DENSITY: oil_feed.HOT_OIL.density,
        _JET: SHARP_ORIFICE,
        _ENOUGH: facts.limit("oil.flow"),
    }
    told = (
        Told(_FEED, "feed bore"),
        Told(_USUAL, "feed bore", "limit"),
        Told(_PASSED, "restrictor"),
        Told(_ENOUGH, "restrictor", "limit"),
    )
    text = "A ball bearing fed through 4 mm and a restrictor of 1 mm; 4 bar when the oil is hot."
    return Example(text, case, given, told, {_PASSED: feed_flow(bore, drop, oil_feed.HOT_OIL).flow})


def drain() -> Case:
    """A drain of 16 mm that falls 180 mm along 300 mm, in above the oil, for 1.2 l/min of a W-40."""
    numbers = {
        "drain.bore": 16.0 * bench.MM,
        "drain.fall": 180.0 * bench.MM,
        "drain.length": 300.0 * bench.MM,
        "drain.flow": 1.2e-3 / 60.0,
        "drain.froth": 1.5,
    }
    said = {"drain.downhill": "yes", "drain.above": "yes", "drain.grade": "40"}
    return bench.fitted(Place.OIL_DRAIN, numbers, said)


_WAY = Sign("W", "whether it runs downhill all the way")
_ALLOWED = Sign("A", "the answer that passes")
_FALL = Sign("h", "fall of the drain", Kind.length)
_ALONG = Sign("L", "its length", Kind.length)
_SINE = Sign("sin α", "sine of its slope below level", Kind.ratio)
_FLATTEST = Sign("sin α", "the same of the least slope", Kind.ratio, below="least")


def falling() -> Example:
    """A drain that falls 180 mm along 300 mm."""
    case = drain()
    facts = bench.facts(case)
    given: dict[Sign, Value] = {
        _WAY: facts.said("drain.downhill"),
        _ALLOWED: ("yes",),
        _FALL: facts.figure("drain.fall"),
        _ALONG: facts.figure("drain.length"),
        _FLATTEST: sin(facts.limit("drain.slope")),
    }
    same = {_SINE: sin(oil_drain.slope_of(facts))}
    return Example("A drain that falls 180 mm along 300 mm.", case, given, (), same)


_ENTRY = Sign("E", "whether it enters above the oil level")


def entering() -> Example:
    """A drain that enters above the oil."""
    given: dict[Sign, Value] = {_ENTRY: "yes", _ALLOWED: ("yes",)}
    return Example("A drain that enters the sump above its oil.", drain(), given)


_DRAIN = Sign("D", "bore of the drain", Kind.length, below="drain")
_SECTION = Sign("S", "area of its bore", unit="m²")
_FROTH = Sign("f", "volume of the froth over that of its oil", Kind.ratio)
_GRAVITY = Sign("g", "gravity", unit="m/s²")
_VENTS = Sign("k", "speed over √(g D) up to which air goes up", Kind.ratio)
_COMES = Sign("V", "oil that the turbo passes, hot", Kind.volume_flow, "cc/min")
_AIR_UP = Sign("V", "oil at which air still goes up", Kind.volume_flow, "cc/min", below="air")
_FULL = Sign("v", "speed of the froth in the full tube at this slope", Kind.speed)
_DOWN = Sign("V", "oil that runs down half full", Kind.volume_flow, "cc/min", below="down")


def draining() -> Example:
    """A drain of 16 mm under a ball bearing."""
    case = drain()
    facts = bench.facts(case)
    bore, froth, oil = facts.figure("drain.bore"), facts.figure("drain.froth"), oil_drain.oil_of(facts)
    mixed = Liquid(oil.density / froth, oil.viscosity)
    given: dict[Sign, Value] = {
        _DRAIN: bore,
        _FROTH: froth,
        _GRAVITY: GRAVITY,
        _VENTS: SELF_VENTING,
        _COMES: facts.figure("drain.flow"),
        _FULL: full_flow(bore, sin(oil_drain.slope_of(facts)), mixed).speed,
    }
    told = (
        Told(_AIR_UP, "venting"),
        Told(_COMES, "venting", "limit"),
        Told(_DOWN, "running down"),
    )
    text = "A drain of 16 mm for 1.2 l/min of hot W-40 with half as much air in it, 180 mm down along 300 mm."
    return Example(text, case, given, told)


EXPLAINED = (
    Explained(
        "oil-restrictor",
        (
            among(_FITTED, _DRAWN),
            is_(_LEAST, _ASKED - _SLACK),
            at_least(_BORE, _LEAST),
            is_(_WIDEST, _ASKED + _SLACK),
            at_most(_BORE, _WIDEST),
        ),
        restricted,
        notes=(
            "Where the drawing asks for none, none may be fitted, and its bore does not enter.",
            "Where nobody has seen the drawing it is not measured: ball bearings often take a restrictor,"
            " journal bearings usually none.",
        ),
    ),
    Explained(
        "oil-feed",
        (
            at_least(_FEED, _USUAL),
            is_(_PASSED, _JET * (PI * _BORE**2 / 4.0) * Root(2.0 * _DROP / _DENSITY)),
            at_least(_PASSED, _ENOUGH),
        ),
        fed,
        notes=(
            "The bearing behind the restrictor takes part of the pressure, so that less passes than this.",
            "A bearing that is not known is taken as a journal bearing, which wants the wider feed.",
            "Without a restrictor the bore of the feed alone is looked at.",
        ),
    ),
    Explained(
        "drain-downhill",
        (among(_WAY, _ALLOWED), is_(_SINE, _FALL / _ALONG), at_least(_SINE, _FLATTEST)),
        falling,
        notes=("A mean slope hides a sag: look along the drain, the car level.",),
    ),
    Explained("drain-entry", (among(_ENTRY, _ALLOWED),), entering),
    Explained(
        "drain-bore",
        (
            is_(_SECTION, PI * _DRAIN**2 / 4.0),
            is_(_AIR_UP, _SECTION * _VENTS * Root(_GRAVITY * _DRAIN) / _FROTH),
            at_least(_AIR_UP, _COMES),
            is_(_DOWN, _SECTION * _FULL / (2.0 * _FROTH)),
            at_least(_DOWN, _COMES),
        ),
        draining,
        notes=(
            "The speed is Hagen and Poiseuille's where the froth runs laminar, else by Colebrook's friction.",
            "Froth is as much lighter as it is larger, and taken to be as thick as its oil.",
        ),
    ),
)
"""What the handbook explains about each rule: its formula as a tree, and an example worked with it."""
