"""Rules of a turbo's oil, explained: what feeds it, and what drains it."""

from server.core.air.hydraulics import SHARP_ORIFICE
from server.core.air.oil import feed_flow
from server.core.checks import oil_feed
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import PI, Root, Sign, Value, among, at_least, at_most, is_
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
)
"""What the handbook explains about each rule: its formula as a tree, and an example worked with it."""
