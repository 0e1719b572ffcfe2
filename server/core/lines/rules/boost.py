"""Rules of boost control and of what reads the manifold's pressure."""

from dataclasses import replace

from server.core.lines.joined import branch
from server.core.lines.ledger import Closing, Device, Line, LineMap, Region
from server.core.lines.rules.rule import Caution, Danger, Finding, LineRule, go, no_go, not_known
from server.core.lines.solve import Solved
from server.core.lines.states import RUNNING, UNDER_PRESSURE, Kind, State
from server.core.lines.ways import By, Net, base_of
from server.core.sources import source

_PROPER = frozenset({Kind.CHARGE, Kind.AFTER_METER})
_CONSUMERS = frozenset(
    {Kind.GAUGE, Kind.SENSOR, Kind.REGULATOR, Kind.BYPASS_TOP, Kind.SERVO, Kind.CRANKCASE, Kind.CANISTER}
)
_READ_RUNNING = (State.CRANKING, *RUNNING)


def boost_source(solved: Solved) -> tuple[Finding, ...]:
    """The actuator's pressure comes from ahead of the throttle and from nowhere else, solenoid and bleed
    aside.
    """
    return tuple(_source(solved, region) for region in solved.map.of_kind(Kind.ACTUATOR))


def _source(solved: Solved, region: Region) -> Finding:
    line_map = solved.map
    item, words = f"region.{region.id}", {"name": region.name}
    valves = frozenset((By.VALVE, valve.id) for valve in line_map.valves_of(Device.THREE_WAY, Device.BLEED))
    nets = solved.nets(State.BOOST)
    kinds = {line_map.region_of[one].kind for net in nets for one in net.sources(region.id) if one > 0}
    direct = {
        line_map.region_of[one].kind for one in nets[0].beyond(region.id, False, True, valves) if one > 0
    }
    wrong = (direct - _PROPER) | (kinds & {Kind.MANIFOLD})
    if wrong:
        words["wrong"] = ", ".join(sorted(wrong))
        text = "{name} is fed from {wrong}."
        return no_go(
            item, (State.BOOST,), text, "Feed it from the charge pipe, ahead of the throttle.", **words
        )
    if not kinds & _PROPER:
        text = "No boost reaches {name}: the gate stays shut and boost has no limit."
        return no_go(
            item, (State.BOOST,), text, "Join it to the charge pipe, ahead of the throttle.", **words
        )
    return go(item, "{name} is fed from ahead of the throttle.", **words)


def boost_not_shared(solved: Solved) -> tuple[Finding, ...]:
    """Nothing else hangs on the actuator's signal."""
    line_map, findings = solved.map, []
    for region in line_map.of_kind(Kind.ACTUATOR):
        beside = branch(line_map, region.id)
        others = [
            line_map.region_of[one].name for one in beside if line_map.region_of[one].kind in _CONSUMERS
        ]
        others += [
            valve.name
            for valve in line_map.valves_of(Device.PURGE, Device.IDLE_VALVE)
            if set(valve.sides) & (beside - line_map.own_level)
        ]
        item, words = f"region.{region.id}", {"name": region.name, "others": ", ".join(sorted(others))}
        if others:
            text = "{others} hangs on the signal of {name}: what it takes, the gate misses."
            cure = "Give {others} a tap of its own on the manifold."
            findings.append(no_go(item, (State.BOOST,), text, cure, **words))
        else:
            findings.append(go(item, "{name} has its signal to itself.", **words))
    return tuple(findings)


def boost_fails_safe(solved: Solved) -> tuple[Finding, ...]:
    """With any one signal hose off, or the solenoid dead, boost stays at spring pressure or a proven cut
    acts.
    """
    return tuple(_fails_safe(solved, region) for region in solved.map.of_kind(Kind.ACTUATOR))


def _fails_safe(solved: Solved, region: Region) -> Finding:
    line_map = solved.map
    item, name = f"region.{region.id}", region.name
    losses = [
        line.name
        for line in signal_lines(line_map, region.id)
        if not _holds_without(line_map, line, region.id)
    ]
    if not _fed(line_map, solved.nets(State.BOOST)[0], region.id):
        losses.append("the solenoid's plug")
    words = {"name": name, "losses": ", ".join(losses)}
    if not losses:
        return go(item, "Whatever is lost, {name} still sees boost.", **words)
    if line_map.over_boost_cut:
        return go(
            item, "With {losses} lost boost has no limit but the over-boost cut, which is proved.", **words
        )
    text = "With {losses} lost {name} sees no boost: the gate stays shut."
    if line_map.over_boost_cut is None:
        settles = (
            "Prove the over-boost cut: set it low once, see it act, set it back; or say that there is none."
        )
        return not_known(item, (State.BOOST,), text, settles, **words)
    cure = "Fit and prove an over-boost cut, and clip every signal hose at both ends."
    return no_go(item, (State.BOOST,), text, cure, **words)


def signal_lines(line_map: LineMap, actuator: int) -> tuple[Line, ...]:
    """The hoses on an actuator's branch, up to where its pressure comes from. Definition."""
    beside = branch(line_map, actuator) - line_map.own_level
    return tuple(
        line
        for line in line_map.lines
        if any(end is not None and line_map.port_of[end].region in beside for end in line.ends)
    )


def _holds_without(line_map: LineMap, line: Line, actuator: int) -> bool:
    """Whether the actuator still sees boost with one hose off and both its ports open."""
    ports = tuple(
        replace(one, closing=Closing.OPEN) if one.id in line.ends else one for one in line_map.ports
    )
    lines = tuple(one for one in line_map.lines if one.id != line.id)
    lost = replace(line_map, ports=ports, lines=lines)
    return _fed(lost, Net(lost, base_of(lost), State.BOOST, frozenset()), actuator)


