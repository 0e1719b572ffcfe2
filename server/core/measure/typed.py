"""Reading quantities as people type them: fractions, mixed units, decimal commas, trade sizes, typed doubts.

Nothing is guessed: what could mean two things is refused with a message that says what to write instead.
"""

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from server.core.measure.unit_words import EXAMPLES, MOST, UNIT_OF_WORD, USUAL_UNIT
from server.core.units import INCH, Kind, to_si

LONGEST_TEXT = 60
"""Characters; no reading is longer."""
DASH_SIZES = (2, 3, 4, 5, 6, 8, 10, 12, 14, 16, 20, 24, 28, 32)
"""Tube sizes of SAE J514, sixteenths of an inch outside (from memory)."""


class Reference(StrEnum):
    """What a typed pressure is counted from; the value is the label on a page."""

    gauge = "gauge"
    absolute = "absolute"
    not_stated = "not stated"


class NotRead(ValueError):
    """The text can't be read as the kind asked for.

    message: what is wrong with it; accepts: what would be read, as examples. As text it says both.
    """

    def __init__(self, message: str, accepts: str) -> None:
        super().__init__(f"{message} Write for example {accepts}.")
        self.message = message
        self.accepts = accepts


@dataclass(frozen=True, slots=True)
class Typed:
    """A quantity read from text.

    text: as typed; kind; value: [SI unit of the kind] as written (a gauge pressure stays gauge; a dash size
    is its tube's outside diameter [m]); unit: pint name of the unit written, or "AN"; reference: for
    pressures only; doubt: the standard uncertainty after "±" [same SI unit, as a difference]; dash: for sizes
    only; stated: the unit was written, or is plain from how the number is (a fraction).
    """

    text: str
    kind: Kind
    value: float
    unit: str
    reference: Reference | None = None
    doubt: float | None = None
    dash: int | None = None
    stated: bool = True


@dataclass(frozen=True, slots=True)
class _Part:
    """One quantity in the text before its unit is settled: sign × (feet and magnitude)."""

    sign: float
    feet: float
    magnitude: float
    fraction: bool
    unit: str | None
    reference: Reference | None

    def si(self, unit: str) -> float:
        """[SI], an offset scale counted as points."""
        return self.feet * 12.0 * INCH + to_si(self.sign * self.magnitude, unit)

    def difference(self, unit: str) -> float:
        """[SI], an offset scale counted as a difference."""
        return self.si(unit) - to_si(0.0, unit)


_SIGNS = str.maketrans({
    "−": "-", "–": "-", "—": "-", "‐": "-", "‑": "-", "﹣": "-", "－": "-", "⁄": "/", "∕": "/",
    "′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "º": "°", "˚": "°", "μ": "µ",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\t": " ", "²": "2", "³": "3", "∶": ":", "⌀": "ø", "∅": "ø",
    "½": " 1/2", "⅓": " 1/3", "⅔": " 2/3", "¼": " 1/4", "¾": " 3/4",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
})  # fmt: skip

_FRACTION = re.compile(r"(?:([0-9]{1,6})(?: +| ?- ?))?([0-9]{1,4}) ?/ ?([0-9]{1,4})(?![0-9.,/])")
_DECIMAL = re.compile(r"([0-9]{0,12})(?:([.,])([0-9]{0,12}))?(?![0-9.,/])")
_FEET_AND_INCHES = re.compile(r"([0-9]{1,4}) ?(?:'|ft|feet|foot) ?-? ?([0-9].*)")
_PLUS_MINUS = re.compile(r" ?(?:±|\+ ?/ ?-|\+-) ?")
_REFERENCE = re.compile(r"(.+?)(?:\((?:g|gauge|a|abs|absolute)\)|(?:gauge|absolute|abs|g|a))")
_SIZE = re.compile(r"(?:(?:an|jic|dash) ?)?-? ?([0-9]{1,2}) ?(?:an|jic)?")

_NEVER_NEGATIVE = frozenset({Kind.mass, Kind.density, Kind.volume, Kind.time, Kind.rotation})
_LIKELY_RATIO = 1.5
"""A bare number up to this may well be a ratio itself rather than a percentage."""
_DEEPEST_VACUUM = -110_000.0
"""Gauge [Pa]: a little more than the whole atmosphere, so that rounding on a bad day is not refused."""


