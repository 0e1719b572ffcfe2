"""Rules of hoses as such: pressure at their temperature, heat inside and outside, oil mist, oil and fuel."""

from collections.abc import Callable, Sequence

from server.core.checks.facts import Facts
from server.core.checks.hose_rating import ROOM, Rating, falling, usual_rating
from server.core.checks.layout import piece_label
from server.core.checks.missing import NotMeasured
from server.core.checks.rubber import RUBBERS, Rubber
from server.core.checks.rule import (
    AIR,
    CHARGE,
    INTAKE,
    About,
    Caution,
    Findings,
    Found,
    Rule,
    RuleClass,
    SignalWord,
    for_each,
    plain,
)
from server.core.phrase import Phrase, pressure, temperature
from server.core.sources import source
from server.core.tube.run import PiecePlan, Place, PortPlan
from server.core.units import Kind

_OIL_WORDS = ("oil", "breather", "crankcase")


def derated(rated_pressure: float, rated_temperature: float, limit_temperature: float, at: float) -> float:
    """Working pressure of a hose at another temperature [same unit as rated_pressure].

    rated_temperature, limit_temperature, at: [K]. Full up to the rated temperature, then falling evenly to
    half at the material's limit and on to nothing. Source: common practice, no source; a maker's figure
    goes before it.
    """
    rating = falling(rated_pressure, rated_temperature, limit_temperature, source("practice"))
    return rating.at(at).pressure or 0.0


def hose_pressure(facts: Facts) -> Findings:
    """Rating of each hose at the charge's temperature against the highest pressure there is.

    Source: practice.
    """
    return _at_hoses(facts, _pressure_in)


def hose_heat(facts: Facts) -> Findings:
    """Charge and under-bonnet temperature against the material.

    Source: ASTM D2000 / SAE J200, table 1, derated.
    """
    return _at_hoses(facts, _heat_at)


def _at_hoses(facts: Facts, judge: Callable[[Facts, PiecePlan], tuple[Found, ...]]) -> Findings:
    hoses = [piece for piece in facts.plan.pieces if piece.is_hose]
    return for_each(hoses, lambda piece: f"piece.{piece.id}", lambda piece: judge(facts, piece))


def rubber_of(piece: PiecePlan) -> Rubber:
    """What a hose is made of. Raises NotMeasured where nobody can say what that stands."""
    found = RUBBERS.get(piece.material)
    if found is None:
        raise NotMeasured(Phrase("Say which rubber {piece} is made of.", {"piece": piece_label(piece)}))
    return found


def _limit_temperature(facts: Facts, rubber: Rubber) -> float:
    return rubber.test_temperature - facts.limit("hose.derating")


def _unrated(facts: Facts, piece: PiecePlan) -> NotMeasured:
    """Asks for a working pressure, and tells what is usual for such a hose where that can be told."""
    words = {"piece": piece_label(piece)}
    text = "Type the working pressure of {piece}, and at which temperature."
    rubber = RUBBERS.get(piece.material)
    bore = facts.size_or_none("piece", piece.id, "bore")
    if rubber is None or bore is None or facts.case.engine is None:
        return NotMeasured(Phrase(text, words))
    air = facts.engine.hottest
    usual = usual_rating(piece.reinforced, bore, _limit_temperature(facts, rubber)).at(air).pressure or 0.0
    amounts = {"usual": pressure(usual), "air": temperature(air)}
    text += " Common practice, no source: a hose like it stands {usual} at {air}."
    return NotMeasured(Phrase(text, words, amounts))


def by_table(piece: PiecePlan, at: float) -> float | None:
    """What a hose stands at a temperature [K] by its maker's table, gauge [Pa]; None where it has no table.

    Straight between two rows. Source: the table's. Raises NotMeasured where it is hotter than the table goes.
    """
    if not piece.ratings:
        return None
    found = Rating(piece.ratings, source("typed")).at(at).pressure
    if found is None:
        amounts = {"at": temperature(at), "last": temperature(piece.ratings[-1][0])}
        text = "It gets {at} in {piece} and its maker's table ends at {last}: ask the maker, or take another."
        raise NotMeasured(Phrase(text, {"piece": piece_label(piece)}, amounts), f"piece.{piece.id}.ratings")
    return found


