"""Rules of the gap to what stands near a run: what movement and growth leave of it."""

from server.core.checks.facts import Facts
from server.core.checks.hot_flex import grows
from server.core.checks.layout import piece_label
from server.core.checks.missing import Missing, NotMeasured
from server.core.checks.near import frame_of, nature_of
from server.core.checks.rule import (
    ANY_RUN,
    HOT,
    About,
    Caution,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
)
from server.core.phrase import Phrase, length
from server.core.sources import source
from server.core.tube.run import Frame, NeighbourPlan, PieceKind, PiecePlan, Stood, Warmth, What
from server.core.units import Kind

LOOKED_ROUND = "neighbours.looked_round"
"""What is missing where nobody looked along the run: no size, but a look at what stands near it."""

_LOOK = (
    "Look along the run, above and below, and enter what stands near it: brake and fuel lines, steering,"
    " shafts, looms, floor, ground. Where nothing does, say so there."
)


def line_gaps(facts: Facts) -> Findings:
    """The gap to what can hurt somebody: brake and fuel lines, steering, turning shafts.

    A hot run that nobody looked along is not measured. Source: common practice.
    """
    measured = any(one.id > 0 for one in facts.plan.neighbours)
    looked = measured or facts.plan.looked_round or facts.plan.place not in HOT or not facts.plan.pieces
    missing = () if looked else (Missing("run", Phrase(_LOOK), LOOKED_ROUND),)
    return (*missing, *_gaps(facts, injury=True))


def other_gaps(facts: Facts) -> Findings:
    """The gap to everything else that stands near. Source: common practice."""
    return _gaps(facts, injury=False)


def _gaps(facts: Facts, *, injury: bool) -> Findings:
    near = [one for one in facts.plan.neighbours if nature_of(one).injury is injury]
    return for_each(near, lambda one: f"neighbour.{one.id}", lambda one: (_gap(facts, one),))


def piece_beside(facts: Facts, near: NeighbourPlan) -> PiecePlan:
    """The piece that a neighbour stands beside. Raises NotMeasured where it is out of the run."""
    found = next((piece for piece in facts.plan.pieces if piece.id == near.piece_id), None)
    if found is None:
        text = "The piece beside which {near} stands is out of the run: say beside which it stands now."
        raise NotMeasured(Phrase(text, {"near": near.name}), f"neighbour.{near.id}.piece")
    return found


def frames_of(facts: Facts, piece: PiecePlan) -> frozenset[str]:
    """What a piece may move with: a run changes from one frame to the other at what flexes.

    Of a flexing piece, and of one between two of them, both. Source: common practice. Raises NotMeasured.
    """
    plan = facts.plan
    if plan.start is None or plan.end is None:
        raise NotMeasured(Phrase("Choose the ports where the run starts and ends."))
    for port in (plan.start, plan.end):
        if not port.frame:
            raise NotMeasured(Phrase("Say what {port} moves with.", {"port": port.name}))
    rubber = plan.place not in HOT
    gives = [
        place
        for place, one in enumerate(plan.pieces)
        if one.kind is PieceKind.FLEX or (rubber and one.is_hose)
    ]
    place = plan.pieces.index(piece)
    if gives and place < gives[0]:
        return frozenset({plan.start.frame})
    if gives and place > gives[-1]:
        return frozenset({plan.end.frame})
    return frozenset({plan.start.frame, plan.end.frame})


def movement(facts: Facts, near: NeighbourPlan, piece: PiecePlan) -> float:
    """How far the two come towards each other, at most [m]: none where both move with the same frame.

    What is typed goes before what is usual of an engine on its mounts. Source: common practice. Raises
    NotMeasured for what swings with the wheels and was not measured at ride height, or without its sweep.
    """
    words = {"near": near.name}
    if near.what is What.GROUND:
        _at_ride_height(near)
        return facts.size_or_none("neighbour", near.id, "moves") or 0.0
    frame = frame_of(near)
    if not frame:
        raise NotMeasured(Phrase("Say what {near} moves with.", words), f"neighbour.{near.id}.frame")
    both = frames_of(facts, piece) | {frame}
    if len(both) == 1:
        return 0.0
    if Frame.SUSPENSION in both:
        _at_ride_height(near)
    typed = facts.size_or_none("neighbour", near.id, "moves")
    if typed is None and Frame.SUSPENSION in both:
        text = "Measure how far {near} comes towards the run: at droop, ride height, bump and full lock."
        raise NotMeasured(Phrase(text, words), f"neighbour.{near.id}.moves")
    return facts.limit("gap.engine_moves") if typed is None else typed


