"""How much hot metal grows."""

from dataclasses import dataclass

from server.core.sources import Source, source


@dataclass(frozen=True, slots=True)
class Metal:
    """A metal. words: what names it, any of them. expansion: linear, near room temperature, [1/K]."""

    name: str
    words: tuple[str, ...]
    expansion: float
    source: Source


_METALS = (
    Metal("321 stainless", ("321",), 16.6e-6, source("expansion-memory")),
    Metal("409 stainless", ("409",), 11.7e-6, source("expansion-memory")),
    Metal("stainless steel", ("stainless", "304", "316"), 17.2e-6, source("expansion")),
    Metal("aluminium", ("aluminium", "aluminum", "6061"), 23.6e-6, source("expansion")),
    Metal("titanium", ("titanium",), 8.6e-6, source("expansion-memory")),
    Metal("cast iron", ("iron",), 10.8e-6, source("expansion-memory")),
    Metal("steel", ("steel",), 12.2e-6, source("expansion")),
)
"""In the order in which a name is looked for: "stainless steel" is not "steel"."""


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
