"""Rules of the intake and the charge pipe, explained: losses, collapse, end force."""

from dataclasses import replace

from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import PI, Sign, at_least, at_most, is_
from server.core.checks.charge import end_force
from server.core.checks.flow import flow_of
from server.core.checks.intake import collapse_pressure
from server.core.measure.estimate import Estimate
from server.core.tube.run import PieceKind
from server.core.units import Kind

_BEFORE = Sign(
    "Δp", "lost before the run: filter and air box, from the engine sheet", Kind.pressure, below="before"
)
_RUN = Sign("Δp", "lost in the run, as total pressure", Kind.pressure, below="run")
_TOTAL = Sign("Δp", "suction at the compressor inlet, at the peak", Kind.pressure)
_MOST = Sign("Δp", "suction that passes", Kind.pressure, below="most")


def intake_loss() -> Example:
    """An intake with a right angle in it."""
    elbow = bench.piece(
        2,
        PieceKind.BEND,
        outside_diameter=84.0,
        wall=2.0,
        length=60.0,
        length_out=60.0,
        bend_angle=90.0,
        bend_radius=126.0,
    )
    case = bench.intake(bench.hose(1, 84.0), elbow, bench.hose(3, 84.0))
    facts = bench.facts(case)
    given = {
        _BEFORE: facts.engine.filter_loss,
        _RUN: flow_of(facts).loss,
        _MOST: facts.limit("suction.most"),
    }
    text = (
        "A bend of 84 mm, 90° at 1.5 diameters, between two hoses, ahead of a 2.1 litre engine at 0.9 bar;"
        " its filter takes 1.5 kPa."
    )
    return Example(text, case, given, (Told(_TOTAL, "run"), Told(_MOST, "run", "limit")))


_BOOST = Sign("p", "steady boost at the peak", Kind.pressure, below="boost")
_SHARE = Sign("x", "share of it that the pipe may lose", Kind.ratio, "percent")
_MAY = Sign("Δp", "loss that passes", Kind.pressure, below="most")


def charge_loss() -> Example:
    """A narrow charge pipe with a bend."""
    elbow = bench.piece(
        2,
        PieceKind.BEND,
        outside_diameter=48.0,
        wall=1.5,
        length=60.0,
        length_out=60.0,
        bend_angle=90.0,
        bend_radius=72.0,
    )
    case = bench.charge(bench.hose(1, 60.0), elbow, bench.hose(3, 60.0))
    facts = bench.facts(case)
    given = {
        _RUN: flow_of(facts).loss,
        _BOOST: facts.engine.boost,
        _SHARE: facts.limit("charge.loss_share"),
    }
    text = (
        "A bend of 48 mm, 90°, between 60 mm spigots, behind the compressor of a 2.1 litre engine at 0.9 bar."
    )
    return Example(text, case, given, (Told(_RUN, "run"), Told(_MAY, "run", "limit")))


_FREE = Sign("ℓ", "length of the hose between the spigots in it", Kind.length)
_SPAN = Sign("n", "free length that passes, in bores", Kind.ratio)
_BORE = Sign("d", "bore of the hose", Kind.length)
_HOLDS = Sign("p", "suction at which a long tube collapses", Kind.pressure)
_STIFFNESS = Sign("E", "Young's modulus of the tube", Kind.stress)
_POISSON = Sign("ν", "its Poisson's ratio", Kind.ratio)
_WALL = Sign("t", "its wall", Kind.length)
_OUTSIDE = Sign("D", "its outside diameter", Kind.length)
_SUCTION = Sign("p", "suction that it must stand", Kind.pressure, below="suction")

_ALUMINIUM, _METAL = 69e9, 0.3
"""Young's modulus [Pa] and Poisson's ratio; from memory. The check works with its own, to the same answer."""

_HOSE = "A hose without wire"
_TUBE = "A metal tube"


