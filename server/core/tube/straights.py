"""The straights of a run from bend to bend, and which of them each piece stands in."""

from server.core.tube.centreline import Centreline
from server.core.tube.space.bend_table import BendTable, table_of
from server.core.tube.space.vectors import vector


def bend_table(line: Centreline) -> BendTable:
    """The run as a bender works, from port face to port face. Source: geometry.

    Raises NoPipe for a run that turns right back in one corner.
    """
    radii = [arc.radius for piece in line.pieces for arc in piece.arcs]
    return table_of([vector(corner) for corner in line.corners], radii)


def straights_of(line: Centreline) -> dict[int, tuple[int, ...]]:
    """Numbers of the straights that each piece has a part in, by the piece's number; the first one is 0."""
    found: dict[int, tuple[int, ...]] = {}
    at = 0
    for piece in line.pieces:
        first, at = at, at + len(piece.arcs)
        # What comes after the mitre that it ends in is the next piece's.
        last = at if piece.mitre_out is None else at - 1
        found[piece.piece.number] = tuple(range(first, last + 1))
    return found
