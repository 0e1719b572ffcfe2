"""Rules of the air that the meter counts: none lost, none gained; and where the bypass valve returns."""

from server.core.lines.ledger import Device, MeterPlace, Valve
from server.core.lines.rules.rule import (
    Danger,
    Finding,
    LineRule,
    Word,
    go,
    no_go,
    not_known,
    unlooked_valve,
    way_words,
)
from server.core.lines.solve import Solved
from server.core.lines.states import Kind, State
from server.core.lines.ways import By, Net
from server.core.sources import source

_COUNTED = {
    MeterPlace.BEFORE_COMPRESSOR: frozenset({Kind.INTAKE, Kind.CHARGE, Kind.AFTER_METER, Kind.MANIFOLD}),
    MeterPlace.BEFORE_THROTTLE: frozenset({Kind.AFTER_METER, Kind.MANIFOLD}),
}
"""The spaces whose air the meter has counted, by where it stands."""

_NOT_COUNTED = frozenset({Kind.ATMOSPHERE, Kind.BEFORE_METER, Kind.CANISTER, Kind.TANK, Kind.EXHAUST})
_VAPOUR = frozenset({Kind.CANISTER, Kind.TANK})
_CHARGE_SIDE = frozenset({Kind.CHARGE, Kind.AFTER_METER})


def metered_air(solved: Solved) -> tuple[Finding, ...]:
    """Air that passed the meter may not leave, and other air may not enter, between meter and cylinders.

    Purge and secondary air are designed flows and left out: the one through its valve, the other through its
    pump. Blow-by was counted before it was burnt.
    """
    line_map = solved.map
    if line_map.meter is None:
        text = "Nobody has said where the air meter stands."
        return (
            not_known("region.meter", (), text, "Say where the air meter stands, or that there is none."),
        )
    if line_map.meter is MeterPlace.NONE:
        return ()
    counted_kinds = _COUNTED[line_map.meter]
    elsewhere = (_NOT_COUNTED | {Kind.INTAKE, Kind.CHARGE}) - counted_kinds
    counted = {region.id for region in line_map.of_kind(*counted_kinds)}
    others = {region.id for region in line_map.of_kind(*elsewhere)}
    found: dict[tuple[int, int], dict[Word, list[State]]] = {}
    for state in State:
        for net in solved.nets(state):
            for start, end, word in _crossings(solved, net, counted, others):
                states = found.setdefault((start, end), {}).setdefault(word, [])
                if state not in states:
                    states.append(state)
    findings = [_crossing(solved, *pair, by_word, pair[0] in counted) for pair, by_word in found.items()]
    return tuple(findings) or (go("region.meter", "All air between meter and cylinders is counted once."),)


def _crossings(solved: Solved, net: Net, counted: set[int], others: set[int]) -> list[tuple[int, int, Word]]:
    """Ways between counted and other air along which it flows, or may: from, to, and how sure."""
    found = []
    for start in (*counted, *others):
        aims = others if start in counted else counted
        without = _designed(solved, start)
        may, must = (net.beyond(start, sure, without=without) & aims for sure in (False, True))
        for end in may:
            if net.levels[start][1] > net.levels[end][0]:
                certain = end in must and net.levels[start][0] > net.levels[end][1]
                found.append((start, end, Word.NO_GO if certain else Word.NOT_KNOWN))
    return found


def _designed(solved: Solved, start: int) -> frozenset[tuple[By, int]]:
    """Valves whose flow from a space is meant: vapour through its purge valve."""
    if solved.map.region_of[start].kind not in _VAPOUR:
        return frozenset()
    return frozenset((By.VALVE, valve.id) for valve in solved.map.valves_of(Device.PURGE))


def _crossing(
    solved: Solved, start: int, end: int, by_word: dict[Word, list[State]], is_lost: bool
) -> Finding:
    line_map = solved.map
    word = Word.NO_GO if Word.NO_GO in by_word else Word.NOT_KNOWN
    states = by_word[word]
    without = _designed(solved, start)
    ways = (net.path(start, end, word is Word.NO_GO, without) for net in solved.nets(states[0]))
    steps = next(steps for steps in ways if steps)
    words = {
        "start": line_map.region_of[start].name,
        "end": line_map.region_of[end].name,
        "way": way_words(line_map, steps),
        "valve": unlooked_valve(line_map, steps),
        "state": states[0].value,
    }
    item = f"region.{start if is_lost else end}"
    if word is Word.NO_GO and is_lost:
        text = "Counted air leaves {start} for {end} through {way}: the engine runs rich by as much."
        return no_go(
            item, states, text, "Close this way, or lead it back to where its air is counted.", **words
        )
    if word is Word.NO_GO:
        text = "Air that nobody counted comes from {start} into {end} through {way}: the engine runs lean."
        return no_go(item, states, text, "Close this way, or take its air from behind the meter.", **words)
    text = "Air may pass from {start} to {end} through {way}."
    if words["valve"]:
        settles = "Look which way {valve} passes: blow through it by a clean hose, never by mouth."
    else:
        settles = "Read the pressure of {start} against {end} at {state}."
    return not_known(item, states, text, settles, **words)


