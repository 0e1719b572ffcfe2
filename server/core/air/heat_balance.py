"""The temperature at which a face gives off as much heat as it takes in, by radiation and through films."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from scipy.constants import Stefan_Boltzmann

from server.core.measure.many import any_above, cube, fourth, plain, sqrt, with_ways

_MOST_STEPS = 50
_STILL = 1e-7
"""Part of a temperature that the last step to it may take [-]: the next would be of its square."""


@dataclass(frozen=True, slots=True)
class Face:
    """What a face at T [K] gives off less what it takes in, per area: radiates T⁴ + conducts T − gains.

    radiates: above nothing, [W/(m2 K4)]. conducts: [W/(m2 K)]. gains: [W/m2].
    """

    radiates: float
    conducts: float
    gains: float

    def loses(self, temperature: float) -> float:
        """What it gives off less what it takes in, [W/m2]. temperature: [K]. Source: definition."""
        return self.radiates * fourth(temperature) + self.conducts * temperature - self.gains

    def stiffness(self, temperature: float) -> float:
        """By how much more that is for each kelvin, [W/(m2 K)]. temperature: [K]. Source: definition."""
        return 4.0 * self.radiates * cube(temperature) + self.conducts

    def temperature(self) -> float:
        """Where it gives off what it takes in, [K]. Source: `_level`."""
        found: float = with_ways(self._level())
        return found

    def _level(self) -> float:
        """As `temperature`, without the ways of `measure.many`: nothing here asks which way a draw goes.

        Source: Ferrari's and Cardano's solution of T⁴ + p T = q (from memory), written so that no two numbers
        that are nearly alike are taken from each other.
        """
        p, q = self.conducts / self.radiates, self.gains / self.radiates
        square, third = p * p, 4.0 / 3.0 * q
        wide = (0.5 * square + sqrt(0.25 * square * square + cube(third))) ** (2.0 / 3.0)
        y = square / (wide + third + third * third / wide)  # where y³ + 4 q y = p²
        d = sqrt(y * y + 4.0 * q)
        found: float = 4.0 * q / ((d + y) * (sqrt(y) + sqrt(2.0 * d - y)))
        return found


def face(radiation: Iterable[tuple[float, float]], films: Iterable[tuple[float, float]]) -> Face:
    """A face that exchanges heat.

    radiation: of each thing that it sees the grey exchange factor, [-], and the temperature, [K]. films: of
    each the coefficient, [W/(m2 K)], and the temperature behind it, [K]. Source: Stefan and Boltzmann's law,
    Newton's law of cooling.
    """
    radiates: Any = 0.0
    conducts: Any = 0.0
    gains: Any = 0.0
    for factor, temperature in radiation:
        sent = Stefan_Boltzmann * plain(factor)
        radiates += sent
        gains += sent * fourth(plain(temperature))
    for film, temperature in films:
        conducts += plain(film)
        gains += plain(film) * plain(temperature)
    return Face(radiates, conducts, gains)


def behind_a_sheet(outside: Face, inside: Face, plates: float) -> tuple[float, float]:
    """Temperatures of a face and of a sheet close before it, [K], that radiate to each other.

    outside: what the sheet exchanges before it. inside: what the face does without the sheet. plates: grey
    exchange factor between the two, [-]. Source: the balance of either; Newton's method on both at once.
    """
    between = Stefan_Boltzmann * plain(plates)
    sheet = outside._level()
    found = Face(inside.radiates + between, inside.conducts, inside.gains + between * fourth(sheet))._level()
    for _ in range(_MOST_STEPS):
        crosses = between * (fourth(sheet) - fourth(found))
        of_sheet, of_found = 4.0 * between * cube(sheet), 4.0 * between * cube(found)
        sheet_loses, found_loses = outside.loses(sheet) + crosses, inside.loses(found) - crosses
        sheet_stiff, found_stiff = outside.stiffness(sheet) + of_sheet, inside.stiffness(found) + of_found
        both = sheet_stiff * found_stiff - of_sheet * of_found
        step = (sheet_loses * found_stiff + found_loses * of_found) / both
        sheet, found = sheet - step, found - (found_loses * sheet_stiff + sheet_loses * of_sheet) / both
        if not any_above(abs(step), _STILL * sheet):
            break
    return with_ways(found), with_ways(sheet)
