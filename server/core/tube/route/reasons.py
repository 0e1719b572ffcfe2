"""Why there is no route: what stands in the way, and what would help, each tried before it is said."""

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from server.core.tube.route.problem import Asked, BendKind
from server.core.tube.space.vectors import angle_between
from server.core.units import Kind, System, show

IN_LINE = 1e-6
"""How far off two lines are one [m], and how far two directions are one [rad]."""
MOST_BENDS = 3
MOST_TRIED = 6
"""Keep-outs of which it is tried what would be without them."""

Finds = Callable[[Asked], bool]
"""Whether there is a route."""


def never(asked: Asked) -> str:
    """Why there can be no route whatever is tried; empty where there might be one."""
    return _covered(asked) or _plain(asked)


def why_none(asked: Asked, finds: Finds) -> str:
    """What would help where a route might be but none was found: each change is tried."""
    helps = [words for words, other in _changes(asked) if finds(other)]
    return f"{_in_the_way(asked)} {_what_helps(asked, helps)}"


def _covered(asked: Asked) -> str:
    """The keep-out that an end lies in, if any: no route leaves it."""
    for number, shape in enumerate(asked.keep_outs, 1):
        for name, end in (("start", asked.start), ("end", asked.end)):
            left = float(shape.distance(end.point)) - shape.gap - 0.5 * asked.outside
            if left < 0.0:
                return (
                    f"The {name} lies too near to keep-out {number} already, by {_length(-left)}: no route "
                    "can be clear of it. Check its place, size and gap, or move the port."
                )
    return ""


def _plain(asked: Asked) -> str:
    """What no bend or straight could change, if anything."""
    gap = asked.end.point - asked.start.point
    turn = angle_between(asked.start.flow, asked.end.flow)
    bends = min(asked.most_bends, MOST_BENDS) if asked.bends else 0
    if float(np.linalg.norm(gap)) < IN_LINE:
        return "Start and end are in the same place: there is nothing to bridge. Check the two points."
    widest = max((kind.angle for kind in asked.bends), default=0.0)
    if turn > bends * widest + IN_LINE:
        return _too_little_turn(asked, turn, bends, widest)
    ahead = float(gap @ asked.start.flow)
    beside = float(np.linalg.norm(gap - ahead * asked.start.flow))
    if bends == 0:
        return _no_bend(asked, ahead, beside)
    if bends == 1 and (turn < IN_LINE or math.pi - turn < IN_LINE):
        return (
            f"The two lines are parallel, {_length(beside)} apart, and one bend can't join those. "
            "Allow two bends."
        )
    if bends == 1:
        square = np.cross(asked.start.flow, asked.end.flow)
        missed = abs(float(gap @ square)) / float(np.linalg.norm(square))
        if missed > IN_LINE:
            return (
                f"The two lines miss each other by {_length(missed)}, so one bend can't join them. "
                "Allow two bends, or move a port."
            )
    return ""


def _too_little_turn(asked: Asked, turn: float, bends: int, widest: float) -> str:
    if bends == 0:
        return (
            f"The flow must turn by {_angle(turn)} and no bend may be used. Add a bend that can be bought "
            "and allow at least one."
        )
    most = f"{bends} bends turn it by {_angle(bends * widest)} at the most"
    if bends == 1:
        most = f"one bend turns it by {_angle(widest)} at the most"
    more = ", or allow one more bend" if asked.most_bends < MOST_BENDS else ""
    return f"The flow must turn by {_angle(turn)}, and {most}. Add a bend of a greater angle{more}."


def _no_bend(asked: Asked, ahead: float, beside: float) -> str:
    """Why a straight alone is no route between two ends that face the same way."""
    if beside > IN_LINE:
        return (
            f"The ends are {_length(beside)} out of line, and no bend may be used. Add a bend that can be "
            "bought and allow two."
        )
    if ahead < 0.0:
        return "The end lies behind the start: the flow would have to turn round. Check both directions."
    return (
        f"The ends are {_length(ahead)} apart in one line, and the shortest straight is "
        f"{_length(asked.shortest_straight)}. Allow a shorter one."
    )


def _in_the_way(asked: Asked) -> str:
    """How much room there is, beside what the bends take up."""
    gap = float(np.linalg.norm(asked.end.point - asked.start.point))
    turn = angle_between(asked.start.flow, asked.end.flow)
    tightest = min(kind.radius for kind in asked.bends)
    return (
        f"No route was found: the ends are {_length(gap)} apart, the flow turns by {_angle(turn)}, the "
        f"tightest bend has a radius of {_length(tightest)}."
    )


def _changes(asked: Asked) -> Iterator[tuple[str, Asked]]:
    """What might help, with the problem as it would be then."""
    for number in range(min(len(asked.keep_outs), MOST_TRIED)):
        rest = asked.keep_outs[:number] + asked.keep_outs[number + 1 :]
        yield f"keep-out {number + 1} out of the way, or with a smaller gap", replace(asked, keep_outs=rest)
    if asked.most_bends < MOST_BENDS:
        yield "one more bend", replace(asked, most_bends=asked.most_bends + 1)
    if any(not kind.may_cut_down for kind in asked.bends):
        cut = tuple(replace(kind, may_cut_down=True) for kind in asked.bends)
        yield "a bend that may be cut down", replace(asked, bends=cut)
    if asked.shortest_straight > 0.0 or any(kind.leg_in + kind.leg_out > 0.0 for kind in asked.bends):
        bare = tuple(replace(kind, leg_in=0.0, leg_out=0.0) for kind in asked.bends)
        yield "shorter straights and legs", replace(asked, bends=bare, shortest_straight=0.0)
    yield "half the radius", replace(asked, bends=tuple(_half(kind) for kind in asked.bends))


def _half(kind: BendKind) -> BendKind:
    return replace(kind, radius=0.5 * kind.radius)


def _what_helps(asked: Asked, helps: list[str]) -> str:
    if helps:
        return f"Any one of these would help: {'; '.join(helps)}."
    if len(asked.keep_outs) > 1:
        return "No single change of keep-outs, bends or straights helps: move a port, or change several."
    return "No single change of bends or straights helps: move a port, or change several."


def _length(value: float) -> str:
    return show(value, Kind.length, System.metric).text


def _angle(value: float) -> str:
    return show(value, Kind.angle, System.metric).text
