"""Rules of what must not be blown into: brake servo, crankcase, vapour canister."""

from server.core.lines.joined import branch
from server.core.lines.ledger import Device, Region, Valve
from server.core.lines.rules.rule import Caution, Danger, Finding, LineRule, Word, go, no_go, not_known
from server.core.lines.solve import Solved
from server.core.lines.states import RUNNING, UNDER_PRESSURE, VACUUM, Kind, State
from server.core.lines.ways import Net
from server.core.sources import source

_ENGINE_SIDE = (Kind.MANIFOLD, Kind.CHARGE, Kind.AFTER_METER)
_BLOW_THROUGH = "Blow through the one-way valve on its way with a clean hose, and say which way it passes."


def servo_vacuum(solved: Solved) -> tuple[Finding, ...]:
    """The brake servo has vacuum, and boost never reaches it.

    In: idle for the vacuum, every state for boost.
    """
    return tuple(finding for region in solved.map.of_kind(Kind.SERVO) for finding in _servo(solved, region))


def _servo(solved: Solved, region: Region) -> list[Finding]:
    item, name = f"region.{region.id}", region.name
    findings = []
    blown, perhaps = _blown_into(solved, region.id)
    if blown:
        text = "Boost reaches {name}: no vacuum is left in it, and the pedal is hard."
        cure = "Fit the one-way valve in its hose so that air passes to the manifold only."
        findings.append(no_go(item, blown, text, cure, name=name))
    elif perhaps:
        findings.append(not_known(item, perhaps, "Boost may reach {name}.", _BLOW_THROUGH, name=name))
    least, most = solved.level(region.id, State.IDLE)
    if least > VACUUM:
        text = "{name} gets no vacuum at idle."
        cure = "Join it behind the throttle, through a one-way valve that passes to the manifold."
        findings.append(no_go(item, (State.IDLE,), text, cure, name=name))
    elif most > VACUUM:
        text = "{name} may get no vacuum at idle."
        findings.append(not_known(item, (State.IDLE,), text, _BLOW_THROUGH, name=name))
    return findings or [go(item, "{name} has vacuum, and nothing blows into it.", name=name)]


def _blown_into(solved: Solved, region: int) -> tuple[list[State], list[State]]:
    """The states in which boost surely reaches a space, and those in which it may."""
    sure, may = [], []
    for state in State:
        nets = solved.nets(state)
        if any(_pressed(net, region, True) for net in nets):
            sure.append(state)
        elif any(_pressed(net, region, False) for net in nets):
            may.append(state)
    return sure, may


def _pressed(net: Net, region: int, sure: bool) -> bool:
    """Whether something under boost reaches a space; sure: surely open ways, pressure surely that high."""
    return any(
        net.levels[one][0 if sure else 1] >= UNDER_PRESSURE for one in net.beyond(region, sure, back=True)
    )


def crankcase_boost(solved: Solved) -> tuple[Finding, ...]:
    """Boost never reaches the crankcase."""
    findings = []
    for region in solved.map.of_kind(Kind.CRANKCASE):
        item, name = f"region.{region.id}", region.name
        blown, perhaps = _blown_into(solved, region.id)
        if blown:
            text = "Boost blows into {name}: oil is pushed past every seal."
            cure = "Fit a one-way valve that passes out of the crankcase only, in the hose to the manifold."
            findings.append(no_go(item, blown, text, cure, name=name))
        elif perhaps:
            findings.append(not_known(item, perhaps, "Boost may reach {name}.", _BLOW_THROUGH, name=name))
        else:
            findings.append(go(item, "No boost reaches {name}.", name=name))
    return tuple(findings)


