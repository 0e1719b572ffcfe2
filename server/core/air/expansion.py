"""How much hot metal grows."""

from dataclasses import dataclass

from server.core.sources import Source, source

GROWS_FURTHER_FROM = 373.15
"""Above this the coefficients, taken near room temperature, are too small, [K]: means to 600 °C are 5 to 10 %
more."""


@dataclass(frozen=True, slots=True)
class Metal:
    """A metal. words: what names it, any of them. expansion: linear, near room temperature, [1/K].

    melts_from: where it begins to melt, rounded down, [K]; from memory.
    """

    name: str
    words: tuple[str, ...]
    expansion: float
    melts_from: float
    source: Source


_METALS = (
    Metal("316 stainless", ("316",), 16.0e-6, 1640.0, source("expansion-memory")),
    Metal("321 stainless", ("321",), 16.6e-6, 1670.0, source("expansion-memory")),
    Metal("409 stainless", ("409",), 11.7e-6, 1690.0, source("expansion-memory")),
    Metal("nickel alloy 625", ("625",), 12.8e-6, 1560.0, source("expansion-memory")),
    Metal("stainless steel", ("stainless", "304"), 17.2e-6, 1670.0, source("expansion")),
    Metal("aluminium", ("aluminium", "aluminum", "6061"), 23.6e-6, 855.0, source("expansion")),
    Metal("titanium", ("titanium",), 8.6e-6, 1920.0, source("expansion-memory")),
    Metal("copper", ("copper",), 16.9e-6, 1350.0, source("expansion-memory")),
    Metal("cast iron", ("iron",), 10.8e-6, 1420.0, source("expansion-memory")),
    Metal("steel", ("steel", "1010", "1020"), 12.2e-6, 1720.0, source("expansion")),
)
"""In the order in which a name is looked for: "stainless steel" is not "steel"."""

METAL_NAMES = tuple(metal.name for metal in _METALS)
"""The metals known here, by name."""


def metal_named(material: str) -> Metal | None:
    """The metal that a builder's word stands for, None where it is none of those known here.

    >>> metal_named("304 stainless").name
    'stainless steel'
    """
    low = material.lower()
    return next((metal for metal in _METALS if any(word in low for word in metal.words)), None)


def growth(length: float, expansion: float, cold: float, hot: float) -> float:
    """How much longer a length of metal is when hot.

    length: cold, [m]. expansion: linear, [1/K]. cold, hot: [K]. Returns [m], below zero where it cools.
    With an expansion taken near room temperature the true growth at exhaust heat is 5 to 10 % more.
    Source: linear expansion, alpha L (T - T0).

    >>> round(1e3 * growth(1.0, 17.2e-6, 293.15, 873.15), 2)
    9.98
    """
    return expansion * length * (hot - cold)


def growth_notes(cold: float, hot: float) -> tuple[str, ...]:
    """What to know about a growth between two temperatures, cold and hot, [K].

    Source: means of the coefficients to 600 °C against those to 100 °C, materials handbook tables.
    """
    notes: tuple[str, ...] = ()
    if max(cold, hot) > GROWS_FURTHER_FROM:
        notes = ("With the figure of room temperature: at exhaust heat the true growth is 5 to 10 % more.",)
    if min(cold, hot) < 200.0:
        notes = (*notes, "Under −70 °C metals shrink less than this coefficient says.")
    return notes


def growth_fault(metal: Metal, cold: float, hot: float) -> str | None:
    """Why no growth can be told between two temperatures, cold and hot, [K]; None where it can.

    Source: the metal's `melts_from`.
    """
    if max(cold, hot) < metal.melts_from:
        return None
    return f"{metal.name.capitalize()} melts before that: from about {metal.melts_from - 273.15:.0f} °C."