def suction_collapse() -> Example:
    """A plain hose that bridges too much, and the tube beside it."""
    plain = replace(bench.hose(1, 80.0, 180.0), reinforced=False)
    case = bench.intake(plain, bench.tube(2, 84.0), bench.hose(3, 84.0))
    facts = bench.facts(case)
    hose, tube = case.plan.pieces[0], case.plan.pieces[1]
    end = facts.narrower_end(tube)
    given = {
        _FREE: facts.free_length(hose),
        _SPAN: facts.limit("collapse.span"),
        _BORE: facts.bore(facts.narrower_end(hose)),
        _STIFFNESS: _ALUMINIUM,
        _POISSON: _METAL,
        _WALL: facts.wall(end),
        _OUTSIDE: facts.outside(end),
        _SUCTION: facts.limit("collapse.suction"),
    }
    told = (
        Told(_FREE, "piece.1"),
        Told(_HOLDS, "piece.2"),
        Told(_SUCTION, "piece.2", "limit"),
    )
    same = {_HOLDS: collapse_pressure(facts.outside(end), facts.wall(end), _ALUMINIUM, _METAL)}
    text = (
        "An intake of an 80 mm hose without wire, 180 mm long, and an aluminium tube of 84 mm with 1.5 wall."
    )
    return Example(text, case, given, told, same)


_FORCE = Sign("F", "force that pushes the joint apart", Kind.force)
_HIGHEST = Sign("p", "highest boost there is: over-boost, not steady boost", Kind.pressure, below="highest")
_TUBE_OUTSIDE = Sign("D", "outside diameter of the tube, where the hose seals", Kind.length)
_HELD = Sign("F", "force that bead and clamp hold, as typed", Kind.force, below="holds")
_RESERVE = Sign("n", "reserve asked", Kind.ratio)
_ASKED = Sign("F", "force that they should hold", Kind.force, below="asked")


def end_forces() -> Example:
    """A joint that was pulled on the bench."""
    held = {"holds": Estimate(500.0, 20.0)}
    joints = [
        replace(one, sizes={**one.sizes, **held}, holds_origin="pull test on the bench")
        for one in (bench.clamped(50), bench.clamped(51))
    ]
    case = bench.charge(bench.hose(1, 60.0), joints=joints)
    facts = bench.facts(case)
    outside = facts.outside(facts.layout.hose_joints[0].spigot)
    given = {
        _HIGHEST: facts.engine.highest_boost,
        _TUBE_OUTSIDE: outside,
        _HELD: facts.size("joint", 50, "holds"),
        _RESERVE: facts.limit("end_force.reserve"),
    }
    told = (Told(_HELD, "joint.50"), Told(_ASKED, "joint.50", "limit"))
    same = {_FORCE: end_force(outside, facts.engine.highest_boost)}
    text = "A 60 mm spigot at up to 1.3 bar; its joint held 500 N in a pull test on the bench."
    return Example(text, case, given, told, same)


EXPLAINED = (
    Explained(
        "intake-loss",
        (is_(_TOTAL, _BEFORE + _RUN), at_most(_TOTAL, _MOST)),
        intake_loss,
        marched=True,
    ),
    Explained("charge-loss", (is_(_MAY, _SHARE * _BOOST), at_most(_RUN, _MAY)), charge_loss, marched=True),
    Explained(
        "suction-collapse",
        (
            at_most(_FREE, _SPAN * _BORE, _HOSE),
            is_(_HOLDS, 2.0 * _STIFFNESS / (1.0 - _POISSON**2) * (_WALL / _OUTSIDE) ** 3, _TUBE),
            at_least(_HOLDS, _SUCTION),
        ),
        suction_collapse,
        notes=(
            "A hose that bridges more is tight where its own wall, fabric left out, would stand the suction.",
        ),
    ),
    Explained(
        "end-force",
        (
            is_(_FORCE, _HIGHEST * PI * _TUBE_OUTSIDE**2 / 4.0),
            is_(_ASKED, _RESERVE * _FORCE),
            at_least(_HELD, _ASKED),
        ),
        end_forces,
        (at_least(_HELD, _FORCE),),
        (
            "A bracket that takes the thrust passes whatever bead and clamp hold.",
            "Where nothing is typed as held, but the joint before is, what pushed there is what it held: no"
            " more is go, up to the reserve more is tight.",
        ),
    ),
)
