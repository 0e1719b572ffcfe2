"""Rule of the charge pipe alone: the end force that pushes each clamped joint apart."""

from math import pi

from server.core.checks.facts import Facts
from server.core.checks.layout import HoseJoint
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import (
    CHARGE,
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
from server.core.phrase import Amount, Phrase, pressure
from server.core.sources import source
from server.core.units import Kind


def end_force(outside_diameter: float, gauge_pressure: float) -> float:
    """Force that pushes a hose joint apart [N].

    outside_diameter: of the tube inside, where the hose seals [m]. gauge_pressure: inside less outside [Pa].
    Source: statics, F = p π D² / 4.

    >>> round(end_force(0.0635, 150e3), 1)
    475.0
    """
    return gauge_pressure * 0.25 * pi * outside_diameter**2


def end_forces(facts: Facts) -> Findings:
    """End force at every clamped joint against what is typed as held.

    Source: statics; what holds, the builder.
    """
    return for_each(
        facts.layout.hose_joints, lambda joint: joint.joint.item, lambda joint: (_force_at(facts, joint),)
    )


def _force_at(facts: Facts, at: HoseJoint) -> Found:
    joint = at.joint.plan
    highest = facts.engine.highest_boost
    force = end_force(facts.outside(at.spigot), highest)
    words = {"joint": at.joint.label, "origin": joint.holds_origin}
    amounts = {"force": Amount(force, Kind.force), "boost": pressure(highest)}
    if joint.bracket:
        taken = Phrase("{force} pushes at {joint} at {boost}; a bracket takes it.", words, amounts)
        return plain(at.joint.item, True, lambda: About(taken, "joint", at.joint.number))
    holds = facts.size_or_none("joint", joint.id, "holds")
    if holds is None:
        text = (
            "{force} pushes at {joint} at {boost}. What bead and clamp hold has no source: type a figure "
            "and where "
            "it comes from, or fit a bracket."
        )
        raise NotMeasured(Phrase(text, words, amounts), f"joint.{joint.id}.holds")
    if not joint.holds_origin:
        raise NotMeasured(
            Phrase("Say where the figure held at {joint} comes from; {force} pushes.", words, amounts)
        )
    reserve = facts.limit("end_force.reserve")

    def about() -> About:
        shown = amounts | {"holds": Amount(holds, Kind.force), "reserve": Amount(reserve, Kind.ratio)}
        text = (
            "{force} pushes at {joint} at {boost}; {holds} held ({origin}), {reserve} times the push is "
            "asked."
        )
        lever = Lever(
            f"joint.{joint.id}.holds",
            Phrase("A joint that holds {value} at {joint} turns this to go.", words),
            kind=Kind.force,
            number=at.joint.number,
        )
        return About(
            Phrase(text, words, shown),
            "joint",
            at.joint.number,
            holds,
            reserve * force,
            Kind.force,
            tight_margin=holds - force,
            levers=(lever,),
            moves=(Phrase("Fit a bracket that takes the thrust at {joint}.", words),),
        )

    return Found(at.joint.item, holds - reserve * force, about)


RULES = (
    Rule(
        "end-force",
        "End force at clamped joints",
        CHARGE,
        RuleClass.PERFORMANCE,
        "F = p(highest) · π D² / 4, D the tube's outside diameter",
        "Against what is typed as held, with a reserve; held with less reserve is tight. No public figure"
        " says what "
        "a bead and clamp hold.",
        ("end_force.reserve",),
        (source("statics"), source("typed"), source("practice")),
        Caution(
            SignalWord.WARNING,
            "A pipe that comes off under boost strikes hard. Stay clear of the engine under boost; try "
            "pressure on it "
            "low first, nobody in line with a joint.",
        ),
        end_forces,
    ),
)
