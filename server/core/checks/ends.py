"""Rules of the ends under a clamp: a bead on every one, and overlap with room for it."""

from server.core.checks.couplers import HELD_ENDS, at_hose_joints
from server.core.checks.facts import Facts
from server.core.checks.layout import End, HoseJoint
from server.core.checks.rule import (
    ANY_RUN,
    About,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    plain,
)
from server.core.phrase import Phrase, length
from server.core.sources import source
from server.core.tube.run import EndForm, Origin, PieceKind, PiecePlan, PortPlan
from server.core.units import Kind

_NO_KNOWN_SPIGOT = frozenset({PieceKind.METER, PieceKind.FILTER, PieceKind.FLANGE, PieceKind.FLEX})
"""Pieces whose length says nothing about the spigots at their ends."""


_ROLLED = frozenset({PieceKind.TUBE, PieceKind.BEND, PieceKind.SALVAGED})
"""Pieces whose ends are beaded at home."""


def bead(facts: Facts) -> Findings:
    """A bead or barb on every spigot under a clamp, on a leg and a wall that the bead roller takes.

    Source: common practice.
    """
    return at_hose_joints(facts, _bead_at)


def _bead_at(facts: Facts, at: HoseJoint) -> tuple[Found, ...]:
    words = {"joint": at.joint.label, "spigot": at.spigot.label, "end": at.spigot.form.value}
    leg = _leg_size(at.spigot)
    if leg is not None and facts.size_or_none(*leg) == 0.0:
        return (
            plain(
                at.joint.item,
                False,
                lambda: About(
                    Phrase(
                        "{spigot} is cut within its bend at {joint}: no straight leg, so no bead and no "
                        "clamp.",
                        words,
                    ),
                    "joint",
                    at.joint.number,
                    moves=(
                        Phrase(
                            "Weld a beaded stub to {spigot} at {joint}, or leave a leg when cutting.", words
                        ),
                    ),
                ),
            ),
        )
    passes = at.spigot.form in HELD_ENDS
    owner = at.spigot.owner

    def about() -> About:
        text = (
            "{spigot} has a {end} at {joint}."
            if passes
            else "{spigot} ends {end} at {joint}: the hose can slide off."
        )
        return About(
            Phrase(text, words),
            at.spigot.owner_kind,
            owner.id if isinstance(owner, PortPlan) else owner.number,
            moves=(Phrase("Roll a bead on {spigot} at {joint}, or weld a beaded end on.", words),),
        )

    return (plain(at.joint.item, passes, about), *_rolled(facts, at))


def _rolled(facts: Facts, at: HoseJoint) -> tuple[Found, ...]:
    """Whether the bead roller takes the end: long enough a leg, thin enough a wall.

    More than it takes is tight: such an end is bought beaded, or a beaded stub is welded on. Source: the
    tool's own numbers.
    """
    piece = at.spigot.owner
    if isinstance(piece, PortPlan) or piece.kind not in _ROLLED or at.spigot.form is not EndForm.BEAD:
        return ()
    if piece.origin is not Origin.NEW and piece.cut_from_id is None:
        return ()  # its beads came with it
    leg, wall = _leg_size(at.spigot), facts.wall_or_none(at.spigot)
    straight = None if leg is None else facts.size_or_none(*leg)
    found = []
    if straight is not None:
        found.append(_roller(at, "straight", straight, facts.limit("roller.straight")))
    if wall is not None:
        found.append(_roller(at, "wall", wall, facts.limit("roller.wall")))
    return tuple(found)


def _roller(at: HoseJoint, what: str, size: float, limit: float) -> Found:
    words = {"end": at.spigot.label, "joint": at.joint.label}
    is_leg = what == "straight"

    def about() -> About:
        text = "The bead roller takes {limit} of wall at most; {end} has {size} at {joint}."
        if is_leg:
            text = "The bead roller needs {limit} of straight; {end} has {size} at {joint}."
        move = Phrase("Buy {end} beaded, or weld a beaded stub to it at {joint}.", words)
        return About(
            Phrase(text, words, {"limit": length(limit), "size": length(size)}),
            "joint",
            at.joint.number,
            size,
            limit,
            Kind.length,
            tight_margin=0.0,
            moves=(move,),
        )

    margin = size - limit if is_leg else limit - size
    # The roller's own two numbers are rougher than any doubt of the end.
    return Found(f"{at.joint.item}.roller-{what}", margin, about, yes_or_no=True)


