"""Rules of every line and port: closed, joined to its like, able to stand its heat."""

from server.core.lines.ledger import Closing, Line, LineKind, Port, family_of
from server.core.lines.rules.rule import Caution, Danger, Finding, LineRule, Word, go, no_go, not_known
from server.core.lines.solve import Solved
from server.core.lines.states import Kind, State
from server.core.phrase import Phrase, temperature
from server.core.sources import source

USUAL_HOTTEST: dict[Kind, float] = {
    Kind.BEFORE_METER: 363.15,
    Kind.INTAKE: 373.15,
    Kind.CHARGE: 453.15,
    Kind.AFTER_METER: 353.15,
    Kind.MANIFOLD: 393.15,
    Kind.CRANKCASE: 413.15,
    Kind.EXHAUST: 1223.15,
    Kind.CANISTER: 353.15,
    Kind.OIL_GALLERY: 423.15,
    Kind.SUMP: 423.15,
    Kind.PUMP_OUT: 393.15,
    Kind.PUMP_IN: 393.15,
    Kind.FUEL_SUPPLY: 353.15,
    Kind.FUEL_RETURN: 353.15,
}
"""What a line that ends in a kind of space has to stand for long [K]. Source: common practice, no source."""


def open_end(solved: Solved) -> tuple[Finding, ...]:
    """Every port is joined at both ends of its line, capped, or removed with a reason and a name."""
    line_map = solved.map
    still_open = [port for port in line_map.ports if line_map.is_open(port)]
    if line_map.ports and not still_open:
        return (go("region.ports", "Every port is closed."),)
    return tuple(_open(port, solved) for port in still_open)


def _open(port: Port, solved: Solved) -> Finding:
    item, line = f"port.{port.id}", solved.map.line_at.get(port.id)
    if line is not None:
        text, cure = "{line} hangs loose from {name}.", "Join the other end of {line}, or cap {name}."
        return no_go(item, (), text, cure, name=port.name, line=line.name)
    if port.closing is Closing.REMOVED:
        text = "{name} is removed, but nobody wrote why, or who did it."
        return no_go(item, (), text, "Write the reason and the name.", name=port.name)
    return no_go(item, (), "{name} is open.", "Join it, or cap it.", name=port.name)


def same_fluid(solved: Solved) -> tuple[Finding, ...]:
    """A line joins two ports of what it carries."""
    findings = []
    for line in solved.map.lines:
        ports = [solved.map.port_of[end] for end in line.ends if end is not None]
        families = {family_of(port.medium) for port in ports} | {family_of(line.medium)}
        if len(families) > 1:
            carried = ", ".join(sorted(family.value for family in families))
            text, cure = (
                "{line} joins what must not meet: {carried}.",
                "Follow both ends of {line} and part them.",
            )
            findings.append(no_go(f"line.{line.id}", (), text, cure, line=line.name, carried=carried))
    if findings or not solved.map.lines:
        return tuple(findings)
    return (go("region.lines", "Every line joins its like."),)


def hot_rating(solved: Solved) -> tuple[Finding, ...]:
    """A line may stand the hottest of what it ends in."""
    asked = [(line, _hottest(solved, line)) for line in solved.map.lines if line.kind is not LineKind.WIRE]
    findings = [_rated(line, hottest) for line, hottest in asked if hottest is not None]
    found = tuple(finding for finding in findings if finding.word is not Word.GO)
    return found or tuple(findings[:1])


def _rated(line: Line, hottest: float) -> Finding:
    item, words = f"line.{line.id}", {"line": line.name}
    if line.rating is None:
        text = "Nobody has said what heat {line} may have."
        return not_known(item, (), text, "Read it off the hose, or ask its maker.", **words)
    if line.rating >= hottest:
        return go(item, "Every line stands its heat.")
    amounts = {"rating": temperature(line.rating), "hottest": temperature(hottest)}
    text = "{line} is made for {rating} and ends in {hottest}."
    cure = "Fit a line made for {hottest} or more."
    states = (State.BOOST, State.HOT_SOAK)
    return Finding(item, Word.NO_GO, states, Phrase(text, words, amounts), Phrase(cure, words, amounts))


def _hottest(solved: Solved, line: Line) -> float | None:
    """The hottest of the spaces at a line's ends, or, between junctions, of what feeds them [K]."""
    line_map = solved.map
    ends = {line_map.port_of[end].region for end in line.ends if end is not None}
    found = [_heat(solved, one) for one in ends]
    if not any(found):
        feeding = {one for end in ends for one in solved.sources(end, State.BOOST) if one > 0}
        found = [_heat(solved, one) for one in feeding]
    return max((heat for heat in found if heat is not None), default=None)


def _heat(solved: Solved, region: int) -> float | None:
    here = solved.map.region_of[region]
    return here.hottest if here.hottest is not None else USUAL_HOTTEST.get(here.kind)


RULES = (
    LineRule(
        "open-end",
        "No open end",
        Danger.INJURY,
        "Every port joined at both ends of its line, capped, or removed with a reason and a name.",
        "What was opened and is not closed again leaks what it carries, out or in: air that nobody "
        "counted, boost from a signal that limits it, fuel vapour, oil. A cap that is written down can be "
        "found again; a hose that hangs is found by the fault it makes.",
        (source("practice"),),
        Caution("WARNING", "An open fuel, oil or boost signal line can start a fire or run boost away."),
        open_end,
    ),
    LineRule(
        "same-fluid",
        "Every line joins its like",
        Danger.INJURY,
        "Air and vapour, fuel, oil, coolant and wires are each joined to their own.",
        "Two spigots of one size look alike. Coolant in oil takes bearings, fuel in a signal line runs "
        "into the manifold, oil in coolant softens every hose.",
        (source("practice"),),
        Caution("WARNING", "Follow a line by hand from end to end before anything is filled or started."),
        same_fluid,
    ),
    LineRule(
        "hot-rating",
        "No line is hotter than it may be",
        Danger.INJURY,
        "A line is made for the hottest of what it ends in.",
        "Rubber above its rating hardens, cracks and lets go under pressure, next to what is hot enough to "
        "light what comes out. How hot each space gets differs from car to car: the usual figures stand in "
        "until the builder types one.",
        (source("d2000"), source("practice")),
        Caution("WARNING", "A hose that bursts near the turbine sprays oil, fuel or coolant on hot metal."),
        hot_rating,
    ),
)