def crankcase_vent(solved: Solved) -> tuple[Finding, ...]:
    """Gas past the pistons has a way out in every state in which the engine runs."""
    findings = []
    for region in solved.map.of_kind(Kind.CRANKCASE):
        item, name = f"region.{region.id}", region.name
        shut, perhaps = [], []
        for state in RUNNING:
            words = {_vented(net, region.id) for net in solved.nets(state)}
            if Word.NO_GO in words:
                shut.append(state)
            elif Word.NOT_KNOWN in words:
                perhaps.append(state)
        if shut:
            text = "{name} has no way out: gas past the pistons builds up in it."
            cure = "Give it a hose to the intake ahead of the compressor, or to a catch tank that breathes."
            findings.append(no_go(item, shut, text, cure, name=name))
        elif perhaps:
            text = "{name} may have no way out."
            findings.append(not_known(item, perhaps, text, _BLOW_THROUGH, name=name))
        else:
            findings.append(go(item, "{name} breathes in every state.", name=name))
    return tuple(findings)


def _vented(net: Net, region: int) -> Word:
    """Whether a way out leads to where the pressure surely stands below that of gas past the pistons."""
    for sure, word in ((True, Word.GO), (False, Word.NOT_KNOWN)):
        if any(net.levels[one][1] < 1 for one in net.beyond(region, sure)):
            return word
    return Word.NO_GO


def breather_way(solved: Solved) -> tuple[Finding, ...]:
    """A one-way valve between crankcase and the engine's air passes out of the crankcase."""
    findings = []
    for valve in solved.map.valves_of(Device.CHECK):
        crankcase = _crankcase_side(solved, valve)
        if crankcase is None:
            continue
        item, name = f"valve.{valve.id}", valve.name
        if valve.forward is None:
            text = "Nobody has said which way {name} passes."
            findings.append(not_known(item, (State.BOOST,), text, _BLOW_THROUGH, name=name))
        elif valve.forward == (crankcase == 0):
            findings.append(go(item, "{name} passes out of the crankcase.", name=name))
        else:
            text = "{name} is the wrong way round: it passes into the crankcase."
            cure = "Turn it: it must pass from the crankcase to the manifold."
            findings.append(no_go(item, (State.IDLE, State.BOOST), text, cure, name=name))
    return tuple(findings)


def _crankcase_side(solved: Solved, valve: Valve) -> int | None:
    """Which side of a valve hangs on the crankcase, the other on manifold or charge pipe; None for
    neither.
    """
    line_map = solved.map
    kinds = [
        {line_map.region_of[one].kind for one in branch(line_map, side, frozenset({valve.id}))}
        for side in valve.sides
    ]
    for side, other in ((0, 1), (1, 0)):
        if Kind.CRANKCASE in kinds[side] and kinds[other] & set(_ENGINE_SIDE):
            return side
    return None


def purge_way(solved: Solved) -> tuple[Finding, ...]:
    """The canister is purged in some state, and never blown into."""
    canisters = solved.map.of_kind(Kind.CANISTER)
    purged = [finding for region in canisters for finding in _purged(solved, region)]
    shut = [
        _shut_in(tank) for tank in solved.map.of_kind(Kind.TANK) if canisters and not _breathes(solved, tank)
    ]
    return (*purged, *shut)


def _breathes(solved: Solved, tank: Region) -> bool:
    """Whether a tank's vapour space leads to a canister."""
    led = solved.nets(State.HOT_SOAK)[0].beyond(tank.id, True)
    return any(one > 0 and solved.map.region_of[one].kind is Kind.CANISTER for one in led)


def _shut_in(tank: Region) -> Finding:
    text = "{name} does not lead to the canister: it can't breathe, or breathes fuel into the open."
    return no_go(f"region.{tank.id}", (), text, "Join its vapour hose to the canister.", name=tank.name)


def _purged(solved: Solved, region: Region) -> list[Finding]:
    item, name = f"region.{region.id}", region.name
    findings = []
    blown, perhaps = _blown_into(solved, region.id)
    if blown:
        text = "Boost blows into {name}, and fuel vapour out of its vent."
        cure = "Fit a one-way valve that passes to the manifold only, between purge valve and manifold."
        findings.append(no_go(item, blown, text, cure, name=name))
    elif perhaps:
        findings.append(not_known(item, perhaps, "Boost may reach {name}.", _BLOW_THROUGH, name=name))
    words = {_drawn(net, region.id) for state in RUNNING for net in solved.nets(state)}
    if Word.GO not in words:
        if Word.NOT_KNOWN in words:
            text = "{name} may never be purged."
            settles = "Blow through its one-way valve, or read the pressure where its hose ends, at idle."
            findings.append(not_known(item, (State.IDLE, State.CRUISE), text, settles, name=name))
        else:
            text = "Nothing draws on {name}: it fills, and vapour runs out of its vent."
            cure = (
                "Lead it through purge valve and one-way valve, passing to the manifold, behind the throttle."
            )
            findings.append(no_go(item, (State.IDLE, State.CRUISE), text, cure, name=name))
    return findings or [go(item, "{name} is purged, and nothing blows into it.", name=name)]


