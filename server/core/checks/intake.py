"""Rules of the intake alone: suction at the compressor, and collapse of what stands under it."""

from server.core.checks.facts import Facts
from server.core.checks.flow import flow_of, loss_cost, most_lossy, narrowest
from server.core.checks.layout import End, piece_label
from server.core.checks.levers import bore_levers
from server.core.checks.rule import (
    CHARGE,
    INTAKE,
    About,
    Findings,
    Found,
    Lever,
    Rule,
    RuleClass,
    for_each,
    plain,
)
from server.core.measure.many import greatest, log
from server.core.phrase import Amount, Phrase, length, percent, pressure
from server.core.sources import source
from server.core.tube.run import PiecePlan
from server.core.units import Kind

_LEAST_LOSS = 1.0
"""Losses are compared as a ratio, so none is taken smaller than this [Pa]."""

_ALL_SUCTION = 101_325.0
"""No suction is greater than the pressure of the air outside [Pa]."""

_STIFFNESS = {
    "steel": 200e9,
    "mild steel": 200e9,
    "stainless": 193e9,
    "stainless steel": 193e9,
    "304 stainless": 193e9,
    "aluminium": 69e9,
}
"""Young's modulus [Pa]; from memory."""

_RUBBER_STIFFNESS = 5e6
"""Young's modulus of a hose wall, fabric left out [Pa]; common practice, no source."""

_POISSON = {True: 0.5, False: 0.3}
"""Poisson's ratio of a rubber (True) and a metal (False); from memory."""


def collapse_pressure(outside_diameter: float, wall: float, stiffness: float, poisson: float) -> float:
    """Outside pressure [Pa] at which a long round tube collapses.

    outside_diameter, wall: [m]. stiffness: Young's modulus [Pa]. poisson: Poisson's ratio [-].
    Raises ValueError where outside_diameter is not above zero. Source: Timoshenko, 2 E / (1 - nu²) (t / D)³.
    """
    if outside_diameter <= 0.0:
        raise ValueError("The outside diameter is above zero.")
    return 2.0 * stiffness / (1.0 - poisson**2) * (wall / outside_diameter) ** 3


def intake_loss(facts: Facts) -> Findings:
    """Suction at the compressor inlet at the peak, as a ratio to its limit. Source: `air.march`."""
    return _loss(facts, facts.engine.filter_loss, facts.limit("suction.most"))


def charge_loss(facts: Facts) -> Findings:
    """Loss of a charge pipe at the peak against the steady boost; nothing to say without boost. Source.

    `air.march`.
    """
    if facts.case.engine is not None and facts.case.engine.at_peak.boost <= 0.0:
        return ()
    return _loss(facts, 0.0, facts.allowed_loss)


def _loss(facts: Facts, before: float, most: float) -> Findings:
    total = greatest(before + flow_of(facts).loss, _LEAST_LOSS)
    most = greatest(most, _LEAST_LOSS)

    def about() -> About:
        piece = most_lossy(facts)
        amounts = {"loss": pressure(flow_of(facts).loss), "total": pressure(total), "most": pressure(most)}
        text = "The run loses {loss} at the peak; up to {most} passes."
        if before > 0.0:
            text = (
                "Suction at the compressor is {total} at the peak, {loss} of it in this run; up to {most} "
                "passes."
            )
        cost = loss_cost(facts)
        if cost is not None:
            text += " It costs {boost} of boost and {power}, {share} of it."
            text = text.replace(", {share} of it", " ({share})")
            amounts |= {
                "boost": pressure(cost.boost),
                "power": Amount(cost.power, Kind.power),
                "share": percent(cost.power_share),
            }
        if flow_of(facts).choked_at is not None:
            text = "The run chokes at the peak: it can't pass what the engine asks."
        words = {"piece": piece_label(piece)}
        return About(
            Phrase(text, words, amounts),
            "run",
            None,
            total,
            most,
            Kind.pressure,
            levers=(*bore_levers(facts, narrowest(facts)), *bore_levers(facts, piece)),
            moves=(Phrase("Widen {piece} first: it loses the most.", words),),
            doubt_scale=total,
        )

    return (Found("run", log(most / total), about),)


def suction_collapse(facts: Facts) -> Findings:
    """Hoses without wire by their free length, tubes by elastic collapse. Source: practice; Timoshenko."""
    judged = [piece for piece in facts.plan.pieces if piece.is_hose or _stiffness(facts, piece) is not None]
    return for_each(judged, lambda piece: f"piece.{piece.id}", lambda piece: (_stands(facts, piece),))


