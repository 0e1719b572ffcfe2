"""What pressure a hose stands when hot: by its maker's table, or what is usual where there is none."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from server.core.checks.figures import Column
from server.core.checks.strength import between
from server.core.sources import Source, source
from server.core.units import Kind

ROOM = 293.15
"""Temperature that a pressure rating is taken to hold at where none is stated [K]."""

RATING_COLUMNS = (
    Column("temperature", Kind.temperature, "degC"),
    Column("working pressure", Kind.pressure, "bar"),
)
"""Of a maker's table as it is typed."""
RATING_HINTS = ("as 20 °C; 6 bar", "rows with rising temperatures and falling pressures")
"""A row as typed, and what is accepted."""

KEPT_AT_LIMIT = 0.5
"""Part of a pressure rating taken to be left at the material's temperature limit.

Common practice, no source.
"""

USUAL_REINFORCED, USUAL_PLAIN = 200e3, 50e3
"""Working pressure at room temperature that a hose with fabric or wire, and one without, is taken to stand
where its maker says nothing [Pa]. Common practice, no source."""

USUAL_BORE = 0.0635
"""Bore up to which that holds [m]; a wider hose stands less, as the stress in its wall goes with the bore."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a table says at a temperature. pressure: working, gauge [Pa], None where the table says nothing.

    reason: why it says nothing, or what was taken instead; empty inside the table.
    """

    pressure: float | None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Rating:
    """Working pressures of a hose by temperature. points: (temperature [K], gauge pressure [Pa]), rising."""

    points: tuple[tuple[float, float], ...]
    source: Source

    def at(self, temperature: float) -> Allowed:
        """What the hose stands at a temperature [K], straight between two points of its table.

        Hotter than the last it is not known. Colder than the first the first holds. Source: the table's.
        """
        first, last = self.points[0], self.points[-1]
        if temperature > last[0]:
            return Allowed(None, "Hotter than the table goes: ask the maker, or take another hose.")
        if temperature < first[0]:
            return Allowed(first[1], "Colder than the table begins: its first figure holds.")
        if temperature == last[0]:
            return Allowed(last[1])
        return Allowed(between(self.points, temperature))


def table_fault(points: Sequence[Sequence[float]]) -> str | None:
    """What is wrong with a table as typed, None where nothing is; points as in `Rating` [K, Pa].

    Source: no hose stands more when it is hotter.
    """
    if not points:
        return "The table is empty."
    if any(pressure <= 0.0 for _, pressure in points):
        return "A working pressure is above zero."
    if any(right[0] <= left[0] for left, right in pairwise(points)):
        return "The temperatures rise from point to point."
    if any(right[1] > left[1] for left, right in pairwise(points)):
        return "No hose stands more pressure when it is hotter: look at the table again."
    return None


def falling(rated_pressure: float, rated_temperature: float, limit_temperature: float, by: Source) -> Rating:
    """A rating from one figure [any pressure unit], where the maker gives no table.

    rated_temperature, limit_temperature: of the figure and of the material [K]. From the one it falls evenly
    to half at the other, and on to nothing. Source: common practice, no source.
    """
    reach = max(limit_temperature - rated_temperature, 1.0)
    gone = rated_temperature + reach / (1.0 - KEPT_AT_LIMIT)
    half = (rated_temperature + reach, rated_pressure * KEPT_AT_LIMIT)
    return Rating(((rated_temperature, rated_pressure), half, (gone, 0.0)), by)


def usual_rating(reinforced: bool, bore: float, limit_temperature: float) -> Rating:
    """What a hose is taken to stand where its maker says nothing, on the low side.

    bore: [m]. limit_temperature: of its material [K]. Source: common practice, no source.
    """
    usual = USUAL_REINFORCED if reinforced else USUAL_PLAIN
    return falling(usual * min(USUAL_BORE / bore, 1.0), ROOM, limit_temperature, source("practice"))
