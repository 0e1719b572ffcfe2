"""What hose materials stand: heat by the test temperature of their type letter, and oil mist."""

from dataclasses import dataclass

from server.core.sources import Source, source

ZERO_CELSIUS = 273.15

TYPE_LETTERS = {
    letter: celsius + ZERO_CELSIUS
    for letter, celsius in zip("ABCDEFGHJ", (70, 100, 125, 150, 175, 200, 225, 250, 275), strict=True)
}
"""Test temperature by type letter [K]; source: ASTM D2000 / SAE J200, table 1."""


@dataclass(frozen=True, slots=True)
class Rubber:
    """A hose material.

    test_temperature: of its type letter [K], before anything is taken off. stands_oil_mist: breather air
    does not soften it.
    """

    name: str
    test_temperature: float
    stands_oil_mist: bool
    source: Source


def _by_letter(name: str, letter: str, stands_oil_mist: bool) -> Rubber:
    return Rubber(name, TYPE_LETTERS[letter], stands_oil_mist, source("d2000"))


_ALL = (
    _by_letter("silicone", "F", False),
    # Lined hose is held to its lining; a fluorosilicone lining is the lowest of those in use.
    _by_letter("lined silicone", "F", True),
    _by_letter("fluorosilicone lined", "F", True),
    _by_letter("NBR", "B", True),
    _by_letter("EPDM", "C", False),
    # The rubber itself is type H; turbocharger hose of it is held to 225 °C at most.
    Rubber("FKM", TYPE_LETTERS["G"], True, source("hose-material")),
    Rubber("PTFE", 260.0 + ZERO_CELSIUS, True, source("practice")),
)

RUBBERS = {rubber.name: rubber for rubber in _ALL}
"""Hose materials by name; "rubber" is none of them, as nobody can say what it stands."""
