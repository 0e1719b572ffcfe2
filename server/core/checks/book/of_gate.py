"""Rules of the wastegate, explained: its spring, the duty left for control, its bore and its signal."""

from server.core.air.exhaust import exhaust_flow
from server.core.air.fuels import FUELS
from server.core.air.wastegate import USUAL_COEFFICIENT
from server.core.checks import gate
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import PI, Root, Sign, Value, among, at_least, at_most, is_
from server.core.checks.case import Case
from server.core.tube.run import Place
from server.core.units import Kind


def external() -> Case:
    """An external gate of 38 mm that a hand pump cracks at 0.6 bar; 0.7 bar is the least that is asked."""
    numbers = {
        "gate.crack": 0.6 * bench.BAR,
        "gate.boost_least": 0.7 * bench.BAR,
        "gate.valve_bore": 38.0 * bench.MM,
        "gate.diaphragm": 70.0 * bench.MM,
        "gate.exhaust": 1.1 * bench.BAR,
        "gate.share": 0.30,
    }
    said = {"gate.kind": "external", "gate.signal": "manifold", "gate.clipped": "yes", "gate.hose_off": "cut"}
    return bench.fitted(Place.WASTEGATE, numbers, said)


_CRACK = Sign("p", "pressure at which a hand pump cracks the gate", Kind.pressure, below="crack")
_ARMS = Sign("a", "arm to the flap's centre over arm to the rod, 1 of a poppet", Kind.ratio)
_VALVE = Sign("D", "bore of the gate", Kind.length, below="valve")
_DIAPHRAGM = Sign("D", "diameter of the diaphragm that works", Kind.length, below="diaphragm")
_EXHAUST = Sign(
    "p", "exhaust pressure before the turbine, at the boost asked", Kind.pressure, below="exhaust"
)
_ASKED = Sign("p", "most boost that is asked for", Kind.pressure, below="asked")
_SPRING = Sign("p", "boost with the spring alone", Kind.pressure, below="spring")
_LEAST = Sign("p", "least boost that is asked for", Kind.pressure, below="least")
_OPENS = is_(_SPRING, _CRACK / (1.0 + _ARMS * (_VALVE / _DIAPHRAGM) ** 2 * _EXHAUST / _ASKED))


def pushed(case: Case) -> dict[Sign, Value]:
    """What the line of the spring's boost starts from [SI]."""
    facts = bench.facts(case)
    return {
        _CRACK: facts.figure("gate.crack"),
        _ARMS: 1.0,
        _VALVE: facts.figure("gate.valve_bore"),
        _DIAPHRAGM: facts.figure("gate.diaphragm"),
        _EXHAUST: facts.figure("gate.exhaust"),
        _ASKED: gate.boost_asked(facts),
    }


def sprung() -> Example:
    """A gate that cracks at 0.6 bar by hand."""
    case = external()
    given = pushed(case) | {_LEAST: bench.facts(case).figure("gate.boost_least")}
    told = (Told(_SPRING, "spring"), Told(_LEAST, "spring", "limit"))
    text = (
        "An external gate of 38 mm on a diaphragm of 70 mm, cracked by hand at 0.6 bar; 0.7 bar asked least."
    )
    return Example(text, case, given, told)


_RATIO = Sign("r", "boost asked over the spring's", Kind.ratio)
_REACH = Sign("r", "the same that a solenoid reaches", Kind.ratio, below="reach")
_KEPT = Sign("k", "of its duty, left for control", Kind.ratio, "percent")
_MOST = Sign("r", "the most with so much left", Kind.ratio, below="most")


def controlled() -> Example:
    """0.9 bar asked of that gate."""
    case = external()
    facts = bench.facts(case)
    given = pushed(case) | {_REACH: facts.limit("gate.reach"), _KEPT: facts.limit("gate.left")}
    told = (Told(_RATIO, "reach"), Told(_MOST, "reach", "limit"))
    same = {_SPRING: gate.spring_boost(facts)}
    return Example("The same gate, with 0.9 bar asked at most.", case, given, told, same)


