"""Labels on sheets of stickers, read back from the PDF as a rule and a phone's camera would."""

import pytest
import segno
import zxingcpp
from hypothesis import given
from hypothesis import settings as drawn
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from server.web.paper_labels import (
    EDGE,
    LEAST_MODULE,
    QUIET,
    Label,
    Stickers,
    code_side,
    labels_pdf,
    lay_out,
    least_side,
    trial_pdf,
)
from tests.pdf_paths import MM, Flat, Sheet, print_scaling, sheets

A4_OF_21 = Stickers(False, 0.0072, 0.0151, 0.0635, 0.0381, 3, 7, 0.0025)
LETTER_OF_30 = Stickers(True, 0.0047625, 0.0127, 0.066675, 0.0254, 3, 10, 0.003175)
A4_OF_65 = Stickers(False, 0.00475, 0.0107, 0.0381, 0.0212, 5, 13, 0.0025)
SERVER = "http://garage.local:8000"
HOSE = Label("7", "Boost line, compressor to actuator", "boost", f"{SERVER}/builds/1/lines/7")
ELBOW = Label("", "Silicone elbow 90°, 63.5 mm", "coupler", f"{SERVER}/builds/1/parts/12")
TO_THE_MM = 10.0
"""Dots of the picture that a code is read off: as of a printer of 254 dots to the inch."""


def box(points: tuple[Flat, ...]) -> tuple[float, float, float, float]:
    """Left, foot, right and top of some points [mm]."""
    across, up = zip(*points, strict=True)
    return min(across), min(up), max(across), max(up)


def read_codes(sheet: Sheet) -> list[tuple[str, tuple[float, float]]]:
    """What a reader finds on a sheet painted from its filled boxes, and where, from the lower left [mm]."""
    image = Image.new("L", (round(sheet.wide * TO_THE_MM), round(sheet.high * TO_THE_MM)), 255)
    pen = ImageDraw.Draw(image)
    for one in sheet.fills:
        left, foot, right, top = box(one)
        across = (round(left * TO_THE_MM), round(right * TO_THE_MM) - 1)
        up = (round((sheet.high - top) * TO_THE_MM), round((sheet.high - foot) * TO_THE_MM) - 1)
        pen.rectangle((across[0], up[0], across[1], up[1]), fill=0)
    found = zxingcpp.read_barcodes(image)
    return [
        (one.text, (one.position.top_left.x / TO_THE_MM, sheet.high - one.position.top_left.y / TO_THE_MM))
        for one in found
    ]


@pytest.mark.parametrize("stickers", [A4_OF_21, LETTER_OF_30, A4_OF_65], ids=["21", "30", "65"])
def test_every_code_read_off_the_sheet_opens_its_page(stickers: Stickers) -> None:
    labels = [HOSE, HOSE, ELBOW]
    (sheet,) = sheets(labels_pdf(labels, stickers, "Labels"))
    found = sorted(read_codes(sheet), key=lambda one: one[1][0])
    assert [text for text, _ in found] == [label.address for label in labels]
    for place, (_, (x, y)) in enumerate(found):
        left, foot = (size * 1e3 for size in stickers.corner(place))
        assert left < x < left + stickers.wide * 1e3
        assert foot < y < foot + stickers.high * 1e3


def test_a_code_is_the_standard_s_own_dot_for_dot_with_its_white_rim() -> None:
    """Beside the matrix that the library of codes makes; rim of four modules: ISO/IEC 18004, from memory."""
    (sheet,) = sheets(labels_pdf([HOSE], A4_OF_21, "Labels"))
    laid = lay_out(HOSE, A4_OF_21)
    code = segno.make(HOSE.address, error=laid.level, micro=False)
    count = len(code.matrix)
    left, foot, side = (size * 1e3 for size in laid.code)
    x, y = (size * 1e3 for size in A4_OF_21.corner(0))
    module = side / (count + 2 * QUIET)
    dark = set()
    for one in sheet.fills:
        low, down, right, top = box(one)
        row = round((y + foot + side - top) / module) - QUIET
        for column in range(round((low - x - left) / module), round((right - x - left) / module)):
            dark.add((row, column - QUIET))
        assert top - down == pytest.approx(module, abs=1e-3)
    assert dark == {(r, c) for r, cells in enumerate(code.matrix) for c, one in enumerate(cells) if one}


def test_the_trial_shows_every_label_where_the_packet_has_it_and_four_true_bars() -> None:
    """66.7 × 25.4 mm, thirty a sheet: 4.76 mm from the left, 12.7 mm from the top, 3.18 mm a gap."""
    content = trial_pdf(LETTER_OF_30, "Labels")
    (sheet,) = sheets(content)
    assert (sheet.wide, sheet.high) == pytest.approx((215.9, 279.4), abs=0.01)
    assert print_scaling(content) == "/None"
    outlines = [box(one.points) for one in sheet.strokes if len(one.points) == 5]
    assert len(outlines) == 30
    assert outlines[0] == pytest.approx((4.7625, 241.3, 71.4375, 266.7), abs=0.01)
    assert outlines[1][0] == pytest.approx(4.7625 + 66.675 + 3.175, abs=0.01)
    assert outlines[29] == pytest.approx((144.4625, 12.7, 211.1375, 38.1), abs=0.01)
    bars = sorted(one.length for one in sheet.strokes if len(one.points) == 6)
    assert bars == pytest.approx([100.0, 100.0, 101.6, 101.6], abs=0.001)


