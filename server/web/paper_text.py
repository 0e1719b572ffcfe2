"""Text on paper: breaks lines to a width, and draws letters that the typeface has no glyph for.

The typeface is the one that comes with the PDF library. It knows the letters of western Europe; others are
made of a base letter and its accent, Greek and signs of mathematics come from the typeface of signs that
every reader of PDF has, and what can't be made so is shown as a question mark.
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from typing import Literal

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

PLAIN, BOLD, SLANTED = "Vera", "VeraBd", "VeraIt"
SIGNS = "Symbol"
UNKNOWN = "?"
ACCENTS = {
    "\u0300": "`",
    "\u0301": "´",
    "\u0302": "\u02c6",
    "\u0303": "\u02dc",
    "\u0306": "\u02d8",
    "\u0307": "\u02d9",
    "\u0308": "¨",
    "\u030a": "\u02da",
    "\u030b": "\u02dd",
    "\u030c": "\u02c7",
    "\u0326": "¸",
    "\u0327": "¸",
    "\u0328": "\u02db",
}
"""Combining marks, and the typeface's own accents that stand for them."""
BELOW = frozenset("\u0326\u0327\u0328")
LIKE = {
    "\u2032": "'",
    "\u2033": '"',
    "\u2212": "\u2013",
    "\u2300": "ø",
    "\u2192": "»",
    "\u00a0": " ",
    "\u2113": "l",
    "\u2081": "1",
    "\u2082": "2",
    "\u2080": "0",
    "\u2713": "√",
}
"""Signs that the typeface lacks, and what is as good."""
OTHER_LETTERS = {"đ": "d", "Đ": "D"}
CAPITAL_LIFT = 0.18
"""How much higher an accent stands on a capital, as a share of the type size."""
OF_SIGNS = frozenset("αβγδεζηθικλμνξοπρςστυφχψωΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩ∈⇒⇔≅∴")
RAISED = dict(zip("⁻⁰⁴⁵⁶⁷⁸⁹", "\u20130456789", strict=True))
"""Raised signs that the typeface lacks, and what is raised in their place."""
RAISED_SIZE, RAISED_BY = 0.62, 0.36
"""Size of a raised sign and how high it stands, as shares of the type size."""


@dataclass(frozen=True, slots=True)
class Letter:
    """A glyph and the accents that go over or under it. font: another typeface than the line's."""

    base: str
    accents: tuple[str, ...] = ()
    font: str = ""
    raised: bool = False


@cache
def _glyphs(font: str) -> frozenset[str]:
    """The characters that a typeface has; registers it with the PDF library when first asked."""
    face = TTFont(font, f"{font}.ttf")
    pdfmetrics.registerFont(face)
    return frozenset(chr(code) for code in face.face.charToGlyph)


def letters(text: str, font: str) -> tuple[Letter, ...]:
    """The text as letters that can be drawn; unprintable characters become spaces."""
    known = _glyphs(font)
    return tuple(_letter(char, known) for char in unicodedata.normalize("NFC", text))


def unprinted(text: str) -> str:
    """The letters of a text that paper shows as question marks, each once, in order."""
    known = _glyphs(PLAIN)
    return "".join(
        char for char in sorted(set(text)) if char != UNKNOWN and _letter(char, known).base == UNKNOWN
    )


def _letter(char: str, known: frozenset[str]) -> Letter:
    if unicodedata.category(char) in {"Cc", "Zl", "Zp", "Zs"}:
        return Letter(" ")
    char = LIKE.get(char, char)
    if char in known:
        return Letter(char)
    if char in RAISED:
        return Letter(RAISED[char], raised=True)
    parts = unicodedata.normalize("NFD", OTHER_LETTERS.get(char, char))
    base, marks = parts[0], tuple(parts[1:])
    if all(mark in ACCENTS for mark in marks):
        if base in known:
            return Letter(base, marks)
        if base in OF_SIGNS:
            return Letter(base, marks, SIGNS)
    return Letter(UNKNOWN)


def _runs(line: tuple[Letter, ...], font: str, size: float) -> Iterator[tuple[str, str, float, float]]:
    """The line as pieces of one look: text, typeface, size and how far it is raised [pt]."""
    for (own, raised), some in groupby(line, lambda letter: (letter.font, letter.raised)):
        text = "".join(letter.base for letter in some)
        yield text, own or font, size * RAISED_SIZE if raised else size, size * RAISED_BY if raised else 0.0


def width_of(line: tuple[Letter, ...], font: str, size: float) -> float:
    """How wide a line is [pt]."""
    return sum(_wide(text, face, points) for text, face, points, _ in _runs(line, font, size))


def _wide(text: str, font: str, size: float) -> float:
    wide: float = pdfmetrics.stringWidth(text, font, size)
    return wide


def broken(text: str, font: str, size: float, room: float) -> list[tuple[Letter, ...]]:
    """The text in lines of at most `room` [pt], broken between words, and inside words that are too long."""
    lines: list[tuple[Letter, ...]] = []
    line: tuple[Letter, ...] = ()
    for word in _words(letters(text, font)):
        longer = (*line, Letter(" "), *word) if line else word
        if width_of(longer, font, size) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        *full, line = _chopped(word, font, size, room)
        lines += full
    return [*lines, line]


def _words(text: tuple[Letter, ...]) -> list[tuple[Letter, ...]]:
    words: list[tuple[Letter, ...]] = [()]
    for letter in text:
        if letter.base == " ":
            words.append(())
        else:
            words[-1] = (*words[-1], letter)
    return [word for word in words if word]


def _chopped(word: tuple[Letter, ...], font: str, size: float, room: float) -> list[tuple[Letter, ...]]:
    pieces: list[tuple[Letter, ...]] = [()]
    for letter in word:
        if pieces[-1] and width_of((*pieces[-1], letter), font, size) > room:
            pieces.append(())
        pieces[-1] = (*pieces[-1], letter)
    return pieces


def draw(
    canvas: Canvas,
    x: float,
    y: float,
    line: tuple[Letter, ...],
    font: str,
    size: float,
    mode: Literal[0, 1] = 0,
) -> None:
    """Draw one line with its left end at (x, y) [pt], accents over and under their letters.

    mode: the PDF's own way to render text, 0 filled, 1 outlines alone (ISO 32000-1, table 106).
    """
    at = x
    for text, face, points, lift in _runs(line, font, size):
        canvas.setFont(face, points)
        canvas.drawString(at, y + lift, text, mode=mode)
        at += _wide(text, face, points)
    for place, letter in enumerate(line):
        if not letter.accents:
            continue
        middle = x + width_of(line[:place], font, size) + width_of((letter,), font, size) / 2
        canvas.setFont(font, size)
        for mark in letter.accents:
            accent = ACCENTS[mark]
            lift = CAPITAL_LIFT * size if letter.base.isupper() and mark not in BELOW else 0
            canvas.drawCentredString(middle, y + lift, accent, mode=mode)


def draw_right(canvas: Canvas, x: float, y: float, line: tuple[Letter, ...], font: str, size: float) -> None:
    """Draw one line with its right end at (x, y) [pt]."""
    draw(canvas, x - width_of(line, font, size), y, line, font, size)
