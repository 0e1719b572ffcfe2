"""Rules of the wastegate: its spring, the duty left for control, the exhaust it passes, its signal."""

from math import pi, sqrt

from server.core.air.exhaust import exhaust_flow, exhaust_gas
from server.core.air.fuels import FUELS
from server.core.air.hydraulics import area
from server.core.air.wastegate import (
    USUAL_COEFFICIENT,
    Gate,
    boost_to_open_at_ratio,
    bypass_of_share,
    control_range,
    gate_flow,
)
from server.core.checks.facts import Facts
from server.core.checks.missing import NotMeasured
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
from server.core.phrase import Amount, Phrase, length, percent, pressure
from server.core.sources import source
from server.core.tube.run import Place
from server.core.units import Kind

WASTEGATE = frozenset({Place.WASTEGATE})
GOOD_SIGNALS = ("compressor", "cooler")
"""Where the gate's signal follows what the compressor pushes."""
GOOD_WITH_HOSE_OFF = ("spring", "cut")
"""What may happen with a signal hose off."""

_CRACK = "figure.gate.crack"

_NO_END = Caution(
    SignalWord.WARNING,
    "A gate that stays shut has boost without an end: pistons melt, a turbine wheel may burst. Before any"
    " boost prove the over-boost cut; then spring pressure alone, the solenoid disconnected, and log it;"
    " raise it in small steps with stop limits written beforehand. The turbo maker's notes, local codes and"
    " licensed practice come first.",
)


def boost_asked(facts: Facts) -> float:
    """The most steady boost that the engine sheet asks for, gauge [Pa]. Raises NotMeasured."""
    asked = max(point.boost for point in facts.sheet.points) + facts.values["engine.boost"]
    if asked <= 0.0:
        raise NotMeasured(Phrase("The engine sheet asks for no boost: type it there."))
    return asked


def gate_of(facts: Facts) -> Gate | None:
    """The gate as a sum of forces; None where valve, diaphragm or arms are not all known."""
    crack, arms = facts.figure("gate.crack"), facts.figure_or_none("gate.arms")
    if facts.case.figures.said.get("gate.kind") == "external":
        arms = 1.0
    valve, diaphragm = facts.figure_or_none("gate.valve_bore"), facts.figure_or_none("gate.diaphragm")
    if arms is None or valve is None or diaphragm is None:
        return None
    return Gate(area(valve), area(diaphragm), crack * area(diaphragm), 0.0, arms)


def spring_boost(facts: Facts) -> float:
    """Boost with the spring alone, the exhaust's push counted where it is known, gauge [Pa].

    Source: `air.wastegate.boost_to_open_at_ratio`. Raises NotMeasured.
    """
    gate, exhaust = gate_of(facts), facts.figure_or_none("gate.exhaust")
    if gate is None or exhaust is None:
        return facts.figure("gate.crack")
    return boost_to_open_at_ratio(gate, exhaust / boost_asked(facts)).boost or 0.0


def spring_soft_enough(facts: Facts) -> Findings:
    """The spring's boost against the least that is asked. Source: statics."""
    spring, least = spring_boost(facts), facts.figure("gate.boost_least")
    crack = facts.figure("gate.crack")

    def about() -> About:
        amounts = {"spring": pressure(spring), "least": pressure(least), "crack": pressure(crack)}
        text = "The spring alone gives {spring} of boost; the least that is asked is {least}. "
        pushed = "The exhaust's push is not counted: it opens the gate earlier than a hand pump does."
        if spring < crack:
            pushed = "The exhaust's push brings it down from the {crack} of the hand pump."
        softer = Phrase("A spring that a hand pump cracks at {value} turns this to go.")
        return About(
            Phrase(text + pushed, {}, amounts),
            value=spring,
            limit=least,
            kind=Kind.pressure,
            levers=(Lever(_CRACK, softer, rising=False, kind=Kind.pressure),),
            moves=(Phrase("A softer spring or less preload; a spring is the least boost there is."),),
        )

    return (Found("spring", least - spring, about),)


