"""Text on paper: breaks lines to a width, and draws letters that the typeface has no glyph for.

The typeface is the one that comes with the PDF library. It knows the letters of western Europe; others are
made of a base letter and its accent, and what can't be made so is shown as a question mark.
"""

import unicodedata
from dataclasses import dataclass
from functools import cache

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

PLAIN, BOLD = "Vera", "VeraBd"
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
LIKE = {"\u2032": "'", "\u2033": '"', "\u2212": "\u2013", "\u2300": "ø", "\u2192": "»", "\u00a0": " "}
"""Signs that the typeface lacks, and what is as good."""
OTHER_LETTERS = {"đ": "d", "Đ": "D"}
CAPITAL_LIFT = 0.18
"""How much higher an accent stands on a capital, as a share of the type size."""


@dataclass(frozen=True, slots=True)
class Letter:
    """A glyph of the typeface and the accents that go over or under it."""

    base: str
    accents: tuple[str, ...] = ()


@cache
def _glyphs(font: str) -> frozenset[str]:
    """The characters that a typeface has; registers it with the PDF library when first asked."""
    face = TTFont(font, f"{font}.ttf")
    pdfmetrics.registerFont(face)
    return frozenset(chr(code) for code in face.face.charToGlyph)


def letters(text: str, font: str) -> tuple[Letter, ...]:
    """The text as letters that the typeface can draw; unprintable characters become spaces."""
    known = _glyphs(font)
    return tuple(_letter(char, known) for char in unicodedata.normalize("NFC", text))


def _letter(char: str, known: frozenset[str]) -> Letter:
    if unicodedata.category(char) in {"Cc", "Zl", "Zp", "Zs"}:
        return Letter(" ")
    char = LIKE.get(char, char)
    if char in known:
        return Letter(char)
    parts = unicodedata.normalize("NFD", OTHER_LETTERS.get(char, char))
    base, marks = parts[0], tuple(parts[1:])
    if base in known and all(mark in ACCENTS for mark in marks):
        return Letter(base, marks)
    return Letter(UNKNOWN)


def width_of(line: tuple[Letter, ...], font: str, size: float) -> float:
    """How wide a line is [pt]."""
    wide: float = pdfmetrics.stringWidth("".join(letter.base for letter in line), font, size)
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


def draw(canvas: Canvas, x: float, y: float, line: tuple[Letter, ...], font: str, size: float) -> None:
    """Draw one line with its left end at (x, y) [pt], accents over and under their letters."""
    canvas.setFont(font, size)
    canvas.drawString(x, y, "".join(letter.base for letter in line))
    for place, letter in enumerate(line):
        middle = x + width_of(line[:place], font, size) + width_of((Letter(letter.base),), font, size) / 2
        for mark in letter.accents:
            accent = ACCENTS[mark]
            lift = CAPITAL_LIFT * size if letter.base.isupper() and mark not in BELOW else 0
            canvas.drawCentredString(middle, y + lift, accent)


def draw_right(canvas: Canvas, x: float, y: float, line: tuple[Letter, ...], font: str, size: float) -> None:
    """Draw one line with its right end at (x, y) [pt]."""
    draw(canvas, x - width_of(line, font, size), y, line, font, size)
