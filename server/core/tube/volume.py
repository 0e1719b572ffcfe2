"""How much a run holds."""

from math import pi

from server.core.tube.centreline import Centreline, PieceLine
from server.core.tube.nominal import STAND_IN_WALL


def inside(line: Centreline) -> float:
    """The volume inside a run, from port face to port face [m3]. Source: geometry.

    A hose counts where no tube stands in it; a wall that nobody typed is stood in for.
    """
    return sum(_of_piece(one) for one in line.pieces)


def _of_piece(one: PieceLine) -> float:
    sizes = one.piece.sizes
    if one.piece.is_hose:
        length = max(one.length - one.overlap_in - one.overlap_out, 0.0)
        return 0.25 * pi * (0.5 * (one.sizes.fit_in + one.sizes.fit_out)) ** 2 * length
    if "bore" in sizes:
        bore = sizes["bore"].value
    else:
        wall = sizes["wall"].value if "wall" in sizes else STAND_IN_WALL
        bore = max(0.5 * (one.sizes.outside_in + one.sizes.outside_out) - 2.0 * wall, 0.0)
    return 0.25 * pi * bore**2 * one.length
