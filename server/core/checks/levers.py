"""The size that most cures turn: the bore of a piece."""

from server.core.checks.facts import Facts
from server.core.checks.layout import End, piece_label
from server.core.checks.rule import Lever
from server.core.phrase import Phrase
from server.core.tube.run import PieceKind, PiecePlan


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