def duty_left(facts: Facts) -> Findings:
    """Boost asked over the spring's, within what a solenoid reaches. Source: `air.wastegate`."""
    spring, asked = spring_boost(facts), boost_asked(facts)
    reach, kept = facts.limit("gate.reach"), facts.limit("gate.left")
    control = control_range(asked, spring, reach)
    most = 1.0 + (reach - 1.0) * (1.0 - kept)
    amounts = {
        "asked": pressure(asked),
        "spring": pressure(spring),
        "ratio": Amount(control.ratio, Kind.ratio),
        "left": percent(max(control.left, 0.0)),
        "reach": Amount(reach, Kind.ratio),
    }

    text = "{asked} asked is {ratio} times the spring's {spring}: {left} of the solenoid's duty is left."
    if control.left < 0.0:
        text = "{asked} asked is {ratio} times the spring's {spring}; a solenoid reaches {reach} times."
    if control.used < 0.0:
        text = "The spring alone gives {spring} of boost; {asked} is asked."

    def reached() -> About:
        stiffer = (
            "A spring that a hand pump cracks at {value} turns this to go; keep the least boost above it."
        )
        return About(
            Phrase(text, {}, amounts),
            value=control.ratio,
            limit=most,
            kind=Kind.ratio,
            tight_margin=reach - control.ratio,
            levers=(Lever(_CRACK, Phrase(stiffer), kind=Kind.pressure),),
            moves=(Phrase("A stiffer spring, or less boost."),),
        )

    def above_spring() -> About:
        softer = Phrase("A spring that a hand pump cracks at {value} turns this to go.")
        return About(
            Phrase(text, {}, amounts),
            value=control.ratio,
            limit=1.0,
            kind=Kind.ratio,
            levers=(Lever(_CRACK, softer, rising=False, kind=Kind.pressure),),
            moves=(Phrase("A softer spring or less preload."),),
        )

    return (
        Found("reach", most - control.ratio, reached),
        Found("spring", control.ratio - 1.0, above_spring),
    )


def bypassed(facts: Facts) -> float:
    """Exhaust that the gate has to pass at the peak [kg/s]. Source: `air.exhaust`. Raises NotMeasured."""
    engine = facts.engine
    exhaust = exhaust_flow(engine.flow, FUELS[facts.sheet.fuel], engine.mixture)
    return bypass_of_share(exhaust, facts.figure("gate.share")).flow


def before_gate(facts: Facts) -> float:
    """Before the turbine, absolute [Pa]: as typed, or a usual multiple of boost. Raises NotMeasured."""
    exhaust = facts.figure_or_none("gate.exhaust")
    if exhaust is None:
        exhaust = facts.limit("gate.exhaust_over_boost") * boost_asked(facts)
    return facts.engine.ambient_pressure + exhaust


def flow_density(facts: Facts) -> float:
    """Exhaust through each area of a hole without losses [kg/(s m2)]. Source: `air.wastegate.gate_flow`."""
    engine, hot = facts.engine, facts.limit("gate.temperature")
    burnt = exhaust_gas(facts.sheet.fuel, engine.mixture, hot)
    behind = engine.ambient_pressure + facts.limit("back.most")
    return gate_flow(1.0, before_gate(facts), hot, behind, 1.0, burnt).flow


def gate_wide_enough(facts: Facts) -> Findings:
    """Bore of the gate against what it has to pass. Source: isentropic flow through an orifice."""
    flow, density_flow = bypassed(facts), flow_density(facts)
    bore = facts.figure("gate.valve_bore")
    if density_flow <= 0.0:
        text = "No more pressure stands before the turbine than behind it: type what was measured."
        raise NotMeasured(Phrase(text), "figure.gate.exhaust")
    needed = sqrt(4.0 * flow / (pi * USUAL_COEFFICIENT * density_flow))

    def about() -> About:
        amounts = {
            "bore": length(bore),
            "needed": length(needed),
            "flow": Amount(flow, Kind.mass_flow),
            "share": percent(facts.figure("gate.share")),
        }
        text = "The gate has to pass {flow}, {share} of the exhaust: that takes {needed}, its bore is {bore}."
        if facts.figure_or_none("gate.exhaust") is None:
            text += " The pressure before the turbine was not typed: it is taken from boost."
        return About(
            Phrase(text, {}, amounts),
            value=bore,
            limit=needed,
            kind=Kind.length,
            levers=(Lever("figure.gate.valve_bore", Phrase("A gate of {value} bore turns this to go.")),),
            moves=(Phrase("A larger gate, or a larger turbine that leaves less to bypass."),),
        )

    return (Found("gate", bore - needed, about),)


