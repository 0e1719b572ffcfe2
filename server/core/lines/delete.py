"""May this line go? What stops working without it, which rule breaks, and what else asks for it.

The map is solved again without the line, once with both its ports capped and once with them left open;
what the rules say then and did not say before is the answer. What control unit and law commonly ask is
common practice, no source, and defers to the car's own papers and local rules.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from server.core.lines.joined import branch
from server.core.lines.ledger import Closing, Device, Family, Line, LineMap, Medium, Port, family_of
from server.core.lines.register import answer, answer_solved
from server.core.lines.rules.rule import Danger, Finding, LineRule, RuleAnswer, Word
from server.core.lines.solve import Solved
from server.core.lines.states import Kind, State


class May(StrEnum):
    """The short answer; the value is the word pages show."""

    NO = "no"
    ASK = "ask first"
    YES = "yes, with its ports closed"


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that breaks without the line, and what it finds."""

    rule: LineRule
    finding: Finding


@dataclass(frozen=True, slots=True)
class Plug:
    """What closes a port that the line leaves: the port, and the cap or plug in words."""

    port: Port
    with_what: str


@dataclass(frozen=True, slots=True)
class Deletion:
    """The answer about one line.

    stops: what no longer works, in plain words. capped: rules that break though its ports are capped;
    left_open: rules that break besides if they are not. unit: what the control unit expects of it, law:
    whether the law commonly cares; each empty for nothing known.
    """

    line: Line
    may: May
    stops: tuple[str, ...]
    capped: tuple[Broken, ...]
    left_open: tuple[Broken, ...]
    unit: str
    plugs: tuple[Plug, ...]
    law: str


_STOPS_DEVICE = {
    Device.PURGE: "The canister is no longer purged: it fills with fuel, smells and spills.",
    Device.IDLE_VALVE: "The engine loses its idle air: it stalls cold, or idles where its stop holds it.",
    Device.AIR_PUMP: "No secondary air: the catalyst lights later, the cold exhaust is dirtier.",
    Device.BYPASS: "The bypass valve no longer lets the charge pipe down as the throttle shuts: surge.",
    Device.THREE_WAY: "The control unit no longer steers boost.",
    Device.BLEED: "The control unit no longer steers boost.",
    Device.BEARING: "The turbo's bearings lose their oil, or it can't leave.",
    Device.JACKET: "The turbo's housing is no longer cooled: oil cokes in it after a stop.",
    Device.HEATER: "No heat in the car, and the windscreen mists.",
    Device.RAIL: "Fuel no longer runs to the rail and back: none, or pressure without a limit.",
}
_STOPS_REGION = {
    Kind.SERVO: "The brake pedal goes hard: no help from the servo.",
    Kind.ACTUATOR: "The wastegate's actuator sees no boost: the gate stays shut and boost has no limit.",
    Kind.GAUGE: "The boost gauge reads nothing.",
    Kind.SENSOR: "The control unit no longer reads the manifold's pressure.",
    Kind.REGULATOR: "Fuel pressure no longer follows boost: lean where most is asked.",
    Kind.BYPASS_TOP: "The bypass valve has nothing to hold it shut, or to lift it.",
    Kind.CRANKCASE: "One way out for the gas past the pistons is gone.",
    Kind.TANK: "The tank can't breathe: the pump draws it in, or heat blows it up.",
    Kind.PLUG: "What this plug drives stays as it is at rest.",
}
_STEERED = (
    "It steers boost by the solenoid: boost that does not follow, or a plug left off, sets a fault, and "
    "many go into limp mode."
)
_UNIT_DEVICE = {
    Device.PURGE: "Many control units test the purge and set a fault without it; the learned trim is off.",
    Device.AIR_PUMP: "Most control units test secondary air at a cold start and set a fault.",
    Device.THREE_WAY: _STEERED,
    Device.BLEED: _STEERED,
    Device.IDLE_VALVE: "It expects to steer idle by it: stalls, and a fault where it reads the idle speed.",
}
_UNIT_REGION = {
    Kind.SENSOR: "It expects the reading: without it most go into limp mode.",
    Kind.PLUG: "It reads the plug's circuit: left off it sets a fault, and many go into limp mode.",
    Kind.CRANKCASE: "Few watch it; idle trim shifts, and some newer ones test for a hose that is off.",
}
_LAW = (
    "This is an emission part. Removing one is forbidden on the road in many places, and an inspection may "
    "fail for it: local rules decide."
)
_BRAKES = "Brake parts are for a licensed hand in many places; local rules decide."
_LAWFUL_DEVICES = frozenset({Device.PURGE, Device.AIR_PUMP})
_LAWFUL_KINDS = frozenset({Kind.CANISTER, Kind.TANK, Kind.CRANKCASE})
_PLUGS = {
    Family.FUEL: "a plug or cap made for fuel line pressure, never a folded hose; better the maker's blank",
    Family.OIL: "a threaded plug with a new sealing washer, torqued; a push-on cap blows off",
    Family.COOLANT: "a plug clamped in coolant hose, or a threaded plug; then bleed again",
    Family.ELECTRICAL: "the plug sealed, tied back and away from heat; never cut",
}
_GAS_PLUG = "a cap with a clamp"
_SEES_BOOST = frozenset({Kind.MANIFOLD, Kind.CHARGE, Kind.AFTER_METER})


