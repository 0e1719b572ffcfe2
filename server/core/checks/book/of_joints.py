"""Rules of what joins, explained: couplers, clamps, beads, overlap and side ports."""

from dataclasses import replace

from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, Value, among, at_least, at_most, is_
from server.core.checks.couplers import HELD_ENDS
from server.core.checks.layout import End
from server.core.tube.run import EndForm, PortPlan, Screw, Stretch
from server.core.units import Kind

_SPIGOT = Sign("D", "outside diameter of the spigot", Kind.length)
_HOSE = Sign("d", "bore of the hose", Kind.length)
_STRETCH = Sign("x", "by how much the hose is stretched", Kind.ratio, "percent")
_MOST_STRETCH = Sign("x", "most that it may be stretched", Kind.ratio, "percent", "most")
_LOOSE = Sign("g", "by how much the hose is larger than the spigot", Kind.length)
_MOST_LOOSE = Sign("g", "most that it may be larger", Kind.length, below="most")


def coupler_fit() -> Example:
    """A 2 3/8 inch hose over a 2 1/2 inch tube."""
    joints = (bench.clamped(50), bench.clamped(51), bench.weld(52))
    case = bench.charge(bench.hose(1, 60.0), bench.tube(2, 63.5), joints=joints)
    facts = bench.facts(case)
    joint = facts.layout.hose_joints[1]
    given = {
        _SPIGOT: facts.outside(joint.spigot),
        _HOSE: facts.bore(joint.hose),
        _MOST_STRETCH: facts.limit("coupler.stretch"),
        _MOST_LOOSE: facts.limit("coupler.loose"),
    }
    told = (
        Told(_STRETCH, "joint.51.stretch"),
        Told(_MOST_STRETCH, "joint.51.stretch", "limit"),
        Told(_LOOSE, "joint.51.loose"),
        Told(_MOST_LOOSE, "joint.51.loose", "limit"),
    )
    return Example("A hose of 60 mm bore is to go over a tube of 63.5 mm.", case, given, told)


_OVER_TUBE = Sign("D", "outside of the hose over the tube", Kind.length, below="tube")
_OVER_BEAD = Sign("D", "outside of the hose over the bead", Kind.length, below="bead")
_HOSE_WALL = Sign("t", "wall of the hose", Kind.length)
_BEAD = Sign("h", "height of the bead over the tube", Kind.length)
_CLOSED = Sign("c", "least size of the clamp", Kind.length, below="least")
_OPEN = Sign("c", "largest size of the clamp", Kind.length, below="most")


def clamp() -> Example:
    """A clamp that suits a 60 mm tube under a hose of 4.5 mm wall."""
    joints = (bench.clamped(50, 64.0, 74.0), bench.clamped(51, 64.0, 74.0))
    case = bench.charge(bench.hose(1, 60.0), joints=joints)
    facts = bench.facts(case)
    joint = facts.layout.hose_joints[0]
    given = {
        _SPIGOT: facts.outside(joint.spigot),
        _HOSE_WALL: facts.wall(joint.hose),
        _BEAD: facts.limit("bead.height"),
        _CLOSED: facts.size("joint", 50, "clamp_least"),
        _OPEN: facts.size("joint", 50, "clamp_most"),
    }
    told = (
        Told(_OVER_TUBE, "joint.50.closed", "limit"),
        Told(_CLOSED, "joint.50.closed"),
        Told(_OVER_BEAD, "joint.50.open", "limit"),
        Told(_OPEN, "joint.50.open"),
    )
    text = "A T-bolt clamp of 64 to 74 mm on a 60 mm spigot with a bead, under a hose of 4.5 mm wall."
    return Example(text, case, given, told)


_FORM = Sign("E", "form of the spigot's end")
_HELD = Sign("B", "forms that hold a hose")
_LEG = Sign("ℓ", "straight leg of the spigot", Kind.length, below="leg")
_STRAIGHT = Sign("ℓ", "straight length that the bead roller needs", Kind.length, below="roller")
_WALL = Sign("t", "wall of the spigot", Kind.length, below="spigot")
_TAKES = Sign("t", "wall that the bead roller takes", Kind.length, below="roller")


def bead() -> Example:
    """A tube that was cut to length and never beaded."""
    cut = replace(bench.tube(2, 60.0), outlet_end=EndForm.PLAIN)
    case = bench.charge(bench.hose(1, 60.0), cut, bench.hose(3, 60.0))
    facts = bench.facts(case)
    end = End(cut, True)
    held = tuple(sorted(form.value for form in HELD_ENDS))
    given = {
        _FORM: end.form.value,
        _HELD: held,
        _LEG: facts.size("piece", 2, "length"),
        _STRAIGHT: facts.limit("roller.straight"),
        _WALL: facts.wall(end),
        _TAKES: facts.limit("roller.wall"),
    }
    return Example("A tube sawn to length, its end left plain, under a clamp.", case, given)


_SCREW = Sign("S", "what was seen of the clamp's screw")
_GOOD = Sign("G", "answers that pass")


def screw() -> Example:
    """A screw turned against a hose."""
    seen = replace(bench.clamped(50), screw=Screw.HOSE, screw_at="4 o'clock, 7 mm socket")
    case = bench.charge(bench.hose(1, 60.0), joints=(seen, bench.clamped(51)))
    given: dict[Sign, Value] = {_SCREW: seen.screw.value, _GOOD: (Screw.REACHED.value,)}
    return Example("The clamp's screw, at 4 o'clock, stands against a heater hose.", case, given)


