"""The straights of a run from bend to bend, and which of them each piece stands in."""

from server.core.tube.centreline import Arc, Centreline
from server.core.tube.space.bend_table import BendTable, table_of
from server.core.tube.space.vectors import vector


def bend_table(line: Centreline) -> BendTable:
    """The run as a bender works, from port face to port face. Source: geometry.

    Raises NoPipe for a run that turns right back in one corner.
    """
    radii = [part.radius for piece in line.pieces for part in piece.stretches if isinstance(part, Arc)]
    return table_of([vector(corner) for corner in line.corners], radii)


def straights_of(line: Centreline) -> dict[int, tuple[int, ...]]:
    """Numbers of the straights that each piece has a part in, by the piece's number; the first one is 0."""
    found: dict[int, tuple[int, ...]] = {}
    at = 0
    for piece in line.pieces:
        first = at
        at += sum(isinstance(part, Arc) for part in piece.stretches)
        found[piece.piece.number] = tuple(range(first, at + 1))
    return found