def read(text: str, kind: Kind, unit: str | None = None) -> Typed:
    """What somebody typed, as a quantity of one kind.

    text: e.g. `3 1/4 in`, `63,5 mm`, `2' 3 1/2"`, `1.1 bar g`, `82.5 ± 0.2 mm`, `-10 AN`; unit: what a bare
    number is in, as people write it ("mm", "lb/min"). A bare length written as a fraction is inches even
    where bare numbers are metric, since nobody writes millimetres in quarters. A "±" is taken as one standard
    uncertainty, which is how this program shows it. Factors: NIST SP 811, B.8; dash sizes: SAE J514.

    Raises NotRead, which says what would be accepted, for what is empty, ambiguous (`1,234`), not a finite
    number, absurd in size, or another kind of quantity; also for a `unit` that is not one of this kind.

    >>> round(read("3-1/4 in", Kind.length).value, 6)
    0.08255
    >>> read("1.1 bar g", Kind.pressure).reference.value
    'gauge'
    """
    default = _default_unit(unit, kind)
    plain = _plain(text, kind)
    if kind is Kind.size:
        return _read_size(text, plain)
    first, *others = _PLUS_MINUS.split(plain)
    if len(others) > 1:
        raise _refused(kind, f"“{text.strip()}” has more than one ±.")
    part = _part(first, kind)
    doubt_part = _part(others[0], kind, percent=True) if others else None
    chosen = (
        part.unit or _unit_of_doubt(doubt_part, part, kind, text) or _assumed_unit(part, kind, default, text)
    )
    value = part.si(chosen)
    reference = _reference(part, doubt_part) if kind is Kind.pressure else None
    _refuse_absurd(value, kind, reference, text)
    doubt = None if doubt_part is None else _doubt(doubt_part, chosen, value, kind, text)
    stated = part.fraction or part.unit is not None or (doubt_part is not None and doubt_part.unit == chosen)
    return Typed(text, kind, value, chosen, reference, doubt, stated=stated)


def _refused(kind: Kind, message: str) -> NotRead:
    return NotRead(message, EXAMPLES[kind])


def _plain(text: str, kind: Kind) -> str:
    if len(text) > LONGEST_TEXT:
        raise _refused(
            kind, f"That is longer than {LONGEST_TEXT} characters, so it can't be one {kind.words}."
        )
    plain = " ".join(text.translate(_SIGNS).lower().split()).replace("''", '"')
    if not plain:
        raise _refused(kind, f"Nothing typed: a {kind.words} is wanted.")
    return plain


def _default_unit(unit: str | None, kind: Kind) -> str | None:
    if unit is None or not unit.strip():
        return USUAL_UNIT.get(kind)
    known = UNIT_OF_WORD[kind]
    squeezed = _squeeze(unit.translate(_SIGNS).lower())
    if squeezed in known:
        return known[squeezed]
    if unit in known.values():
        return unit
    raise NotRead(f"“{unit}” is not a unit of {kind.words}.", ", ".join(known))


def _squeeze(words: str) -> str:
    return words.replace(" ", "").replace("^", "")


def _part(text: str, kind: Kind, percent: bool = False) -> _Part:
    if kind is Kind.length:
        text = text.removeprefix("ø").strip()
    signless = text.lstrip("+-").strip()
    signs = text[: len(text) - len(text.lstrip("+-"))]
    if len(signs) > 1:
        raise _refused(kind, f"“{text}” has two signs before the number.")
    sign = -1.0 if signs == "-" else 1.0
    both = _FEET_AND_INCHES.fullmatch(signless) if kind is Kind.length else None
    if both:
        return _feet_and_inches(sign, int(both[1]), both[2], text)
    magnitude, fraction, rest = _number(signless, kind)
    unit, reference = _unit(rest, kind, percent)
    return _Part(sign, 0.0, magnitude, fraction, unit, reference)


def _feet_and_inches(sign: float, feet: int, rest: str, text: str) -> _Part:
    inches, fraction, unit_words = _number(rest, Kind.length)
    unit, _ = _unit(unit_words, Kind.length, percent=False)
    if unit not in (None, "inch") or inches >= 12.0:
        raise _refused(Kind.length, f"“{text}”: after feet come inches, fewer than twelve.")
    return _Part(sign, sign * feet, inches, fraction, "inch", None)


def _number(text: str, kind: Kind) -> tuple[float, bool, str]:
    """(magnitude, whether written as a fraction, what follows)."""
    fraction = _FRACTION.match(text)
    if fraction:
        return _fraction(fraction, kind), True, text[fraction.end() :]
    decimal = _DECIMAL.match(text)
    if decimal is None:
        raise _refused(
            kind, f"“{text}” can't be read as one number; leave out signs that group the thousands."
        )
    whole, sign, part = decimal[1], decimal[2], decimal[3] or ""
    if not whole + part:
        raise _refused(kind, f"“{text}” does not begin with a number.")
    if sign == "," and len(part) == 3 and whole.lstrip("0"):
        raise _refused(
            kind, f"“{whole},{part}” could be {whole}.{part} or {whole}{part}: write one of these."
        )
    return float(f"{whole or '0'}.{part or '0'}"), False, text[decimal.end() :]


