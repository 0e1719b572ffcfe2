"""Rules of a turbo's oil feed: a restrictor only where its maker's drawing asks for one, and enough oil."""

from math import ceil, hypot

from server.core.air.hydraulics import Liquid, orifice_bore
from server.core.air.oil import Bearing, Drawing, Restrictor, feed_flow, restrictor
from server.core.checks.facts import Facts
from server.core.checks.figures import Figures
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    About,
    Caution,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
    plain,
)
from server.core.measure.estimate import Estimate
from server.core.phrase import Amount, Phrase, length, pressure
from server.core.sources import source
from server.core.tube.run import Place
from server.core.units import Kind

OIL_FEED = frozenset({Place.OIL_FEED})
HOT_OIL = Liquid(820.0, 820.0 * 12e-6)
"""Engine oil of a usual grade at 100 °C, [kg/m3], [Pa s]; common practice, no source."""

_FLOW = "cc/min"
_DRILL = 5e-5
"""Between the bores of small drills, [m]."""
_SURELY = 1.05
"""On the bore that just passes enough, so that it does with the doubts of bore and pressure too, [-]."""

_DRAWINGS = {"yes": Drawing.asks, "no": Drawing.none}

_DRY = Caution(
    SignalWord.DANGER,
    "A turbo that is short of oil seizes within seconds, and oil that sprays or weeps on a hot turbine is a"
    " fire. Prime by hand with clean oil, injection and ignition disabled; stop where no pressure shows."
    " Extinguisher at hand. The turbo maker's drawing, local codes and licensed practice come first.",
)


def bearing_of(facts: Facts) -> Bearing:
    """The turbo's bearing; not known where nobody said."""
    return Bearing(facts.case.figures.said.get("oil.bearing", Bearing.not_known.value))


def drawing_of(facts: Facts) -> Drawing:
    """What the maker's drawing says of a restrictor; not seen where nobody said."""
    return _DRAWINGS.get(facts.case.figures.said.get("oil.drawing", ""), Drawing.not_seen)


def restrictor_as_drawn(facts: Facts) -> Findings:
    """Whether a restrictor is fitted as the maker's drawing asks, of its bore. Source: common practice."""
    answer = restrictor(bearing_of(facts), drawing_of(facts))
    if answer.answer is Restrictor.ask:
        text = Phrase("{reason} Find the maker's drawing and look.", {"reason": answer.reason})
        raise NotMeasured(text, "figure.oil.drawing")
    fitted = facts.said("oil.restrictor") == "yes"
    wanted = answer.answer is Restrictor.fit
    found = plain("fitted", fitted is wanted, lambda: _as_drawn(answer.reason, fitted, wanted))
    return (found, *_bore_as_drawn(facts)) if fitted and wanted else (found,)


def _as_drawn(reason: str, fitted: bool, wanted: bool) -> About:
    text, move = "None is fitted.", "Fit none."
    if fitted:
        text, move = "One is fitted.", "Take the restrictor out before the engine turns."
    if wanted:
        move = "Fit the restrictor that the maker's drawing gives before the engine turns."
        if not fitted:
            text = "None is fitted: oil floods the seals."
    return About(Phrase("{reason} " + text, {"reason": reason}), moves=(Phrase(move),))


def _bore_as_drawn(facts: Facts) -> tuple[Found, Found]:
    asked, slack = facts.figure("oil.restrictor_asked"), facts.limit("oil.restrictor_slack")
    bore = facts.figure("oil.restrictor_bore")
    least, most = asked - slack, asked + slack

    def about(limit: float, margin: float, what_is_wrong: str) -> About:
        amounts = {"bore": length(bore), "asked": length(asked)}
        text = "The restrictor's bore is {bore}; the maker's drawing gives {asked}."
        if margin < 0.0:
            text += what_is_wrong
        exact = Phrase("A restrictor of {value} bore, as drawn, turns this to go.")
        lever = Lever("figure.oil.restrictor_bore", exact, rising=bore < asked, first=asked)
        return About(Phrase(text, {}, amounts), value=bore, limit=limit, kind=Kind.length, levers=(lever,))

    return (
        Found("narrow", bore - least, lambda: about(least, bore - least, " Narrower starves the bearing.")),
        Found("wide", most - bore, lambda: about(most, most - bore, " Wider floods the seals.")),
    )


