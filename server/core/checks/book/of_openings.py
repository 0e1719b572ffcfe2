"""Rules of the oxygen sensor's boss and the wastegate's flap, explained."""

from dataclasses import replace
from math import pi

from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, Size, at_least, is_
from server.core.measure.opening import WITH_FLAP
from server.core.units import Kind

_ABOVE = Sign("θ", "angle of the boss above level", Kind.angle)
_TOP = Sign("90°", "from level to 12 o'clock", Kind.angle)
_CLOCK = Sign("φ", "angle of the boss from 12 o'clock", Kind.angle)
_LEAST_ABOVE = Sign("θ", "least angle above level", Kind.angle, below="least")
_WAY = Sign("x", "way along the pipe from the turbine to the boss", Kind.length)
_LEAST_WAY = Sign("x", "least way", Kind.length, below="least")
_AT = Sign("a", "from the start of its piece to the middle of the boss", Kind.length)
_BOSS = Sign("d", "bore of the boss", Kind.length)
_EDGE = Sign("e", "from the start of its piece to the edge of the boss", Kind.length)
_LEAST_EDGE = Sign("e", "least way from edge to joint", Kind.length, below="least")


def sensor_boss() -> Example:
    """A boss at ten o'clock, too near to the turbine."""
    boss = replace(bench.drilled(31, "Oxygen sensor", 300.0, 18.0), clock=-pi / 3.0)
    case = bench.downpipe(replace(bench.hot(bench.tube(1, 76.2, 500.0)), bungs=(boss,)), bench.flex(2))
    facts = bench.facts(case)
    at = facts.size("bung", 31, "at")
    given = {
        _TOP: 0.5 * pi,
        _CLOCK: boss.clock,
        _LEAST_ABOVE: facts.limit("sensor.above"),
        _WAY: at,
        _LEAST_WAY: facts.limit("sensor.after"),
        _AT: at,
        _BOSS: facts.size("bung", 31, "bore"),
        _LEAST_EDGE: facts.limit("sensor.joint"),
    }
    told = (
        Told(_ABOVE, "bung.31.above"),
        Told(_LEAST_ABOVE, "bung.31.above", "limit"),
        Told(_WAY, "bung.31.after"),
        Told(_LEAST_WAY, "bung.31.after", "limit"),
        Told(_EDGE, "bung.31.inlet"),
        Told(_LEAST_EDGE, "bung.31.inlet", "limit"),
    )
    text = "A boss of 18 mm at 10 o'clock on the first tube of a downpipe, 300 mm behind the turbine."
    return Example(text, case, given, told)


_STRAIGHT = Sign("ℓ", "straight length from the flange's face on", Kind.length)
_REACH = Sign("ℓ", "how far the open flap reaches past that face", Kind.length, below="flap")
_BORE = Sign("d", "bore of the pipe there", Kind.length)
_SWING = Sign("w", "from the port's centre to the open flap's far edge", Kind.length)
_ROOM = Sign("r", "room around the open flap", Kind.length)
_LEAST_ROOM = Sign("r", "least room", Kind.length, below="least")


def flap_room() -> Example:
    """A turbine with its gate inside, and a pipe that is straight behind it."""
    case = bench.downpipe(bench.hot(bench.tube(1, 76.2)), bench.flex(2))
    start = case.plan.start
    assert start is not None
    read = {**start.sizes, **bench.sizes(flap_reach=32.0, flap_swing=31.0)}
    case = replace(case, plan=replace(case.plan, start=replace(start, medium=WITH_FLAP, sizes=read)))
    facts = bench.facts(case)
    given = {
        _STRAIGHT: facts.size("piece", 1, "length"),
        _REACH: facts.size("port", 1, "flap_reach"),
        _BORE: facts.bore(facts.narrower_end(case.plan.pieces[0])),
        _SWING: facts.size("port", 1, "flap_swing"),
        _LEAST_ROOM: facts.limit("flap.clear"),
    }
    told = (
        Told(_STRAIGHT, "straight"),
        Told(_REACH, "straight", "limit"),
        Told(_ROOM, "wide"),
        Told(_LEAST_ROOM, "wide", "limit"),
    )
    text = (
        "The flap of a wastegate inside the turbine, fully open: 32 mm past the flange and 31 mm from its"
        " centre. A straight tube of 76.2 mm begins there."
    )
    return Example(text, case, given, told)


EXPLAINED = (
    Explained(
        "sensor-boss",
        (
            is_(_ABOVE, _TOP - Size(_CLOCK)),
            at_least(_ABOVE, _LEAST_ABOVE),
            at_least(_WAY, _LEAST_WAY, "On a downpipe"),
            is_(_EDGE, _AT - _BOSS / 2.0),
            at_least(_EDGE, _LEAST_EDGE),
        ),
        sensor_boss,
        (at_least(_WAY, _LEAST_WAY / 2.0, "On a downpipe"),),
        ("The other end of the piece is judged in the same way.",),
    ),
    Explained(
        "flap-room",
        (
            at_least(_STRAIGHT, _REACH),
            is_(_ROOM, _BORE / 2.0 - _SWING),
            at_least(_ROOM, _LEAST_ROOM),
        ),
        flap_room,
        (at_least(_ROOM, 0.0),),
        ("Where the pipe narrows or bends within the flap's reach, its narrowest bore and bend count.",),
    ),
)
