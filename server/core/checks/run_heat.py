"""Rules of the heat that a turbine housing, a manifold or an exhaust gives to a run beside it."""

from server.core.air.radiant import Neighbour, across_the_gap, neighbour
from server.core.air.surface import still_film
from server.core.checks.facts import Facts
from server.core.checks.gaps import piece_beside
from server.core.checks.hoses import rubber_of
from server.core.checks.layout import End, piece_label
from server.core.checks.near import ALL_ROUND, Hot, nature_of
from server.core.checks.neighbour_heat import DULL, LEAST_WARMER, PIPE_EMISSIVITY
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
from server.core.measure.many import greatest
from server.core.phrase import Amount, Phrase, length, temperature
from server.core.sources import source
from server.core.tube.run import NeighbourPlan, PiecePlan, Place, Protection
from server.core.units import Kind

BURNS = frozenset({Place.FUEL, Place.OIL_FEED, Place.OIL_DRAIN, Place.WASTEGATE})
"""Where a hose that heat opens feeds a fire, or leaves boost without a limit."""


def line_heated(facts: Facts) -> Findings:
    """What each hose of a line that carries fuel, oil or boost's signal comes to. Source: `air.radiant`."""
    return _heats(facts)


def run_heated(facts: Facts) -> Findings:
    """What each hose of any other run comes to that carries no exhaust itself. Source: `air.radiant`."""
    return () if facts.plan.place in HOT | BURNS else _heats(facts)


def _heats(facts: Facts) -> Findings:
    """Metal is not harmed by such heat: a piece of it has nothing to say."""
    beside = ((near, nature_of(near).hot) for near in facts.plan.neighbours)
    hot = [(near, how) for near, how in beside if how is not None and _suffers(facts, near)]
    return for_each(hot, lambda one: f"neighbour.{one[0].id}", lambda one: (_heat(facts, *one),))


def _suffers(facts: Facts, near: NeighbourPlan) -> bool:
    """What stands beside a piece that is out of the run is asked for again."""
    piece = next((one for one in facts.plan.pieces if one.id == near.piece_id), None)
    return piece is None or piece.is_hose


def hose_most(facts: Facts, piece: PiecePlan) -> float:
    """What a hose may come to [K]: as by `hose-heat`, its type letter's less a margin. Raises NotMeasured."""
    return rubber_of(piece).test_temperature - facts.limit("hose.derating")


def skin_of_it(facts: Facts) -> float:
    """How hot housing, manifold and exhaust are outside [K]: as the gas at the turbine's outlet.

    In housing and manifold the gas is hotter, and their outside cooler than it; common practice, no source.
    Raises NotMeasured.
    """
    _ = facts.engine  # or there is no gas whose temperature could be told
    return facts.values["engine.exhaust_temperature"]


def width_of(facts: Facts, near: NeighbourPlan) -> float:
    """Across, as the run sees it, as said or as usual [m]."""
    return facts.size_or_none("neighbour", near.id, "width") or nature_of(near).width


def heated(facts: Facts, near: NeighbourPlan, how: Hot, protection: Protection) -> Neighbour:
    """How hot the hose beside something hot gets at the peak, once all is as hot as it gets.

    protection: a shield between, or a foil-faced sleeve on the hose, which counts by its bright face alone.
    What flows inside the hose is left out. Source: `air.radiant.neighbour`. Raises NotMeasured.
    """
    piece = piece_beside(facts, near)
    hot, ambient = skin_of_it(facts), facts.engine.bonnet_temperature
    may_be = greatest(hose_most(facts, piece), ambient + LEAST_WARMER)
    gap = greatest(facts.size("neighbour", near.id, "gap"), 0.0)
    width = facts.outside(End(piece, False))
    bright = facts.limit("heat.bright")
    return neighbour(
        hot,
        PIPE_EMISSIVITY,
        width_of(facts, near),
        gap,
        bright if protection is Protection.SLEEVE else DULL,
        width,
        ambient,
        still_film(width, may_be, ambient),
        bright if protection is Protection.SHIELD else None,
        across=across_the_gap(hot, may_be, gap),
        behind=ALL_ROUND,
        ball=how is Hot.BALL,
    )