_SIGNALS = {
    "compressor": "The gate's signal is taken from the compressor's outlet.",
    "cooler": "The gate's signal is taken between cooler and throttle.",
    "manifold": "Behind the throttle the signal falls as the throttle shuts; the compressor still pushes.",
    "tee": "The gate's signal hose has a tee: a leak at the gauge raises boost.",
}
_CLIPPED = {"yes": "Every signal hose is clipped at both ends.", "no": "A signal hose is not clipped."}
_HOSE_OFF = {
    "spring": "With any one signal hose off, boost stays at the spring's or less.",
    "cut": "With a signal hose off, a proven over-boost cut stops it.",
    "unproven": "With a signal hose off, nothing proven holds boost back.",
}


def signal_is_safe(facts: Facts) -> Findings:
    """Where the signal comes from, its clips, and what losing a hose does. Source: common practice."""
    looks = {"signal": _taken_from, "clips": _clipped, "hose off": _hose_off}
    return for_each(looks, str, lambda item: (looks[item](facts),))


def _taken_from(facts: Facts) -> Found:
    said = facts.said("gate.signal")
    move = "Take the signal from the compressor's outlet or ahead of the throttle, by a hose of its own."
    tight = 1.0 if said == "manifold" else None
    return plain(
        "signal",
        said in GOOD_SIGNALS,
        lambda: About(Phrase(_SIGNALS[said]), tight_margin=tight, moves=(Phrase(move),)),
    )


def _clipped(facts: Facts) -> Found:
    said = facts.said("gate.clipped")
    move = Phrase("Clip every signal hose at both ends, on a barb.")
    return plain("clips", said == "yes", lambda: About(Phrase(_CLIPPED[said]), moves=(move,)))


def _hose_off(facts: Facts) -> Found:
    said = facts.said("gate.hose_off")
    move = Phrase("Prove an over-boost cut at a low setting, or plumb so that a lost hose opens the gate.")
    return plain(
        "hose off", said in GOOD_WITH_HOSE_OFF, lambda: About(Phrase(_HOSE_OFF[said]), moves=(move,))
    )


RULES = (
    Rule(
        "gate-spring",
        "Spring of the wastegate",
        WASTEGATE,
        RuleClass.PERFORMANCE,
        "p(spring) = p(crack) / (1 + a (D(valve) / D(diaphragm))² p(exhaust) / p(asked)) ≤ least boost",
        "A gate can't give less boost than its spring; the exhaust's push is counted where it is known.",
        (),
        (source("statics"), source("typed")),
        _NO_END,
        spring_soft_enough,
        on_figures=True,
    ),
    Rule(
        "gate-duty",
        "Duty left to control boost",
        WASTEGATE,
        RuleClass.PERFORMANCE,
        "1 ≤ p(asked) / p(spring) ≤ 1 + (reach − 1) (1 − left)",
        "Some of the solenoid's duty stays in hand; within its reach but with less in hand is tight.",
        ("gate.reach", "gate.left"),
        (source("practice"), source("typed")),
        _NO_END,
        duty_left,
        on_figures=True,
    ),
    Rule(
        "gate-flow",
        "Bore of the wastegate",
        WASTEGATE,
        RuleClass.PERFORMANCE,
        "D ≥ √(4 x ṁ(exhaust) / (π C G)), G: flow for each area, choked or not",
        "A gate that is too small lets boost creep up with engine speed, whatever its spring.",
        ("gate.exhaust_over_boost", "gate.temperature", "back.most"),
        (source("naca-1135"), source("typed"), source("practice")),
        _NO_END,
        gate_wide_enough,
        on_figures=True,
    ),
    Rule(
        "gate-signal",
        "Signal of the wastegate",
        WASTEGATE,
        RuleClass.INJURY,
        "from compressor outlet or ahead of the throttle, no tee; clipped at both ends; any hose off: spring"
        " pressure or less, or a proven over-boost cut",
        "Behind the throttle is tight. A hose that comes off usually holds the gate shut.",
        (),
        (source("practice"),),
        _NO_END,
        signal_is_safe,
        on_figures=True,
    ),
)