def _drawn(net: Net, canister: int) -> Word:
    """Whether something draws on a canister in a state."""
    for sure, place, word in ((True, 1, Word.GO), (False, 0, Word.NOT_KNOWN)):
        if any(net.levels[one][place] < net.levels[canister][0] for one in net.beyond(canister, sure)):
            return word
    return Word.NO_GO


RULES = (
    LineRule(
        "servo-vacuum",
        "The brake servo sees vacuum only",
        Danger.INJURY,
        "Vacuum at idle, boost in no state: behind its own one-way valve.",
        "The servo helps the foot by the difference between the open air and the vacuum it holds. The "
        "manifold has vacuum with the throttle shut and boost with it open. A valve that passes to the "
        "manifold only lets each shut throttle draw the servo down, and keeps that vacuum when boost "
        "comes. The wrong way round it keeps boost instead; without it the first hard pull leaves no help "
        "for the next stop.",
        (source("statics"), source("idle-vacuum"), source("practice")),
        Caution(
            "DANGER",
            "Brake help can fail without warning on the road. After any work here: pedal hard with the "
            "engine off, sinking as it starts; the car maker's procedure and a qualified look come first.",
        ),
        servo_vacuum,
    ),
    LineRule(
        "crankcase-boost",
        "No boost in the crankcase",
        Danger.INJURY,
        "Nothing under boost has a way into the crankcase.",
        "Crankcase seals hold oil against next to nothing. Boost through the vapour hose pushes oil out at "
        "the seals and up the dipstick tube, and holds up the turbo's drain, which runs by its weight "
        "alone: oil then leaves at the turbine, where it burns.",
        (source("statics"), source("practice")),
        Caution("WARNING", "Oil on a hot turbine is a fire. Extinguisher at hand when it first runs."),
        crankcase_boost,
    ),
    LineRule(
        "crankcase-vent",
        "The crankcase breathes in every state",
        Danger.INJURY,
        "In every state in which the engine runs a way out leads to lower pressure.",
        "Some gas always passes the pistons, most of it under boost. A valve to the manifold alone is shut "
        "just then; a second way, to the intake ahead of the compressor or to a catch tank that breathes, "
        "takes it.",
        (source("conservation"), source("practice")),
        Caution(
            "WARNING",
            "Oil on a hot turbine is a fire. Venting to the open air is forbidden on the road in many "
            "places; local rules decide.",
        ),
        crankcase_vent,
    ),
    LineRule(
        "breather-way",
        "The crankcase's one-way valve passes outward",
        Danger.INJURY,
        "A one-way valve between crankcase and manifold passes out of the crankcase.",
        "It has two jobs: to let vapour be drawn off while the manifold lies under vacuum, and to shut "
        "when boost comes. Turned round it does neither.",
        (source("practice"),),
        Caution("WARNING", "Oil on a hot turbine is a fire. Extinguisher at hand when it first runs."),
        breather_way,
    ),
    LineRule(
        "purge-way",
        "Tank and canister breathe, and nothing blows into them",
        Danger.INJURY,
        "The tank leads to the canister, the canister to where there is vacuum in some state, and boost "
        "has no way into it in any.",
        "The canister holds fuel vapour until the engine draws it in through the purge valve. Most purge "
        "valves hold against vacuum only: boost lifts them. So a one-way valve that passes to the manifold "
        "stands between. Joined ahead of the throttle, nothing surely draws.",
        (source("practice"),),
        Caution(
            "DANGER",
            "Fuel vapour burns from one spark. Emission parts are protected by law in many places; local "
            "rules and licensed people have the last word.",
        ),
        purge_way,
    ),
)
