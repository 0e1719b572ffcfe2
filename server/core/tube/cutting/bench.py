"""What is done to each piece of a run at the bench: how long, what is marked where, how it is turned."""

import math
from dataclasses import dataclass

from server.core.tube.centreline import Arc, Centreline, PieceLine, Vector, cross, dot
from server.core.tube.cutting.trim import Fit, Saw, left_long
from server.core.tube.run import JointKind, PieceKind, PiecePlan, RunPlan

SAWN = frozenset({PieceKind.TUBE, PieceKind.BEND, PieceKind.SALVAGED, PieceKind.HOSE})
"""Kinds that are cut to length; the others are used as they come."""
BENCH_SAW = Saw(0.002, 0.0005)
"""A hand-held or chop saw: its blade's width and where its cut falls [m]; common practice, no source."""
WELDED = Fit(0.0005, 0.001, 0.01)
"""What a weld closes and swallows [m], and the risk of a piece cut short; common practice, no source."""
CLAMPED = Fit(0.006, 0.006, 0.01)
"""The same of a hose joint, in which a spigot may stand a little deeper; common practice, no source."""
FULL = 2.0 * math.pi


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark on a piece.

    at: from the inlet face along the centre line [m]; clock: from 12 o'clock, clockwise along the flow [rad],
    None where it goes all round.
    """

    at: float
    what: str
    clock: float | None = None


@dataclass(frozen=True, slots=True)
class Benched:
    """One piece for the bench.

    length: finished, face to face along the centre line [m]; long_by: what to leave on at the first cut for
    the doubt of its length [m], 0 where that is not known; inside: where the inside of its bend stands
    [rad], as a mark's clock; None without a bend.
    """

    line: PieceLine
    sawn: bool
    long_by: float
    inside: float | None
    marks: tuple[Mark, ...]

    @property
    def piece(self) -> PiecePlan:
        return self.line.piece

    @property
    def length(self) -> float:
        return self.line.length


def benched(plan: RunPlan, line: Centreline) -> tuple[Benched, ...]:
    """Every piece of a run, in order. Source: geometry; what to leave long is told by `trim`."""
    return tuple(_benched(plan, line, place) for place in range(len(line.pieces)))


def _benched(plan: RunPlan, line: Centreline, place: int) -> Benched:
    one = line.pieces[place]
    sawn = one.piece.kind in SAWN
    return Benched(one, sawn, _long_by(plan, one, place) if sawn else 0.0, _inside(one), _marks(line, one))


def _long_by(plan: RunPlan, one: PieceLine, place: int) -> float:
    """By the doubt of its straights, and the tighter of the joints at its ends; whole millimetres [m]."""
    doubts = [one.piece.sizes[name].doubt for name in ("length", "length_out") if name in one.piece.sizes]
    doubt = math.hypot(*doubts) if doubts else 0.0
    if doubt == 0.0:
        return 0.0
    joints = plan.joints[place : place + 2]
    clamped = bool(joints) and all(joint.kind is JointKind.HOSE_AND_CLAMP for joint in joints)
    return math.ceil(1e3 * left_long(doubt, BENCH_SAW, CLAMPED if clamped else WELDED)) / 1e3


def _inside(one: PieceLine) -> float | None:
    """Where the inside of the bend stands: the way to its centre, against the 12 o'clock carried to it."""
    arc = next((part for part in one.stretches if isinstance(part, Arc)), None)
    if arc is None:
        return None
    inward = cross(arc.start.axis, arc.start.direction)
    return clock_of(inward, arc.start.up, arc.start.direction)


def clock_of(way: Vector, up: Vector, flow: Vector) -> float:
    """A direction square to the flow as a clock [rad]: from `up`, clockwise along the flow. Geometry."""
    angle = math.atan2(dot(cross(up, way), flow), dot(up, way)) % FULL
    return 0.0 if FULL - angle < 1e-9 else angle


def _marks(line: Centreline, one: PieceLine) -> tuple[Mark, ...]:
    found = []
    if not one.piece.is_hose:
        found += [Mark(one.overlap_in, "hose reaches to here")] if one.overlap_in > 0.0 else []
        found += [Mark(one.length - one.overlap_out, "hose reaches to here")] if one.overlap_out > 0.0 else []
    for part in one.stretches:
        if isinstance(part, Arc):
            begin = part.station - one.station
            found += [Mark(begin, "bend begins"), Mark(begin + part.length, "bend ends")]
    for place in line.bungs:
        if place.piece_number == one.piece.number:
            found.append(Mark(place.station - one.station, place.bung.name, place.bung.clock % FULL))
    return tuple(sorted(found, key=lambda mark: mark.at))
