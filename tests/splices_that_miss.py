"""Splice problems that have no answer, each with the proof that it has none. In [m] and [rad]."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.core.tube.splice.piece import Piece
from server.core.tube.splice.problem import GAP, SAW, THROAT, Answer, Miss, Problem
from server.core.tube.splice.solve import joined
from tests.splice_problems import KINDS, MM, Floats, a_direction, a_stub, faults, known

ROUNDING = 1e-5


@dataclass(frozen=True, slots=True)
class Missed:
    """A problem without an answer. limit: the one that rules it out; bound: what it would have to be at
    least, for a throat at most.
    """

    problem: Problem
    limit: str
    bound: float


def ways_of(piece: Piece) -> Floats:
    legs = np.diff(np.array(piece.corners), axis=0)
    ways: Floats = legs / np.linalg.norm(legs, axis=1)[:, None]
    return ways


def least_turn(problem: Problem) -> float:
    """The least turn between any straight of one pipe and any of the other, at any rotation allowed.

    Where the flange turns freely a straight sweeps a cone: the least angle to it is the difference of two.
    """
    out, home = ways_of(problem.fixed), -ways_of(problem.turning)
    if not problem.holes:
        axis = -home[0]
        swept, seen = (np.arccos(np.clip(ways @ axis, -1.0, 1.0)) for ways in (home, out))
        return float(np.abs(swept[:, None] - seen[None, :]).min())
    turns = [-ways_of(problem.turning.turned(rotation)) for rotation in problem.clockings]
    return float(np.arccos(np.clip(np.array(turns) @ out.T, -1.0, 1.0)).min())


def least_gap(problem: Problem) -> float:
    """The least distance of any two straights of the pipes, going on for ever, at any clocking."""
    least = np.inf
    for rotation in problem.clockings or (0.0,):
        stands = problem.turning.turned(rotation)
        for start, way in zip(problem.fixed.corners, ways_of(problem.fixed), strict=False):
            for other, home in zip(stands.corners, ways_of(stands), strict=False):
                square = np.cross(way, home)
                sine = np.linalg.norm(square)
                apart = other - start
                gap = abs(apart @ square) / sine if sine > 1e-6 else np.linalg.norm(np.cross(apart, way))
                least = min(least, float(gap))
    return least


def saw_too_small(rng: np.random.Generator) -> Missed:
    """Every joint turns at most twice the saw's limit, and all together less than the pipes have to turn."""
    while True:
        problem = known(rng, str(rng.choice(KINDS))).problem
        bound = least_turn(problem) / (2.0 * (problem.most_pies + 1))
        if bound > np.radians(2.0):
            return Missed(replace(problem, saw=bound * rng.uniform(0.5, 0.95)), SAW, bound)


def lines_apart(rng: np.random.Generator) -> Missed:
    """At no bolt hole do two centre lines come near enough to be pulled; no pie piece is allowed."""
    while True:
        problem = replace(known(rng, "holes").problem, saw=np.radians(45.0), gap=rng.uniform(0.0, 1.0) * MM)
        by = 0.03 * a_direction(rng)
        stands = replace(problem.turning, corners=tuple(corner + by for corner in problem.turning.corners))
        problem = replace(problem, turning=stands)
        bound = least_gap(problem)
        if bound > problem.gap + 0.1 * MM:
            return Missed(problem, GAP, bound)


def turning_in_place(rng: np.random.Generator) -> Missed:
    """A straight pipe on a V-band turns about itself: turning it brings no line nearer."""
    while True:
        outside = 63.5 * MM
        fixed = a_stub(rng, outside, 0.3).piece
        start = rng.uniform(-0.4, 0.4, 3)
        turning = Piece((start, start + rng.uniform(0.1, 0.4) * a_direction(rng)), ())
        problem = Problem(fixed, turning, 0, outside, 0, np.radians(45.0), 10.0 * MM, 1.0 * MM)
        bound = least_gap(problem)
        if bound > problem.gap + 0.1 * MM:
            return Missed(problem, GAP, bound)


def throat_too_long(rng: np.random.Generator) -> Missed:
    """The floor is longer than any two points of the two pipes are apart, and no direct joint meets."""
    while True:
        problem = replace(known(rng, "one pie").problem, holes=4, saw=np.radians(45.0))
        apart = np.linalg.norm(problem.fixed.corners[0] - problem.turning.corners[0])
        bound = float(apart + reach(problem.fixed) + reach(problem.turning))
        if least_gap(problem) > 0.1 * MM:
            return Missed(replace(problem, throat=bound * rng.uniform(1.01, 1.5)), THROAT, bound)


def reach(piece: Piece) -> float:
    corners = np.array(piece.corners)
    return float(np.linalg.norm(corners - corners[0], axis=1).max())


MAKERS: Sequence[Callable[[np.random.Generator], Missed]] = (
    saw_too_small, lines_apart, turning_in_place, throat_too_long,
)  # fmt: skip


def all_missed(seed: int, count: int) -> Sequence[Missed]:
    """Problems without an answer, all kinds in turn."""
    rng = np.random.default_rng(seed)
    return [MAKERS[at % len(MAKERS)](rng) for at in range(count)]


def wrong(missed: Missed, answer: Answer) -> list[str]:
    """What is wrong with the answer to a problem without one, and with what it says must give way."""
    if answer.splices:
        return ["an answer where there is none"]
    told = [] if answer.reason else ["no reason"]
    told += [] if answer.misses or answer.together else ["nothing said of how far it misses"]
    for miss in answer.misses:
        told += [f"{miss.limit}: misses by nothing"] if miss.over <= 0.0 else []
        if miss.limit == missed.limit:
            beyond = miss.needs - missed.bound if miss.limit == THROAT else missed.bound - miss.needs
            told += [f"{miss.limit}: asks less than is proved"] if beyond > ROUNDING else []
        told += _tried(missed.problem, miss)
    return told


def _tried(problem: Problem, miss: Miss) -> list[str]:
    """With the limit where it is said to be enough there is an answer; just short of it there is none."""
    fields = {SAW: "saw", THROAT: "throat", GAP: "gap"}
    if miss.limit not in fields:
        return []
    sign = -1.0 if miss.limit == THROAT else 1.0

    def at(over: float) -> Problem:
        held = getattr(problem, fields[miss.limit])
        return replace(problem, **{fields[miss.limit]: held + sign * over})

    enough = at(miss.over + ROUNDING)
    found = joined(enough)
    told = [] if found else [f"{miss.limit}: what it asks for is not enough"]
    told += [fault for one in found for fault in faults(enough, one)]
    if joined(at(0.97 * miss.over - ROUNDING)) and miss.over > 10.0 * ROUNDING:
        told.append(f"{miss.limit}: less is enough")
    return told
