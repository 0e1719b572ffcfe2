"""Rules of what a hot run does between cold and hot: its flex, and the growth that the flex must take."""

from server.core.air.expansion import growth, metal_named
from server.core.checks.facts import Facts
from server.core.checks.layout import piece_label
from server.core.checks.missing import NotMeasured
from server.core.checks.rule import HOT, About, Findings, Found, Rule, RuleClass, for_each, plain
from server.core.phrase import Amount, Phrase, length, temperature
from server.core.sources import source
from server.core.tube.run import PieceKind, PiecePlan
from server.core.units import Kind


def _flexes(facts: Facts) -> tuple[PiecePlan, ...]:
    return tuple(piece for piece in facts.plan.pieces if piece.kind is PieceKind.FLEX)


def exhaust_flex(facts: Facts) -> Findings:
    """One metal flex between two frames, straight beside it, its liner downstream, the pipe after it held.

    Source: common practice.
    """
    flexes = _flexes(facts)
    return (
        *_there(facts, flexes),
        *for_each(flexes, lambda flex: f"piece.{flex.id}.straight", lambda flex: _straight(facts, flex)),
        *for_each(flexes, lambda flex: f"piece.{flex.id}.liner", _liner),
        *(_held(flex) for flex in flexes),
    )


def _there(facts: Facts, flexes: tuple[PiecePlan, ...]) -> tuple[Found, ...]:
    """Whether there is one flex. Nothing to say where both ends move together, or nobody said with what."""
    start, end = facts.plan.start, facts.plan.end
    if len(flexes) > 1:
        text = "{count} flexes in one run: the pipe between them swings."
        found = Phrase(text, {"count": str(len(flexes))})
        move = Phrase("Keep one flex, between the engine and the first hanger.")
        return (plain("flexes", False, lambda: About(found, tight_margin=1.0, moves=(move,))),)
    if start is None or end is None or not start.frame or not end.frame or start.frame == end.frame:
        return ()
    words = {"first": start.frame, "second": end.frame}

    def about() -> About:
        text = "One metal flex between the {first} and the {second}."
        if not flexes:
            text = "No metal flex between the {first} and the {second}: pipe, manifold or flange will crack."
        return About(
            Phrase(text, words),
            moves=(Phrase("Put a lined metal flex between the {first} and the {second}.", words),),
        )

    return (plain("flexes", bool(flexes), about),)


def _straight(facts: Facts, flex: PiecePlan) -> tuple[Found, ...]:
    """Straight length between a flex and the next bend at either side, in bores."""
    asked = facts.limit("flex.straight") * facts.bore(facts.narrower_end(flex))
    found = []
    for side, step, leg in (("before", -1, "length_out"), ("after", 1, "length")):
        straight = 0.0
        neighbour = _next(facts, flex, step)
        while neighbour is not None and neighbour.is_straight and straight < asked:
            straight += facts.size("piece", neighbour.id, "length")
            neighbour = _next(facts, neighbour, step)
        if neighbour is None or neighbour.is_straight:
            continue
        nearest = facts.leg_or_none(neighbour, at_outlet=step < 0)
        straight += facts.size("piece", neighbour.id, leg) if nearest is None else nearest
        found.append(_leg(flex, neighbour, side, straight, asked))
    return tuple(found)


def _next(facts: Facts, piece: PiecePlan, step: int) -> PiecePlan | None:
    index = facts.plan.pieces.index(piece) + step
    return facts.plan.pieces[index] if 0 <= index < len(facts.plan.pieces) else None


def _leg(flex: PiecePlan, bend: PiecePlan, side: str, straight: float, asked: float) -> Found:
    words = {"flex": piece_label(flex), "bend": piece_label(bend), "side": side}

    def about() -> About:
        amounts = {"straight": length(straight), "asked": length(asked)}
        text = "{straight} of straight {side} {flex}, up to {bend}; {asked} is asked."
        return About(
            Phrase(text, words, amounts),
            "piece",
            flex.number,
            straight,
            asked,
            Kind.length,
            tight_margin=straight - 0.5 * asked,
            moves=(Phrase("Move {flex} {asked} or more away from {bend}.", words, amounts),),
        )

    return Found(f"piece.{flex.id}.{side}", straight - asked, about)


def _liner(flex: PiecePlan) -> tuple[Found, ...]:
    words = {"flex": piece_label(flex)}
    if not flex.liner:
        raise NotMeasured(
            Phrase("Say which way the liner of {flex} points: downstream is right.", words),
            f"piece.{flex.id}.liner",
        )
    texts = {
        "downstream": "The liner of {flex} points downstream.",
        "none": "{flex} has no liner: hot gas beats on the bellows.",
    }
    text = texts.get(flex.liner, "The liner of {flex} points upstream: gas gets behind it and tears it out.")
    move = Phrase("Turn {flex} round." if flex.liner == "upstream" else "Take a lined flex.", words)
    tight = 1.0 if flex.liner == "none" else None

    def about() -> About:
        return About(Phrase(text, words), "piece", flex.number, tight_margin=tight, moves=(move,))

    return (plain(f"piece.{flex.id}.liner", flex.liner == "downstream", about),)


