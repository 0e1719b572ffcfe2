"""Rules of what must run in a circuit: the turbo's oil, its coolant, the fuel."""

from server.core.lines.ledger import Device, Valve
from server.core.lines.rules.rule import Caution, Danger, Finding, LineRule, go, no_go, not_known
from server.core.lines.solve import Solved
from server.core.lines.states import RUNNING, Kind, State
from server.core.lines.ways import By
from server.core.sources import source


def oil_feed(solved: Solved) -> tuple[Finding, ...]:
    """Oil under pressure reaches each turbo's bearings."""
    findings = []
    for valve in solved.map.valves_of(Device.BEARING):
        kinds = _touched(solved, valve, 0, back=True)
        item, name = f"valve.{valve.id}", valve.name
        if kinds == {Kind.OIL_GALLERY}:
            findings.append(go(item, "{name} is fed from the gallery.", name=name))
        else:
            text = "No oil under pressure reaches {name}: seconds without it ruin the bearings."
            cure = "Join the feed from the oil gallery to the inlet, and the drain to the outlet."
            findings.append(no_go(item, RUNNING, text, cure, name=name))
    return tuple(findings)


def oil_drain(solved: Solved) -> tuple[Finding, ...]:
    """Oil leaves each turbo for the sump, and nothing under pressure stands on its outlet."""
    findings = []
    for valve in solved.map.valves_of(Device.BEARING):
        kinds = _touched(solved, valve, 1, back=False)
        item, name = f"valve.{valve.id}", valve.name
        if kinds == {Kind.SUMP}:
            findings.append(go(item, "{name} drains to the sump.", name=name))
        else:
            text = "The oil of {name} can't leave for the sump: it goes out past the seals instead."
            cure = "Lead the outlet to the sump above the oil, downhill all the way, with nothing in between."
            findings.append(no_go(item, RUNNING, text, cure, name=name))
    return tuple(findings)


def coolant_circuit(solved: Solved) -> tuple[Finding, ...]:
    """Each jacket lies between the pump's outlet side and its suction side."""
    findings = []
    for valve in solved.map.valves_of(Device.JACKET, Device.HEATER):
        sides = [_touched(solved, valve, side, back=True) for side in (0, 1)]
        item, name = f"valve.{valve.id}", valve.name
        if {Kind.PUMP_OUT} in sides and {Kind.PUMP_IN} in sides:
            findings.append(go(item, "Coolant runs through {name}.", name=name))
        else:
            text = (
                "Nothing drives coolant through {name}: its two hoses don't lead to both sides of the pump."
            )
            cure = "Join one hose to the pump's outlet side, the other to its suction side."
            findings.append(no_go(item, RUNNING, text, cure, name=name))
    return tuple(findings)


def fuel_circuit(solved: Solved) -> tuple[Finding, ...]:
    """Fuel reaches each rail, and goes back to the tank on a car that has a return."""
    findings = []
    returns = bool(solved.map.of_kind(Kind.FUEL_RETURN))
    for valve in solved.map.valves_of(Device.RAIL):
        fed, led = _touched(solved, valve, 0, back=True), _touched(solved, valve, 1, back=False)
        item, name = f"valve.{valve.id}", valve.name
        if fed == {Kind.FUEL_SUPPLY} and led == ({Kind.FUEL_RETURN} if returns else set()):
            findings.append(go(item, "{name} has its fuel, and its way back where there is one.", name=name))
        else:
            text = "Fuel does not run from the pump through {name} and back as it must."
            cure = "Join feed to inlet and return to outlet, with hose and clamps made for the pressure."
            findings.append(no_go(item, RUNNING, text, cure, name=name))
    return tuple(findings)