_OVERLAP = Sign("ℓ", "how far the spigot stands in the hose", Kind.length)
_LEAST = Sign("ℓ", "least overlap that takes bead and clamp", Kind.length, below="least")
_CUFF = Sign(
    "ℓ", "straight cuff of the hose, half of one that is clamped at both ends", Kind.length, below="cuff"
)


def overlap() -> Example:
    """A 76 mm coupler between two spigots."""
    case = bench.charge(bench.hose(1, 60.0, 76.0))
    facts = bench.facts(case)
    given = {
        _OVERLAP: facts.size("joint", 50, "overlap"),
        _LEAST: facts.limit("overlap.least"),
        _LEG: facts.size("port", 1, "length"),
        _CUFF: 0.5 * facts.size("piece", 1, "length"),
    }
    told = (
        Told(_OVERLAP, "joint.50.overlap"),
        Told(_LEAST, "joint.50.overlap", "limit"),
        Told(_LEG, "joint.50.leg"),
        Told(_CUFF, "joint.50.cuff"),
    )
    text = "A coupler of 76 mm, clamped at both ends, with 30 mm of overlap on spigots 40 mm long."
    return Example(text, case, given, told)


_BUNG = Sign("d", "bore of the bung", Kind.length, below="bung")
_PORT = Sign("d", "bore of the port that it serves", Kind.length, below="port")
_SLACK = Sign("s", "bores closer than this count as equal", Kind.length)
_AT = Sign("a", "from the end of the piece to the middle of the bung", Kind.length)
_ROOM = Sign("r", "from the end of the piece to the edge of the bung", Kind.length)
_COVERED = Sign("ℓ", "how far the hose covers the piece", Kind.length, below="hose")


def side_ports() -> Example:
    """A breather's bung too close to the end of its tube."""
    breather = PortPlan(
        21, "Breather", EndForm.BARB, Stretch.AFTER_METER, "oil mist", sizes=bench.sizes(bore=16.0)
    )
    tube = replace(bench.tube(2, 84.0), bungs=(bench.drilled(31, "Breather", 35.0, 16.0, 21),))
    case = bench.intake(bench.hose(1, 84.0), tube, bench.hose(3, 84.0))
    case = replace(case, plan=replace(case.plan, side_ports=(breather,)))
    facts = bench.facts(case)
    given = {
        _BUNG: facts.size("bung", 31, "bore"),
        _PORT: facts.size("port", 21, "bore"),
        _SLACK: facts.limit("bore.slack"),
        _AT: facts.size("bung", 31, "at"),
        _COVERED: facts.overlap(facts.layout.joint_before(tube)),
    }
    told = (
        Told(_ROOM, "port.21.inlet"),
        Told(_COVERED, "port.21.inlet", "limit"),
        Told(_BUNG, "port.21.bore"),
        Told(_PORT, "port.21.bore", "limit"),
    )
    text = (
        "A breather of 16 mm bore, its bung welded 35 mm from the end of a tube that a hose covers for 30 mm."
    )
    return Example(text, case, given, told)


_TIGHT_MISFIT = 1.5
"""Times its limit that a misfit is still tight; as `couplers` has it, which the tests see to."""

EXPLAINED = (
    Explained(
        "coupler-fit",
        (
            is_(_STRETCH, _SPIGOT / _HOSE - 1.0),
            at_most(_STRETCH, _MOST_STRETCH),
            is_(_LOOSE, _HOSE - _SPIGOT),
            at_most(_LOOSE, _MOST_LOOSE),
        ),
        coupler_fit,
        (
            at_most(_STRETCH, _TIGHT_MISFIT * _MOST_STRETCH),
            at_most(_LOOSE, _TIGHT_MISFIT * _MOST_LOOSE),
        ),
    ),
    Explained(
        "clamp",
        (
            is_(_OVER_TUBE, _SPIGOT + 2.0 * _HOSE_WALL),
            at_most(_CLOSED, _OVER_TUBE),
            is_(_OVER_BEAD, _OVER_TUBE + 2.0 * _BEAD),
            at_least(_OPEN, _OVER_BEAD),
        ),
        clamp,
        notes=("The clamp sits behind the bead, but has to pass over it.",),
    ),
    Explained(
        "clamp-screw",
        (among(_SCREW, _GOOD),),
        screw,
        notes=("Said on the car, under the joint; a clamp that nobody looked at is not spoken of.",),
    ),
    Explained(
        "bead",
        (among(_FORM, _HELD), at_least(_LEG, _STRAIGHT), at_most(_WALL, _TAKES)),
        bead,
        notes=(
            "The roller's two numbers count for tubes and bends with a bead; what it does not take is tight,"
            " no leg at all is no-go.",
        ),
    ),
    Explained(
        "overlap", (at_least(_OVERLAP, _LEAST), at_least(_LEG, _OVERLAP), at_least(_CUFF, _OVERLAP)), overlap
    ),
    Explained(
        "side-ports",
        (
            is_(_ROOM, _AT - _BUNG / 2.0),
            at_least(_ROOM, _COVERED),
            at_least(_BUNG, _PORT - _SLACK),
        ),
        side_ports,
        notes=(
            "Before that: every port has a bung, on the right stretch, on a piece that takes one that way.",
            "Two side ports in one piece keep room from edge to edge, along the pipe and round it; less is"
            " tight, overlapping is no-go.",
        ),
    ),
)
