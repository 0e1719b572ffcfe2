"""Rules of a turbo's oil drain: downhill all the way, in above the oil, and wide enough for oil and air."""

from math import asin

from server.core.air.hydraulics import Liquid
from server.core.air.oil import GRADES, SELF_VENTING, DrainFlow, drain_flow
from server.core.checks.facts import Facts
from server.core.checks.missing import NotMeasured
from server.core.checks.oil_feed import HOT_OIL
from server.core.checks.rule import (
    About,
    Caution,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    SignalWord,
    plain,
)
from server.core.phrase import Amount, Phrase, length
from server.core.sources import source
from server.core.tube.run import Place
from server.core.units import Kind

OIL_DRAIN = frozenset({Place.OIL_DRAIN})
_FLOW = "cc/min"
NO_FALL = 1e-6
"""A slope under this is none [rad]: it is rounding."""

_BACKED_UP = Caution(
    SignalWord.WARNING,
    "Oil that does not drain is pressed past the turbo's seals, into the exhaust and the intake: smoke, fire,"
    " an engine that runs on its own oil. A weeping drain over a turbine is a fire too. See that it flows"
    " within 30 s of starting. The turbo maker's drawing, local codes and licensed practice come first.",
)


def slope_of(facts: Facts) -> float:
    """Mean slope of the drain below level, under 0 uphill [rad]. Source: geometry. Raises NotMeasured."""
    fall, along = facts.figure("drain.fall"), facts.figure("drain.length")
    if facts.best.figure("drain.fall") > facts.best.figure("drain.length"):
        text = "The drain falls by more than its length: measure both again."
        raise NotMeasured(Phrase(text), "figure.drain.fall")
    return asin(max(min(fall / along, 1.0), -1.0))


def oil_of(facts: Facts) -> Liquid:
    """The oil at 100 °C, as thick as its grade allows. Source: `air.oil.GRADES`. Raises NotMeasured."""
    _, thickest = GRADES[int(facts.said("drain.grade"))]
    return Liquid(HOT_OIL.density, HOT_OIL.density * thickest)


def downhill(facts: Facts) -> Findings:
    """Downhill all the way, and steep enough on the whole. Source: common practice."""
    falls = facts.said("drain.downhill") == "yes"
    slope, least = slope_of(facts), facts.limit("drain.slope")
    return (
        plain("all the way", falls, lambda: _all_the_way(falls)),
        Found("slope", slope - least, lambda: _steep_enough(slope, least)),
        *_as_laid(facts),
    )


def _as_laid(facts: Facts) -> Findings:
    """The flattest bit of a drain that is drawn from port to port and keeps its shape."""
    lies = facts.case.lies
    if lies is None or not (lies.closes and lies.as_drawn):
        return ()
    flattest = lies.flattest

    def about() -> About:
        amounts = {"slope": Amount(abs(flattest), Kind.angle)}
        text = "As it is drawn its flattest bit falls by {slope}."
        if flattest <= 0.0:
            text = "As it is drawn a bit of it lies level or rises, by {slope}: oil stands there."
        move = Phrase("Lay the drain again, without a sag, a rise or a level bit.")
        return About(Phrase(text, {}, amounts), value=flattest, limit=0.0, kind=Kind.angle, moves=(move,))

    # Level is no fall: nothing is measured so well that it would pass.
    return (Found("as laid", flattest - NO_FALL, about),)


def _all_the_way(falls: bool) -> About:
    text = "The drain runs downhill all the way."
    if not falls:
        text = "The drain does not run downhill all the way: oil stands where it sags."
    return About(Phrase(text), moves=(Phrase("Lay the drain again, without a sag, a rise or a level bit."),))


def _steep_enough(slope: float, least: float) -> About:
    amounts = {"slope": Amount(slope, Kind.angle), "least": Amount(least, Kind.angle)}
    return About(
        Phrase("On the whole the drain lies {slope} below level; {least} is the least.", {}, amounts),
        value=slope,
        limit=least,
        kind=Kind.angle,
        levers=(Lever("figure.drain.fall", Phrase("A fall of {value} along it turns this to go.")),),
        moves=(Phrase("Let the drain in lower down, or stand the turbo higher."),),
    )


