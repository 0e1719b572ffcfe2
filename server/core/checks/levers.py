"""The size that most cures turn: the bore of a piece.

The diameters of a piece that is there already are as they are: a cure puts another piece in its place.
"""

from dataclasses import replace

from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.layout import End, piece_label
from server.core.checks.rule import Lever
from server.core.measure.estimate import Estimate
from server.core.phrase import Amount, Phrase
from server.core.tube.run import Offered, Origin, PieceKind, PiecePlan, RunPlan

THERE = frozenset({Origin.IN_GARAGE, Origin.SALVAGED, Origin.BORROWED})
"""Where a piece comes from that nobody makes or buys for this run."""

DIAMETERS = ("outside_diameter", "outside_diameter_out", "bore", "bore_out")
DIAMETER_AS_SOLD = 0.00015
"""Standard uncertainty of the diameters of a bought piece [m]; common practice, no source."""
WALL_AS_SOLD = 0.06
"""Relative standard uncertainty of a wall as sold, within 10 % either way; common practice, no source."""


def bore_levers(facts: Facts, piece: PiecePlan, wanted: float | None = None) -> tuple[Lever, ...]:
    """A larger bore at a piece's narrower end; by its outside diameter where that is what was typed.

    wanted: a bore to try first [m]. None for an air meter: its bore is what it was calibrated with.
    """
    if piece.kind is PieceKind.METER:
        return ()
    variable = facts.bore_variable(facts.narrower_end(piece))
    text = "A bore of {bore} in {piece} turns this to go."
    if ".outside_diameter" in variable:
        text = "A bore of {bore} ({value} outside) in {piece} turns this to go."
        if wanted is not None:
            wanted += 2.0 * (facts.wall_or_none(End(piece, False)) or 0.0)
    phrase = Phrase(text, {"piece": piece_label(piece)})
    return (Lever(variable, phrase, number=piece.number, first=wanted),)


def piece_there(plan: RunPlan, variable: str) -> PiecePlan | None:
    """The piece whose diameter this variable is, where that piece is there already; else None."""
    owner, number, size = (*variable.split("."), "", "")[:3]
    if owner != "piece" or size not in DIAMETERS:
        return None
    return next((one for one in plan.pieces if str(one.id) == number and one.origin in THERE), None)


def with_another(case: Case, piece: PiecePlan) -> Case:
    """The same case with a bought piece of the same sizes in the place of one that is there already.

    Its diameters and wall are as sure as those of a bought piece, no surer.
    """
    wall = piece.sizes.get("wall")
    doubts = dict.fromkeys(DIAMETERS, DIAMETER_AS_SOLD)
    doubts["wall"] = min(DIAMETER_AS_SOLD, WALL_AS_SOLD * wall.value) if wall is not None else 0.0
    sizes = {
        name: Estimate(size.value, max(size.doubt, doubts.get(name, 0.0)))
        for name, size in piece.sizes.items()
    }
    bought = replace(piece, sizes=sizes, origin=Origin.NEW, offered=Offered.NOT_YET, tried="", part_id=None)
    pieces = tuple(bought if one.id == piece.id else one for one in case.plan.pieces)
    return replace(case, plan=replace(case.plan, pieces=pieces))


def another(piece: PiecePlan, amounts: dict[str, Amount], *, outside: bool) -> Phrase:
    """What to put in the place of a piece that is there already: `bore`, and `value` where told outside."""
    size = "{bore} bore ({value} outside)" if outside else "{bore} bore"
    return Phrase(f"Put a piece of {size} in place of {{piece}}.", {"piece": piece_label(piece)}, amounts)


def bore_move(piece: PiecePlan, words: dict[str, str], amounts: dict[str, Amount]) -> Phrase:
    """What to do about a piece that is not the only narrow one; `amounts`: `asked`, the least bore."""
    if piece.origin in THERE:
        text = "Put a piece of {asked} bore or more in place of {piece}, and of every other narrow piece too."
    else:
        text = "Give {piece} a bore of {asked} or more, and every other narrow piece too."
    return Phrase(text, words, amounts)
