"""Words on a printed sheet: headings, paragraphs that flow over pages, and framed cautions."""

from dataclasses import dataclass
from functools import partial

from reportlab.pdfgen.canvas import Canvas

from server.web.paper import LEADING, PAD, TEXT, THICK, THIN, Strip
from server.web.paper_text import BOLD, PLAIN, Letter, broken, draw, letters, width_of


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading over what follows. answer: a word that stands framed at its right end, such as a verdict."""

    text: str
    size: float = 11.0
    answer: str = ""

    def strips(self, wide: float) -> list[Strip]:
        """One strip that never stands last on a page."""
        lines = broken(self.text, BOLD, self.size, wide - self._answer_width())
        height = 10.0 + len(lines) * (self.size + 3.0)
        return [Strip(height, partial(self._paint, lines), with_next=True)]

    def _answer_width(self) -> float:
        return width_of(letters(self.answer, BOLD), BOLD, TEXT) + 6 * PAD if self.answer else 0.0

    def _paint(
        self, lines: list[tuple[Letter, ...]], canvas: Canvas, x: float, top: float, wide: float
    ) -> None:
        base = top - 9.0 - self.size
        for number, line in enumerate(lines):
            draw(canvas, x, base - number * (self.size + 3.0), line, BOLD, self.size)
        if self.answer:
            frame = self._answer_width() - 2 * PAD
            canvas.setLineWidth(THICK)
            canvas.rect(x + wide - frame, base - PAD, frame, TEXT + 2 * PAD - 1.0)
            draw(canvas, x + wide - frame + 2 * PAD, base, letters(self.answer, BOLD), BOLD, TEXT)


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph. with_next: it never stands last on a page."""

    text: str
    size: float = TEXT
    bold: bool = False
    with_next: bool = False

    def strips(self, wide: float) -> list[Strip]:
        """A strip a line, so that the longest text goes on over the page."""
        font = BOLD if self.bold else PLAIN
        lines = broken(self.text, font, self.size, wide)
        leading = self.size + 2.5
        found = [Strip(leading, partial(self._paint, line), self.with_next) for line in lines]
        return [*found, Strip(2.0, _nothing, self.with_next)]

    def _paint(self, line: tuple[Letter, ...], canvas: Canvas, x: float, top: float, _wide: float) -> None:
        draw(canvas, x, top - self.size, line, BOLD if self.bold else PLAIN, self.size)


@dataclass(frozen=True, slots=True)
class Boxed:
    """A framed note: its signal word and its text."""

    signal: str
    text: str

    def strips(self, wide: float) -> list[Strip]:
        """One strip: a caution is never torn apart."""
        lines = broken(self.text, PLAIN, TEXT, wide - 4 * PAD)
        height = (len(lines) + 1) * LEADING + 4 * PAD
        return [Strip(height, partial(self._paint, lines, height))]

    def _paint(
        self,
        lines: list[tuple[Letter, ...]],
        height: float,
        canvas: Canvas,
        x: float,
        top: float,
        wide: float,
    ) -> None:
        canvas.setLineWidth(THICK)
        canvas.rect(x, top - height + PAD, wide, height - 2 * PAD)
        base = top - 2 * PAD - TEXT
        draw(canvas, x + 2 * PAD, base, letters(self.signal, BOLD), BOLD, TEXT)
        for number, line in enumerate(lines, start=1):
            draw(canvas, x + 2 * PAD, base - number * LEADING, line, PLAIN, TEXT)


@dataclass(frozen=True, slots=True)
class Pairs:
    """Labels and their texts, one under the other, thin lines between."""

    rows: tuple[tuple[str, str], ...]

    def strips(self, wide: float) -> list[Strip]:
        """A strip a line, so that the longest text goes on over the page."""
        found = []
        for label, text in self.rows:
            lines = broken(text, PLAIN, TEXT, wide - self._label_width(wide))
            for number, line in enumerate(lines):
                said = label if number == 0 else ""
                last = number == len(lines) - 1
                found.append(Strip(LEADING + (4.0 if last else 0.0), partial(self._paint, said, line, last)))
        return found

    @staticmethod
    def _label_width(wide: float) -> float:
        return 0.27 * wide

    def _paint(
        self,
        label: str,
        line: tuple[Letter, ...],
        last: bool,
        canvas: Canvas,
        x: float,
        top: float,
        wide: float,
    ) -> None:
        if label:
            room = self._label_width(wide) - 2 * PAD
            draw(canvas, x, top - TEXT - 2.0, broken(label, BOLD, TEXT, room)[0], BOLD, TEXT)
        draw(canvas, x + self._label_width(wide), top - TEXT - 2.0, line, PLAIN, TEXT)
        if last:
            canvas.setLineWidth(THIN)
            canvas.line(x, top - LEADING - 3.0, x + wide, top - LEADING - 3.0)


@dataclass(frozen=True, slots=True)
class Gap:
    """Room between two blocks [pt]."""

    height: float = 6.0

    def strips(self, _wide: float) -> list[Strip]:
        """One empty strip."""
        return [Strip(self.height, _nothing)]


@dataclass(frozen=True, slots=True)
class NewPage:
    """What comes next begins a page."""

    def strips(self, _wide: float) -> list[Strip]:
        """One strip without height."""
        return [Strip(0.0, _nothing, with_next=True, first=True)]


def _nothing(_canvas: Canvas, _x: float, _top: float, _wide: float) -> None:
    """Room between paragraphs."""