def _held(flex: PiecePlan) -> Found:
    words = {"flex": piece_label(flex)}

    def about() -> About:
        text = "The pipe after {flex} is held."
        if not flex.supported:
            text = "Nothing is said to hold the pipe after {flex}: its weight hangs on the flex."
        move = Phrase("Hang the pipe close after {flex}, and say so on the piece.", words)
        return About(Phrase(text, words), "piece", flex.number, tight_margin=1.0, moves=(move,))

    return plain(f"piece.{flex.id}.held", flex.supported, about)


def hot_growth(facts: Facts) -> Findings:
    """Growth of the run from cold to hot against what its flex takes.

    The metal is taken to be as hot as the gas, and every piece to grow along one line. Both err on the safe
    side: metal runs 100 K and more below the gas, and a bent run grows less from end to end than along its
    centre line. What an expansion taken near room temperature leaves out, 5 to 10 %, is less than that.
    Source: linear expansion.
    """
    if not facts.plan.pieces:
        return ()
    grown = sum(grows(facts, piece) for piece in facts.plan.pieces)
    flexes = _flexes(facts)
    if not flexes:
        return (_free(facts, grown),)
    travel = min(_travel(facts, flex) for flex in flexes)
    most = facts.limit("growth.share") * travel
    flex = flexes[0]

    def about() -> About:
        amounts = _grown(facts, grown) | {"travel": length(travel), "most": length(most)}
        text = (
            "The run grows {grown} from {cold} to {hot}, its metal taken as hot as the gas; {flex} has "
            "{travel} of travel and growth may take {most} of it."
        )
        words = {"flex": piece_label(flex)}
        move = Phrase("Take a flex with more travel, or one end that can slide, for {grown} of growth.")
        return About(
            Phrase(text, words, amounts),
            "piece",
            flex.number,
            grown,
            most,
            Kind.length,
            tight_margin=travel - grown,
            moves=(Phrase(move.text, words, amounts),),
        )

    return (Found("run", most - grown, about),)


def _free(facts: Facts, grown: float) -> Found:
    most = facts.limit("growth.free")

    def about() -> About:
        amounts = _grown(facts, grown) | {"most": length(most)}
        text = (
            "The run grows {grown} from {cold} to {hot}, its metal taken as hot as the gas, and has no flex; "
            "hangers and brackets take {most}."
        )
        move = Phrase("Put a flex in, or let every bracket after the turbine give by {grown}.", {}, amounts)
        return About(
            Phrase(text, {}, amounts),
            "run",
            None,
            grown,
            most,
            Kind.length,
            tight_margin=1.0,
            moves=(move,),
        )

    return Found("run", most - grown, about)


def _grown(facts: Facts, grown: float) -> dict[str, Amount]:
    engine = facts.engine
    return {
        "grown": length(grown),
        "cold": temperature(engine.demand.ambient_temperature),
        "hot": temperature(engine.temperature),
    }


def grows(facts: Facts, piece: PiecePlan) -> float:
    """How much longer a piece is when hot [m], as hot as the gas. Source: linear expansion."""
    metal = metal_named(piece.material)
    if metal is None:
        raise NotMeasured(Phrase("Say which metal {piece} is of.", {"piece": piece_label(piece)}))
    engine = facts.engine
    # A flange is so thin that it counts as nothing where nobody typed how thin.
    thin = piece.kind is PieceKind.FLANGE and facts.size_or_none("piece", piece.id, "length") is None
    along = 0.0 if thin else facts.length_along(piece)
    return growth(along, metal.expansion, engine.demand.ambient_temperature, engine.temperature)


def _travel(facts: Facts, flex: PiecePlan) -> float:
    travel = facts.size_or_none("piece", flex.id, "travel")
    if travel is None:
        words = {"flex": piece_label(flex)}
        text = "Type by how much {flex} may be pushed together, from its maker's drawing."
        raise NotMeasured(Phrase(text, words), f"piece.{flex.id}.travel")
    return travel


RULES = (
    Rule(
        "exhaust-flex",
        "Flex of the exhaust",
        HOT,
        RuleClass.PERFORMANCE,
        "one flex between two frames; straight beside it ≥ n · d; liner downstream; held after it",
        "Neutral at rest, in line with the engine's roll, without twist. Half of the straight length asked "
        "is tight, and so is a flex without liner or without anything that holds the pipe after it.",
        ("flex.straight",),
        (source("practice"),),
        None,
        exhaust_flex,
    ),
    Rule(
        "growth",
        "Growth from cold to hot",
        HOT,
        RuleClass.PERFORMANCE,
        "Δ = Σ α L (T(gas) − T(air)) ≤ share × travel of the flex",
        "Metal as hot as the gas and pieces in one line, both on the safe side. More than the share but "
        "within the travel is tight; without a flex, more than hangers take is tight.",
        ("growth.share", "growth.free"),
        (source("expansion"), source("expansion-memory"), source("practice")),
        None,
        hot_growth,
    ),
)
