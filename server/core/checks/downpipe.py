"""Rules of what exhaust flows through: its speed, the back pressure it makes, and metal that stands it."""

from server.core.checks.any_run import speeds
from server.core.checks.facts import Facts
from server.core.checks.flow import flow_of, most_lossy, narrowest
from server.core.checks.layout import piece_label
from server.core.checks.levers import bore_levers
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    HOT,
    About,
    Caution,
    Findings,
    Found,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
    plain,
)
from server.core.measure.many import greatest, log
from server.core.phrase import Phrase, pressure, temperature
from server.core.sources import source
from server.core.tube.run import RUBBERS, PiecePlan
from server.core.units import Kind

_LEAST_PRESSURE = 1.0
"""Pressures are compared as a ratio, so none is taken smaller than this [Pa]."""

_MELTS = ("alumin", "zinc", "galvan", "plastic", "nylon", "polyamide", "abs", "fibre", "carbon")
"""Words of materials that exhaust melts, burns or drives fumes out of; common practice, no source."""

_STANDS = ("steel", "stainless", "304", "316", "321", "347", "409", "iron", "titanium", "nickel")
"""Words of materials that stand exhaust; common practice, no source."""

_STEELS = ("aluminised", "aluminized", "carbon steel")
"""Steels whose names hold a word of what melts; common practice, no source."""


def gas_speed(facts: Facts) -> Findings:
    """Mach number of the exhaust in every piece at the peak. Source: `air.back_pressure`."""
    return speeds(facts, "hot.mach", "hot.mach_hard")


def back_pressure(facts: Facts) -> Findings:
    """Back pressure at the turbine's outlet at the peak, as a ratio to its limit.

    Source: `air.back_pressure`; the limit, a maker's installation note.
    """
    found = flow_of(facts).back_pressure
    assert found is not None  # every hot run has one
    total = greatest(found + facts.pressure_before, _LEAST_PRESSURE)
    most = max(facts.limit("back.most"), _LEAST_PRESSURE)

    def about() -> About:
        piece = most_lossy(facts)
        case = facts.case.engine
        assert case is not None  # or there would be no flow
        rest = facts.pressure_behind + facts.pressure_before
        amounts = {
            "total": pressure(total),
            "rest": pressure(rest),
            "most": pressure(most),
            "gas": temperature(facts.engine.temperature),
        }
        text = (
            "Back pressure at the turbine is {total} at the peak, {rest} of it taken for the rest of the "
            "exhaust; up to {most} passes. Gas at {gas}"
        )
        text += ", the usual: nobody typed it." if case.usual_temperature else "."
        words = {"piece": piece_label(piece)}
        return About(
            Phrase(text, words, amounts),
            "run",
            None,
            total,
            most,
            Kind.pressure,
            tight_margin=facts.limit("back.hard") - total,
            levers=(*bore_levers(facts, narrowest(facts)), *bore_levers(facts, piece)),
            moves=(Phrase("Widen {piece} first: it loses the most.", words),),
            doubt_scale=total,
        )

    if flow_of(facts).choked_at is not None:
        return (plain("run", False, about),)
    return (Found("run", log(most / total), about),)


def hot_metal(facts: Facts) -> Findings:
    """Every piece is of a metal that stands exhaust. Source: common practice."""
    return for_each(facts.plan.pieces, lambda piece: f"piece.{piece.id}", _stands_heat)


def _stands_heat(piece: PiecePlan) -> tuple[Found, ...]:
    words = {"piece": piece_label(piece), "material": piece.material}
    low = piece.material.lower()
    for steel in _STEELS:
        low = low.replace(steel, "steel")
    fails = piece.is_hose or piece.material in RUBBERS or any(word in low for word in _MELTS)
    if not fails and not any(word in low for word in _STANDS):
        raise NotMeasured(Phrase("Say which metal {piece} is of.", words))

    def about() -> About:
        text = "{piece} is of {material}: it stands exhaust."
        if fails:
            text = "{piece} is of {material}: exhaust melts it, burns it or drives fumes out of it."
            if not piece.material:
                text = "{piece} is a hose: exhaust burns it."
        move = Phrase("Make {piece} of bare steel or stainless steel.", words)
        return About(Phrase(text, words), "piece", piece.number, moves=(move,))

    return (plain(f"piece.{piece.id}", not fails, about),)


RULES = (
    Rule(
        "gas-speed",
        "Exhaust speed and Mach number",
        HOT,
        RuleClass.PERFORMANCE,
        "m = m(air) · (1 + 1 / (λ (A/F)s)); M = v / √(γ R T), fastest place of each piece, at the peak",
        "Mach number at the peak; over the first limit is tight, over the second no-go.",
        ("hot.mach", "hot.mach_hard"),
        (source("practice"), source("burnt-gas"), source("heat-of-gases"), source("shapiro")),
        None,
        gas_speed,
    ),
    Rule(
        "back-pressure",
        "Back pressure at the turbine",
        HOT,
        RuleClass.PERFORMANCE,
        "p(turbine outlet) − p(air) ≤ limit, the run marched from the pressure behind it",
        "Static, at the peak, with what the rest of the exhaust is taken to need. No heat counts as lost on "
        "the way, which errs on the safe side.",
        ("back.most", "back.hard", "back.behind_downpipe", "back.behind_exhaust", "back.downpipe"),
        (source("maker"), source("practice"), source("shapiro")),
        None,
        back_pressure,
    ),
    Rule(
        "hot-metal",
        "Metal that stands exhaust",
        HOT,
        RuleClass.INJURY,
        "material is steel, stainless steel, cast iron, titanium or a nickel alloy",
        "No hose, plastic, aluminium or zinc coat on the hot side.",
        (),
        (source("practice"),),
        Caution(
            SignalWord.DANGER,
            "Exhaust that leaks into the cabin kills without a smell, and heats what it blows on until it "
            "burns. Let it cool before a hand comes near. Zinc gives off toxic fumes when welded or hot. "
            "Local codes have the last word.",
        ),
        hot_metal,
    ),
)
