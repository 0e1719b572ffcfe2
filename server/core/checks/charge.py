"""Rules of the charge pipe alone: what pushes each clamped joint apart, and what stresses each metal wall."""

from math import pi

from server.core.air.expansion import Metal, metal_named
from server.core.checks.facts import Facts
from server.core.checks.layout import HoseJoint, piece_label
from server.core.checks.levers import THERE
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
from server.core.checks.strength import STRENGTHS, hoop_stress
from server.core.measure.many import greatest
from server.core.phrase import Amount, Phrase, pressure, temperature
from server.core.sources import source
from server.core.tube.run import PieceKind, PiecePlan
from server.core.units import Kind

TUBES = frozenset({PieceKind.TUBE, PieceKind.BEND, PieceKind.SALVAGED, PieceKind.REDUCER})
"""Kinds whose wall pressure stresses as a tube's; a reducer where it is of metal."""


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
    if holds is None and (old := _old_force(facts, at)) is not None:
        return _like_before(facts, at, force, old)
    if holds is None:
        text = (
            "{force} pushes at {joint} at {boost}. What bead and clamp hold has no source: type a figure "
            "and where it comes from, or what the joint was that stood here before, or fit a bracket."
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


def _old_force(facts: Facts, at: HoseJoint) -> float | None:
    """End force that the joint before held [N], None where it is not said. Source: statics."""
    diameter, held = (
        facts.size_or_none("joint", at.joint.plan.id, name) for name in ("old_diameter", "old_pressure")
    )
    return None if diameter is None or held is None else end_force(diameter, held)


def _like_before(facts: Facts, at: HoseJoint, force: float, old: float) -> Found:
    """Compares like with like: what pushes now against what pushed, and was held, before.

    A bead and clamp like those before hold that much for certain; within the reserve more is tight. Source:
    common practice.
    """
    highest, reserve = facts.engine.highest_boost, facts.limit("end_force.reserve")

    def about() -> About:
        words = {"joint": at.joint.label}
        times = Amount(force / old if old > 0.0 else 0.0, Kind.ratio)
        amounts = {"force": Amount(force, Kind.force), "boost": pressure(highest), "times": times}
        amounts |= {"old": Amount(old, Kind.force)}
        text = "{force} pushes at {joint} at {boost}: {times} times the {old} that the joint before it held."
        return About(
            Phrase(text, words, amounts),
            "joint",
            at.joint.number,
            old,
            force,
            Kind.force,
            tight_margin=reserve * old - force,
            moves=(Phrase("Fit a bracket that takes the thrust at {joint}, or type what it holds.", words),),
        )

    return Found(at.joint.item, old - force, about)


def wall_stresses(facts: Facts) -> Findings:
    """Hoop stress of every metal tube at the highest boost against its strength as hot as the charge.

    Source: Barlow; strength by the table of its metal.
    """
    tubes = [
        piece
        for piece in facts.plan.pieces
        if piece.kind in TUBES and not piece.is_hose and (not piece.material or metal_named(piece.material))
    ]
    return for_each(tubes, lambda piece: f"piece.{piece.id}", lambda piece: (_stress_in(facts, piece),))


def _strength(facts: Facts, piece: PiecePlan, metal: Metal | None) -> float:
    words = {"piece": piece_label(piece), "metal": piece.material}
    if metal is None:
        raise NotMeasured(Phrase("Say which metal {piece} is of.", words))
    known = STRENGTHS.get(metal.name)
    found = None if known is None else known.at(facts.engine.hottest)
    if found is None:
        amounts = {"air": temperature(facts.engine.hottest)}
        raise NotMeasured(Phrase("No strength is known here of {metal} at {air} ({piece}).", words, amounts))
    return found


def _stress_in(facts: Facts, piece: PiecePlan) -> Found:
    strength = _strength(facts, piece, metal_named(piece.material))
    ends = facts.ends(piece)
    outside, wall = greatest(*(facts.outside(end) for end in ends)), facts.wall_or_usual(*ends)
    if wall <= 0.0:
        text = "The wall of {piece} comes out at nothing: look at its bore and outside diameter."
        raise NotMeasured(Phrase(text, {"piece": piece_label(piece)}), f"piece.{piece.id}.wall")
    highest, reserve = facts.engine.highest_boost, facts.limit("hoop.reserve")
    stress = hoop_stress(outside, wall, highest)

    def about() -> About:
        words = {"piece": piece_label(piece), "metal": piece.material}
        amounts = {
            "stress": Amount(stress, Kind.stress),
            "strength": Amount(strength, Kind.stress),
            "boost": pressure(highest),
            "air": temperature(facts.engine.hottest),
            "reserve": Amount(reserve, Kind.ratio),
        }
        text = (
            "{boost} stresses the wall of {piece} to {stress}; {metal} stands {strength} at {air}, "
            "{reserve} times the stress is asked."
        )
        lever = Lever(
            f"piece.{piece.id}.wall",
            Phrase("A wall of {value} in {piece} turns this to go.", words),
            number=piece.number,
        )
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            strength,
            reserve * stress,
            Kind.stress,
            tight_margin=strength - stress,
            levers=() if piece.origin in THERE else (lever,),
            moves=(Phrase("Put a thicker wall or a stronger metal in place of {piece}.", words),),
        )

    return Found(f"piece.{piece.id}", strength - reserve * stress, about)


RULES = (
    Rule(
        "end-force",
        "End force at clamped joints",
        CHARGE,
        RuleClass.PERFORMANCE,
        "F = p(highest) · π D² / 4, D the tube's outside diameter",
        "Against what is typed as held, with a reserve; held with less reserve is tight. No public figure"
        " says what a bead and clamp hold: where none is typed, against what the joint before it held; more"
        " than that, within the reserve, is tight.",
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
    Rule(
        "hoop",
        "Stress in a tube's wall",
        CHARGE,
        RuleClass.PERFORMANCE,
        "σ = p(highest) · D / (2 t), n · σ ≤ R(metal, T(charge))",
        "Against the least 0.2 % proof strength of the metal, soft as a weld leaves it and as hot as the "
        "charge, with a reserve for dents, welds and shaking; less reserve is tight. The usual wall where "
        "none is typed.",
        ("hoop.reserve", "wall.usual"),
        (source("barlow"), source("proof-stainless"), source("proof-memory"), source("practice")),
        Caution(
            SignalWord.WARNING,
            "A pipe that bursts under boost strikes hard. A crack, a deep dent or a poor weld takes far more "
            "than this sum leaves: look at every weld before pressure is put on it.",
        ),
        wall_stresses,
    ),
)