def overlap(facts: Facts) -> Findings:
    """Overlap that takes bead and clamp, and straight length for it on both sides.

    Source: common practice.
    """
    return at_hose_joints(facts, _overlap_at)


def _overlap_at(facts: Facts, at: HoseJoint) -> tuple[Found, ...]:
    typed = facts.size_or_none("joint", at.joint.plan.id, "overlap")
    least = facts.limit("overlap.least")
    rooms = [(end, room) for end in (at.spigot, at.hose) if (room := _room(facts, end)) is not None]
    if typed is None and len(rooms) < 2:
        raise facts.missing(f"joint.{at.joint.plan.id}.overlap")
    wanted = least if typed is None else typed
    findings = [_room_for(at, end, room, wanted) for end, room in rooms]
    return (*([] if typed is None else [_typed_overlap(at, typed, least)]), *findings)


def _typed_overlap(at: HoseJoint, typed: float, least: float) -> Found:
    words = {"joint": at.joint.label}

    def about() -> About:
        amounts = {"overlap": length(typed), "least": length(least)}
        lever = Lever(
            f"joint.{at.joint.plan.id}.overlap",
            Phrase("An overlap of {value} at {joint} turns this to go.", words),
            number=at.joint.number,
        )
        return About(
            Phrase("Overlap at {joint} is {overlap}; bead and clamp take {least}.", words, amounts),
            "joint",
            at.joint.number,
            typed,
            least,
            Kind.length,
            levers=(lever,),
            moves=(Phrase("Let {joint} overlap by {least} or more.", words, amounts),),
        )

    return Found(at.joint.item + ".overlap", typed - least, about)


def _room_for(at: HoseJoint, end: End, room: float, wanted: float) -> Found:
    words = {"joint": at.joint.label, "end": end.label, "part": "cuff" if end.is_hose else "straight leg"}

    def about() -> About:
        amounts = {"room": length(room), "wanted": length(wanted)}
        leg = _leg_size(end)
        levers = (
            ()
            if leg is None
            else (
                Lever(
                    ".".join(map(str, leg)),
                    Phrase("A {part} of {value} on {end} turns this to go.", words),
                    number=at.joint.number,
                ),
            )
        )
        return About(
            Phrase("{end} has {room} of {part} for {joint}; {wanted} is wanted.", words, amounts),
            "joint",
            at.joint.number,
            room,
            wanted,
            Kind.length,
            levers=levers,
            moves=(Phrase("Give {end} a longer {part} at {joint}.", words),),
        )

    return Found(f"{at.joint.item}.{'cuff' if end.is_hose else 'leg'}", room - wanted, about)


def _leg_size(end: End) -> tuple[str, int, str] | None:
    """The size that says how long the straight part at an end is, None where no length tells."""
    if isinstance(end.owner, PortPlan):
        return "port", end.owner.id, "length"
    if end.owner.kind in _NO_KNOWN_SPIGOT or (end.at_outlet and end.owner.turns):
        return None
    return "piece", end.owner.id, "length_out" if end.owner.has_arc and end.at_outlet else "length"


def _room(facts: Facts, end: End) -> float | None:
    """Straight length at an end that a joint may use [m].

    A straight piece clamped at both ends gives half to each.
    """
    if isinstance(end.owner, PiecePlan) and end.at_outlet and end.owner.turns:
        return end.owner.turns[-1].straight
    leg = _leg_size(end)
    room = None if leg is None else facts.size_or_none(*leg)
    if room is None or isinstance(end.owner, PortPlan) or not end.owner.is_straight:
        return room
    clamped = len(facts.layout.clamped_joints(end.owner))
    return 0.5 * room if clamped == 2 else room


RULES = (
    Rule(
        "bead",
        "Bead or barb at every clamped end",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "end form is bead or barb; leg ≥ straight that the roller needs; wall ≤ what it takes",
        "Every clamped end under pressure or suction. An end cut within its bend has no leg to bead or "
        "clamp. Change the roller's two numbers to those of yours; what it does not take is tight.",
        ("roller.straight", "roller.wall"),
        (source("practice"), source("j1231")),
        None,
        bead,
    ),
    Rule(
        "overlap",
        "Overlap takes bead and clamp",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "overlap ≥ least; straight leg and cuff ≥ overlap",
        "Bead, clamp and a little behind it must find room on both sides.",
        ("overlap.least",),
        (source("practice"),),
        None,
        overlap,
    ),
)
