"""Patterns on paper, as SVG and as DXF, read back and measured as one measures with a rule."""

import io
import re
from itertools import pairwise
from math import cos, hypot, pi, radians, tan

import pytest
from ezdxf.document import Drawing
from ezdxf.entities.circle import Circle
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import read

from server.core.tube.cutting.bolt_circle import BoltCircle, drilling
from server.core.tube.cutting.pattern import Pattern
from server.core.tube.cutting.wrapped import BASE, Slant, wrapped
from server.web.paper_pattern import OVERLAP, pattern_pdf, tiling
from server.web.pattern_dxf import pattern_dxf
from server.web.pattern_svg import pattern_svg
from tests.pdf_paths import Flat, Sheet, Stroke, print_scaling, sheets

ONE_SHEET = Slant(0.0635, radians(22.5), 0.0001, 0.0016)
TILED = Slant(0.1016, radians(45.0), 0.0001)
FLANGE = BoltCircle(4, 0.110, 0.0105, 0.0761, 0.140, radians(45.0))
PAPERS = {False: (297.0, 210.0), True: (279.4, 215.9)}
"""A4 of ISO 216 and US Letter, 11 by 8 1/2 in, lying [mm]."""


def theory(slant: Slant, x: float) -> float:
    """Height of the edge over the straight one, so far along the strip [mm]; y = D/2 tan α (1 − cos φ)."""
    around = pi * (slant.outside + slant.paper) * 1e3
    half = slant.outside * 1e3 / 2.0
    return BASE * 1e3 + half * tan(slant.saw) * (1.0 - cos(2.0 * pi * x / around))


def printed(slant: Slant, letter: bool) -> list[Sheet]:
    return sheets(pattern_pdf(wrapped(slant, "Mitre"), "26 Nov 2026", letter))


def outline(sheet: Sheet) -> Stroke:
    """The longest line of a sheet: what is cut out."""
    return max(sheet.strokes, key=lambda stroke: len(stroke.points))


def off_theory(slant: Slant, edge: list[Flat]) -> float:
    """The most that points on an edge are off, its lower left corner being nought [mm]."""
    return max(abs(y - theory(slant, x)) for x, y in edge if y > BASE * 1e3 / 2.0)


def bars(sheet: Sheet) -> list[float]:
    """Lengths of the lines that end in ticks, level and upright [mm]."""
    return sorted(round(stroke.length, 3) for stroke in sheet.strokes if len(stroke.points) == 6)


@pytest.mark.parametrize("letter", [False, True], ids=["A4", "Letter"])
def test_the_edge_is_where_theory_has_it_and_both_bars_are_true(letter: bool) -> None:
    content = pattern_pdf(wrapped(ONE_SHEET, "Mitre"), "26 Nov 2026", letter)
    (sheet,) = sheets(content)
    assert (sheet.wide, sheet.high) == pytest.approx(PAPERS[letter], abs=0.01)
    assert print_scaling(content) == "/None"
    assert bars(sheet) == pytest.approx([100.0, 100.0, 101.6, 101.6], abs=0.001)
    shape = outline(sheet)
    left, foot = min(x for x, _ in shape.points), min(y for _, y in shape.points)
    edge = [(x - left, y - foot) for x, y in shape.points]
    assert len(shape.seen) == len(shape.points), "nothing runs off the sheet"
    assert max(x for x, _ in edge) == pytest.approx(199.805, abs=0.01)
    assert off_theory(ONE_SHEET, edge) < 0.01
    assert theory(ONE_SHEET, 0.0) == 24.0
    assert max(y for _, y in edge) - 24.0 == pytest.approx(63.5 * 0.41421, abs=0.01)


@pytest.mark.parametrize("letter", [False, True], ids=["A4", "Letter"])
def test_sheets_laid_cross_on_cross_are_one_template(letter: bool) -> None:
    first, second = printed(TILED, letter)
    laid = tiling(wrapped(TILED, "Mitre"), letter)
    assert (laid.columns, laid.rows) == (2, 1)
    for sheet in (first, second):
        assert bars(sheet) == pytest.approx([100.0, 100.0, 101.6, 101.6], abs=0.001)
    ours, theirs = crosses(first), crosses(second)
    assert len(ours) == len(theirs) == 2
    shifts = [(a[0] - b[0], a[1] - b[1]) for a, b in zip(ours, theirs, strict=True)]
    assert shifts[0] == pytest.approx(shifts[1], abs=0.001)
    left = min(x for x, _ in outline(first).points)
    foot = min(y for _, y in outline(first).points)
    joined = [(x - left, y - foot) for x, y in outline(first).seen]
    joined += [(x + shifts[0][0] - left, y + shifts[0][1] - foot) for x, y in outline(second).seen]
    assert off_theory(TILED, joined) < 0.01
    edge = sorted(x for x, y in joined if y > 12.0)
    assert edge[0] == pytest.approx(0.0, abs=0.01)
    assert edge[-1] == pytest.approx(pi * 101.7, abs=0.01)
    assert max(b - a for a, b in pairwise(edge)) < 1.0, "no gap between the sheets"


def crosses(sheet: Sheet) -> list[Flat]:
    """Middles of the register crosses, from the lowest up: two short lines that halve each other [mm]."""
    short = [stroke for stroke in sheet.strokes if len(stroke.points) == 2 and 5.9 < stroke.length < 6.1]
    middles = [tuple(round(sum(axis) / 2.0, 3) for axis in zip(*one.points, strict=True)) for one in short]
    return sorted(((x, y) for x, y in set(middles) if middles.count((x, y)) == 2), key=lambda one: one[1])