def _fed(line_map: LineMap, net: Net, actuator: int) -> bool:
    """Whether boost surely reaches the actuator, and nothing lets it out again, bleed shut."""
    bleeds = frozenset((By.VALVE, valve.id) for valve in line_map.valves_of(Device.BLEED))
    fed = net.beyond(actuator, True, True, bleeds)
    leaks = net.beyond(actuator, False, False, bleeds)
    return bool(fed) and all(net.levels[one][0] >= UNDER_PRESSURE for one in fed | leaks)


def regulator_side(solved: Solved) -> tuple[Finding, ...]:
    """The fuel regulator is referred to the manifold alone."""
    return tuple(_on_manifold(solved, region) for region in solved.map.of_kind(Kind.REGULATOR))


def gauge_side(solved: Solved) -> tuple[Finding, ...]:
    """Boost gauge and pressure sensor read the manifold alone.

    A capped gauge is blind and still looked at. One whose points are removed, with a reason, is not asked
    about; a sensor is, whatever its points are, since the control unit goes by it.
    """
    readers = solved.map.of_kind(Kind.GAUGE, Kind.SENSOR)
    return tuple(_on_manifold(solved, one) for one in readers if not _out_of_use(solved.map, one))


def _out_of_use(line_map: LineMap, region: Region) -> bool:
    """Whether a gauge is given up: no line at it, every point of it removed with a reason, by somebody."""
    ports = [port for port in line_map.ports if port.region == region.id]
    removed = all(
        port.id not in line_map.line_at and port.closing is Closing.REMOVED and not line_map.is_open(port)
        for port in ports
    )
    return region.kind is Kind.GAUGE and bool(ports) and removed


def _on_manifold(solved: Solved, region: Region) -> Finding:
    line_map = solved.map
    item = f"region.{region.id}"
    wrong, elsewhere = [], set()
    for state in _READ_RUNNING:
        kinds = {line_map.region_of[one].kind for one in solved.sources(region.id, state) if one > 0}
        if kinds != {Kind.MANIFOLD}:
            wrong.append(state)
            elsewhere |= kinds - {Kind.MANIFOLD}
    words = {"name": region.name, "elsewhere": ", ".join(sorted(elsewhere)) or "nothing"}
    if not wrong:
        return go(item, "{name} reads the manifold.", **words)
    cure = "Give it a tap of its own on the manifold, behind the throttle, clear of every other user."
    return no_go(item, wrong, "{name} reads {elsewhere}, not the manifold alone.", cure, **words)


_LIMIT = Caution(
    "DANGER",
    "Boost without a limit breaks engines and people. Spring pressure only, solenoid disconnected, until the "
    "over-boost cut is proved; clip every signal hose at both ends.",
)

RULES = (
    LineRule(
        "boost-source",
        "The gate's signal comes from ahead of the throttle",
        Danger.INJURY,
        "Actuator fed from the charge pipe ahead of the throttle, from nothing else.",
        "The gate has to see what the compressor makes. Ahead of the throttle it sees it in every state. "
        "Behind it a half-shut throttle hides it: the turbo runs up unseen. Ahead of the compressor, or "
        "open to the air, there is no boost at all and the gate never opens.",
        (source("statics"), source("practice")),
        _LIMIT,
        boost_source,
    ),
    LineRule(
        "boost-not-shared",
        "The gate's signal is shared with nothing",
        Danger.INJURY,
        "No gauge, sensor, regulator, valve or other user on the actuator's branch.",
        "A user on the same thin hose takes air from it as it moves, delays it, and adds joints that can "
        "leak. What the actuator misses the gate opens late or not at all.",
        (source("practice"),),
        _LIMIT,
        boost_not_shared,
    ),
    LineRule(
        "boost-fails-safe",
        "One hose or plug lost leaves boost limited",
        Danger.INJURY,
        "With any one signal hose off, or the solenoid dead, spring pressure or less is left, or an "
        "over-boost cut that was proved.",
        "An actuator opens the gate by pressure. A hose that is off feeds it nothing: the gate stays shut "
        "and boost rises until something gives. No plumbing of a pressure-opened gate gets round that, so "
        "the cut has to be there and to have been seen to act. A solenoid plumbed so that at rest it joins "
        "source and actuator leaves spring pressure when its plug is off.",
        (source("statics"), source("practice")),
        _LIMIT,
        boost_fails_safe,
    ),
    LineRule(
        "regulator-side",
        "The fuel regulator is referred to the manifold",
        Danger.INJURY,
        "The regulator's reference sees the manifold and nothing else.",
        "An injector passes fuel by the difference between rail and manifold. The regulator keeps that "
        "difference only if it sees the manifold. Referred to anything else, or to nothing, the difference "
        "shrinks as boost rises: less fuel just where most is asked.",
        (source("orifice"), source("practice")),
        Caution(
            "WARNING", "Lean under boost melts pistons. Fuel under pressure: local rules, licensed people."
        ),
        regulator_side,
    ),
    LineRule(
        "gauge-side",
        "Gauge and sensor read the manifold",
        Danger.PERFORMANCE,
        "Boost gauge and manifold pressure sensor see the manifold and nothing else.",
        "What the cylinders get is what stands behind the throttle. Ahead of it the reading hides vacuum "
        "at part load and is higher under boost by what the throttle takes.",
        (source("practice"),),
        None,
        gauge_side,
    ),
)