def _stands(facts: Facts, piece: PiecePlan) -> float:
    """What a hose stands as hot as the charge gets [Pa]: by its table, else by its one figure, derated."""
    hottest = facts.engine.hottest
    tabled = by_table(piece, hottest)
    if tabled is not None:
        return tabled
    if piece.rated_pressure is None:
        raise _unrated(facts, piece)
    rated_at = ROOM if piece.rated_temperature is None else piece.rated_temperature
    return derated(piece.rated_pressure, rated_at, _limit_temperature(facts, rubber_of(piece)), hottest)


def _pressure_in(facts: Facts, piece: PiecePlan) -> tuple[Found, ...]:
    words = {"piece": piece_label(piece)}
    engine, stands = facts.engine, _stands(facts, piece)
    highest = engine.highest_boost

    def about() -> About:
        amounts = {
            "stands": pressure(stands),
            "highest": pressure(highest),
            "air": temperature(engine.hottest),
        }
        text = "{piece} stands {stands} at {air}; the highest boost there is is {highest}."
        if stands <= 0.0:
            text = "{piece} has nothing left of its rating at {air}; the highest boost there is is {highest}."
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            stands,
            highest,
            Kind.pressure,
            moves=(
                Phrase("Take a hose for {piece} that is rated above {highest} at {air}.", words, amounts),
            ),
        )

    return (Found(f"piece.{piece.id}", stands - highest, about),)


def _heat_at(facts: Facts, piece: PiecePlan) -> tuple[Found, ...]:
    most = _limit_temperature(facts, rubber_of(piece))
    sides = (("inside", facts.engine.hottest), ("around", facts.engine.bonnet_temperature))
    return tuple(_heat(facts, piece, most, side, at) for side, at in sides)


def _heat(facts: Facts, piece: PiecePlan, most: float, side: str, at: float) -> Found:
    def about() -> About:
        standing = [rubber.name for rubber in RUBBERS.values() if _limit_temperature(facts, rubber) > at]
        words = {"piece": piece_label(piece), "material": piece.material, "side": side}
        words |= {"others": _either(standing)}
        amounts = {"at": temperature(at), "most": temperature(most)}
        text = "{at} {side} {piece}; {material} is good to {most}."
        move = "Take {piece} in {others}, or cool the air before it."
        if not standing:
            move = "No rubber here stands {at} at {piece}: keep metal there, or cool the air before it."
        if side == "around":
            move = "Shield {piece} from the heat, or route it away."
        return About(
            Phrase(text, words, amounts),
            "piece",
            piece.number,
            at,
            most,
            Kind.temperature,
            moves=(Phrase(move, words, amounts),),
        )

    return Found(f"piece.{piece.id}.{side}", most - at, about)


def _either(names: Sequence[str]) -> str:
    """ "A, B or C"; empty for none."""
    *first, last = names or ("",)
    return f"{', '.join(first)} or {last}" if first else last


def hose_fluid(facts: Facts) -> Findings:
    """Hoses that breather air passes: oil mist softens some. Source: common practice."""
    first = _oil_enters_at(facts)
    if first is None:
        return ()
    hoses = [piece for piece in facts.plan.pieces[first:] if piece.is_hose]
    return for_each(hoses, lambda piece: f"piece.{piece.id}", _stands_mist)


def _oil_enters_at(facts: Facts) -> int | None:
    """Index of the first piece that oil mist passes, None where none does."""
    if facts.plan.start is not None and _is_oily(facts.plan.start):
        return 0
    oily = {port.id for port in facts.plan.side_ports if _is_oily(port)}
    for index, piece in enumerate(facts.plan.pieces):
        if any(bung.port_id in oily for bung in piece.bungs):
            return index
    return None


def _is_oily(port: PortPlan) -> bool:
    words = f"{port.medium} {port.name}".lower()
    return any(word in words for word in _OIL_WORDS)


def _stands_mist(piece: PiecePlan) -> tuple[Found, ...]:
    passes = rubber_of(piece).stands_oil_mist

    def about() -> About:
        words = {"piece": piece_label(piece), "material": piece.material}
        text = "{piece} stands after the breather; {material} stands oil mist."
        if not passes:
            text = "{piece} stands after the breather: oil mist softens {material}."
        move = Phrase(
            "Use lined silicone or FKM for {piece}, or an oil catch can in the breather line.", words
        )
        return About(Phrase(text, words), "piece", piece.number, tight_margin=1.0, moves=(move,))

    return (plain(f"piece.{piece.id}", passes, about),)