def test_neighbours_share_a_strip_wide_enough_for_their_crosses() -> None:
    laid = tiling(wrapped(TILED, "Mitre"), letter=False)
    box = wrapped(TILED, "Mitre").box
    (x0, _), (x1, _) = laid.corner(0, 0, box), laid.corner(1, 0, box)
    assert x0 + laid.wide - x1 == pytest.approx(OVERLAP)


@pytest.mark.parametrize("slant", [ONE_SHEET, TILED, Slant(0.3, radians(50.0), 0.0001, 0.003, 24, 1.0)])
@pytest.mark.parametrize("letter", [False, True], ids=["A4", "Letter"])
def test_every_word_stays_on_its_sheet_and_every_sheet_says_how_to_use_it(slant: Slant, letter: bool) -> None:
    pattern = wrapped(slant, "Mitre")
    found = printed(slant, letter)
    laid = tiling(pattern, letter)
    assert len(found) == laid.columns * laid.rows
    for number, sheet in enumerate(found, 1):
        flat = " ".join(sheet.text.split())
        assert f"sheet {number} of {len(found)}" in flat
        assert "Print at 100 %" in flat
        assert all(" ".join(text.split()[-4:]).replace("−", "–") in flat for text in pattern.told)
        assert sheet.wide > sheet.high or laid.sheet[0] < laid.sheet[1]


def test_the_same_pattern_is_the_same_file() -> None:
    pattern = wrapped(ONE_SHEET, "Mitre")
    assert pattern_pdf(pattern, "26 Nov 2026") == pattern_pdf(pattern, "26 Nov 2026")


@pytest.mark.parametrize("letter", [False, True], ids=["A4", "Letter"])
def test_a_flange_s_holes_come_out_where_the_drill_goes(letter: bool) -> None:
    (sheet,) = sheets(pattern_pdf(drilling(FLANGE, "Flange"), "26 Nov 2026", letter))
    circles = [circle(stroke) for stroke in sheet.strokes if len(stroke.points) > 40]
    middle = next(at for at, r in circles if abs(r - 70.0) < 0.05)
    holes = [at for at, r in circles if abs(r - 5.25) < 0.02]
    bore = [at for at, r in circles if abs(r - 38.05) < 0.03]
    assert len(holes) == 4
    assert bore[0] == pytest.approx(middle, abs=0.01)
    for x, y in holes:
        assert hypot(x - middle[0], y - middle[1]) == pytest.approx(55.0, abs=0.02)
        assert abs(x - middle[0]) == pytest.approx(abs(y - middle[1]), abs=0.02), "45° from 12 o'clock"
    assert min(hypot(a[0] - b[0], a[1] - b[1]) for a in holes for b in holes if a != b) == pytest.approx(
        77.78, abs=0.02
    ), "110 × 0.70711, the table of chords"


def circle(stroke: Stroke) -> tuple[Flat, float]:
    """Middle and radius of a line that goes round [mm]."""
    across, up = zip(*stroke.points, strict=True)
    middle = (max(across) + min(across)) / 2.0, (max(up) + min(up)) / 2.0
    return middle, stroke.length / 2.0


def read_back(pattern: Pattern) -> Drawing:
    return read(io.StringIO(pattern_dxf(pattern).decode()))


def lines_on(document: Drawing, layer: str) -> list[LWPolyline]:
    found = document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    return [line for line in found if isinstance(line, LWPolyline)]


def test_a_cutter_reads_the_template_in_millimetres() -> None:
    document = read_back(wrapped(ONE_SHEET, "Mitre 12 o'clock ± ø"))
    assert not document.audit().errors
    assert document.units == 4, "millimetres, by the format's own table (from memory)"
    assert document.dxfversion == "AC1024"
    (cut,) = lines_on(document, "CUT")
    assert cut.closed
    edge = [(x, y) for x, y in cut.get_points("xy")]
    assert max(x for x, _ in edge) - min(x for x, _ in edge) == pytest.approx(199.805, abs=0.001)
    assert off_theory(ONE_SHEET, edge) < 0.001
    scale = [list(line.get_points("xy")) for line in lines_on(document, "SCALE")]
    lengths = [max(x for x, _ in line) - min(x for x, _ in line) for line in scale]
    assert sorted(lengths) == pytest.approx([100.0, 101.6])
    assert any("63.5 mm outside" in text.dxf.text for text in document.modelspace().query("TEXT"))


def test_a_cutter_reads_a_flange_s_holes() -> None:
    document = read_back(drilling(FLANGE, "Flange"))
    assert not document.audit().errors
    found = document.modelspace().query('CIRCLE[layer=="CUT"]')
    cut = [one for one in found if isinstance(one, Circle)]
    assert sorted(one.dxf.radius for one in cut) == pytest.approx([5.25] * 4 + [38.05, 70.0])
    assert {round(hypot(*one.dxf.center.vec2), 6) for one in cut} == {0.0, 55.0}


def test_an_svg_is_as_large_as_it_says() -> None:
    text = pattern_svg(wrapped(ONE_SHEET, "Mitre")).decode()
    wide, high = (float(value) for value in re.findall(r'(?:width|height)="([\d.]+)mm"', text)[:2])
    box = [float(value) for value in re.search(r'viewBox="([^"]+)"', text)[1].split()]  # type: ignore[index]
    assert (wide, high) == pytest.approx((box[2], box[3])), "one unit is one millimetre"
    shape = re.search(r'id="CUT".*?d="M([^"Z]+)Z"', text)
    assert shape is not None
    points = [tuple(float(value) for value in pair.split()) for pair in shape[1].split("L")]
    assert off_theory(ONE_SHEET, [(x, -y) for x, y in points]) < 0.001
    assert max(x for x, _ in points) == pytest.approx(199.805, abs=0.001)
    assert "<script" not in text