_BEHIND = {Protection.NONE: "", Protection.SHIELD: " behind its shield", Protection.SLEEVE: " in its sleeve"}


def _heat(facts: Facts, near: NeighbourPlan, how: Hot) -> Found:
    piece = piece_beside(facts, near)
    most = hose_most(facts, piece)
    reached = heated(facts, near, how, near.protection).temperature

    def about() -> About:
        words = {"near": near.name, "piece": piece_label(piece), "material": piece.material}
        words |= {"behind": _BEHIND[near.protection]}
        shielded = heated(facts, near, how, Protection.SHIELD).temperature
        sleeved = heated(facts, near, how, Protection.SLEEVE).temperature
        amounts = {
            "hot": temperature(skin_of_it(facts)),
            "gap": length(facts.size("neighbour", near.id, "gap")),
            "reached": temperature(reached),
            "most": temperature(most),
            "kept": Amount(facts.limit("hose.derating"), Kind.temperature_difference),
            "shielded": temperature(shielded),
            "sleeved": temperature(sleeved),
        }
        text = (
            "{piece}{behind}, {gap} from {near}, which is taken to be {hot} outside, comes to {reached}."
            " {most} is the most for {material}, {kept} kept under its test temperature."
        )
        shield_helps = near.protection is not Protection.SHIELD and shielded <= most
        sleeve_helps = near.protection is Protection.NONE and sleeved <= most
        helps = ["a bright shield between them, air on both its sides"] if shield_helps else []
        helps += ["a foil-faced sleeve on {piece}"] if sleeve_helps else []
        further = "A gap of {value}, {by} more, between {piece} and {near} turns this to go"
        further += f"; so does {', or '.join(helps)}." if helps else "."
        move = "Take {piece} away from {near}, or run metal there and hose where it is cooler."
        if shield_helps:
            move = (
                "Put a bright shield between {piece} and {near}, air on both sides: {piece} comes to"
                " {shielded}."
            )
        elif sleeve_helps:
            move = "Put a foil-faced sleeve on {piece}: it comes to {sleeved}."
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            reached,
            most,
            Kind.temperature,
            tight_margin=None if facts.plan.place in BURNS else most + facts.limit("hose.derating") - reached,
            levers=(Lever(f"neighbour.{near.id}.gap", Phrase(further, words), number=piece.number),),
            moves=(Phrase(move, words, amounts),),
        )

    return Found(f"neighbour.{near.id}", most - reached, about)


_FORMULA = "heat radiated and through the air = heat given off; T ≤ T(type letter) − margin"
_LIMIT = (
    "Once all is as hot as it gets at the peak; outside, what is hot is as hot as the gas at the turbine's"
    " outlet. Heat from inside the hose is not in it."
)
_KEYS = ("hose.derating", "heat.bright")
_SOURCES = (
    source("d2000"),
    source("view-factor"),
    source("view-of-ball"),
    source("grey-exchange"),
    source("emissivity"),
    source("globe-dropkin"),
    source("practice"),
)
_CHARRED = (
    "This is a sum, no proof: look for hard, shiny or cracked hose after the first drives, all of it cold,"
    " and put a shield where in doubt. Makers' clearances, local codes and licensed practice come first."
)

RULES = (
    Rule(
        "line-beside-heat",
        "Heat on this line from turbine, manifold or exhaust",
        BURNS,
        RuleClass.INJURY,
        _FORMULA,
        _LIMIT,
        _KEYS,
        _SOURCES,
        Caution(
            SignalWord.DANGER,
            "Oil or fuel on a hot turbine burns; a boost line that opens leaves boost without a limit. "
            + _CHARRED,
        ),
        line_heated,
    ),
    Rule(
        "run-beside-heat",
        "Heat on this run from turbine, manifold or exhaust",
        ANY_RUN,
        RuleClass.PERFORMANCE,
        _FORMULA,
        _LIMIT + " Over the margin but under what the material stands is tight.",
        _KEYS,
        _SOURCES,
        Caution(SignalWord.WARNING, "A charred hose bursts under boost, or sprays coolant. " + _CHARRED),
        run_heated,
    ),
)
