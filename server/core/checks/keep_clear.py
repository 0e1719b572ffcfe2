"""What a pipe in the car has to leave round each keep-out: its gap, doubt, and movement between frames."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from server.core.checks.limits import LIMITS
from server.core.checks.near import NATURES
from server.core.tube.run import Frame
from server.core.tube.space.in_car import PieceInCar
from server.core.tube.space.keep_outs import KeepOut
from server.core.tube.space.solids import Solid

SURE = 2.0
"""Standard uncertainties that are kept free beside a keep-out; JCGM 100:2008, 6.2.1."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A keep-out with all that stays free round it. moves: of that, movement [m]; swept: it was said."""

    solid: Solid
    shape: KeepOut
    moves: float
    swept: bool


def frame_of(solid: Solid) -> str:
    """What it moves with, as said or as usual; empty where neither tells."""
    return solid.frame or NATURES[solid.what].frame


def kept_clear(solid: Solid, frames: frozenset[str], limits: Mapping[str, float], doubt: float = 0.0) -> Kept:
    """What to leave round a keep-out beside a pipe.

    frames: what the pipe moves with; an empty word counts as another frame. limits: changed ones, by key
    [SI]. doubt: of the pipe's own place [m]. Only movement between different frames counts; what is typed
    goes before what is usual of an engine on its mounts, as for gaps that are measured.
    """
    both = frames | {frame_of(solid)}
    apart = len(both) > 1 or "" in both
    said = solid.numbers.get("moves")
    usual = limits.get("gap.engine_moves", LIMITS["gap.engine_moves"].default)
    moves = 0.0 if not apart else usual if said is None else said.value
    swept = not apart or said is not None or Frame.SUSPENSION not in both
    free = SURE * (solid.doubt**2 + doubt**2) ** 0.5
    return Kept(solid, solid.keep_out(free + moves), moves, swept)


@dataclass(frozen=True, slots=True)
class Room:
    """What is left beside a keep-out over all that is asked there [m], below zero where it is too little.

    number, piece_id: of the piece that comes nearest.
    """

    kept: Kept
    left: float
    number: int
    piece_id: int


def rooms(pieces: Sequence[PieceInCar], kept: Sequence[Kept]) -> tuple[Room, ...]:
    """The room beside each keep-out, the least first. Source: geometry, points of the centre line."""
    if not pieces:
        return ()
    points = np.concatenate([one.points for one in pieces])
    half = np.concatenate([one.half for one in pieces])
    begins = np.cumsum([0, *(len(one.points) for one in pieces[:-1])])
    found = []
    for one in kept:
        left = np.minimum.reduceat(one.shape.distance(points) - half, begins)
        piece = pieces[int(left.argmin())]
        found.append(Room(one, float(left.min()) - one.shape.gap, piece.number, piece.piece_id))
    return tuple(sorted(found, key=lambda room: room.left))