def may_delete(line_map: LineMap, number: int) -> Deletion:
    """What comes of taking a line out. Raises KeyError for a line that is not there. Definition."""
    line = {one.id: one for one in line_map.lines}[number]
    before, after = Solved(line_map), Solved(without(line_map, line, Closing.CAPPED))
    known = _findings(answer_solved(before))
    capped = _new(known, answer_solved(after))
    left_open = _new(known, answer(without(line_map, line, Closing.OPEN)))
    devices, kinds = _served(before, after, line)
    words = [_STOPS_DEVICE.get(device, "") for device in devices]
    words += [_STOPS_REGION.get(kind, "") for kind in kinds]
    stops = tuple(dict.fromkeys(text for text in words if text))
    unit = _first(_UNIT_DEVICE, devices) or _first(_UNIT_REGION, kinds)
    law = _LAW if _lawful(line, devices, kinds) else _BRAKES if Kind.SERVO in kinds else ""
    return Deletion(
        line,
        _short(capped, stops, unit, law),
        stops,
        capped,
        tuple(one for one in left_open if one.rule.code not in {other.rule.code for other in capped}),
        unit,
        tuple(Plug(line_map.port_of[end], _plug(line_map, line_map.port_of[end])) for end in _ends(line)),
        law,
    )


def joined_as_before(line_map: LineMap, number: int) -> LineMap:
    """The map with what hangs loose of a line on the points that it joined before, where those are free.

    So that a hose that is off is not answered for as one that does nothing. Definition.
    """
    free = line_map.port_of.keys() - line_map.line_at.keys()

    def joined(line: Line) -> Line:
        one, other = (
            was if now is None and was in free else now for now, was in zip(line.ends, line.was, strict=True)
        )
        return replace(line, ends=(one, other))

    lines = tuple(joined(line) if line.id == number else line for line in line_map.lines)
    return replace(line_map, lines=lines)


def without(line_map: LineMap, line: Line, closing: Closing) -> LineMap:
    """The map with a line taken out and its ports closed so. Definition."""
    ports = tuple(replace(port, closing=closing) if port.id in line.ends else port for port in line_map.ports)
    return replace(line_map, ports=ports, lines=tuple(one for one in line_map.lines if one.id != line.id))


def _ends(line: Line) -> tuple[int, ...]:
    return tuple(end for end in line.ends if end is not None)


def _findings(answers: tuple[RuleAnswer, ...]) -> set[tuple[str, str]]:
    return {
        (one.rule.code, finding.item)
        for one in answers
        for finding in one.findings
        if finding.word is Word.NO_GO
    }


def _new(before: set[tuple[str, str]], answers: tuple[RuleAnswer, ...]) -> tuple[Broken, ...]:
    """The first new finding of each rule that broke nothing there before."""
    found: dict[str, Broken] = {}
    for one in answers:
        for finding in one.findings:
            if finding.word is Word.NO_GO and (one.rule.code, finding.item) not in before:
                found.setdefault(one.rule.code, Broken(one.rule, finding))
    return tuple(found.values())


def _served(before: Solved, after: Solved, line: Line) -> tuple[tuple[Device, ...], tuple[Kind, ...]]:
    """What a line serves: the devices and the kinds of space that lose something of what they had without
    it.
    """
    line_map = before.map
    ends = {line_map.port_of[end].region for end in _ends(line)}
    inner = {one for end in ends - line_map.own_level for one in branch(line_map, end)} - line_map.own_level
    devices = tuple(
        valve.kind
        for valve in line_map.valves
        if any(side in inner and _loses(before, after, side, rest_only=False) for side in valve.sides)
    )
    kinds = tuple(
        region.kind
        for region in line_map.regions
        if region.id in inner and _loses(before, after, region.id, rest_only=True)
    )
    tanks = tuple(line_map.region_of[end].kind for end in ends if line_map.region_of[end].kind is Kind.TANK)
    return devices, kinds + tanks


def _loses(before: Solved, after: Solved, region: int, rest_only: bool) -> bool:
    """Whether a space is cut off from something that it was joined to; rest_only: with every solenoid at
    rest.
    """
    last = 1 if rest_only else None
    return any(
        (had.sources(region) | had.sinks(region)) - (has.sources(region) | has.sinks(region))
        for state in State
        for had, has in zip(before.nets(state)[:last], after.nets(state)[:last], strict=True)
    )


def _first(words: dict[Device, str] | dict[Kind, str], things: tuple[Device, ...] | tuple[Kind, ...]) -> str:
    known: dict[str, str] = {key.value: text for key, text in words.items()}
    return next((known[thing.value] for thing in things if thing.value in known), "")


def _lawful(line: Line, devices: tuple[Device, ...], kinds: tuple[Kind, ...]) -> bool:
    """Whether emission law commonly cares."""
    vapour = line.medium in {Medium.CRANKCASE_VAPOUR, Medium.FUEL_VAPOUR}
    return vapour or bool(_LAWFUL_DEVICES & set(devices)) or bool(_LAWFUL_KINDS & set(kinds))


def _short(capped: tuple[Broken, ...], stops: tuple[str, ...], unit: str, law: str) -> May:
    if any(one.rule.danger is Danger.INJURY for one in capped):
        return May.NO
    if capped or stops or unit or law:
        return May.ASK
    return May.YES


def _plug(line_map: LineMap, port: Port) -> str:
    family = family_of(port.medium)
    if family is not Family.GAS:
        return _PLUGS[family]
    kind = line_map.region_of[port.region].kind
    if kind is Kind.EXHAUST:
        return "a metal plug or blanking plate with its gasket: nothing of rubber stands there"
    if kind in _SEES_BOOST:
        return f"{_GAS_PLUG}: it sees boost, and a bare cap splits or blows off"
    if port.medium is Medium.FUEL_VAPOUR:
        return f"{_GAS_PLUG} of fuel-proof rubber"
    return _GAS_PLUG
