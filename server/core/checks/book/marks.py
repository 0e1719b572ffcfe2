"""Formulas as marks: elements of MathML Core, without any text of markup, for a template to write out.

A line that is too long for a phone is broken where a reader would break it: before its relation, then before
the terms of a sum or the factors of a product.
"""

import re
from dataclasses import dataclass
from enum import StrEnum

from server.core.checks.book.signs import (
    Amount,
    Least,
    Less,
    Line,
    Number,
    OneOf,
    Over,
    Pi,
    Plus,
    Power,
    Root,
    Sign,
    Size,
    Term,
    Times,
)

WIDEST = 22
"""Signs that a line may hold on a phone 320 wide; found by looking."""

_SHORT_NAME = 3
"""Signs of a left side that is never left on a row of its own: what follows would stand no further left."""

_TIMES = "\u2062"
"""Invisible times: nothing to see, read out as a product."""


_WITH_UNIT = re.compile(r"(−?\d[\d./ ]*(?: × 10[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)?) (\D.*)")
"""A number, which may be a fraction of an inch or hold a power of ten, and its unit."""


class Tag(StrEnum):
    """Elements of MathML Core that a formula is made of."""

    ROW = "mrow"
    LETTER = "mi"
    NUMBER = "mn"
    OPERATOR = "mo"
    WORDS = "mtext"
    INDEX = "msub"
    POWER = "msup"
    OVER = "mfrac"
    ROOT = "msqrt"
    TABLE = "mtable"
    TABLE_ROW = "mtr"
    CELL = "mtd"


@dataclass(frozen=True, slots=True)
class Mark:
    """One element: its text, or its parts."""

    tag: Tag
    text: str = ""
    parts: tuple["Mark", ...] = ()


def _operator(text: str) -> Mark:
    return Mark(Tag.OPERATOR, text)


def _row(*parts: Mark) -> Mark:
    return Mark(Tag.ROW, "", parts)


def number_text(value: float) -> str:
    """A bare number as it is printed, the same in every unit."""
    return f"{value:.6g}"


def sign_mark(sign: Sign) -> Mark:
    """A sign with its index."""
    letter = Mark(Tag.LETTER, sign.letter)
    return Mark(Tag.INDEX, "", (letter, Mark(Tag.WORDS, sign.below))) if sign.below else letter


def amount_mark(text: str) -> Mark:
    """A number with its unit, or words. Never bare text: operators keep no distance from that."""
    found = _WITH_UNIT.fullmatch(text)
    if found is not None:
        return _row(Mark(Tag.NUMBER, found[1]), Mark(Tag.WORDS, f"\u00a0{found[2]}"))
    return Mark(Tag.NUMBER if text.lstrip("−")[:1].isdigit() else Tag.LETTER, text)


def mark(term: Term) -> Mark:
    """A term as marks."""
    match term:
        case Sign():
            return sign_mark(term)
        case Number(value=value):
            return Mark(Tag.NUMBER, number_text(value))
        case Pi():
            return Mark(Tag.LETTER, "π")
        case Amount(text=text):
            return amount_mark(text)
        case OneOf():
            return _row(*_joined(_listed(term)))
        case Plus() | Less():
            return _row(*_joined(_summands(term)))
        case Times():
            return _row(*_joined(_factors(term)))
        case Over(first=first, second=second):
            return Mark(Tag.OVER, "", (mark(first), mark(second)))
        case Least(first=first, second=second):
            inside = (_operator("("), mark(first), _operator(","), mark(second), _operator(")"))
            return _row(Mark(Tag.LETTER, "min"), *inside)
        case Power(of=of, exponent=exponent):
            return Mark(Tag.POWER, "", (_bracketed(of, _ONE_SIGN), Mark(Tag.NUMBER, str(exponent))))
        case Root(of=of):
            return Mark(Tag.ROOT, "", (mark(of),))
        case Size(of=of):
            return _row(_operator("|"), mark(of), _operator("|"))
    raise TypeError(f"no mark for {term!r}")


_ONE_SIGN = (Sign, Number, Pi)
_ONE_FACTOR = (Sign, Number, Pi, Amount, Over, Power, Root, Size, Least)

_Joint = tuple[str, Mark, int]
"""An operator before a part, the part, and about how many signs wide it is."""


def _bracketed(term: Term, bare: tuple[type[Term], ...]) -> Mark:
    return mark(term) if isinstance(term, bare) else _row(_operator("("), mark(term), _operator(")"))


def _listed(term: OneOf) -> list[_Joint]:
    last = len(term.words) - 1
    texts = [f"{'{' * (place == 0)}{word}{',}'[place == last]}" for place, word in enumerate(term.words)]
    return [("", Mark(Tag.LETTER, text), len(text)) for text in texts]


def _pieces(term: Term) -> list[_Joint]:
    """What a term may be broken into."""
    if isinstance(term, OneOf):
        return _listed(term)
    if isinstance(term, Over) and width(term) > WIDEST:
        return [*_factors(term.first), ("/", _bracketed(term.second, (*_ONE_SIGN, Root)), width(term.second))]
    return _summands(term) if isinstance(term, Plus | Less) else _factors(term)


