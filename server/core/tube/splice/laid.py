"""From a splice to the pieces of a run: what is kept of each pipe, and the pie pieces between."""

from collections.abc import Iterator
from itertools import pairwise
from math import degrees, pi

from server.core.tube.laid import LaidPiece, Tube
from server.core.tube.run import EndForm, JointKind, PieceKind, Turn
from server.core.tube.said import JOINT_OF_ENDS
from server.core.tube.space.bend_table import BendRow, table_of
from server.core.tube.space.vectors import angle_between, unit
from server.core.tube.splice.making import SQUARE
from server.core.tube.splice.piece import Piece, carried, twelve_o_clock
from server.core.tube.splice.problem import Problem, Splice
from server.core.tube.splice.rebuild import mark_of


def laid_splice(
    problem: Problem, splice: Splice, tube: Tube, flanges: tuple[EndForm, EndForm]
) -> tuple[LaidPiece, ...]:
    """The pieces of a splice in the order of the flow, each with its length up to the middle of its cut [m].

    The mitre of a weld is the last turn of the piece before it. Source: geometry.
    """
    start, end = flanges
    weld = EndForm.WELD
    sizes = {"outside_diameter": tube.outside, "wall": tube.wall}
    rolls = iter(_rolls(splice))
    mitres = [2.0 * joint.saw for joint in splice.joints]
    fixed, fixed_turns = _kept(problem.fixed, splice.choice.fixed, splice.cut_fixed, rolls, reverse=False)
    fixed_turns += _mitre(mitres[0], rolls)
    pies = [_mitre(mitre, rolls) for mitre in mitres[1:]]
    turning, turns = _kept(problem.turning, splice.choice.turning, splice.cut_turning, rolls, reverse=True)
    salvaged, joint = PieceKind.SALVAGED, JOINT_OF_ENDS.get(end, JointKind.HOSE_AND_CLAMP)
    return (
        LaidPiece(
            salvaged, _fixed_name(splice), tube.material, start, weld, JointKind.WELD, sizes | fixed,
            tuple(fixed_turns),
        ),
        *(
            LaidPiece(
                PieceKind.TUBE, _pie_name(splice, at), tube.material, weld, weld, JointKind.WELD,
                sizes | {"length": pie.centre}, tuple(pies[at]),
            )
            for at, pie in enumerate(splice.pies)
        ),
        LaidPiece(
            salvaged, _turning_name(splice), tube.material, weld, end, joint, sizes | turning, tuple(turns)
        ),
    )  # fmt: skip


def _kept(
    piece: Piece, bends: int, cut: float, rolls: Iterator[float], *, reverse: bool
) -> tuple[dict[str, float], list[Turn]]:
    """Sizes of what is kept of a pipe with its first so many bends, and its bends after the first."""
    rows: list[BendRow] = list(table_of(piece.corners, piece.radii).rows[:bends])
    straights = [row.straight for row in rows]
    straights.append(cut - sum(row.straight + row.radius * row.angle for row in rows))
    if reverse:
        rows, straights = rows[::-1], straights[::-1]
    sizes = {"length": straights[0]}
    if not rows:
        return sizes, []
    sizes |= {"length_out": straights[1], "bend_angle": rows[0].angle, "bend_radius": rows[0].radius}
    sizes["roll"] = next(rolls)
    further = zip(rows[1:], straights[2:], strict=True)
    return sizes, [Turn(next(rolls), row.angle, row.radius, after) for row, after in further]


def _mitre(angle: float, rolls: Iterator[float]) -> list[Turn]:
    """The mitre of a weld [rad]; a square one turns nothing."""
    roll = next(rolls)
    return [] if angle < 2.0 * SQUARE else [Turn(roll, angle, 0.0, 0.0)]


def _rolls(splice: Splice) -> list[float]:
    """By how much each turn's plane is turned from that of the turn before it, along the flow [rad].

    The first is counted from a bend towards 9 o'clock, as a run counts it. A square weld has none.
    """
    ways = [unit(after - before) for before, after in pairwise(splice.corners)]
    line = twelve_o_clock(ways[0])
    found, before_it = [], -0.5 * pi
    for before, after in pairwise(ways):
        mark = mark_of(before, after, line)
        square = angle_between(before, after) < 2.0 * SQUARE
        found.append(0.0 if square else _half(mark - before_it))
        before_it = before_it if square else mark
        line = carried(line, before, after)
    return found


def _half(angle: float) -> float:
    """The same angle within half a turn [rad]."""
    return (angle + pi) % (2.0 * pi) - pi


def _degrees(angle: float) -> str:
    return f"{degrees(angle):.1f}°"


def _sawn(saw: float) -> str:
    return "cut square" if saw < SQUARE else f"sawn {_degrees(saw)}"


def _fixed_name(splice: Splice) -> str:
    return f"Fixed pipe, {_sawn(splice.joints[0].saw)}"


def _turning_name(splice: Splice) -> str:
    """With where its throat stands from its own 12 o'clock: it is marked before it is joined to anything."""
    hole, saw = splice.choice.clocking, splice.joints[-1].saw
    if splice.choice.rotation == 0.0:
        told = "flange as it stands"
    elif hole is None:
        told = f"flange turned {_degrees(splice.choice.rotation % (2.0 * pi))}"
    else:
        told = f"flange {hole} holes on" if hole > 1 else "flange one hole on"
    throat = (
        "" if saw < SQUARE else f", throat {_degrees(splice.turning_mark % (2.0 * pi))} on its own flange"
    )
    return f"Turning pipe, {_sawn(saw)}{throat}, {told}"


def _pie_name(splice: Splice, at: int) -> str:
    saws = " and ".join(_degrees(one.saw) for one in splice.joints[at : at + 2])
    return f"Pie piece {at + 1}, sawn {saws}"
