"""Rules of coolant lines and heater hoses: no kink, rated for what the system does, no air trapped."""

from server.core.air.coolant import UNDER_PRESSURE, HoseKind, hose_bend
from server.core.checks.facts import Facts
from server.core.checks.figures.of_coolant import KEYS
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
from server.core.tube.run import Place
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
    """The hose's rating against cap, pump and the hottest coolant. Source: common practice."""
    looks = {"pressure": _pressure, "temperature": _temperature}
    return for_each(looks, str, lambda item: (looks[item](facts),))


def _pressure(facts: Facts) -> Found:
    rated, cap = facts.figure(key(facts, "rated_pressure")), facts.figure(key(facts, "cap"))
    highest = cap + facts.limit("coolant.pump")

    def about() -> About:
        amounts = {"rated": pressure(rated), "highest": pressure(highest), "cap": pressure(cap)}
        text = "The hose is rated {rated}; a cap of {cap} and the pump behind it come to {highest}."
        stronger = Phrase("A hose rated {value} turns this to go.")
        return About(
            Phrase(text, {}, amounts),
            value=rated,
            limit=highest,
            kind=Kind.pressure,
            levers=(Lever(f"figure.{key(facts, 'rated_pressure')}", stronger, kind=Kind.pressure),),
        )

    return Found("pressure", rated - highest, about)


def _temperature(facts: Facts) -> Found:
    rated, hottest = facts.figure(key(facts, "rated_temperature")), facts.limit("coolant.hottest")

    def about() -> About:
        amounts = {"rated": temperature(rated), "hottest": temperature(hottest)}
        hotter = Phrase("A hose rated for {value} turns this to go.")
        return About(
            Phrase("The hose is rated for {rated}; coolant reaches {hottest}.", {}, amounts),
            value=rated,
            limit=hottest,
            kind=Kind.temperature,
            levers=(Lever(f"figure.{key(facts, 'rated_temperature')}", hotter, kind=Kind.temperature),),
        )

    return Found("temperature", rated - hottest, about)


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
        "The cap lets go at its pressure; at speed the pump stands on top of it.",
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