def thermosiphon(solved: Solved) -> tuple[Finding, ...]:
    """With the engine off, coolant in a hot turbo can rise out of it: its outlet stands above its inlet."""
    findings = []
    for valve in solved.map.valves_of(Device.JACKET):
        inlet, outlet = (_height(solved, side) for side in valve.sides)
        item, name = f"valve.{valve.id}", valve.name
        if inlet is None or outlet is None:
            text = "Nobody has read how high the coolant ports of {name} stand."
            settles = "Read the heights of its two coolant ports, car on level ground."
            findings.append(not_known(item, (State.HOT_SOAK,), text, settles, name=name))
        elif outlet > inlet:
            findings.append(go(item, "Coolant rises out of {name} after the engine stops.", name=name))
        else:
            text = (
                "The coolant outlet of {name} is no higher than its inlet: steam gathers there after a stop."
            )
            cure = "Feed it at the lower port and lead the upper one away, rising."
            findings.append(no_go(item, (State.HOT_SOAK,), text, cure, name=name))
    return tuple(findings)


def _touched(solved: Solved, valve: Valve, side: int, back: bool) -> set[Kind]:
    """The kinds of space that one side of a device comes from (back) or leads to, not through the device."""
    net = solved.nets(State.IDLE)[0]
    here = valve.sides[side]
    found = net.reached(here, True, back, frozenset({(By.VALVE, valve.id)}))
    return {solved.map.region_of[one].kind for one in found if one > 0}


def _height(solved: Solved, region: int) -> float | None:
    """How high the port of a device's side stands [m]; None where it was not read."""
    heights = (port.height for port in solved.map.ports if port.region == region)
    return next((height for height in heights if height is not None), None)


RULES = (
    LineRule(
        "oil-feed",
        "The turbo's oil feed is whole",
        Danger.INJURY,
        "A way for oil from the gallery to the bearing inlet.",
        "The shaft floats on oil that only the pump's pressure brings. Seconds without it are enough.",
        (source("practice"),),
        Caution("WARNING", "Fill the turbo by hand with clean oil, crank until the gauge reads, then start."),
        oil_feed,
    ),
    LineRule(
        "oil-drain",
        "The turbo's oil drain is whole",
        Danger.INJURY,
        "A way for oil from the bearing outlet to the sump, and nothing under pressure on it.",
        "Behind the bearings the oil has no pressure left and runs out by its weight. What can't leave "
        "rises to the seals, and goes into turbine and compressor.",
        (source("statics"), source("practice")),
        Caution("WARNING", "A drain that weeps over a turbine is a fire. No drain flow within 30 s: stop."),
        oil_drain,
    ),
    LineRule(
        "coolant-circuit",
        "Coolant runs through every jacket",
        Danger.PERFORMANCE,
        "One hose on the pump's outlet side, the other on its suction side.",
        "Coolant moves from the pump's outlet to its suction side and nowhere else. Both hoses on the same "
        "side leave it standing: no pressure difference, no flow.",
        (source("conservation"), source("practice")),
        Caution(
            "WARNING", "Never open a hot cap: the water flashes to steam. Bleed with the heater on full."
        ),
        coolant_circuit,
    ),
    LineRule(
        "fuel-circuit",
        "Fuel runs to the rail and back",
        Danger.INJURY,
        "A way from the fuel pump to the rail, and from the rail to the tank on a car with a return.",
        "The pump gives more than the injectors take and the regulator sends the rest back: with the "
        "return shut rail pressure rises to what the pump can make, crossed over the rail stands empty.",
        (source("conservation"), source("practice")),
        Caution(
            "DANGER",
            "Fuel under pressure sprays far and burns from one spark. Fuel lines are for a licensed hand "
            "in many places; local rules decide.",
        ),
        fuel_circuit,
    ),
    LineRule(
        "thermosiphon",
        "Coolant rises out of a hot turbo",
        Danger.PERFORMANCE,
        "The turbo's coolant outlet stands above its inlet.",
        "After a stop the turbine's heat soaks into the bearing housing while the pump stands still. Hot "
        "coolant is lighter and rises: through a jacket fed at its lower port it keeps moving by itself.",
        (source("maker"), source("practice")),
        None,
        thermosiphon,
    ),
)
