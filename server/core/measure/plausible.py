"""Sizes that look like another unit: what a number may have been meant as, asked about and never guessed.

A pipe is measured in millimetres here and in inches there, a gauge shows bar and a box says psi. A number
that is out of the usual for its field, and usual once it is read in another unit or off by ten, is asked
about.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import inf

from server.core.measure.typed import NotRead, Typed, read
from server.core.units import Kind, System, from_si, show


@dataclass(frozen=True, slots=True)
class Usual:
    """What a size usually is [SI unit of its kind], and what it is called in a sentence."""

    least: float
    most: float
    words: str


USUAL: Mapping[str, Usual] = {
    "outside_diameter": Usual(0.0055, 0.18, "an outside diameter"),
    "bore": Usual(0.0055, 0.13, "a bore"),
    "line_bore": Usual(0.003, 0.06, "the bore of a line"),
    "line_outside": Usual(0.0035, 0.07, "the outside of a line"),
    "wall": Usual(0.0004, 0.01, "a wall"),
    "length": Usual(0.006, 2.5, "a length"),
    "spigot": Usual(0.006, 0.3, "the length of a spigot"),
    "circumference": Usual(0.018, 0.56, "the way round a tube"),
    "bend_radius": Usual(0.01, 0.6, "the radius of a bend"),
    "gap": Usual(0.001, 0.3, "a gap"),
    "offset": Usual(0.0025, 4.0, "an offset in a car"),
    "tape": Usual(0.025, 4.0, "a tape in a car"),
    "overlap": Usual(0.008, 0.12, "an overlap"),
    "boost": Usual(0.1e5, 4e5, "a boost"),
    "hose_pressure": Usual(0.5e5, 25e5, "what a hose stands"),
    "hose_temperature": Usual(333.15, 533.15, "what a hose stands"),
    "outside_temperature": Usual(243.15, 323.15, "the air outside"),
    "bonnet_temperature": Usual(303.15, 433.15, "the air under a bonnet"),
    "exhaust_temperature": Usual(573.15, 1373.15, "an exhaust"),
}
"""By the sort of size; common practice, no source. What is outside is not refused: it is asked about."""

UNITS: Mapping[Kind, Mapping[str, str]] = {
    Kind.length: {"inch": "in", "mm": "mm", "cm": "cm", "m": "m"},
    Kind.pressure: {"bar": "bar", "kPa": "kPa", "psi": "psi", "mbar": "mbar"},
    Kind.temperature: {"degC": "°C", "degF": "°F", "kelvin": "K"},
}
"""Units that people take for one another, pint's name and as written, the likeliest first."""
OFF_BY_TEN = (0.1, 10.0)
MOST_MEANINGS = 3


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a number may have been meant as: the text to read in its place, and the same in other words."""

    text: str
    words: str


@dataclass(frozen=True, slots=True)
class Question:
    """Whether something else was meant: the words, and what there is to choose from."""

    words: str
    meanings: tuple[Meaning, ...]


def question(typed: Typed, least: float | None, most: float | None, sort: str = "") -> Question | None:
    """What to ask about a number that looks like another unit; None where there is nothing to ask.

    least, most: what its field takes at all [SI], None for no limit; sort: of size in `USUAL`, where more is
    known of it. A number whose unit was written is asked about only where its field does not take it. To keep
    it as typed is among the answers, unless the field does not take it.
    """
    lowest, highest = -inf if least is None else least, inf if most is None else most
    usual = USUAL.get(sort, Usual(lowest, highest, ""))
    taken = lowest <= typed.value <= highest
    if taken and (typed.stated or usual.least <= typed.value <= usual.most):
        return None
    found = meanings(typed, max(lowest, usual.least), min(highest, usual.most))
    if not found:
        return None
    own = as_typed(typed)
    amiss = f"{'small' if typed.value < usual.least else 'large'} for {usual.words}"
    odd = f"{typed.text.strip() if own is None else own.text} is {amiss if taken else 'out of range'}."
    words = f"{odd} Did you mean {' or '.join(one.words for one in found)}?"
    return Question(words, (*found, Meaning(own.text, f"{own.text}, as typed")) if own and taken else found)


def meanings(typed: Typed, least: float, most: float) -> tuple[Meaning, ...]:
    """What a number that is not between `least` and `most` [SI] may have been meant as, the likeliest first.

    Nothing for what is zero or less, and for kinds whose units nobody mixes up. Other units of the very
    number come first, then the number off by ten where its own unit was not written.
    """
    units = UNITS.get(typed.kind)
    if units is None or typed.value <= 0.0:
        return ()
    found: dict[float, Meaning] = {}
    for text in _readings(typed, units):
        try:
            value = read(text, typed.kind).value
        except NotRead:
            continue
        if least <= value <= most:
            found.setdefault(round(value, 9), Meaning(text, _words(text, value, typed.kind)))
    return tuple(found.values())[:MOST_MEANINGS]


def as_typed(typed: Typed) -> Meaning | None:
    """The number with the unit that it was taken in written to it; None where it was, or is not known."""
    label = UNITS.get(typed.kind, {}).get(typed.unit)
    if label is None or typed.stated:
        return None
    text = f"{typed.text.strip()} {label}"
    return Meaning(text, text)


def _readings(typed: Typed, units: Mapping[str, str]) -> Iterator[str]:
    number = from_si(typed.value, typed.unit)
    bare = f"{number:.6g}" if typed.stated else typed.text.strip()
    for unit, label in units.items():
        if unit != typed.unit:
            yield f"{bare} {label}"
    # A temperature has no tenth; a doubt that stands beside the number would have to move with it.
    off = not typed.stated and typed.doubt is None and typed.kind is not Kind.temperature
    for factor in OFF_BY_TEN if off and typed.unit in units else ():
        yield f"{number * factor:.6g} {units[typed.unit]}"


def _words(text: str, value: float, kind: Kind) -> str:
    """A meaning with the same in another unit beside: "3 in (76.2 mm)"."""
    shown = show(value, kind, System.metric)
    beside = next((one for one in (shown.text, shown.other) if one and one != text), "")
    return f"{text} ({beside})" if beside else text
