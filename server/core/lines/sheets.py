"""Drawings that are too long to be looked at in one go, cut into sheets between their bars.

A cut never parts a line from the bar that it ends on. Source: definition.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from server.core.lines.layout import Laid

MOST = 4800.0
"""So much stands on one sheet [sheet units], some fifty lines; more only where nothing can be cut."""


@dataclass(frozen=True, slots=True)
class Piece:
    """What of a drawing stands on a sheet. number: which drawing."""

    number: int
    laid: Laid


def sheets(drawings: Sequence[Laid], most: float = MOST) -> tuple[tuple[Piece, ...], ...]:
    """Each sheet with the pieces of drawings on it, in their order. most: height of a sheet."""
    found: list[list[tuple[int, float, float]]] = []
    used = most
    for number, laid in enumerate(drawings):
        for top, bottom in _blocks(laid):
            if used + bottom - top > most or not found:
                found.append([])
                used = 0.0
            used += bottom - top
            if found[-1] and found[-1][-1][0] == number:
                top = found[-1].pop()[1]
            found[-1].append((number, top, bottom))
    return tuple(
        tuple(Piece(number, _between(drawings[number], top, bottom)) for number, top, bottom in sheet)
        for sheet in found
    )


def _blocks(laid: Laid) -> Iterator[tuple[float, float]]:
    """What must stay together, from top to bottom."""
    ended_on = {run.bottom for run in laid.runs}
    tops = [box.y for box in laid.boxes if box.part == "bar" and box.y not in ended_on]
    return zip(tops, [*tops[1:], laid.height], strict=True)


def _between(laid: Laid, top: float, bottom: float) -> Laid:
    return replace(
        laid,
        top=top,
        height=bottom - top,
        boxes=tuple(box for box in laid.boxes if top <= box.y < bottom),
        runs=tuple(run for run in laid.runs if top <= run.top < bottom),
        passes=tuple(one for one in laid.passes if top <= one[0] < bottom),
    )