def _fraction(match: re.Match[str], kind: Kind) -> float:
    whole, above, below = match[1], int(match[2]), int(match[3])
    if below == 0:
        raise _refused(kind, f"“{match[0]}” divides by zero.")
    if above >= below and whole is None:
        raise _refused(
            kind, f"“{match[0]}” is more than one: put a space after the whole number, as in 3 1/4."
        )
    if above >= below:
        raise _refused(kind, f"“{match[0]}”: the fraction after a whole number has to be less than one.")
    return int(whole or 0) + above / below


def _unit(words: str, kind: Kind, percent: bool) -> tuple[str | None, Reference | None]:
    """The pint name (None for a bare number) and, for a pressure, what it is counted from."""
    squeezed = _squeeze(words).rstrip(".")
    if not squeezed:
        return None, None
    if percent and squeezed == "%":
        return "percent", None
    known = UNIT_OF_WORD[kind]
    if squeezed in known:
        return known[squeezed], None
    suffixed = _REFERENCE.fullmatch(squeezed) if kind is Kind.pressure else None
    if suffixed and suffixed[1] in known:
        gauge = squeezed[len(suffixed[1]) :].lstrip("(").startswith("g")
        return known[suffixed[1]], Reference.gauge if gauge else Reference.absolute
    raise _refused(kind, _unknown_unit(words.strip(), squeezed, kind))


def _unknown_unit(words: str, squeezed: str, kind: Kind) -> str:
    elsewhere = [
        other.words for other, known in UNIT_OF_WORD.items() if squeezed in known and other is not kind
    ]
    if elsewhere:
        return f"“{words}” is a unit of {elsewhere[0]}; a {kind.words} is wanted."
    return f"“{words}” is not a unit of {kind.words} known here."


def _unit_of_doubt(doubt: _Part | None, part: _Part, kind: Kind, text: str) -> str | None:
    """A unit written after the doubt alone speaks for both; a percentage only where it can't mislead."""
    if doubt is None or doubt.unit != "percent":
        return None if doubt is None else doubt.unit
    if kind is not Kind.ratio:
        return None
    if part.magnitude <= _LIKELY_RATIO:
        raise _refused(
            kind, f"“{text.strip()}” could be a part or a percentage: write % after both or neither."
        )
    return "percent"


def _reference(part: _Part, doubt: _Part | None) -> Reference:
    beside = None if doubt is None else doubt.reference
    return part.reference or beside or Reference.not_stated


def _assumed_unit(part: _Part, kind: Kind, default: str | None, text: str) -> str:
    if kind is Kind.length and part.fraction and default not in ("inch", "foot"):
        return "inch"
    if default is None:
        raise _refused(kind, f"“{text.strip()}” has no unit.")
    return default


def _refuse_absurd(value: float, kind: Kind, reference: Reference | None, text: str) -> None:
    typed = f"“{text.strip()}”"
    if not math.isfinite(value) or abs(value) > MOST[kind]:
        raise _refused(kind, f"{typed} is far too large for a {kind.words} on a car.")
    if kind is Kind.temperature and value < 0.0:
        raise _refused(kind, f"{typed} is colder than absolute zero.")
    if kind in _NEVER_NEGATIVE and value < 0.0:
        raise _refused(kind, f"{typed}: a {kind.words} can't be negative.")
    if reference is Reference.absolute and value < 0.0:
        raise _refused(kind, f"{typed}: an absolute pressure can't be negative.")
    if reference is not None and value < _DEEPEST_VACUUM:
        raise _refused(kind, f"{typed} is deeper than a perfect vacuum.")


def _doubt(part: _Part, chosen: str, value: float, kind: Kind, text: str) -> float:
    """Standard uncertainty [SI, as a difference]."""
    if part.unit == "percent" and kind is not Kind.ratio:
        doubt = abs(value) * part.magnitude / 100.0
    else:
        doubt = part.difference(part.unit or chosen)
    if part.sign < 0.0 or doubt <= 0.0:
        raise _refused(kind, f"“{text.strip()}”: what follows ± has to be more than zero.")
    if doubt > MOST[kind]:
        raise _refused(kind, f"“{text.strip()}”: what follows ± is far too large.")
    return doubt


def _read_size(text: str, plain: str) -> Typed:
    match = _SIZE.fullmatch(plain)
    named = match is not None and (not plain[0].isdigit() or not plain[-1].isdigit())
    if match is None or not named:
        raise _refused(Kind.size, f"“{text.strip()}” is not a dash size.")
    dash = int(match[1])
    if dash not in DASH_SIZES:
        sizes = ", ".join(f"-{size}" for size in DASH_SIZES)
        raise _refused(Kind.size, f"There is no -{dash}: dash sizes are {sizes}.")
    return Typed(text, Kind.size, dash * INCH / 16.0, "AN", dash=dash)