STAND_FLUID = {
    Place.OIL_FEED: frozenset({"NBR", "FKM", "PTFE", "fluorosilicone lined", "lined silicone"}),
    Place.OIL_DRAIN: frozenset({"NBR", "FKM", "PTFE", "fluorosilicone lined", "lined silicone"}),
    Place.FUEL: frozenset({"FKM", "PTFE"}),
}
"""Hose materials that stand what flows there; common practice, no source. J30 R9 hose is lined with FKM."""


def fluid_stood(facts: Facts) -> Findings:
    """Each hose of an oil or fuel line against what flows in it. Source: common practice."""
    return _at_hoses(facts, _fluid_in)


def _fluid_in(facts: Facts, piece: PiecePlan) -> tuple[Found, ...]:
    place, rubber = facts.plan.place, rubber_of(piece)
    passes = rubber.name in STAND_FLUID[place]
    fluid = "fuel" if place is Place.FUEL else "hot oil"

    def about() -> About:
        words = {"piece": piece_label(piece), "material": piece.material, "fluid": fluid}
        text = "{piece}: {material} stands {fluid}." if passes else "{piece}: {fluid} softens {material}."
        move = "Use hose of NBR, FKM, PTFE or lined silicone for {piece}."
        if place is Place.FUEL:
            move = "Use injection hose to SAE J30 R9 or better for {piece}, with the clamps made for it."
        return About(Phrase(text, words), "piece", piece.number, moves=(Phrase(move, words),))

    return (plain(f"piece.{piece.id}", passes, about),)


_FIRE = Caution(
    SignalWord.WARNING,
    "A weeping oil or fuel hose over a turbine is a fire. Look at each again after the first heat cycles, an "
    "extinguisher at hand. The hose maker's table and local codes on fuel lines have the last word.",
)

_BURST = Caution(
    SignalWord.WARNING,
    "A hose that bursts or melts under boost can strike or set off a fire. Nobody leans over the engine "
    "under boost. "
    "The maker's figure for the very hose goes before any table.",
)

RULES = (
    Rule(
        "hose-pressure",
        "Hose rating at its temperature",
        CHARGE,
        RuleClass.PERFORMANCE,
        "p(rated) · (1 − ½ (T − T(rated)) / (T(limit) − T(rated))) ≥ highest boost",
        "By the maker's table, straight between its rows; hotter than it goes is not measured. Of one figure:"
        " full up to its temperature, half of it at the material's limit. Against over-boost, not steady"
        " boost.",
        ("hose.derating",),
        (source("typed"), source("practice"), source("d2000")),
        _BURST,
        hose_pressure,
    ),
    Rule(
        "hose-heat",
        "Hose material against heat",
        AIR,
        RuleClass.PERFORMANCE,
        "T(air inside), T(under bonnet) ≤ T(type letter) − margin",
        "Test temperature of the material's type letter, less a margin; inside and outside apart.",
        ("hose.derating",),
        (source("d2000"), source("hose-material"), source("practice")),
        None,
        hose_heat,
    ),
    Rule(
        "hose-fluid",
        "Hose material against oil mist",
        INTAKE | {Place.BREATHER},
        RuleClass.PERFORMANCE,
        "hoses after the breather's port: lined silicone, NBR, FKM or PTFE",
        "Plain silicone and EPDM soften in oil mist: tight.",
        (),
        (source("practice"),),
        None,
        hose_fluid,
    ),
    Rule(
        "oil-and-fuel-hose",
        "Hose material against oil and fuel",
        frozenset(STAND_FLUID),
        RuleClass.INJURY,
        "oil: NBR, FKM, PTFE, lined silicone; fuel: FKM or PTFE inside, as SAE J30 R9 has it",
        "Plain silicone and EPDM soften in oil and fuel, and fuel goes through silicone of any kind.",
        (),
        (source("practice"),),
        _FIRE,
        fluid_stood,
    ),
)
