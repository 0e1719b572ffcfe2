"""Sentences that carry their amounts as values, so that a page shows them in the build's own units."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

from server.core.units import Kind, System, show_text


class Amount(NamedTuple):
    """An amount inside a sentence.

    Value in the SI unit of its kind, and a unit to ask for in place of the usual.
    """

    value: float
    kind: Kind
    unit: str | None = None


class Phrase(NamedTuple):
    """A sentence with named gaps.

    text: `{name}` marks a gap. words: what goes into a gap as it is (names that somebody typed). amounts:
    what goes in as a quantity.
    """

    text: str
    words: Mapping[str, str] = MappingProxyType({})
    amounts: Mapping[str, Amount] = MappingProxyType({})


def say(phrase: Phrase, system: System) -> str:
    """The sentence, its first letter large, with its amounts in the build's units.

    Raises KeyError for a gap that nothing fills.

    >>> short = {"short": Amount(0.004, Kind.length)}
    >>> say(Phrase("{piece} is {short} too narrow.", {"piece": "Elbow (3)"}, short), System.metric)
    'Elbow (3) is 4 mm too narrow.'
    """
    shown = {
        name: show_text(amount.value, amount.kind, system, unit=amount.unit)
        for name, amount in phrase.amounts.items()
    }
    text = phrase.text.format_map({**phrase.words, **shown})
    return text[:1].upper() + text[1:]


def length(value: float) -> Amount:
    """A length [m] inside a sentence."""
    return Amount(value, Kind.length)


def pressure(value: float) -> Amount:
    """A pressure [Pa] inside a sentence, absolute or gauge as the sentence says."""
    return Amount(value, Kind.pressure)


def temperature(value: float) -> Amount:
    """A temperature [K] inside a sentence."""
    return Amount(value, Kind.temperature)


def percent(value: float) -> Amount:
    """A share [-] inside a sentence, read as percent."""
    return Amount(value, Kind.ratio, "percent")
