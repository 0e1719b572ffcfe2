"""Figures of what is fitted and is no pipe: fuel, oil, the wastegate, coolant, the cooler.

Each has a key, plain words and what may be typed. A figure belongs to a kind of subsystem; rules of that
kind rest on it as rules of a run rest on its sizes. A module a kind of subsystem holds what is asked there.
"""

from collections.abc import Mapping

from server.core.checks.figures.asked import OWNER, YES_NO, Column, Figure, Figures, Table
from server.core.checks.figures.of_coolant import COOLANT, HEATER
from server.core.checks.figures.of_cooler import COOLER
from server.core.checks.figures.of_fuel import FUEL
from server.core.checks.figures.of_gate import WASTEGATE
from server.core.checks.figures.of_oil import OIL_DRAIN, OIL_FEED
from server.core.checks.figures.of_turbo import MAP, TURBO
from server.core.tube.run import Place

__all__ = [
    "FIGURES",
    "MAP",
    "OWNER",
    "YES_NO",
    "Column",
    "Figure",
    "Figures",
    "Table",
    "figure",
    "figure_of",
]

FIGURES: Mapping[Place, tuple[Figure, ...]] = {
    Place.TURBO: TURBO,
    Place.COOLER_PIPE: COOLER,
    Place.FUEL: FUEL,
    Place.OIL_FEED: OIL_FEED,
    Place.OIL_DRAIN: OIL_DRAIN,
    Place.WASTEGATE: WASTEGATE,
    Place.COOLANT: COOLANT,
    Place.HEATER: HEATER,
}
"""The figures of each kind of subsystem that has any, in the order in which they are asked for."""

_BY_KEY = {figure.key: figure for some in FIGURES.values() for figure in some}


def figure(key: str) -> Figure:
    """The figure with this key. Raises KeyError."""
    return _BY_KEY[key]


def figure_of(variable: str) -> Figure | None:
    """The figure that a variable is, None for any other variable."""
    owner, _, key = variable.partition(".")
    return _BY_KEY.get(key) if owner == OWNER else None
