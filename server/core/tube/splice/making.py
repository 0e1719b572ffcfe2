"""A choice of how to join, written as cuts: stations, saw angles, marks, pie pieces, waste."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from server.core.tube.space.vectors import Vector, angle_between, rolled, turn, unit
from server.core.tube.splice.piece import carried, paint_lines, straights, twelve_o_clock
from server.core.tube.splice.problem import Choice, Joint, PieCut, Problem, Splice
from server.core.tube.splice.rebuild import closure, mark_of

SQUARE = 1e-6
"""A turn under which a cut is square and has no throat to mark [rad]."""


def made(problem: Problem, choice: Choice) -> Splice:
    """The cuts of a choice, rebuilt to see that they close. Lengths in [m]; source: geometry."""
    fixed, turned = problem.fixed, problem.turning.turned(choice.rotation)
    out = next(one for one in straights(fixed) if one.number == choice.fixed)
    home = next(one for one in straights(turned) if one.number == choice.turning)
    cut_fixed, cut_turning = out.station + choice.along_fixed, home.station + choice.along_turning
    ways = [out.way, *(unit(after - before) for before, after in pairwise(choice.points)), -home.way]
    line = paint_lines(fixed, twelve_o_clock(fixed.axis))[choice.fixed]
    joints, throats = _joints(ways, line)
    pies = _pies(choice.points, ways, throats, problem.outside)
    painted = turn(twelve_o_clock(problem.turning.axis), problem.turning.axis, choice.rotation)
    own = paint_lines(turned, painted)[choice.turning]
    cut_off = fixed.developed - cut_fixed + turned.developed - cut_turning
    splice = Splice(
        choice=choice,
        cut_fixed=cut_fixed,
        cut_turning=cut_turning,
        corners=(*fixed.corners[: choice.fixed + 1], *choice.points, *turned.corners[choice.turning :: -1]),
        radii=(
            *fixed.radii[: choice.fixed],
            *[0.0] * len(choice.points),
            *problem.turning.radii[: choice.turning][::-1],
        ),
        pies=pies,
        joints=joints,
        turning_mark=rolled(-home.way, own, carried(throats[-1], ways[-2], ways[-1])),
        waste=max(cut_off - sum(pie.centre for pie in pies), 0.0),
        closure=0.0,
        closure_angle=0.0,
    )
    off, angle = closure(fixed, problem.turning, splice)
    return replace(splice, closure=off, closure_angle=angle)


def _joints(ways: Sequence[Vector], line: Vector) -> tuple[tuple[Joint, ...], list[Vector]]:
    """Saw angle and mark of each joint, and where its throat is seen on the way before it [-].

    A square joint has no throat: its paint line stands for one.
    """
    joints, throats = [], []
    for before, after in pairwise(ways):
        angle = angle_between(before, after)
        inside = after - (after @ before) * before
        square = angle < SQUARE
        joints.append(Joint(0.5 * angle, 0.0 if square else mark_of(before, after, line)))
        throats.append(line if square else unit(inside))
        line = carried(line, before, after)
    return tuple(joints), throats


def _pies(
    points: Sequence[Vector], ways: Sequence[Vector], throats: Sequence[Vector], outside: float
) -> tuple[PieCut, ...]:
    """The pieces between the joints; the throat is the least length along the outside of the pipe [m]."""
    found = []
    for at, (start, end) in enumerate(pairwise(points)):
        before, way, after = ways[at], ways[at + 1], ways[at + 2]
        length = float(np.linalg.norm(end - start))
        slants = slant(way, after) - slant(way, before)
        roll = rolled(way, carried(throats[at], before, way), throats[at + 1])
        found.append(PieCut(length, length - 0.5 * outside * float(np.linalg.norm(slants)), roll))
    return tuple(found)


def slant(way: Vector, other: Vector) -> Vector:
    """The slope of a mitre over the end of a pipe that runs along `way` [-], shape (3,).

    other: the way of the pipe after it, towards which the throat lies; for the pipe before it the slope has
    the other sign. Its length is the tangent of the saw angle. Source: geometry, half a turn's
    tangent, sin θ / (1 + cos θ).
    """
    along = float(other @ way)
    slope: Vector = (other - along * way) / (1.0 + along)
    return slope
