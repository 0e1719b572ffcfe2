"""Formulas as trees of signs: built with Python's own operators, worked out with numbers, put into words.

A sign carries its own meaning and unit, so that no formula can hold one that is not explained. Everything is
in SI inside; `Sign.text` shows a value in a build's units.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from math import pi, sqrt

from server.core.units import Kind, System, show

Value = float | str | tuple[str, ...]
"""What a sign stands for: a number [SI], a word, or the words that it may be one of."""


class Term:
    """Part of a formula. The operators of Python build larger ones; a bare number stands for itself."""

    __slots__ = ()

    def __add__(self, other: "Operand") -> "Term":
        return Plus(self, as_term(other))

    def __radd__(self, other: "Operand") -> "Term":
        return Plus(as_term(other), self)

    def __sub__(self, other: "Operand") -> "Term":
        return Less(self, as_term(other))

    def __rsub__(self, other: "Operand") -> "Term":
        return Less(as_term(other), self)

    def __mul__(self, other: "Operand") -> "Term":
        return Times(self, as_term(other))

    def __rmul__(self, other: "Operand") -> "Term":
        return Times(as_term(other), self)

    def __truediv__(self, other: "Operand") -> "Term":
        return Over(self, as_term(other))

    def __rtruediv__(self, other: "Operand") -> "Term":
        return Over(as_term(other), self)

    def __pow__(self, exponent: int) -> "Term":
        return Power(self, exponent)

    @property
    def parts(self) -> tuple["Term", ...]:
        """The terms that it is made of."""
        return ()


Operand = Term | float


@dataclass(frozen=True, slots=True)
class Sign(Term):
    """A sign of a formula.

    letter, below: as printed, `below` as its index. kind: of what it stands for; None for a word, a count or
    a constant. unit: with a kind, one of `units.UNITS_TO_ASK` in place of the usual; without, the SI unit as
    printed.
    """

    letter: str
    meaning: str
    kind: Kind | None = None
    unit: str = ""
    below: str = ""

    def text(self, value: Value, system: System) -> str:
        """A value of it with its unit."""
        if isinstance(value, str):
            return value
        if isinstance(value, tuple):
            return ", ".join(value)
        if self.kind is None:
            return f"{figure_text(value)} {self.unit}".strip()
        return show(value, self.kind, system, unit=self.unit or None).text.replace("-", "−", 1)

    def unit_text(self, system: System) -> str:
        """Its unit as values of it are shown; empty for words, counts and ratios."""
        if self.kind is None:
            return self.unit
        return self.text(1000.0, system).lstrip("0123456789./ ")


def figure_text(value: float) -> str:
    """A number [any unit] in four figures; a small one as a power of ten.

    >>> figure_text(1.72e-05)
    '1.72 × 10⁻⁵'
    """
    written, _, power = f"{value:.4g}".partition("e")
    if not power:
        return written
    return f"{written} × 10{str(int(power)).translate(_RAISED)}"


_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


@dataclass(frozen=True, slots=True)
class Number(Term):
    """A bare number."""

    value: float


@dataclass(frozen=True, slots=True)
class Pi(Term):
    """The ratio of a circle's way round to its width."""


PI = Pi()


@dataclass(frozen=True, slots=True)
class Amount(Term):
    """A number with its unit, as text: what a sign stands for once numbers are put in."""

    text: str


@dataclass(frozen=True, slots=True)
class OneOf(Term):
    """The words that something may be one of."""

    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Pair(Term):
    first: Term
    second: Term

    @property
    def parts(self) -> tuple[Term, ...]:
        return (self.first, self.second)


@dataclass(frozen=True, slots=True)
class Plus(_Pair):
    """first + second."""


@dataclass(frozen=True, slots=True)
class Less(_Pair):
    """first − second."""


@dataclass(frozen=True, slots=True)
class Times(_Pair):
    """first · second."""


@dataclass(frozen=True, slots=True)
class Over(_Pair):
    """first over second."""


@dataclass(frozen=True, slots=True)
class Least(_Pair):
    """The smaller of two."""


@dataclass(frozen=True, slots=True)
class Power(Term):
    """A whole power."""

    of: Term
    exponent: int

    @property
    def parts(self) -> tuple[Term, ...]:
        return (self.of,)


@dataclass(frozen=True, slots=True)
class _Around(Term):
    of: Term

    @property
    def parts(self) -> tuple[Term, ...]:
        return (self.of,)


@dataclass(frozen=True, slots=True)
class Root(_Around):
    """The square root."""


@dataclass(frozen=True, slots=True)
class Size(_Around):
    """The value without its sign."""


