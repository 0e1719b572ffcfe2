"""What is drawn on paper: paths as SVG means them, usual scales, formulas as boxes, lines that fit."""

import io
import math
from dataclasses import replace

import pytest
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from server.core.checks.book.contents import ALL
from server.core.checks.book.explained import Explained
from server.core.checks.book.marks import line_mark
from server.core.tube.drawing import draw
from server.core.tube.run import RunPlan
from server.web.paper import MARGIN, Sheet, sheet_pdf
from server.web.paper_drawing import SCALES, Picture, arc_curves, drawn, pen_of, scale_on_paper, steps
from server.web.paper_maths import SIZE, set_marks
from server.web.paper_text import PLAIN, broken, letters, width_of
from server.web.paper_words import Pairs, Words
from tests.core.tube.example_runs import EMPTY, SEVEN, SOLID

WIDE = 595.0 - 2 * MARGIN


@pytest.mark.parametrize("large", [0.0, 1.0])
@pytest.mark.parametrize("sweep", [0.0, 1.0])
def test_an_arc_stays_on_its_circle_and_takes_the_side_that_is_asked(large: float, sweep: float) -> None:
    """Source: SVG 1.1, section 8.3.8: of the four arcs, large-arc and sweep choose one. Geometry."""
    curves = arc_curves((10.0, 0.0), (0.0, 10.0), [10.0, 10.0, 0.0, large, sweep, 0.0, 10.0])
    centre = (0.0, 0.0) if large != sweep else (10.0, 10.0)
    points = [point for _, _, point in curves]
    assert points[-1] == pytest.approx((0.0, 10.0), abs=1e-9)
    assert all(math.dist(point, centre) == pytest.approx(10.0) for point in points)
    assert len(curves) == (3 if large else 1), "a quarter turn each"


def test_the_middle_of_a_quarter_by_bezier_is_off_by_less_than_a_thousandth() -> None:
    """Source: geometry; the usual approximation is off by 2.7e-4 of the radius (from memory)."""
    start = (1.0, 0.0)
    ((a, b, end),) = arc_curves(start, (0.0, 1.0), [1.0, 1.0, 0.0, 0.0, 1.0, 0.0, 1.0])
    middle = [(s + 3 * p + 3 * q + e) / 8.0 for s, p, q, e in zip(start, a, b, end, strict=True)]
    assert math.hypot(*middle) == pytest.approx(1.0, abs=1e-3)


def test_an_arc_whose_radius_does_not_reach_is_stretched() -> None:
    """Source: SVG 1.1, appendix F.6.6."""
    curves = arc_curves((0.0, 0.0), (4.0, 0.0), [1.0, 1.0, 0.0, 0.0, 1.0, 4.0, 0.0])
    assert next(point for _, _, point in curves) == pytest.approx((2.0, -2.0))


def test_a_move_with_more_pairs_goes_on_in_lines() -> None:
    assert list(steps("M1 2 3 4l-1-.5Z")) == [
        ("M", [1.0, 2.0]), ("L", [3.0, 4.0]), ("l", [-1.0, -0.5]), ("Z", []),
    ]  # fmt: skip


@pytest.mark.parametrize("plan", [SEVEN, SOLID, EMPTY], ids=["flat", "solid", "empty"])
def test_every_path_of_a_run_s_drawing_can_be_drawn(plan: RunPlan) -> None:
    drawing = draw(plan)
    content = sheet_pdf(Sheet("t", (("Build", "b"),), (Picture(drawing),)))
    text = PdfReader(io.BytesIO(content)).pages[0].extract_text()
    assert all(word.text in text for word in drawing.words)
    assert ("printed at full size" in text) == bool(drawing.scale)
    canvas = Canvas(io.BytesIO(), invariant=1)
    for path in drawing.paths:
        letters_of = set("".join(letter for letter, _ in steps(path.d)))
        assert letters_of <= set("MmLlHhVvAaQZ")
        assert drawn(canvas, path.d).getCode(), path.d
        assert pen_of(path.css).width > 0.0


def test_a_drawing_is_printed_at_the_largest_usual_scale_that_fits() -> None:
    drawing = draw(SEVEN)
    scale, points = scale_on_paper(drawing, WIDE)
    assert scale in SCALES
    assert points * drawing.scale * scale == pytest.approx(72.0 / 0.0254)
    assert points <= WIDE / 366.0
    before = SCALES[SCALES.index(scale) - 1]
    assert points * scale / before > WIDE / 366.0
    assert scale_on_paper(replace(drawing, scale=1e-3), WIDE)[0] == 0, "too long for any of them: as it fits"


@pytest.mark.parametrize("one", ALL, ids=lambda one: one.code)
def test_every_formula_of_the_book_fits_on_a_sheet_of_paper(one: Explained) -> None:
    for line in (*one.lines, *one.tight):
        box = set_marks(line_mark(line), SIZE)
        assert 0.0 < box.wide < WIDE - 40.0
        assert box.above > 0.0


def test_the_longest_word_is_broken_to_the_width() -> None:
    text = f"{'W' * 400} {'ш' * 200} ok"
    lines = broken(text, PLAIN, 9.0, 120.0)
    assert all(width_of(line, PLAIN, 9.0) <= 120.0 for line in lines)
    assert sum(letter.base != " " for line in lines for letter in line) == 400 + 200 + len("ok")


def test_greek_and_raised_signs_are_drawn_and_unknown_letters_are_told() -> None:
    line = letters("ρ = 1.2 × 10⁻⁵, Д", PLAIN)
    assert "".join(letter.base for letter in line) == "ρ = 1.2 × 10–5, ?"
    assert [letter.base for letter in line if letter.font] == ["ρ"]
    assert [letter.base for letter in line if letter.raised] == ["–", "5"]


def test_a_text_longer_than_a_page_goes_on_over_the_next() -> None:
    long = " ".join(["word"] * 4000)
    sheet = Sheet("t", (("Build", "x" * 300), ("Design", "y" * 300)), (Words(long), Pairs((("Note", long),))))
    content = sheet_pdf(sheet)
    assert content == sheet_pdf(sheet)
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    assert len(pages) == 8
    assert sum(page.count("word") for page in pages) == 8000
