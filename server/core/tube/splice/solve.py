"""Where to cut two salvaged pipes so that they join, fewest welds first; or why not, and how far off."""

import math

from server.core.tube.splice.direct import MET, direct
from server.core.tube.splice.making import made
from server.core.tube.splice.misses import misses, together
from server.core.tube.splice.piece import straights
from server.core.tube.splice.pies import with_pies
from server.core.tube.splice.problem import (
    GAP,
    SAW,
    STRAIGHTS,
    THROAT,
    Answer,
    Miss,
    Problem,
    Splice,
)
from server.core.units import Kind, System, show

MOST_SPLICES = 6
_NO_STRAIGHT = "A pipe has no straight between its arcs: a mitre can't be cut in an arc."
PIECES = ("", "one pie piece", "two pie pieces")


def splice(problem: Problem) -> Answer:
    """Ways to join the two pipes, fewest welds first, each rebuilt from its cuts; or why there is none.

    Lengths in [m]; source: geometry.
    """
    if not straights(problem.fixed) or not straights(problem.turning):
        return Answer((), _NO_STRAIGHT)
    found = joined(problem)
    if found:
        return Answer(found, notes=_notes(found))
    alone = misses(problem)
    several = () if alone else together(problem)
    return Answer((), _reason(problem, alone, several), alone, several)


def joined(problem: Problem) -> tuple[Splice, ...]:
    """Ways to join, up to the first number of welds that leaves one without a pull. Lengths in [m]."""
    found: list[Splice] = []
    for pies in range(problem.most_pies + 1):
        choices = with_pies(problem, pies) if pies else direct(problem)
        found += [made(problem, choice) for choice in choices[:MOST_SPLICES]]
        if any(one.pull <= MET for one in found):
            break
    return tuple(found)


def _notes(found: tuple[Splice, ...]) -> tuple[str, ...]:
    told = []
    if any(one.pull > MET for one in found):
        told.append("The centre lines pass each other by the pull: tack the flanges to their mates first.")
    if any(one.waste <= 0.0 for one in found):
        told.append("A pie piece is longer than what is cut off: it takes pipe from elsewhere.")
    return tuple(told)


def _reason(problem: Problem, alone: tuple[Miss, ...], several: tuple[Miss, ...]) -> str:
    """Why there is no way, in words."""
    most = f" with up to {PIECES[problem.most_pies]}" if problem.most_pies else " with one weld"
    told = [f"No way to join within the limits{most}."]
    if alone:
        told.append(f"One of these would have to give way: {'; '.join(map(_told, alone))}.")
    elif several:
        told.append(f"Several limits are passed at once: {'; '.join(map(_told, several))}.")
    return " ".join(told)


def _told(miss: Miss) -> str:
    if miss.limit == SAW:
        needs, over = (f"{math.degrees(one):.2f}°" for one in (miss.needs, miss.over))
        return f"the saw, which needs {needs}, {over} over its limit"
    needs, over = (show(one, Kind.length, System.metric).text for one in (miss.needs, miss.over))
    return {
        THROAT: f"the throat, of which {needs} is left, {over} under its floor",
        GAP: f"the pull, which needs {needs}, {over} over its limit",
        STRAIGHTS: f"the straights, one of which is {over} too short for its mitre",
    }[miss.limit]