_AIR_AND_FUEL = Sign("m", "exhaust of the engine at the peak", Kind.mass_flow, below="exhaust")
_SHARE = Sign("x", "share of it that goes past the turbine", Kind.ratio, "percent")
_PAST = Sign("m", "exhaust that the gate has to pass", Kind.mass_flow, below="gate")
_COEFFICIENT = Sign("C", "discharge coefficient of an open gate", Kind.ratio)
_DENSITY = Sign("G", "exhaust through each area of a hole, choked or not", unit="kg/(s m²)")
_NEEDED = Sign("D", "bore that passes it", Kind.length, below="needed")


def bypassing() -> Example:
    """30 % of the exhaust past the turbine."""
    case = external()
    facts = bench.facts(case)
    assert case.engine is not None  # the bench has one
    fuel = FUELS[case.engine.sheet.fuel]
    given: dict[Sign, Value] = {
        _VALVE: facts.figure("gate.valve_bore"),
        _AIR_AND_FUEL: exhaust_flow(facts.engine.flow, fuel, facts.engine.mixture),
        _SHARE: facts.figure("gate.share"),
        _COEFFICIENT: USUAL_COEFFICIENT,
        _DENSITY: gate.flow_density(facts),
    }
    told = (Told(_VALVE, "gate"), Told(_NEEDED, "gate", "limit"))
    same = {_PAST: gate.bypassed(facts)}
    text = "The same gate, with 30 % of the exhaust to go past the turbine."
    return Example(text, case, given, told, same)


_FROM = Sign("S", "where the signal is taken from")
_GOOD = Sign("S", "places that pass", below="good")
_STILL = Sign("S", "places that are tight", below="tight")
_CLIPS = Sign("K", "whether every hose is clipped at both ends")
_YES = Sign("Y", "the answer that passes")
_OFF = Sign("H", "what happens with any one hose off")
_HELD = Sign("H", "answers that pass", below="good")


def signalled() -> Example:
    """A signal from the manifold."""
    case = external()
    facts = bench.facts(case)
    given: dict[Sign, Value] = {
        _FROM: facts.said("gate.signal"),
        _GOOD: gate.GOOD_SIGNALS,
        _STILL: ("manifold",),
        _CLIPS: facts.said("gate.clipped"),
        _YES: ("yes",),
        _OFF: facts.said("gate.hose_off"),
        _HELD: gate.GOOD_WITH_HOSE_OFF,
    }
    text = "A signal from the manifold, every hose clipped, and an over-boost cut that was proven."
    return Example(text, case, given)


EXPLAINED = (
    Explained(
        "gate-spring",
        (_OPENS, at_most(_SPRING, _LEAST)),
        sprung,
        notes=(
            "Where valve, diaphragm, arms or the exhaust's pressure are not known, the spring's boost is"
            " taken as what the hand pump found; on the road the gate then opens earlier.",
            "Friction, and what stands in the pipe behind the gate, are left out.",
        ),
    ),
    Explained(
        "gate-duty",
        (
            _OPENS,
            is_(_RATIO, _ASKED / _SPRING),
            is_(_MOST, 1.0 + (_REACH - 1.0) * (1.0 - _KEPT)),
            at_most(_RATIO, _MOST),
            at_least(_RATIO, 1.0),
        ),
        controlled,
        (at_most(_RATIO, _REACH),),
    ),
    Explained(
        "gate-flow",
        (
            is_(_PAST, _SHARE * _AIR_AND_FUEL),
            is_(_NEEDED, Root(4.0 * _PAST / (PI * _COEFFICIENT * _DENSITY))),
            at_least(_VALVE, _NEEDED),
        ),
        bypassing,
        notes=(
            "G is that of isentropic flow from before the turbine to behind it; where nobody typed the"
            " pressure before it, that is taken as a multiple of boost, on the low side.",
            "The gate is taken to be fully open: a flap that opens by less than a quarter of its bore passes"
            " less.",
        ),
    ),
    Explained(
        "gate-signal",
        (among(_FROM, _GOOD), among(_CLIPS, _YES), among(_OFF, _HELD)),
        signalled,
        (among(_FROM, _STILL), among(_CLIPS, _YES), among(_OFF, _HELD)),
    ),
)
"""What the handbook explains about each rule: its formula as a tree, and an example worked with it."""
