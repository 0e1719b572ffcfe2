"""Which way each line of the right car flows, state by state, reasoned from the pressures at its ends.

Source: common practice, no source; idle and shut-throttle vacuum: US Army Ordnance tune-up lesson (BST-02).
"""

import pytest

from server.core.lines.ledger import Device, LineMap, MeterPlace, Port, Region
from server.core.lines.solve import Flow, Solved
from server.core.lines.states import Kind, State
from tests.line_maps import right_car

CAR = right_car().map()
SOLVED = Solved(CAR)
LINES = {line.name: line for line in CAR.lines}
SAID = {">": Flow.FORWARD, "<": Flow.BACKWARD, "=": Flow.STILL, "?": Flow.NOT_KNOWN}

# cranking, idle, cruise, boost, lift-off, over-run, cold start, hot soak
EXPECTED = {
    "vapour hose": ">>>=>>>=",  # drawn off while there is vacuum, shut in boost
    "vapour hose to manifold": ">>>=>>>=",
    "breather hose": "<??>???=",  # turns on how much passes the pistons; out in boost
    "canister hose": "=>>=>>==",  # purged warm, never in boost
    "bypass return hose": "???=>??=",  # lets the charge pipe down as the throttle shuts
    "bypass signal hose": "========",  # carries pressure
    "idle inlet hose": ">>>>>>>=",
    "secondary air hose": "======>=",  # at a cold start only
    "air pipe": "======>=",
    "gate source hose": "========",
    "servo vacuum hose": "========",  # drawn down and then still
    "oil feed": ">>>>>>>=",
    "oil drain": ">>>>>>>=",
    "turbo coolant return": ">>>>>>>=",
}


@pytest.mark.parametrize("name", EXPECTED)
def test_a_line_flows_as_the_pressures_at_its_ends_have_it(name: str) -> None:
    flows = [SOLVED.flow(LINES[name], state).flow for state in State]
    assert flows == [SAID[sign] for sign in EXPECTED[name]]


def test_a_flow_that_is_not_known_names_the_two_spaces_whose_order_decides() -> None:
    flow = SOLVED.flow(LINES["bypass return hose"], State.IDLE)
    assert flow.between is not None
    kinds = {CAR.region_of[one].kind for one in flow.between}
    assert kinds == {Kind.CHARGE, Kind.INTAKE}


def test_a_bleed_hose_changes_with_the_solenoid() -> None:
    """At rest the actuator's hose carries pressure; driven, it joins air to air."""
    car = right_car()
    car.loosen("gate hose", 1)
    line_map = car.map()
    line = next(line for line in line_map.lines if line.name == "gate source hose")
    assert Solved(line_map).flow(line, State.BOOST).flow is Flow.EITHER


def test_a_bridge_between_two_like_taps_is_not_decided() -> None:
    """Two taps, each on manifold and intake, and a hose across: the bores decide."""
    car = right_car()
    for name in ("left", "right"):
        car.space(name)
        car.hose(f"{name} high", "intake", name, LINES["gauge hose"].medium)
        car.hose(f"{name} low", name, "manifold", LINES["gauge hose"].medium)
    car.hose("bridge", "left", "right", LINES["gauge hose"].medium)
    line_map = car.map()
    flows = {
        line.name: Solved(line_map).flow(line, State.IDLE).flow
        for line in line_map.lines
        if line.name in {"bridge", "left high"}
    }
    assert flows == {"bridge": Flow.NOT_KNOWN, "left high": Flow.FORWARD}


def test_a_servo_behind_its_valve_keeps_the_deepest_vacuum_it_was_given() -> None:
    servo = CAR.of_kind(Kind.SERVO)[0]
    least, most = SOLVED.level(servo.id, State.BOOST)
    assert most <= 0
    assert least == -8


def test_what_is_shut_off_stands_at_the_open_air() -> None:
    line_map = LineMap(None, (Region(1, Kind.ATMOSPHERE, "air"), Region(2, Kind.JUNCTION, "jar")), (), ())
    assert Solved(line_map).level(2, State.BOOST) == (0, 0)


def test_a_map_whose_numbers_name_nothing_is_refused() -> None:
    air = Region(1, Kind.ATMOSPHERE, "air")
    with pytest.raises(ValueError, match="names 7"):
        LineMap(MeterPlace.NONE, (air,), (Port(2, "nipple", 7, LINES["gauge hose"].medium),), ())
    with pytest.raises(ValueError, match="used twice"):
        LineMap(MeterPlace.NONE, (air, air), (), ())
    with pytest.raises(ValueError, match="open air"):
        LineMap(MeterPlace.NONE, (), (), ())
    solenoid = next(valve for valve in CAR.valves if valve.kind is Device.THREE_WAY)
    with pytest.raises(ValueError, match="3 sides"):
        LineMap(MeterPlace.NONE, (air,), (), (), (type(solenoid)(1, Device.CHECK, "valve", solenoid.sides),))
