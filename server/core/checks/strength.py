"""What pressure does to the wall of a metal tube, and what the metal stands when it is hot."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from server.core.sources import Source, source

HOOP_BASIS = "Thin wall on the outside diameter, p D / (2 t); lies above Lamé's greatest, at the bore"
"""The basis of `hoop_stress`, in words for a page."""

THIN_FROM = 20.0
"""Outside diameters in walls from which a tube counts as thin, [-]. Source: usual in textbooks."""

ZERO_CELSIUS = 273.15


def hoop_stress(outside_diameter: float, wall: float, gauge_pressure: float) -> float:
    """Hoop stress of a tube, below zero under suction [Pa].

    outside_diameter, wall: [m]. gauge_pressure: inside less outside [Pa]. On the outside diameter it lies
    above the greatest of a thick wall (`bore_stress`), by up to half the pressure, whatever the wall.
    Source: Barlow's formula, p D / (2 t).

    >>> round(hoop_stress(0.0635, 0.0015, 150e3) / 1e6, 3)
    3.175
    """
    return gauge_pressure * outside_diameter / (2.0 * wall)


def bore_stress(outside_diameter: float, wall: float, gauge_pressure: float) -> float:
    """Hoop stress at the bore, where it is greatest in a thick wall too [Pa].

    outside_diameter, wall: [m]. gauge_pressure: inside less outside [Pa], below zero counted as pressure from
    outside. Source: Lamé, thick cylinders.
    """
    outer, inner = outside_diameter**2, (outside_diameter - 2.0 * wall) ** 2
    loaded = outer + inner if gauge_pressure >= 0.0 else 2.0 * outer
    return gauge_pressure * loaded / (outer - inner)


def wall_fault(outside_diameter: float, wall: float) -> str | None:
    """Why there is no such tube, None where there is; both [m]. Source: geometry."""
    if 2.0 * wall < outside_diameter:
        return None
    return "Two walls of this thickness leave no bore."


def hoop_notes(outside_diameter: float, wall: float, gauge_pressure: float) -> tuple[str, ...]:
    """What to know about a hoop stress; sizes [m], pressure [Pa]. Source: what the formula leaves out."""
    notes: tuple[str, ...] = ()
    if outside_diameter < THIN_FROM * wall:
        notes = (
            f"Under {THIN_FROM:g} walls to the diameter it is not a thin wall: out of the formula's range.",
        )
    if gauge_pressure < 0.0:
        notes = (
            *notes,
            "Suction presses the wall together, at the bore by more than this: a thin tube buckles before"
            " that stress matters.",
        )
    return notes


@dataclass(frozen=True, slots=True)
class Strength:
    """Least 0.2 % proof strength of tube of one metal, soft as a weld leaves it.

    points: temperature [K] and strength [Pa], temperatures rising. Nothing is told beyond the last.
    """

    points: tuple[tuple[float, float], ...]
    source: Source

    def at(self, temperature: float) -> float | None:
        """Strength at a temperature [K], straight between the points [Pa]; None above the last.

        Below the first point the first counts, as metal is no weaker cold. Source: that of the points.
        """
        first, last = self.points[0], self.points[-1]
        if temperature > last[0]:
            return None
        if temperature <= first[0]:
            return first[1]
        return between(self.points, temperature)


def between(points: Sequence[tuple[float, float]], at: float) -> float:
    """A value straight between the two points, each (place, value), around a place within them.

    Places rise; place and value in any unit. Raises ValueError for a place outside. Source: geometry.
    """
    for (left, low), (right, high) in pairwise(points):
        if left <= at <= right:
            return low + (high - low) * (at - left) / (right - left)
    raise ValueError("the place lies outside the points")


def _by_celsius(code: str, **points: float) -> Strength:
    """Points as c100=155.0: at 100 °C 155 MPa."""
    pairs = ((float(name[1:]) + ZERO_CELSIUS, megapascal * 1e6) for name, megapascal in points.items())
    return Strength(tuple(pairs), source(code))


STRENGTHS: Mapping[str, Strength] = {
    "stainless steel": _by_celsius(
        "proof-stainless", c50=177, c100=155, c150=140, c200=127, c250=118, c300=110, c350=104, c400=98
    ),
    "316 stainless": _by_celsius(
        "proof-stainless", c50=191, c100=175, c150=158, c200=145, c250=135, c300=127
    ),
    "321 stainless": _by_celsius("proof-memory", c100=176, c150=167, c200=157, c250=147, c300=136),
    "steel": _by_celsius("proof-memory", c100=198, c150=187, c200=170, c250=150, c300=132),
    # Annealed: a weld takes the temper out of aluminium. What heat takes off it is common practice.
    "aluminium": _by_celsius("practice", c100=55, c150=45, c200=35, c250=25),
    "titanium": _by_celsius("practice", c20=170, c150=95, c250=60),
}
"""By the metal's name in `air.expansion`. Cast iron breaks before it yields and is not here."""