class Relation(StrEnum):
    """How the two sides of a line stand to each other; the value is the sign that is printed."""

    IS = "="
    """Says what the sign on the left is: no condition."""
    EQUALS = "= "
    AT_LEAST = "≥"
    AT_MOST = "≤"
    ABOVE = ">"
    AMONG = "∈"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a formula. when: words before it, such as what it is for."""

    left: Term
    relation: Relation
    right: Term
    when: str = ""

    @property
    def defines(self) -> Sign | None:
        """The sign that it says how to work out, None for a condition."""
        return self.left if self.relation is Relation.IS and isinstance(self.left, Sign) else None


def is_(left: Sign, right: Operand, when: str = "") -> Line:
    """What a sign is."""
    return Line(left, Relation.IS, as_term(right), when)


def equals(left: Term, right: Operand, when: str = "") -> Line:
    """The condition that two sides are equal."""
    return Line(left, Relation.EQUALS, as_term(right), when)


def at_least(left: Term, right: Operand, when: str = "") -> Line:
    """The condition that the left is no smaller."""
    return Line(left, Relation.AT_LEAST, as_term(right), when)


def at_most(left: Term, right: Operand, when: str = "") -> Line:
    """The condition that the left is no larger."""
    return Line(left, Relation.AT_MOST, as_term(right), when)


def above(left: Term, right: Operand, when: str = "") -> Line:
    """The condition that the left is larger."""
    return Line(left, Relation.ABOVE, as_term(right), when)


def among(left: Sign, right: Sign, when: str = "") -> Line:
    """The condition that a word is one of those that the sign on the right stands for."""
    return Line(left, Relation.AMONG, right, when)


def as_term(one: Operand) -> Term:
    """A term as it is, a number [any unit, that of its place] as a term."""
    return one if isinstance(one, Term) else Number(float(one))


def signs_in(term: Term) -> tuple[Sign, ...]:
    """The signs of a term, each once, in the order in which they are read."""
    if isinstance(term, Sign):
        return (term,)
    return tuple(dict.fromkeys(sign for part in term.parts for sign in signs_in(part)))


def signs_of(lines: tuple[Line, ...]) -> tuple[Sign, ...]:
    """The signs of some lines, each once, in the order in which they are read."""
    found = (sign for line in lines for side in (line.left, line.right) for sign in signs_in(side))
    return tuple(dict.fromkeys(found))


def worth(term: Term, given: Mapping[Sign, Value]) -> float:
    """What a term comes to [SI]. Raises KeyError for a sign without a value, TypeError for a word."""
    match term:
        case Sign():
            value = given[term]
            if not isinstance(value, float | int):
                raise TypeError(f"{term.letter} is a word")
            return float(value)
        case Number(value=value):
            return value
        case Pi():
            return pi
        case Plus(first=first, second=second):
            return worth(first, given) + worth(second, given)
        case Less(first=first, second=second):
            return worth(first, given) - worth(second, given)
        case Times(first=first, second=second):
            return worth(first, given) * worth(second, given)
        case Over(first=first, second=second):
            return worth(first, given) / worth(second, given)
        case Least(first=first, second=second):
            return min(worth(first, given), worth(second, given))
        case Power(of=of, exponent=exponent):
            return float(worth(of, given) ** exponent)
        case Root(of=of):
            return sqrt(worth(of, given))
        case Size(of=of):
            return abs(worth(of, given))
    raise TypeError(f"no way to work out {term!r}")


def holds(line: Line, given: Mapping[Sign, Value]) -> bool:
    """Whether a condition holds. Raises KeyError for a sign without a value."""
    if line.relation is Relation.AMONG:
        assert isinstance(line.left, Sign)  # `among` takes nothing else
        assert isinstance(line.right, Sign)
        return str(given[line.left]) in tuple(given[line.right])  # type: ignore[arg-type]
    room = worth(line.left, given) - worth(line.right, given)
    if line.relation is Relation.EQUALS:
        return room == 0.0
    if line.relation is Relation.ABOVE:
        return room > 0.0
    return room <= 0.0 if line.relation is Relation.AT_MOST else room >= 0.0


def with_amounts(term: Term, given: Mapping[Sign, Value], system: System) -> Term:
    """The same term with the values of its signs in their places, as text."""
    if isinstance(term, Sign):
        value = given[term]
        return OneOf(value) if isinstance(value, tuple) else Amount(term.text(value, system))
    parts = [getattr(term, part.name) for part in fields(term)]  # type: ignore[arg-type]
    changed = [with_amounts(part, given, system) if isinstance(part, Term) else part for part in parts]
    return type(term)(*changed)