def _at_ride_height(near: NeighbourPlan) -> None:
    if near.stood is not Stood.AT_RIDE_HEIGHT:
        how = "on stands" if near.stood is Stood.ON_STANDS else "nobody said how the car stood"
        text = "The gap to {near} was measured with the car off its wheels ({how}): measure at ride height."
        if near.stood is Stood.NOT_SAID:
            text = "Say how the car stood as the gap to {near} was measured: it counts at ride height."
        raise NotMeasured(Phrase(text, {"near": near.name, "how": how}), f"neighbour.{near.id}.stood")


def growth_to(facts: Facts, piece: PiecePlan) -> float:
    """How far a hot run may push a piece as it heats up [m]: the growth of what stands before it.

    From the run's start, or from the last flex before it, the piece itself included. Source: linear
    expansion, metal as hot as the gas. Raises NotMeasured.
    """
    if facts.plan.place not in HOT:
        return 0.0
    before = facts.plan.pieces[: facts.plan.pieces.index(piece) + 1]
    flexes = [place for place, one in enumerate(before[:-1]) if one.kind is PieceKind.FLEX]
    return sum(grows(facts, one) for one in before[flexes[-1] + 1 if flexes else 0 :])


def left_key(near: NeighbourPlan) -> str:
    """The limit that says what has to be left of a gap."""
    if near.what is What.GROUND:
        return "gap.ground"
    return "gap.line" if nature_of(near).injury else "gap.left"


def _gap(facts: Facts, near: NeighbourPlan) -> Found:
    piece = piece_beside(facts, near)
    gap = facts.size("neighbour", near.id, "gap")
    moves = movement(facts, near, piece)
    grown = 0.0 if near.warmth is Warmth.HOT else growth_to(facts, piece)
    left = max(facts.limit(left_key(near)), facts.size_or_none("neighbour", near.id, "asked") or 0.0)
    least = moves + grown + left

    def about() -> About:
        words = {"near": near.name, "piece": piece_label(piece)}
        amounts = {"gap": length(gap), "moves": length(moves), "grown": length(grown), "left": length(left)}
        amounts |= {"least": length(least), "short": length(max(least - gap, 0.0))}
        text = (
            "{gap} from {piece} to {near}; {least} is asked: {moves} for movement, {grown} for growth, {left}"
            " to be left."
        )
        cure = "Move {near} {by} further from {piece}, to {value}: that turns this to go."
        move = "Move {near} and {piece} {short} further apart, and more for doubt: {least} is asked."
        if near.what is What.GROUND:
            cure = "Lift {piece} by {by}, to {value} above the ground: that turns this to go."
            move = "Lift {piece} by {short}, and more for doubt: {least} above the ground is asked."
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            gap,
            least,
            Kind.length,
            tight_margin=None if nature_of(near).injury else gap - moves - grown,
            levers=(Lever(f"neighbour.{near.id}.gap", Phrase(cure, words), number=piece.number),),
            moves=(Phrase(move, words, amounts),),
        )

    return Found(f"neighbour.{near.id}", gap - least, about)


RULES = (
    Rule(
        "line-gap",
        "Gap to brake and fuel lines, steering and shafts",
        ANY_RUN,
        RuleClass.INJURY,
        "gap ≥ movement between frames + growth of a hot run + what is to be left",
        "Only movement between different frames counts. A gap measured hot has its growth in it.",
        ("gap.engine_moves", "gap.line"),
        (source("practice"), source("expansion")),
        Caution(
            SignalWord.DANGER,
            "A brake or fuel line rubbed through, a steering shaft that jams, a shaft that catches a pipe:"
            " each can kill. Turn the steering lock to lock, wheels at droop and at bump, and look."
            " Makers' clearances, local codes and licensed practice come first.",
        ),
        line_gaps,
    ),
    Rule(
        "gap",
        "Gap to what else stands near",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        "gap ≥ movement between frames + growth of a hot run + what is to be left",
        "Without touching, but with less left than asked, is tight. The ground counts at ride height alone;"
        " local codes may ask for more.",
        ("gap.engine_moves", "gap.left", "gap.ground"),
        (source("practice"), source("expansion")),
        None,
        other_gaps,
    ),
)
