"""The joints of splices with pie pieces, many at once: angles, lengths, by how much limits are passed.

A row of `x` is one splice: along the fixed straight, along the turning straight [m], the rotation [rad], then
the inner corners of the joint [m], three numbers each; one pie piece has none, two have one.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from server.core.tube.splice.pairs import Floats, Pairs
from server.core.tube.splice.problem import REACH, SAW, STRAIGHTS, THROAT, Problem

NO_LENGTH = 1e-9
EASED = np.radians(0.5)
"""Below this a saw angle costs no less, so that the cost has no corner at a square cut [rad]."""
ANGLE_COST = 0.1146
"""Length of pipe that a saw angle is worth [m/rad]: 2 mm a degree; chosen, no source."""
NEW_COST = 2.0
"""How much dearer pipe that must be found elsewhere is than pipe cut off [-]; chosen, no source."""
Eased = Mapping[str, float | Floats] | None
FREE: Mapping[str, float | Floats] = {SAW: 0.0, THROAT: 0.0, STRAIGHTS: 0.0}


@dataclass(frozen=True, slots=True)
class Shapes:
    """Splices, a row each. points: [m], (n, k + 1, 3). saws: [rad], (n, k + 1). throats, lengths: of the pie
    pieces [m], (n, k). fixed_margin, turning_margin: half the slant of the cuts in the two straights [m].
    """

    points: Floats
    saws: Floats
    throats: Floats
    lengths: Floats
    fixed_margin: Floats
    turning_margin: Floats


def shapes(pairs: Pairs, x: Floats, outside: float) -> Shapes:
    """The joints that these numbers make. pairs: a row for each row of x. outside: diameter [m]."""
    first = pairs.start + x[:, :1] * pairs.way
    other = pairs.turning_way.at(x[:, 2])
    last = pairs.turning_start.at(x[:, 2]) + x[:, 1:2] * other
    inner = x[:, 3:].reshape(len(x), -1, 3)
    points = np.concatenate((first[:, None], inner, last[:, None]), axis=1)
    legs = np.diff(points, axis=1)
    lengths = np.sqrt((legs**2).sum(axis=2))
    ways = legs / np.maximum(lengths, NO_LENGTH)[:, :, None]
    ways = np.concatenate((pairs.way[:, None], ways, -other[:, None]), axis=1)
    before, after = ways[:, :-1], ways[:, 1:]
    cosine = (before * after).sum(axis=2)
    part = np.maximum(1.0 + cosine, 1e-3)[:, :, None]
    onward = (after - cosine[:, :, None] * before) / part
    backward = (cosine[:, :, None] * after - before) / part
    tangents = np.sqrt((onward**2).sum(axis=2))
    slants = np.sqrt(((onward[:, 1:] + backward[:, :-1]) ** 2).sum(axis=2))
    sine = tangents * part[:, :, 0]
    return Shapes(
        points,
        0.5 * np.arctan2(sine, cosine),
        lengths - 0.5 * outside * slants,
        lengths,
        0.5 * outside * tangents[:, 0],
        0.5 * outside * tangents[:, -1],
    )


def excess(problem: Problem, pairs: Pairs, x: Floats, eased: Eased = None) -> Floats:
    """By how much each limit is passed [m], rows (n, limits); at or under 0 where it is kept.

    eased: how far limits give way, angles [rad], lengths [m].
    """
    give = {**FREE, **(eased or {})}
    shape = shapes(pairs, x, problem.outside)
    along, back = x[:, 0], x[:, 1]
    ends = np.stack(
        (
            shape.fixed_margin - along,
            along + shape.fixed_margin - pairs.fixed_length,
            shape.turning_margin - back,
            back + shape.turning_margin - pairs.turning_length,
        ),
        axis=1,
    )
    return np.concatenate(
        (
            REACH * (shape.saws - problem.saw - give[SAW]),
            problem.throat - give[THROAT] - shape.throats,
            ends - give[STRAIGHTS],
        ),
        axis=1,
    )


def cost(problem: Problem, pairs: Pairs, x: Floats) -> Floats:
    """What a splice costs [m], shape (n,): pipe cut off, pipe to be found elsewhere, and saw angles.

    A pie piece that comes out of what is cut off costs nothing; but then that was cut off.
    """
    shape = shapes(pairs, x, problem.outside)
    cut_off = pairs.fixed_after + pairs.turning_after - x[:, 0] - x[:, 1]
    new = np.maximum(shape.lengths.sum(axis=1) - cut_off, 0.0)
    angles = np.sqrt(shape.saws**2 + EASED**2).sum(axis=1)
    price: Floats = cut_off + NEW_COST * new + ANGLE_COST * angles
    return price
