"""What is done to each piece of a run at the bench: how long, what is marked where, how it is turned."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from server.core.tube.centreline import Arc, Centreline, PieceLine, Triple, cross, dot
from server.core.tube.run import PieceKind, PiecePlan

SAWN = frozenset({PieceKind.TUBE, PieceKind.BEND, PieceKind.SALVAGED, PieceKind.HOSE})
"""Kinds that are cut to length; the others are used as they come."""
FULL = 2.0 * math.pi
NO_LEG = 0.0005
"""A straight shorter than this is none [m]."""


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
class MitredEnd:
    """An end that is sawn at a slant, inlet or outlet. saw: from square [rad]; throat: where its shortest
    side stands [rad], as a mark's clock; short: by how much the straight there is too short for the slant
    [m], 0 where it is long enough.
    """

    end: str
    saw: float
    throat: float
    short: float = 0.0

    @property
    def towards(self) -> float:
        """The throat's clock as one looks towards the cut [rad]: against the flow at an inlet."""
        return -self.throat if self.end == "inlet" else self.throat


@dataclass(frozen=True, slots=True)
class Benched:
    """One piece for the bench.

    length: finished, face to face along the centre line [m]; long_by: what to leave on at the first cut for
    the doubt of its length [m], 0 where that is not known; inside: where the inside of its first bend stands
    [rad], as a mark's clock; None without a bend; turned_from: what its bend's turn is counted from; mitres:
    its slanted ends.
    """

    line: PieceLine
    sawn: bool
    long_by: float
    inside: float | None
    turned_from: str
    marks: tuple[Mark, ...]
    mitres: tuple[MitredEnd, ...] = ()

    @property
    def piece(self) -> PiecePlan:
        return self.line.piece

    @property
    def length(self) -> float:
        return self.line.length


def benched(line: Centreline, left_on: Mapping[int, float]) -> tuple[Benched, ...]:
    """Every piece of a run, in order. left_on: what stays on at the first cut [m], by number. Geometry."""
    return tuple(_benched(line, one, left_on.get(one.piece.number, 0.0)) for one in line.pieces)


def _benched(line: Centreline, one: PieceLine, left_on: float) -> Benched:
    sawn = one.piece.kind in SAWN
    first = next((other for other in line.pieces if other.piece.has_arc), one)
    return Benched(
        one,
        sawn,
        left_on if sawn else 0.0,
        next((_inside(arc) for arc in one.arcs if not arc.is_mitre), None),
        "a bend towards 9 o'clock" if first is one else "the bend before",
        _marks(line, one),
        tuple(_mitres(one)),
    )


def _inside(arc: Arc) -> float:
    """Where the inside of a turn stands: the way to its centre, against the 12 o'clock carried to it."""
    inward = cross(arc.start.axis, arc.start.direction)
    return clock_of(inward, arc.start.up, arc.start.direction)


def _mitres(one: PieceLine) -> Iterator[MitredEnd]:
    """The saw halves the turn of the joint; the throat of both its sides lies on the inside of the turn."""
    if one.mitre_in is not None:
        end = one.mitre_in.end
        inward = cross(end.axis, end.direction)
        saw, leg = one.mitre_in.angle / 2.0, one.stretches[0]
        yield MitredEnd("inlet", saw, clock_of(inward, end.up, end.direction), _short(one, saw, leg.length))
    if one.mitre_out is not None:
        saw, leg = one.mitre_out.angle / 2.0, one.stretches[-3]
        yield MitredEnd("outlet", saw, _inside(one.mitre_out), _short(one, saw, leg.length))


def _short(one: PieceLine, saw: float, leg: float) -> float:
    """What the straight of a slanted end lacks [m]: the slant has to miss the arc, whose tube is oval.

    Source: geometry, half the outside diameter times the tangent of the saw's angle.
    """
    bent = any(not arc.is_mitre for arc in one.arcs)
    return max(0.0, one.sizes.outside_in / 2.0 * math.tan(saw) - leg) if bent else 0.0


def cut_in_arc(one: PieceLine) -> bool:
    """Whether an end of a metal pipe lies at its arc, so that it is cut square through bent tube."""
    ends = (one.stretches[:2], one.stretches[:-3:-1])
    return one.piece.kind in SAWN - {PieceKind.HOSE} and any(
        len(pair) == 2 and pair[0].length < NO_LEG and isinstance(pair[1], Arc) and not pair[1].is_mitre
        for pair in ends
    )


def clock_of(way: Triple, up: Triple, flow: Triple) -> float:
    """A direction square to the flow as a clock [rad]: from `up`, clockwise along the flow. Geometry."""
    angle = math.atan2(dot(cross(up, way), flow), dot(up, way)) % FULL
    return 0.0 if FULL - angle < 1e-9 else angle


def _marks(line: Centreline, one: PieceLine) -> tuple[Mark, ...]:
    found = []
    if not one.piece.is_hose:
        found += [Mark(one.overlap_in, "hose reaches to here")] if one.overlap_in > 0.0 else []
        found += [Mark(one.length - one.overlap_out, "hose reaches to here")] if one.overlap_out > 0.0 else []
    bends = [arc for arc in one.arcs if not arc.is_mitre]
    for number, arc in enumerate(bends, 1):
        begin, told = arc.station - one.station, f"bend {number}" if len(bends) > 1 else "bend"
        inside = _inside(arc) if number > 1 else None
        begins = f"{told} begins, its inside" if number > 1 else f"{told} begins"
        found += [Mark(begin, begins, inside), Mark(begin + arc.length, f"{told} ends")]
    found += [
        Mark(0.0 if end.end == "inlet" else one.length, f"throat of the {end.end}'s cut", end.throat)
        for end in _mitres(one)
    ]
    for place in line.bungs:
        if place.piece_number == one.piece.number:
            found.append(Mark(place.station - one.station, place.bung.name, place.bung.clock % FULL))
    return tuple(sorted(found, key=lambda mark: mark.at))
