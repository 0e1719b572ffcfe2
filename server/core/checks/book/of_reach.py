"""Rule of where a run ends, explained."""

from dataclasses import replace
from math import radians

from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, at_most
from server.core.tube.space.in_car import CLOSES_ANGLE, Lies, Miss
from server.core.units import Kind

_OFF = Sign("e", "how far the run ends off its port", Kind.length)
_OFF_MOST = Sign("e", "how far it may", Kind.length, below="most")
_LEAN = Sign("β", "angle between its end and the way into the port", Kind.angle)
_LEAN_MOST = Sign("β", "angle that passes", Kind.angle, below="most")


def reach() -> Example:
    """A charge pipe that ends beside its cooler."""
    case = bench.charge(bench.tube(1, 60.0), joints=(bench.weld(50), bench.weld(51)))
    case = replace(case, lies=Lies(Miss(0.034, radians(3.0)), 0.0, as_drawn=True))
    facts = bench.facts(case)
    given = {
        _OFF: 34.0 * bench.MM,
        _LEAN: radians(3.0),
        _OFF_MOST: facts.limit("reach.off"),
        _LEAN_MOST: CLOSES_ANGLE,
    }
    told = (
        Told(_OFF, "off"),
        Told(_OFF_MOST, "off", "limit"),
        Told(_LEAN, "lean"),
        Told(_LEAN_MOST, "lean", "limit"),
    )
    return Example("A charge pipe that ends 34 mm beside its cooler and leans by 3°.", case, given, told)


EXPLAINED = (
    Explained(
        "reach",
        (at_most(_OFF, _OFF_MOST), at_most(_LEAN, _LEAN_MOST)),
        reach,
        (),
        ("A place is read to some millimetres, so that a run that closes on paper is still offered up.",),
    ),
)
