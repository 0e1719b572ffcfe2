"""Rule of a metal tube's wall under pressure, explained."""

from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, at_least, is_
from server.core.checks.strength import STRENGTHS, hoop_stress
from server.core.tube.run import PieceKind
from server.core.units import Kind

_STRESS = Sign("σ", "hoop stress of the wall", Kind.stress)
_HIGHEST = Sign("p", "highest boost there is: over-boost, not steady boost", Kind.pressure, below="highest")
_OUTSIDE = Sign("D", "outside diameter of the tube", Kind.length)
_WALL = Sign("t", "its wall", Kind.length)
_RESERVE = Sign("n", "reserve asked", Kind.ratio)
_ASKED = Sign("σ", "stress that it should stand", Kind.stress, below="asked")
_STRENGTH = Sign("R", "least 0.2 % proof strength of the metal, as hot as the charge", Kind.stress)


def wall_stress() -> Example:
    """A wide tube of thin aluminium."""
    thin = bench.piece(2, PieceKind.TUBE, outside_diameter=76.0, wall=1.0, length=300.0)
    case = bench.charge(bench.hose(1, 60.0), thin, bench.hose(3, 60.0))
    facts = bench.facts(case)
    end = facts.narrower_end(case.plan.pieces[1])
    outside, wall, highest = facts.outside(end), facts.wall(end), facts.engine.highest_boost
    strength = STRENGTHS["aluminium"].at(facts.engine.hottest)
    assert strength is not None  # the bench engine's charge is no hotter than the table goes
    given = {
        _HIGHEST: highest,
        _OUTSIDE: outside,
        _WALL: wall,
        _RESERVE: facts.limit("hoop.reserve"),
        _STRENGTH: strength,
    }
    told = (Told(_STRENGTH, "piece.2"), Told(_ASKED, "piece.2", "limit"))
    same = {_STRESS: hoop_stress(outside, wall, highest)}
    text = "A tube of 76 mm with 1.0 wall of welded aluminium, behind the compressor, at up to 1.3 bar."
    return Example(text, case, given, told, same)


EXPLAINED = (
    Explained(
        "hoop",
        (
            is_(_STRESS, _HIGHEST * _OUTSIDE / (2.0 * _WALL)),
            is_(_ASKED, _RESERVE * _STRESS),
            at_least(_STRENGTH, _ASKED),
        ),
        wall_stress,
        (at_least(_STRENGTH, _STRESS),),
        (
            "Thin wall on the outside diameter: it lies above the stress of a thick wall at its bore.",
            "Aluminium is taken as annealed, as a weld takes its temper out.",
        ),
    ),
)