def _stiffness(facts: Facts, piece: PiecePlan) -> float | None:
    """Young's modulus of a metal tube whose wall is known; metal of any usual wall is far from collapse."""
    if facts.wall_or_none(End(piece, False)) is None:
        return None
    return _STIFFNESS.get(piece.material.lower())


def _stands(facts: Facts, piece: PiecePlan) -> Found:
    item = f"piece.{piece.id}"
    words = {"piece": piece_label(piece)}
    if piece.is_hose and piece.reinforced:
        text = Phrase("{piece} has wire or a helix and stands suction.", words)
        return plain(item, True, lambda: About(text, "piece", piece.number))
    return _hose_stands(facts, piece) if piece.is_hose else _tube_stands(facts, piece)


def _hose_stands(facts: Facts, piece: PiecePlan) -> Found:
    free = facts.free_length(piece)
    most = facts.limit("collapse.span") * facts.bore(facts.narrower_end(piece))

    def about() -> About:
        words = {"piece": piece_label(piece)}
        amounts = {
            "free": length(free),
            "most": length(most),
            "suction": pressure(facts.limit("collapse.suction")),
        }
        text = "{piece} has no wire and is free over {free}; up to {most} stands {suction} of suction."
        end = End(piece, False)
        wall = facts.wall_or_none(end)
        holds = (
            None
            if wall is None
            else collapse_pressure(facts.bore(end) + 2.0 * wall, wall, _RUBBER_STIFFNESS, _POISSON[True])
        )
        lever = Lever(
            f"piece.{piece.id}.length",
            Phrase("{value} of {piece} turns this to go.", words),
            False,
            number=piece.number,
        )
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            free,
            most,
            Kind.length,
            tight_margin=None if holds is None else holds - facts.limit("collapse.suction"),
            levers=() if piece.has_arc else (lever,),
            moves=(Phrase("Use a wire-reinforced hose for {piece}.", words),),
        )

    return Found(f"piece.{piece.id}", most - free, about)


def _tube_stands(facts: Facts, piece: PiecePlan) -> Found:
    end = End(piece, False)
    wall = facts.wall(end)
    holds = collapse_pressure(facts.outside(end), wall, _STIFFNESS[piece.material.lower()], _POISSON[False])
    asked = facts.limit("collapse.suction")

    def about() -> About:
        amounts = {"holds": pressure(holds), "asked": pressure(asked)}
        text = "{piece} stands {holds} of suction; {asked} is asked."
        if holds > _ALL_SUCTION:
            text = "{piece} stands any suction there is: its wall is far from collapse."
        return About(
            Phrase(text, {"piece": piece_label(piece)}, amounts),
            "piece",
            piece.number,
            holds,
            asked,
            Kind.pressure,
            moves=(Phrase("Use a thicker wall."),),
            doubt_scale=holds,
        )

    return Found(f"piece.{piece.id}", log(greatest(holds, _LEAST_LOSS) / asked), about)


RULES = (
    Rule(
        "intake-loss",
        "Suction at the compressor",
        INTAKE,
        RuleClass.PERFORMANCE,
        "Δp(before) + Δp₀(run) ≤ limit, marched at the peak",
        "What stands before the run and the run together, at the peak, as loss of total pressure. A gauge on "
        "the pipe's wall shows more, by what the speed takes.",
        ("suction.most",),
        (source("maker"), source("shapiro")),
        None,
        intake_loss,
    ),
    Rule(
        "charge-loss",
        "Loss against boost",
        CHARGE,
        RuleClass.PERFORMANCE,
        "Δp₀(run) ≤ share × steady boost, marched at the peak",
        "A share of the steady boost at the peak.",
        ("charge.loss_share",),
        (source("practice"), source("shapiro")),
        None,
        charge_loss,
    ),
    Rule(
        "suction-collapse",
        "Stands suction",
        INTAKE,
        RuleClass.PERFORMANCE,
        "hose without wire: free length ≤ n × d; tube: 2 E / (1 − ν²) · (t / D)³ ≥ suction",
        "A hose without wire may bridge no more than so many bores; metal of a usual wall never collapses.",
        ("collapse.span", "collapse.suction"),
        (source("practice"), source("maker"), source("collapse")),
        None,
        suction_collapse,
    ),
)
