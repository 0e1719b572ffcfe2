"""One weld between two straights: a mitre where the centre lines meet, a square joint where they are one.

Where the flange turns freely, the distance of the two lines is a trigonometric polynomial of the rotation:
the meeting places are its roots. With bolt holes each clocking is looked at. Where a small pull is allowed
the lines may also pass each other at that distance.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from server.core.tube.splice.pairs import Floats, Pairs, Whole, pairs_of
from server.core.tube.splice.problem import (
    CLOSE,
    GAP,
    REACH,
    SAW,
    STRAIGHTS,
    Choice,
    Miss,
    Problem,
)

PARALLEL = 1e-5
"""Sine of the angle under which two lines are taken as parallel [-]: 0.01 mm in a metre."""
MET = 1e-5
"""Distance under which two centre lines meet [m]: a hundredth of a millimetre, below any reading."""
LOOKS = 360
"""Rotations looked at where the flange turns freely, beside the roots."""
MOST_OF_A_PAIR = 4
ZOOMS = 9
WIDTHS = np.array(sorted(np.linspace(-1.0, 1.0, 21), key=abs))
"""Parts of a width to look at, the nearest first: where nothing changes nothing is turned."""
AGAIN = 0.02
"""How far a flange that turns freely may turn when a joint is solved again [rad]."""


@dataclass(frozen=True, slots=True)
class Meetings:
    """Pairs of lines at rotations, an entry each. gap: between the lines [m]. saw: [rad]. short: length
    missing at an end of a straight, under 0 where the mitre has room [m]. along_fixed, along_turning: from
    the start of each straight to its cut [m].
    """

    rows: Whole
    rotation: Floats
    gap: Floats
    saw: Floats
    short: Floats
    along_fixed: Floats
    along_turning: Floats

    def others_kept(self, problem: Problem, given_up: str = "") -> Floats:
        """0 where every limit is kept but the one that is given up; infinite elsewhere."""
        kept = np.ones(len(self.rows), dtype=bool)
        if given_up != GAP:
            kept &= self.gap <= problem.gap + MET
        if given_up != SAW:
            kept &= self.saw <= problem.saw + CLOSE
        if given_up != STRAIGHTS:
            kept &= self.short <= CLOSE
        return np.where(kept, 0.0, np.inf)


def meetings(pairs: Pairs, rows: Whole, rotation: Floats, outside: float) -> Meetings:
    """Where two lines come closest, at each rotation [rad]. outside: diameter [m]. Source: geometry."""
    way, other = pairs.way[rows], pairs.turning_way.take(rows).at(rotation)
    between = pairs.turning_start.take(rows).at(rotation) - pairs.start[rows]
    square = np.cross(way, other)
    sine, cosine = np.linalg.norm(square, axis=1), -(way * other).sum(axis=1)
    parallel = sine < PARALLEL
    safe = np.where(parallel, 1.0, sine)
    gap = np.abs((between * square).sum(axis=1)) / safe
    along = (np.cross(between, other) * square).sum(axis=1) / safe**2
    back = (np.cross(between, way) * square).sum(axis=1) / safe**2
    margin = 0.5 * outside * sine / np.maximum(1.0 + cosine, 1e-9)
    length, home = pairs.fixed_length[rows], pairs.turning_length[rows]
    ends = (-along, along - length, -back, back - home)
    short = np.max(ends, axis=0) + margin
    # parallel lines have no closest point: they are one pipe that is cut square where both straights lie
    reach = (between * way).sum(axis=1)
    first, last = np.maximum(reach - home, 0.0), np.minimum(reach, length)
    beside = np.linalg.norm(between - reach[:, None] * way, axis=1)
    middle = 0.5 * (first + last)
    apart = np.where(cosine > 0.0, np.where(first > last, first - last, 0.5 * (first - last)), np.inf)
    return Meetings(
        rows,
        rotation,
        np.where(parallel, beside, gap),
        0.5 * np.arctan2(sine, cosine),
        np.where(parallel, apart, short),
        np.where(parallel, middle, along),
        np.where(parallel, reach - middle, back),
    )


def direct(problem: Problem) -> list[Choice]:
    """Every way to join with one weld, no pull before pull, then least waste. Lengths in [m]."""
    pairs = pairs_of(problem)
    found = _looked_at(problem, pairs)
    good = np.flatnonzero(np.isfinite(found.others_kept(problem)))
    kept: dict[int, list[int]] = {}
    for at in sorted(map(int, good), key=lambda at: _rank(found, at)):
        if _adds(found, kept.setdefault(int(found.rows[at]), []), at):
            kept[int(found.rows[at])].append(at)
    chosen = [at for places in kept.values() for at in places]
    return [_choice(problem, pairs, found, at) for at in sorted(chosen, key=lambda at: _rank(found, at))]


def _rank(found: Meetings, at: int) -> tuple[float, float, float]:
    pull = found.gap[at] if found.gap[at] > MET else 0.0
    kept = found.along_fixed[at] + found.along_turning[at]
    return (pull, -round(kept, 6), abs(_signed(found.rotation[at])))


def _signed(rotation: float) -> float:
    return float((rotation + np.pi) % (2.0 * np.pi) - np.pi)


def _adds(found: Meetings, places: list[int], at: int) -> bool:
    """Whether a place says more than those kept of the same pair: other cuts, and no pull without need."""
    if len(places) >= MOST_OF_A_PAIR or (places and found.gap[at] > MET):
        return False
    cuts = np.array((found.along_fixed[at], found.along_turning[at], found.saw[at]))
    others = np.array([(found.along_fixed[k], found.along_turning[k], found.saw[k]) for k in places])
    return not places or bool(np.abs(others - cuts).max(axis=1).min() > 10.0 * MET)


def _choice(problem: Problem, pairs: Pairs, found: Meetings, at: int) -> Choice:
    row = np.array([found.rows[at]])
    rotation = np.array([found.rotation[at]])
    out = pairs.start[row[0]] + found.along_fixed[at] * pairs.way[row[0]]
    start, way = pairs.turning_start.take(row).at(rotation)[0], pairs.turning_way.take(row).at(rotation)[0]
    pull = start + found.along_turning[at] * way - out
    turned = float(found.rotation[at] % (2.0 * np.pi))
    return Choice(
        int(pairs.fixed[row[0]]),
        int(pairs.turning[row[0]]),
        round(turned / (2.0 * np.pi) * problem.holes) if problem.holes else None,
        turned,
        float(found.along_fixed[at]),
        float(found.along_turning[at]),
        (out + 0.5 * pull,),
        pull,
    )


def _looked_at(problem: Problem, pairs: Pairs) -> Meetings:
    """Every clocking, or every rotation that matters and many between, of every pair."""
    rows: list[int] = []
    turns: list[float] = []
    for row in range(len(pairs)):
        rotations = problem.clockings or _rotations(problem, pairs, row)
        rows += [row] * len(rotations)
        turns += list(rotations)
    found = meetings(pairs, np.array(rows), np.array(turns), problem.outside)
    if problem.holes:
        return found
    near = np.concatenate([_least_of(found, row) for row in range(len(pairs))])
    closer = _zoomed(problem, pairs, found.rows[near], found.rotation[near], 2e-3, lambda one: one.gap)
    return _joined(found, closer)


def _least_of(found: Meetings, row: int) -> Whole:
    """The rotations of a pair at which its lines come closest."""
    places = np.flatnonzero(found.rows == row)
    return places[np.argsort(found.gap[places])[:12]]


def _joined(*parts: Meetings) -> Meetings:
    names = Meetings.__slots__
    return Meetings(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))


def _rotations(problem: Problem, pairs: Pairs, row: int) -> tuple[float, ...]:
    """As it stands, where the lines meet or pass at the pull allowed, where they are most in line [rad]."""
    angles = np.arange(16, dtype=np.float64) * np.pi / 8.0
    rows = np.full(16, row)
    other = pairs.turning_way.take(rows).at(angles)
    square = np.cross(pairs.way[row], other)
    between = pairs.turning_start.take(rows).at(angles) - pairs.start[row]
    distance = (between * square).sum(axis=1)
    passing = distance**2 - problem.gap**2 * (square**2).sum(axis=1)
    level, risen = pairs.turning_way.level[row], pairs.turning_way.risen[row]
    in_line = float(np.arctan2(-(risen @ pairs.way[row]), -(level @ pairs.way[row])))
    looks = 2.0 * np.pi * np.arange(LOOKS) / LOOKS
    roots = _roots(distance, 2)
    return (0.0, in_line, *roots, *(_roots(passing, 4) if problem.gap > 0.0 else ()), *looks[1:])


def _roots(values: Floats, degree: int) -> list[float]:
    """Arguments of the zeros of a trigonometric polynomial from its values at equal steps [rad].

    Complex zeros leave arguments too, near which it is small; what is far from 0 there is seen when asked.
    """
    turned = np.fft.fft(values) / len(values)
    parts = np.array([turned[power] for power in range(degree, -degree - 1, -1)])
    if not np.abs(parts).max() > 1e-12:
        return []
    return [float(angle) for angle in np.angle(np.roots(parts))]


def _zoomed(
    problem: Problem,
    pairs: Pairs,
    rows: Whole,
    rotation: Floats,
    width: float,
    value: Callable[[Meetings], Floats],
) -> Meetings:
    """The least value near each rotation, looked at ever closer."""
    for _ in range(ZOOMS):
        many = (rotation[:, None] + width * WIDTHS).ravel()
        seen = meetings(pairs, np.repeat(rows, len(WIDTHS)), many, problem.outside)
        best = value(seen).reshape(len(rows), -1).argmin(axis=1)
        rotation = rotation + width * WIDTHS[best]
        width *= 0.15
    return meetings(pairs, rows, rotation, problem.outside)


def direct_again(problem: Problem, choice: Choice) -> Choice:
    """The same joint of a problem that has changed a little: the same straights, the nearest rotation [rad].

    It is told even where a limit is passed.
    """
    pairs = pairs_of(problem)
    rows = np.flatnonzero((pairs.fixed == choice.fixed) & (pairs.turning == choice.turning))
    rotation = np.array([choice.rotation])
    if not problem.holes:
        found = _zoomed(problem, pairs, rows, rotation, AGAIN, lambda one: one.gap)
    else:
        found = meetings(pairs, rows, rotation, problem.outside)
    return _choice(problem, pairs, found, 0)


def direct_misses(problem: Problem) -> list[Miss]:
    """For each limit alone: the least that it must give way to leave a joint with one weld [m], [rad]."""
    pairs = pairs_of(problem)
    found = _looked_at(problem, pairs)
    limits = {SAW: problem.saw, GAP: problem.gap, STRAIGHTS: 0.0}
    return [
        Miss(limit, needs, needs - held, 0)
        for limit, held in limits.items()
        if np.isfinite(needs := _least(problem, pairs, found, limit))
    ]


def direct_together(problem: Problem) -> tuple[Miss, ...]:
    """How far several limits are passed at once, where one weld comes nearest [m], [rad]."""
    found = _looked_at(problem, pairs_of(problem))
    over = {
        SAW: np.maximum(found.saw - problem.saw, 0.0),
        GAP: np.maximum(found.gap - problem.gap, 0.0),
        STRAIGHTS: np.maximum(found.short, 0.0),
    }
    worst = (REACH * over[SAW]) ** 2 + over[GAP] ** 2 + over[STRAIGHTS] ** 2
    at = int(worst.argmin())
    needs = {SAW: found.saw, GAP: found.gap, STRAIGHTS: over[STRAIGHTS]}
    told = (Miss(limit, float(needs[limit][at]), float(past[at]), 0) for limit, past in over.items())
    return tuple(miss for miss in told if CLOSE < miss.over < np.inf)


def _least(problem: Problem, pairs: Pairs, found: Meetings, limit: str) -> float:
    def value(seen: Meetings) -> Floats:
        told = {SAW: seen.saw, GAP: seen.gap, STRAIGHTS: seen.short}[limit]
        return told + seen.others_kept(problem, limit)

    needs = value(found)
    if not problem.holes and limit == GAP:  # the others are asked where `direct` looks
        best = np.argsort(needs)[: 4 * len(pairs)]
        best = best[np.isfinite(needs[best])]
        if len(best):
            step = 2.0 * np.pi / LOOKS
            closer = _zoomed(problem, pairs, found.rows[best], found.rotation[best], step, value)
            return float(min(needs.min(), value(closer).min()))
    return float(needs.min())
