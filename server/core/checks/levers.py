"""The size that most cures turn: the bore of a piece."""

from server.core.checks.facts import Facts
from server.core.checks.layout import piece_label
from server.core.checks.rule import Lever
from server.core.phrase import Phrase
from server.core.tube.run import PiecePlan


def bore_lever(facts: Facts, piece: PiecePlan) -> Lever:
    """A larger bore at a piece's narrower end; by its outside diameter where that is what was typed."""
    variable = facts.bore_variable(facts.narrower_end(piece))
    text = "A bore of {bore} in {piece} turns this to go."
    if ".outside_diameter" in variable:
        text = "A bore of {bore} ({value} outside) in {piece} turns this to go."
    return Lever(variable, Phrase(text, {"piece": piece_label(piece)}), number=piece.number)