def bypass_return(solved: Solved) -> tuple[Finding, ...]:
    """The bypass valve opens as the throttle shuts, stays shut under boost, and returns where it must."""
    return tuple(
        finding for valve in solved.map.valves_of(Device.BYPASS) for finding in _bypass(solved, valve)
    )


def _bypass(solved: Solved, valve: Valve) -> list[Finding]:
    item = f"valve.{valve.id}"
    findings = [_returns(solved, valve, item)]
    lift, boost = (solved.nets(state)[0].bypass_open[valve.id] for state in (State.LIFT_OFF, State.BOOST))
    if lift is None or boost is None:
        text = "Nothing says which signal works {valve}."
        settles = "Follow the hose on {valve}'s cap to the manifold."
        findings.append(not_known(item, (State.LIFT_OFF,), text, settles, valve=valve.name))
    if lift is False:
        text = "{valve} stays shut as the throttle shuts: its cap sees no vacuum against the charge pipe."
        cure = "Take {valve}'s signal from the manifold, behind the throttle."
        findings.append(no_go(item, (State.LIFT_OFF,), text, cure, valve=valve.name))
    if boost:
        text = "{valve} is pushed open under boost: its cap sees no boost to hold it shut."
        cure = "Take {valve}'s signal from the manifold, behind the throttle."
        findings.append(no_go(item, (State.BOOST,), text, cure, valve=valve.name))
    return findings


def _returns(solved: Solved, valve: Valve, item: str) -> Finding:
    line_map = solved.map
    net = solved.nets(State.LIFT_OFF)[0]
    taken = {line_map.region_of[one].kind for one in net.sources(valve.sides[0]) if one > 0} & _CHARGE_SIDE
    led = sorted(one for one in net.sinks(valve.sides[1]) if one > 0)
    kinds = {line_map.region_of[one].kind for one in led}
    words = {"valve": valve.name, "led": ", ".join(line_map.region_of[one].name for one in led) or "nowhere"}
    text = "{valve} returns to {led}."
    if line_map.meter is None:
        return not_known(item, (State.LIFT_OFF,), text, "Say where the air meter stands.", **words)
    if not taken:
        text = "{valve} has no hold on the charge pipe: it can let nothing out."
        return no_go(item, (State.LIFT_OFF,), text, "Join {valve}'s inlet ahead of the throttle.", **words)
    if line_map.meter is MeterPlace.BEFORE_THROTTLE and Kind.AFTER_METER in taken:
        text = "{valve} takes air that the meter has counted, and the engine never gets it."
        return no_go(item, (State.LIFT_OFF,), text, "Take {valve}'s air from ahead of the meter.", **words)
    counts_first = line_map.meter is MeterPlace.BEFORE_COMPRESSOR
    right = {Kind.INTAKE} if counts_first else {Kind.INTAKE, Kind.ATMOSPHERE, Kind.BEFORE_METER}
    if kinds and kinds <= right:
        return go(item, text, **words)
    where = "between meter and compressor" if counts_first else "ahead of the compressor, or into the open"
    return no_go(item, (State.LIFT_OFF,), text, "Return {valve} {where}.", where=where, **words)


RULES = (
    LineRule(
        "metered-air",
        "Counted air is neither lost nor gained",
        Danger.PERFORMANCE,
        "Between meter and cylinders no air leaves and none enters, in any state; canister purge and "
        "secondary air, through their own valve and pump, are meant.",
        "The control unit gives fuel for the air that the meter counts. Air lost behind it leaves fuel "
        "without air: rich. Air that comes in behind it burns without fuel of its own: lean, and under "
        "load hot. Air runs from where the pressure is higher to where it is lower, so one and the same "
        "hole leaks in at idle, where the manifold lies under vacuum, and out under boost: each state has "
        "to be looked at. Ahead of the compressor, behind the meter, there is always a little suction: a "
        "loose hose there lets air in at every speed. With the meter between compressor and throttle what "
        "lies ahead of it may leak as far as the mixture goes; it still costs boost. Without a meter the "
        "rule has nothing to count.",
        (source("conservation"), source("practice")),
        None,
        metered_air,
    ),
    LineRule(
        "bypass-return",
        "The bypass valve opens in time and returns where it must",
        Danger.PERFORMANCE,
        "It opens as the throttle shuts, stays shut under boost, and returns between meter and compressor "
        "where the meter stands ahead of the compressor.",
        "As the throttle shuts the charge pipe is full of air that still moves; it stops, the pressure "
        "spikes and the compressor stalls. Vacuum from behind the shut throttle lifts the valve in that "
        "moment. Under boost manifold and charge pipe press on both its faces and the spring keeps it "
        "shut; with its signal hose off, or taken ahead of the throttle, it is pushed open under boost or "
        "never opens. The air it lets out was counted where the meter stands first: it has to go back "
        "behind the meter.",
        (source("statics"), source("practice")),
        None,
        bypass_return,
    ),
)