def _summands(term: Term) -> list[_Joint]:
    if isinstance(term, Plus | Less):
        second = term.second
        last = _bracketed(second, (*_ONE_FACTOR, Times))
        return [*_summands(term.first), ("+" if isinstance(term, Plus) else "−", last, width(second))]
    return [("", mark(term), width(term))]


def _factors(term: Term) -> list[_Joint]:
    if not isinstance(term, Times):
        return [("", _bracketed(term, _ONE_FACTOR), width(term))]
    last = term.second
    before = _factors(term.first)
    near = term.first.second if isinstance(term.first, Times) else term.first
    apart = isinstance(last, Number) or _has_amount(last) or _has_amount(near)
    return [*before, ("·" if apart else _TIMES, _bracketed(last, _ONE_FACTOR), width(last))]


def _has_amount(term: Term) -> bool:
    return isinstance(term, Amount) or any(_has_amount(part) for part in term.parts)


def _joined(joints: list[_Joint]) -> tuple[Mark, ...]:
    return tuple(
        part for sign, inside, _ in joints for part in ((_operator(sign), inside) if sign else (inside,))
    )


def width(term: Term) -> int:
    """About how many signs wide a term is set, unbroken; a count, geometry of the line alone."""
    match term:
        case Sign():
            # An index is set smaller.
            return len(term.letter) + (2 * len(term.below) + 2) // 3
        case Number(value=value):
            return len(number_text(value))
        case Amount(text=text):
            return len(text)
        case OneOf(words=words):
            return len(", ".join(words)) + 2
        case Over(first=first, second=second):
            return max(width(first), width(second)) + 1
        case Least():
            return sum(width(part) for part in term.parts) + 6
        case Pi():
            return 1
        case Plus() | Less():
            return sum(width(part) for part in term.parts) + 3
    return sum(width(part) for part in term.parts) + 2


def line_mark(line: Line, *more: Line) -> Mark:
    """A line as marks; further lines stand under it, their left sides left out where they are the same."""
    rows: list[list[Mark]] = []
    before: Term | None = None
    for one in (line, *more):
        sign = one.relation.value.strip()
        left = None if one.left == before else one.left
        before = one.left
        rows += _rows(left, sign, one.right)
    if len(rows) == 1:
        return _row(*rows[0])
    cells = [Mark(Tag.TABLE_ROW, "", (Mark(Tag.CELL, "", tuple(row)),)) for row in rows]
    return Mark(Tag.TABLE, "", tuple(cells))


def _rows(left: Term | None, sign: str, right: Term) -> list[list[Mark]]:
    """The rows of one line: whole where it is short enough."""
    pieces = _pieces(right)
    taken = 2 if left is None else width(left) + 2
    first = [] if left is None else [mark(left)]
    long_name = left is not None and width(left) > _SHORT_NAME
    if long_name and taken + width(right) > WIDEST and taken + pieces[0][2] > WIDEST:
        rows, row, used = [first], [_operator(sign)], 2
    else:
        rows, row, used = [], [*first, _operator(sign)], taken
    if taken + width(right) <= WIDEST:
        return [[*row, mark(right)]]
    for joint, part, wide in pieces:
        if used + wide + 2 > WIDEST and len(row) > 1 and used > taken:
            rows.append(row)
            row, used = [], 0
        row += [_operator(joint), part] if joint else [part]
        used += wide + 1
    return [*rows, row]


def plain(term: Term) -> str:
    """A term in plain signs on one line, for those who hear it or read it in a script."""
    match term:
        case Sign():
            return f"{term.letter}({term.below})" if term.below else term.letter
        case Number(value=value):
            return number_text(value)
        case Pi():
            return "π"
        case Amount(text=text):
            return text
        case OneOf(words=words):
            return f"{{{', '.join(words)}}}"
        case Plus(first=first, second=second):
            return f"{plain(first)} + {plain(second)}"
        case Less(first=first, second=second):
            return f"{plain(first)} − {_plain_in(second, (*_ONE_FACTOR, Times))}"
        case Times(first=first, second=second):
            return f"{_plain_in(first, (*_ONE_FACTOR, Times))} · {_plain_in(second, _ONE_FACTOR)}"
        case Over(first=first, second=second):
            return f"{_plain_in(first, (*_ONE_FACTOR, Times))} / {_plain_in(second, (*_ONE_SIGN, Root))}"
        case Least(first=first, second=second):
            return f"min({plain(first)}, {plain(second)})"
        case Power(of=of, exponent=exponent):
            return f"{_plain_in(of, _ONE_SIGN)}^{exponent}"
        case Root(of=of):
            return f"√({plain(of)})"
        case Size(of=of):
            return f"|{plain(of)}|"
    raise TypeError(f"no words for {term!r}")


def _plain_in(term: Term, bare: tuple[type[Term], ...]) -> str:
    return plain(term) if isinstance(term, bare) else f"({plain(term)})"


def line_plain(line: Line) -> str:
    """A line in plain signs."""
    return f"{plain(line.left)} {line.relation.value.strip()} {plain(line.right)}"
