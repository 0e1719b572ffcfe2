"""Rules of pieces that are not bought new: card that stands in, borrowed fittings, hoses offered up."""

from server.core.checks.facts import Facts
from server.core.checks.layout import piece_label
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import ANY_RUN, About, Findings, Found, Rule, RuleClass, for_each, plain
from server.core.phrase import Phrase
from server.core.sources import source
from server.core.tube.run import Offered, Origin, PieceKind, PiecePlan, Place

_FREE_LINES = frozenset(
    {
        Place.OIL_FEED,
        Place.OIL_DRAIN,
        Place.COOLANT,
        Place.HEATER,
        Place.SIGNAL,
        Place.WASTEGATE,
        Place.BREATHER,
        Place.FUEL,
        Place.BYPASS,
    }
)
"""Where a hose finds its own way, so that a tape tells neither its length nor its shape."""

_BURNS = frozenset({Place.OIL_FEED, Place.OIL_DRAIN, Place.FUEL})
"""Where a hose that chafes through feeds a fire."""


def mock_ups(facts: Facts) -> Findings:
    """Card, wire or an old hose stands in a run until the real piece is drawn. Source: common practice."""
    stand_ins = [piece for piece in facts.plan.pieces if piece.origin is Origin.MOCK_UP]
    return for_each(stand_ins, lambda piece: f"piece.{piece.id}", _stands_in)


def _stands_in(piece: PiecePlan) -> tuple[Found, ...]:
    text = "{piece} is a mock-up: draw the piece that takes its place."
    raise NotMeasured(Phrase(text, {"piece": piece_label(piece)}), f"piece.{piece.id}.origin")


def tried_on(facts: Facts) -> Findings:
    """A fitting borrowed from another model fits when it was tried on. Source: common practice."""
    borrowed = [piece for piece in facts.plan.pieces if piece.origin is Origin.BORROWED or piece.tried]
    return for_each(borrowed, lambda piece: f"piece.{piece.id}", _tried)


def _tried(piece: PiecePlan) -> tuple[Found, ...]:
    words = {"piece": piece_label(piece)}
    if piece.tried not in {"fits", "does not"}:
        raise NotMeasured(
            Phrase(
                "{piece} is borrowed from another model: try it on, and say on its part how it went.", words
            )
        )
    fits = piece.tried == "fits"

    def about() -> About:
        text = "{piece} was tried on and {fits}."
        move = Phrase("Find another fitting for {piece}, or draw one that is made for it.", words)
        told = words | {"fits": "fits" if fits else "does not fit"}
        return About(Phrase(text, told), "piece", piece.number, moves=(move,))

    return (plain(f"piece.{piece.id}", fits, about),)


def offered_up(facts: Facts) -> Findings:
    """What offering a piece up at the car showed; a free hose has to be. Source: common practice."""
    offered = [
        piece
        for piece in facts.plan.pieces
        if piece.offered is not Offered.NOT_YET
        or (piece.kind is PieceKind.HOSE and facts.plan.place in _FREE_LINES)
    ]
    return for_each(offered, lambda piece: f"piece.{piece.id}", lambda piece: _offered(facts, piece))


def _offered(facts: Facts, piece: PiecePlan) -> tuple[Found, ...]:
    words = {"piece": piece_label(piece), "note": piece.offered_note}
    if piece.offered is Offered.NOT_YET:
        text = "A hose's length and shape are unknown until it is offered up: offer up {piece}."
        raise NotMeasured(Phrase(text, words), f"piece.{piece.id}.offered")
    texts = {
        Offered.FITS: "{piece} was offered up and fits",
        Offered.TOUCHES: "{piece} was offered up and touches: it chafes through there",
        Offered.SHORT: "{piece} was offered up and is short",
    }
    moves = {
        Offered.FITS: "Keep {piece}.",
        Offered.TOUCHES: "Turn or clip {piece} away from what it touches, or draw another way.",
        Offered.SHORT: "Take a longer {piece}, or another shape; offer up again.",
    }
    # What touches can be clipped away; where oil or fuel would come out, it can't be left so.
    tight = piece.offered is Offered.TOUCHES and facts.plan.place not in _BURNS

    def about() -> About:
        text = texts[piece.offered] + (": {note}." if piece.offered_note else ".")
        return About(
            Phrase(text, words),
            "piece",
            piece.number,
            tight_margin=1.0 if tight else None,
            moves=(Phrase(moves[piece.offered], words),),
        )

    return (plain(f"piece.{piece.id}", piece.offered is Offered.FITS, about),)


RULES = (
    Rule(
        "mock-up",
        "No piece is a mock-up",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "no piece of card, wire or an old hose stands in the run",
        "A mock-up shows the way; it is not measured until a real piece takes its place.",
        (),
        (source("practice"),),
        None,
        mock_ups,
    ),
    Rule(
        "tried-on",
        "Borrowed fittings tried on",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "each fitting of another model: tried on, fits",
        "Not measured until it is tried on; one that does not fit is no-go.",
        (),
        (source("practice"),),
        None,
        tried_on,
    ),
    Rule(
        "offered-up",
        "Hoses offered up",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "each hose of a free line: offered up, fits",
        "A tape tells neither length nor shape of a free hose: not measured until offered up. Short is "
        "no-go; touching is tight, on oil and fuel no-go.",
        (),
        (source("practice"),),
        None,
        offered_up,
    ),
)