def enters_above(facts: Facts) -> Findings:
    """Whether the drain lets its oil out above the oil. Source: common practice."""
    stands_above = facts.said("drain.above") == "yes"

    def about() -> About:
        text = "The drain enters above the oil level."
        if not stands_above:
            text = "The drain enters under the oil level: oil backs up to the turbo's seals."
        move = "Let the drain in above the highest oil level, clear of the crank's throw and of its windage."
        return About(Phrase(text), moves=(Phrase(move),))

    return (plain("entry", stands_above, about),)


def drained(facts: Facts) -> DrainFlow | None:
    """What the drain takes; None where it does not fall. Source: `air.oil.drain_flow`. Raises NotMeasured."""
    froth = max(facts.figure("drain.froth"), 1.0)
    return drain_flow(facts.figure("drain.bore"), slope_of(facts), oil_of(facts), froth)


def wide_enough(facts: Facts) -> Findings:
    """What runs down the drain, and what still lets air up it, over what comes. Source: `air.oil`."""
    takes, comes = drained(facts), facts.figure("drain.flow")
    bore = facts.figure("drain.bore")
    venting, friction = (takes.by_venting, takes.by_friction) if takes is not None else (0.0, 0.0)
    air = "Air goes up a drain of {bore} past {takes} of oil at most; the turbo passes {comes}{by}."
    oil = "{takes} of oil at most runs down a drain of {bore} half full; the turbo passes {comes}{by}."
    by = ", as its feed's restrictor lets through" if "drain.flow" in facts.case.figures.taken else ""

    def about(flow: float, text: str) -> About:
        amounts = {
            "bore": length(bore),
            "takes": Amount(flow, Kind.volume_flow, _FLOW),
            "comes": Amount(comes, Kind.volume_flow, _FLOW),
        }
        return About(
            Phrase(text, {"by": by}, amounts),
            value=flow,
            limit=comes,
            kind=Kind.volume_flow,
            levers=(Lever("figure.drain.bore", Phrase("A drain of {value} bore turns this to go.")),),
            moves=(Phrase("A wider drain, or a steeper one."),),
        )

    return (
        Found("venting", venting - comes, lambda: about(venting, air)),
        Found("running down", friction - comes, lambda: about(friction, oil)),
    )


RULES = (
    Rule(
        "drain-downhill",
        "Oil drain downhill all the way",
        OIL_DRAIN,
        RuleClass.INJURY,
        "no sag, no rise, no level stretch; sin α = fall / length, α ≥ least slope",
        "Downhill all the way is said by whoever looked along it; the slope is that of the whole drain.",
        ("drain.slope",),
        (source("practice"), source("geometry")),
        _BACKED_UP,
        downhill,
        on_figures=True,
    ),
    Rule(
        "drain-entry",
        "Oil drain in above the oil",
        OIL_DRAIN,
        RuleClass.INJURY,
        "the drain's lower end stands above the oil level, engine running and still",
        "Under it, oil stands in the drain up to the level in the sump and more.",
        (),
        (source("practice"),),
        _BACKED_UP,
        enters_above,
        on_figures=True,
    ),
    Rule(
        "drain-bore",
        "Bore of the oil drain",
        OIL_DRAIN,
        RuleClass.INJURY,
        f"π D²/4 · {SELF_VENTING} √(g D) / froth ≥ V; ½ · π D²/4 · v(full, at this slope) / froth ≥ V",
        "Air has to go up while oil goes down, and the oil has to run half full; hot oil, as thick as its"
        " grade allows. A cold start asks for more.",
        (),
        (source("self-venting"), source("colebrook"), source("practice")),
        _BACKED_UP,
        wide_enough,
        on_figures=True,
    ),
)
