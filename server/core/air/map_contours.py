"""Lines of equal efficiency over a compressor map, as polylines to draw."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import ceil, floor

from server.core.air.map_shape import MapShape, Spot

_Edge = tuple[int, int]
"""Numbers of the two points that an edge joins, the lower first."""

_TOUCHING = 1e-9
"""Efficiency under which a level counts as the map's least or greatest, [-]."""


@dataclass(frozen=True, slots=True)
class Contour:
    """One line of equal efficiency.

    efficiency: [-]. spots: corrected flow [kg/s] and pressure ratio [-], in order. closed: whether the last
    joins the first.
    """

    efficiency: float
    spots: tuple[Spot, ...]
    closed: bool


def contour_levels(on: MapShape, step: float) -> tuple[float, ...]:
    """Whole steps of efficiency between a map's least and greatest.

    step: [-], above zero. Returns [-], rising. Errors: ValueError for a step that is not above zero.
    Source: definition.
    """
    if step <= 0.0:
        raise ValueError("The step is above zero.")
    values = [point.efficiency for point in on.of.points]
    least, most = min(values), max(values)
    levels = (round(number * step, 9) for number in range(floor(least / step), ceil(most / step) + 1))
    return tuple(level for level in levels if least + _TOUCHING < level < most - _TOUCHING)


def contours(on: MapShape, levels: Iterable[float]) -> tuple[Contour, ...]:
    """Lines of equal efficiency over a map.

    levels: efficiencies, [-]. Returns each level's lines one after another; none for a level the map does
    not reach. Source: marching triangles over the triangulation that efficiency is interpolated on, so that
    every corner of a line has the line's efficiency.
    """
    return tuple(contour for level in levels for contour in _at_level(on, level))


def _at_level(on: MapShape, level: float) -> Iterator[Contour]:
    for chain, closed in _chains(list(_cuts(on, level))):
        spots: list[Spot] = []
        for edge in chain:
            spot = _crossing(on, edge, level)
            if not spots or spot != spots[-1]:
                spots.append(spot)
        if closed and len(spots) > 1 and spots[0] == spots[-1]:
            spots.pop()
        # A lone point that has just this efficiency shrinks to nothing.
        if len(spots) > 1:
            yield Contour(level, tuple(spots), closed and len(spots) > 2)


def _cuts(on: MapShape, level: float) -> Iterator[tuple[_Edge, _Edge]]:
    """The two edges by which the level passes each triangle that it passes."""
    high = [point.efficiency >= level for point in on.of.points]
    for first, second, third in on.triangles:
        edges = [
            (min(one, other), max(one, other))
            for one, other in ((first, second), (second, third), (third, first))
            if high[one] != high[other]
        ]
        if edges:
            yield edges[0], edges[1]


def _chains(cuts: list[tuple[_Edge, _Edge]]) -> Iterator[tuple[list[_Edge], bool]]:
    """Cuts joined end to end by the edges they share: (edges in order, whether they close)."""
    touching: dict[_Edge, list[int]] = {}
    for number, cut in enumerate(cuts):
        for edge in cut:
            touching.setdefault(edge, []).append(number)
    left = set(range(len(cuts)))
    # Open lines first, from their ends; what is left then runs in rings.
    ends = [numbers[0] for edge, numbers in touching.items() if len(numbers) == 1]
    for start in [*ends, *range(len(cuts))]:
        if start not in left:
            continue
        first, second = cuts[start]
        open_end = next((edge for edge in (first, second) if len(touching[edge]) == 1), None)
        chain = [first, second] if open_end in (None, first) else [second, first]
        left.discard(start)
        while following := [number for number in touching[chain[-1]] if number in left]:
            left.discard(following[0])
            one, other = cuts[following[0]]
            chain.append(other if one == chain[-1] else one)
        yield (chain[:-1], True) if chain[0] == chain[-1] else (chain, False)


def _crossing(on: MapShape, edge: _Edge, level: float) -> Spot:
    """Where the level stands on an edge."""
    low, high = (on.of.points[number] for number in edge)
    share = (level - low.efficiency) / (high.efficiency - low.efficiency)
    return low.flow + share * (high.flow - low.flow), low.ratio + share * (high.ratio - low.ratio)
