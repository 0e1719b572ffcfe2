"""From a splice to the pieces of a run: what is kept of each pipe, and the pie pieces between."""

from itertools import pairwise
from math import degrees, pi

from server.core.tube.laid import LaidPiece, Tube
from server.core.tube.run import EndForm, JointKind, PieceKind
from server.core.tube.said import JOINT_OF_ENDS
from server.core.tube.space.bend_table import BendRow, table_of
from server.core.tube.space.vectors import unit
from server.core.tube.splice.making import SQUARE
from server.core.tube.splice.piece import Piece, carried, twelve_o_clock
from server.core.tube.splice.problem import Problem, Splice
from server.core.tube.splice.rebuild import mark_of


def laid_splice(
    problem: Problem, splice: Splice, tube: Tube, flanges: tuple[EndForm, EndForm]
) -> tuple[LaidPiece, ...]:
    """The pieces of a splice in the order of the flow, each with its length up to the middle of its cut [m].

    A piece of a run has one bend at most. What is kept of a pipe with more than one bend is a piece of its
    whole length along the centre line without them: no weld is made up that isn't there. Source: geometry.
    """
    start, end = flanges
    weld = EndForm.WELD
    sizes = {"outside_diameter": tube.outside, "wall": tube.wall}
    rolls = _rolls(splice)
    kept_in, kept_out = splice.choice.fixed, splice.choice.turning
    fixed = _kept(problem.fixed, kept_in, splice.cut_fixed, reverse=False)
    turning = _kept(problem.turning, kept_out, splice.cut_turning, reverse=True)
    before = 0.0
    if kept_in == 1:
        before = rolls[0]
        fixed |= {"roll": _half(before + 0.5 * pi)}
    if kept_out == 1:
        turn = rolls[-1] - before if kept_in == 1 else rolls[-1] + 0.5 * pi
        turning |= {"roll": _half(turn)}
    salvaged, joint = PieceKind.SALVAGED, JOINT_OF_ENDS.get(end, JointKind.HOSE_AND_CLAMP)
    return (
        LaidPiece(salvaged, _fixed_name(splice), tube.material, start, weld, JointKind.WELD, sizes | fixed),
        *(
            LaidPiece(
                PieceKind.TUBE, _pie_name(splice, at), tube.material, weld, weld, JointKind.WELD,
                sizes | {"length": pie.centre},
            )
            for at, pie in enumerate(splice.pies)
        ),
        LaidPiece(salvaged, _turning_name(splice), tube.material, weld, end, joint, sizes | turning),
    )  # fmt: skip


def _kept(piece: Piece, bends: int, cut: float, *, reverse: bool) -> dict[str, float]:
    """Sizes of what is kept of a pipe with its first so many bends."""
    if bends != 1:
        return {"length": cut}
    row: BendRow = table_of(piece.corners, piece.radii).rows[0]
    legs = (row.straight, cut - row.straight - row.radius * row.angle)
    first, last = legs[::-1] if reverse else legs
    return {"length": first, "length_out": last, "bend_angle": row.angle, "bend_radius": row.radius}


def _rolls(splice: Splice) -> list[float]:
    """Where the inside of each turn stands from the paint line of the fixed flange, along the flow [rad]."""
    ways = [unit(after - before) for before, after in pairwise(splice.corners)]
    line = twelve_o_clock(ways[0])
    found = []
    for before, after in pairwise(ways):
        found.append(mark_of(before, after, line))
        line = carried(line, before, after)
    return found


def _half(angle: float) -> float:
    """The same angle within half a turn [rad]."""
    return (angle + pi) % (2.0 * pi) - pi


def _degrees(angle: float) -> str:
    return f"{degrees(angle):.1f}°"


def _sawn(saw: float, mark: float) -> str:
    return "cut square" if saw < SQUARE else f"sawn {_degrees(saw)}, throat at {_degrees(mark % (2.0 * pi))}"


def _fixed_name(splice: Splice) -> str:
    first = splice.joints[0]
    return f"Fixed pipe, {_sawn(first.saw, first.mark)}"


def _turning_name(splice: Splice) -> str:
    hole = splice.choice.clocking
    if splice.choice.rotation == 0.0:
        told = "flange as it stands"
    elif hole is None:
        told = f"flange turned {_degrees(splice.choice.rotation % (2.0 * pi))}"
    else:
        told = f"flange {hole} holes on" if hole > 1 else "flange one hole on"
    return f"Turning pipe, {_sawn(splice.joints[-1].saw, splice.turning_mark)}, {told}"


def _pie_name(splice: Splice, at: int) -> str:
    saws = " and ".join(_degrees(one.saw) for one in splice.joints[at : at + 2])
    return f"Pie piece {at + 1}, sawn {saws}, throats {_degrees(abs(splice.pies[at].roll))} apart"
