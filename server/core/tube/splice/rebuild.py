"""The joined pipe walked from its cuts alone: stations, saw angles, marks and pie pieces, step by step.

It shares nothing with the search. Every step is a straight and then a turn towards a mark on the pipe, which
is a bend where it has a radius and a mitre where it has none.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from server.core.tube.space.bend_table import BendTable, table_of
from server.core.tube.space.vectors import Vector, across, rolled, turn, unit
from server.core.tube.splice.piece import NO_LENGTH, Piece, paint_lines, twelve_o_clock
from server.core.tube.splice.problem import Splice


@dataclass(frozen=True, slots=True)
class Stance:
    """Where a walk is: point [m], way and paint line, unit vectors square to each other [-]."""

    point: Vector
    way: Vector
    line: Vector


@dataclass(frozen=True, slots=True)
class Step:
    """A straight [m], then a turn [rad] towards a mark from the paint line [rad] about a radius [m]."""

    straight: float
    mark: float = 0.0
    turn: float = 0.0
    radius: float = 0.0


def walked(stance: Stance, steps: Iterable[Step]) -> Stance:
    """Where a walk ends. Lengths in [m]; source: geometry."""
    for step in steps:
        point = stance.point + step.straight * stance.way
        inside = turn(stance.line, stance.way, step.mark)
        axis = np.cross(stance.way, inside)
        way = turn(stance.way, axis, step.turn)
        middle = point + step.radius * inside
        point = middle + turn(point - middle, axis, step.turn)
        stance = Stance(point, way, turn(stance.line, axis, step.turn))
    return stance


def flange(piece: Piece) -> Stance:
    """How a pipe starts: at the middle of its flange, outwards, its paint line at 12 o'clock [m], [-].

    The flow runs out of the flange of the fixed pipe; the turning pipe is seen the same way and walked back.
    """
    return Stance(piece.corners[0], piece.axis, twelve_o_clock(piece.axis))


def steps_to(piece: Piece, station: float) -> list[Step]:
    """The steps of a pipe from its flange to a cut in a straight, at a station [m]."""
    steps: list[Step] = []
    walked_so_far = 0.0
    for straight, mark, angle, radius in _bends(piece):
        if walked_so_far + straight + radius * angle > station + NO_LENGTH:
            break
        steps.append(Step(straight, mark, angle, radius))
        walked_so_far += straight + radius * angle
    return [*steps, Step(station - walked_so_far)]


def _bends(piece: Piece) -> Iterator[tuple[float, float, float, float]]:
    """Straight, mark, angle and radius of each bend of a pipe, the mark from its 12 o'clock."""
    table: BendTable = table_of(piece.corners, piece.radii)
    ways = [unit(after - before) for before, after in zip(piece.corners, piece.corners[1:], strict=False)]
    lines = paint_lines(piece, twelve_o_clock(piece.axis))
    for at, row in enumerate(table.rows):
        yield row.straight, mark_of(ways[at], ways[at + 1], lines[at]), row.angle, row.radius


def mark_of(before: Vector, after: Vector, line: Vector) -> float:
    """Roll of the inside of a turn from a paint line, right-handed along the way before it [rad].

    0 where nothing turns.
    """
    inside = across(after, before)
    return rolled(before, line, inside) if np.any(inside) else 0.0


def back(steps: Sequence[Step]) -> list[Step]:
    """The same steps from their end to their start, for a paint line that is the same line on the pipe [m].

    Seen against the way a mark has the other sign; a bend is a straight and a turn, so they change places.
    """
    turned = [Step(0.0, -step.mark, step.turn, step.radius) for step in reversed(steps)]
    lengths = [step.straight for step in reversed(steps)]
    found = [Step(0.0)]
    for straight, step in zip(lengths, turned, strict=True):
        if step.turn:
            found.append(step)
        found.append(Step(straight))
    return found


def closure(fixed: Piece, turning: Piece, splice: Splice) -> tuple[float, float]:
    """How far the walk from the fixed flange ends from the turning one [m], and how far turned [rad].

    The turn is that of flange, bolt holes and all, from where the rotation puts them.
    """
    stance = walked(flange(fixed), steps_to(fixed, splice.cut_fixed))
    stance = Stance(stance.point + splice.choice.pull, stance.way, stance.line)
    lengths = [*(pie.centre for pie in splice.pies), 0.0]
    for joint, length in zip(splice.joints, lengths, strict=True):
        last = joint
        stance = walked(stance, (Step(0.0, joint.mark, 2.0 * joint.saw), Step(length)))
    throat = turn(stance.line, stance.way, last.mark)
    own = Stance(stance.point, stance.way, turn(throat, stance.way, -splice.turning_mark))
    end = walked(own, back(steps_to(turning, splice.cut_turning)))
    stands = flange(turning.turned(splice.choice.rotation))
    line = turn(flange(turning).line, turning.axis, splice.choice.rotation)
    wanted = Stance(stands.point, -turning.axis, line)
    return float(np.linalg.norm(end.point - wanted.point)), turned_apart(end, wanted)


def turned_apart(one: Stance, other: Stance) -> float:
    """The turn from one stance to another [rad], by atan2 of its skew part and its trace."""
    first = np.column_stack((one.way, one.line, np.cross(one.way, one.line)))
    second = np.column_stack((other.way, other.line, np.cross(other.way, other.line)))
    between = second @ first.T
    skew = 0.5 * (between - between.T)
    return math.atan2(
        float(np.linalg.norm((skew[2, 1], skew[0, 2], skew[1, 0]))), 0.5 * float(np.trace(between) - 1.0)
    )