def enough_oil(facts: Facts) -> Findings:
    """Bore of the feed against what is usual, and what a restrictor passes. Source: `air.oil.feed_flow`."""
    looks = {"feed bore": _feed_bore, "restrictor": _through_restrictor}
    return for_each(looks, str, lambda item: looks[item](facts))


def least_feed(facts: Facts) -> float:
    """Bore of a feed line that is usual for the bearing [m]; a journal's, the wider, where none is said."""
    return facts.limit("oil.feed_ball" if bearing_of(facts) is Bearing.ball else "oil.feed_journal")


def _feed_bore(facts: Facts) -> tuple[Found, ...]:
    bore, least = facts.figure("oil.feed_bore"), least_feed(facts)

    def about() -> About:
        amounts = {"bore": length(bore), "least": length(least)}
        words = {"bearing": bearing_of(facts).value}
        text = "The oil feed has a bore of {bore}; {least} is the least that is usual, bearing {bearing}."
        wider = Phrase("An oil feed of {value} bore turns this to go.")
        return About(
            Phrase(text, words, amounts),
            value=bore,
            limit=least,
            kind=Kind.length,
            levers=(Lever("figure.oil.feed_bore", wider),),
        )

    return (Found("feed bore", bore - least, about),)


def _through_restrictor(facts: Facts) -> tuple[Found, ...]:
    if facts.said("oil.restrictor") != "yes":
        return ()
    drop, bore = facts.figure("oil.pressure"), facts.figure("oil.restrictor_bore")
    passed = feed_flow(bore, drop, HOT_OIL)
    least = facts.limit("oil.flow")

    def about() -> About:
        amounts = {
            "bore": length(bore),
            "drop": pressure(drop),
            "flow": Amount(passed.flow, Kind.volume_flow, _FLOW),
            "least": Amount(least, Kind.volume_flow, _FLOW),
        }
        text = "At {drop} a restrictor of {bore} passes at most {flow} of hot oil; {least} is the least."
        wider = Phrase("A restrictor of {value} bore passes enough; fit it only where the drawing agrees.")
        drill = ceil(_SURELY * orifice_bore(least, drop, HOT_OIL.density) / _DRILL) * _DRILL
        return About(
            Phrase(" ".join((text, *passed.notes)), {}, amounts),
            value=passed.flow,
            limit=least,
            kind=Kind.volume_flow,
            levers=(Lever("figure.oil.restrictor_bore", wider, first=drill),),
        )

    return (Found("restrictor", passed.flow - least, about),)


def passed_by(figures: Figures) -> Estimate | None:
    """Hot oil that the restrictor of a feed passes [m3/s], from its sheet; None where it does not tell.

    Without a restrictor the bearing decides, and no sheet tells. Source: `air.oil.feed_flow`; the doubts of
    bore and pressure to first order.
    """
    bore, drop = (figures.numbers.get(key) for key in ("oil.restrictor_bore", "oil.pressure"))
    if figures.said.get("oil.restrictor") != "yes" or bore is None or drop is None:
        return None
    flow = feed_flow(bore.value, drop.value, HOT_OIL).flow
    share = hypot(2.0 * bore.doubt / bore.value, 0.5 * drop.doubt / drop.value)
    return Estimate(flow, share * flow)


RULES = (
    Rule(
        "oil-restrictor",
        "Oil restrictor as the maker's drawing asks",
        OIL_FEED,
        RuleClass.INJURY,
        "restrictor fitted = drawing asks for one; D(drawn) − s ≤ D ≤ D(drawn) + s",
        "Only where bearing and drawing ask: a needless one starves the bearing, a missing one floods the"
        " seals. Not known is not measured.",
        ("oil.restrictor_slack",),
        (source("maker"), source("practice")),
        _DRY,
        restrictor_as_drawn,
        on_figures=True,
    ),
    Rule(
        "oil-feed",
        "Oil reaches the bearing",
        OIL_FEED,
        RuleClass.INJURY,
        "D(feed) ≥ usual; C · π D²/4 · √(2 p / ρ) ≥ least flow",
        "Bore of the feed by the bearing; through a restrictor, hot oil at the gauge's pressure.",
        ("oil.feed_journal", "oil.feed_ball", "oil.flow"),
        (source("practice"), source("orifice")),
        _DRY,
        enough_oil,
        on_figures=True,
    ),
)