def test_a_sheet_of_labels_carries_a_true_bar_in_its_wider_margin_and_on_no_label() -> None:
    (sheet,) = sheets(labels_pdf([HOSE], A4_OF_21, "Labels"))
    (bar,) = [one for one in sheet.strokes if len(one.points) == 6]
    assert bar.length == pytest.approx(100.0, abs=0.001)
    assert all(y > 297.0 - 15.1 or y < A4_OF_21.foot * 1e3 for _, y in bar.points)
    without = Stickers(False, 0.0, 0.0005, 0.07, 0.037, 3, 8)
    (sheet,) = sheets(labels_pdf([HOSE], without, "Labels"))
    assert [one for one in sheet.strokes if len(one.points) == 6] == []


def test_a_begun_sheet_is_filled_from_its_first_free_place_and_a_second_one_follows() -> None:
    begun = Stickers(False, 0.0072, 0.0151, 0.0635, 0.0381, 3, 7, 0.0025, first=20)
    first, second = sheets(labels_pdf([HOSE] * 3, begun, "Labels"))
    assert [len(read_codes(sheet)) for sheet in (first, second)] == [2, 1]
    left, foot = (size * 1e3 for size in begun.corner(19))
    assert box(tuple(point for one in first.fills for point in one))[0] > left
    assert min(box(one)[1] for one in first.fills) > foot
    assert begun.sheets(3) == 2
    assert begun.free_after(3) == 2
    assert begun.free_after(2) == 1, "a full sheet: the next one from its start"


def test_number_and_name_stand_large_and_a_name_without_room_is_cut_and_said_to_be() -> None:
    """Capitals of 2.3 mm or more: 16 minutes of arc at half a metre (ISO 9241-303, from memory)."""
    for label in (HOSE, ELBOW):
        for stickers in (A4_OF_21, LETTER_OF_30, A4_OF_65):
            sizes = [words.size for words in lay_out(label, stickers).words if words.font.endswith("Bd")]
            assert min(sizes) * MM * 0.73 >= 2.3
    assert not lay_out(HOSE, A4_OF_21).short
    long = lay_out(
        Label("12", "Return of the bypass valve to the intake, before the compressor", "", SERVER), A4_OF_65
    )
    assert long.short
    assert "".join(letter.base for letter in long.words[-1].line).endswith("...")


SIZES = st.floats(0.012, 0.15)
GAPS = st.floats(0.0, 0.02)
ON_PAPER = st.builds(
    Stickers, st.booleans(), GAPS, GAPS, SIZES, SIZES, st.integers(1, 12), st.integers(1, 16), GAPS, GAPS
)


@drawn(max_examples=60)
@given(ON_PAPER)
def test_where_sizes_are_taken_no_label_leaves_the_paper_or_lies_on_another(stickers: Stickers) -> None:
    right, foot = (
        stickers.corner(stickers.places - 1)[0] + stickers.wide,
        stickers.corner(stickers.places - 1)[1],
    )
    across, down = stickers.over
    assert (across > 0.0, down > 0.0) == (right > stickers.page[0] + 1e-6, foot < -1e-6)
    if across or down:
        return
    corners = [stickers.corner(place) for place in range(stickers.places)]
    for index, (x, y) in enumerate(corners):
        assert -1e-6 <= x <= stickers.page[0] - stickers.wide + 1e-6
        assert -1e-6 <= y <= stickers.page[1] - stickers.high + 1e-6
        for x2, y2 in corners[:index]:
            assert abs(x - x2) >= stickers.wide - 1e-9 or abs(y - y2) >= stickers.high - 1e-9


@drawn(max_examples=60)
@given(
    st.builds(Stickers, st.just(False), GAPS, GAPS, SIZES, SIZES, st.just(1), st.just(1)),
    st.text(max_size=60),
)
def test_what_is_on_a_label_stays_on_it(stickers: Stickers, name: str) -> None:
    label = Label("103", name, "coolant", HOSE.address)
    laid = lay_out(label, stickers)
    left, foot, side = laid.code
    assert min(left, foot) >= EDGE - 1e-9
    assert left + side <= stickers.wide - EDGE + 1e-9
    assert foot + side <= stickers.high - EDGE + 1e-9
    if least_side(label.address) > code_side(stickers)[0]:
        return  # such a label is refused by its page
    assert side / (least_side(label.address) / LEAST_MODULE) >= LEAST_MODULE - 1e-9
    for words in laid.words:
        assert words.y >= 0.0
