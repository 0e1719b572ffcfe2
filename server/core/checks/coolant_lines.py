"""Rules of coolant lines and heater hoses: no kink, rated for what the system does, no air trapped."""

from server.core.air.coolant import UNDER_PRESSURE, HoseKind, hose_bend
from server.core.checks.facts import Facts
from server.core.checks.figures.of_coolant import KEYS
from server.core.checks.hoses import by_table
from server.core.checks.layout import piece_label
from server.core.checks.rule import (
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
from server.core.phrase import Phrase, length, pressure, temperature
from server.core.sources import source
from server.core.tube.run import PiecePlan, Place
from server.core.units import Kind

COOLANT_LINES = frozenset({Place.COOLANT, Place.HEATER})

_SCALDS = Caution(
    SignalWord.WARNING,
    "Hot coolant scalds, and it boils over when the pressure goes. Never open a hot cap, never loosen a hose"
    " of a hot engine; bleed with the heater on full, and look at the level again when cold. The car maker's"
    " procedure, local codes and licensed practice come first.",
)


def key(facts: Facts, name: str) -> str:
    """The key of a figure of this place: `coolant.bore`, `heater.bore`."""
    return f"{KEYS[facts.plan.place]}.{name}"


def kept_open(facts: Facts) -> Findings:
    """The tightest bend of a hose that is bent by hand. Source: `air.coolant.least_bend_radius`."""
    shape = facts.said(key(facts, "shape"))
    if shape != "bent":
        words = {"shape": "A moulded hose" if shape == "moulded" else "Hard line"}
        return (plain("bend", True, lambda: About(Phrase("{shape} keeps its shape.", words))),)
    bores = facts.limit("coolant.bend")
    bore, radius = facts.figure(key(facts, "bore")), facts.figure(key(facts, "radius"))
    least = hose_bend(HoseKind("", bores, bores), bore, radius).least

    def about() -> About:
        amounts = {"bore": length(bore), "radius": length(radius), "least": length(least)}
        text = (
            "A straight hose of {bore} bore is bent to {radius}; tighter than {least} it is likely to fold."
        )
        wider = Phrase("A bend of {value} inside radius turns this to go; else a moulded elbow or hard line.")
        return About(
            Phrase(text, {}, amounts),
            value=radius,
            limit=least,
            kind=Kind.length,
            # Under pressure a hose may be bent more tightly; as the engine cools it is not.
            tight_margin=radius - UNDER_PRESSURE * least,
            levers=(Lever(f"figure.{key(facts, 'radius')}", wider),),
            moves=(Phrase("Take a moulded elbow, an S or an L, or hard line with short straight hoses."),),
        )

    return (Found("bend", radius - least, about),)


def rated_for_it(facts: Facts) -> Findings:
    """The hoses' ratings against cap, pump and the hottest coolant. Source: common practice.

    A hose that is drawn has its own rating; where it has none, and without a run, that of the sheet counts.
    """
    hoses = [piece for piece in facts.plan.pieces if piece.is_hose]
    if not hoses:
        looks = {"pressure": _pressure, "temperature": _temperature}
        return for_each(looks, str, lambda item: (looks[item](facts, None),))
    return for_each(
        hoses,
        lambda piece: f"piece.{piece.id}",
        lambda piece: (_pressure(facts, piece), _temperature(facts, piece)),
    )


def _figure_of(facts: Facts, piece: PiecePlan | None, name: str, own: float | None) -> tuple[float, str]:
    """A rating and the variable that holds it: the piece's own, else the sheet's. Raises NotMeasured."""
    if piece is None:
        return facts.figure(key(facts, name)), f"figure.{key(facts, name)}"
    if own is not None:
        return own, f"piece.{piece.id}.{name}"
    on_sheet = facts.figure_or_none(key(facts, name))
    if on_sheet is None:
        raise facts.missing(f"piece.{piece.id}.{name}")
    return on_sheet, f"figure.{key(facts, name)}"


def _name(piece: PiecePlan | None) -> str:
    return "The hose" if piece is None else piece_label(piece)


def _item(piece: PiecePlan | None, name: str) -> str:
    return name if piece is None else f"piece.{piece.id}.{name}"


def _about(
    piece: PiecePlan | None, phrase: Phrase, value: float, limit: float, kind: Kind, by: Lever
) -> About:
    concerns, number = ("run", None) if piece is None else ("piece", piece.number)
    levers = (by,) if by.variable.startswith("figure.") else ()
    text = "Take a hose that is rated for it" + ("." if piece is None else " in place of {hose}.")
    moves = (Phrase(text, phrase.words),)
    return About(phrase, concerns, number, value, limit, kind, levers=levers, moves=moves)


def _pressure(facts: Facts, piece: PiecePlan | None) -> Found:
    hottest = facts.limit("coolant.hottest")
    own = None if piece is None else by_table(piece, hottest) or piece.rated_pressure
    rated, variable = _figure_of(facts, piece, "rated_pressure", own)
    cap = facts.figure(key(facts, "cap"))
    highest = cap + facts.limit("coolant.pump")

    def about() -> About:
        amounts = {"rated": pressure(rated), "highest": pressure(highest), "cap": pressure(cap)}
        text = "{hose} is rated {rated}; a cap of {cap} and the pump behind it come to {highest}."
        stronger = Lever(variable, Phrase("A hose rated {value} turns this to go."), kind=Kind.pressure)
        phrase = Phrase(text, {"hose": _name(piece)}, amounts)
        return _about(piece, phrase, rated, highest, Kind.pressure, stronger)

    return Found(_item(piece, "pressure"), rated - highest, about)


def _temperature(facts: Facts, piece: PiecePlan | None) -> Found:
    own = None
    if piece is not None:
        own = piece.ratings[-1][0] if piece.ratings else piece.rated_temperature
    rated, variable = _figure_of(facts, piece, "rated_temperature", own)
    hottest = facts.limit("coolant.hottest")

    def about() -> About:
        amounts = {"rated": temperature(rated), "hottest": temperature(hottest)}
        hotter = Lever(variable, Phrase("A hose rated for {value} turns this to go."), kind=Kind.temperature)
        text = "{hose} is rated for {rated}; coolant reaches {hottest}."
        phrase = Phrase(text, {"hose": _name(piece)}, amounts)
        return _about(piece, phrase, rated, hottest, Kind.temperature, hotter)

    return Found(_item(piece, "temperature"), rated - hottest, about)


def air_gets_out(facts: Facts) -> Findings:
    """Whether air has a way out of the highest spot. Source: common practice."""
    leaves = facts.said(key(facts, "bleed")) == "yes"

    def about() -> About:
        text = "Air gets out at the highest spot." if leaves else "Air stays at the highest spot."
        move = (
            "Put a bleed point at the highest spot, or lay the line so that it rises to the tank all the way."
        )
        return About(Phrase(text), moves=(Phrase(move),))

    return (plain("air", leaves, about),)


RULES = (
    Rule(
        "hose-kink",
        "Coolant hoses bent without a kink",
        COOLANT_LINES,
        RuleClass.PERFORMANCE,
        "r(inside) ≥ n · D(bore), for a straight hose that is bent",
        "A moulded hose and hard line pass. Four fifths of it, as under pressure, is tight.",
        ("coolant.bend",),
        (source("practice"),),
        _SCALDS,
        kept_open,
        on_figures=True,
    ),
    Rule(
        "coolant-rating",
        "Coolant hoses rated for their system",
        COOLANT_LINES,
        RuleClass.PERFORMANCE,
        "p(rated) ≥ p(cap) + p(pump); T(rated) ≥ T(coolant)",
        "The cap lets go at its pressure; at speed the pump stands on top of it. A hose that is drawn has its"
        " own rating, or its maker's table; else that of the sheet counts.",
        ("coolant.pump", "coolant.hottest"),
        (source("practice"), source("typed")),
        _SCALDS,
        rated_for_it,
        on_figures=True,
    ),
    Rule(
        "trapped-air",
        "No air trapped in the coolant",
        COOLANT_LINES,
        RuleClass.PERFORMANCE,
        "a bleed point at the highest spot, or rising to the tank all the way",
        "Where air stays, coolant does not flow: the turbo's housing boils it after the engine is shut off.",
        (),
        (source("practice"),),
        _SCALDS,
        air_gets_out,
        on_figures=True,
    ),
)
