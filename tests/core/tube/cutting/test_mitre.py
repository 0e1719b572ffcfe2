"""Mitred bends and their templates, compared with fitters' pages and with plain geometry."""

from math import cos, degrees, pi, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.tube.cutting.mitre import fault, mitred_bend, notes, ordinates, saw_angle, wrap
from server.core.tube.cutting.offset import rolling_offset
from tests.reference_values import Check, load

MM = 1e-3


def found(check: Check) -> float:
    """What this project says, in the unit of the published value."""
    asked = check.inputs
    if check.subject == "offset.travel":
        return rolling_offset(asked["rise_mm"], asked["offset_mm"], radians(asked["fitting_deg"])).travel
    bend = mitred_bend(asked["outside_mm"], radians(asked["bend_deg"]), asked["cuts"], asked["radius_mm"])
    end = bend.segments[0]
    return {
        "mitre.saw_angle": degrees(bend.saw_angle),
        "mitre.segment.throat": bend.segments[1].throat,
        "mitre.segment.centre": bend.segments[1].centre,
        "mitre.segment.back": bend.segments[1].back,
        "mitre.end.centre": end.centre,
        "mitre.cut_back": 0.5 * (end.back - end.throat),
    }[check.subject]


@pytest.mark.parametrize("check", load("space"), ids=str)
def test_agrees_with_published_values(check: Check) -> None:
    assert check.allows(found(check))


def test_a_template_is_the_one_of_the_steelwork_manual() -> None:
    """Three-inch tube, square two-piece elbow, 16 ordinates: method of a navy steelwork manual, figure 3-46;
    the lengths were worked by hand from y = (D / 2) tan α (1 − cos φ)."""
    half = [0.00, 2.90, 11.16, 23.52, 38.10, 52.68, 65.04, 73.30, 76.20]
    told = [1e3 * y for y in ordinates(76.2 * MM, radians(45.0), 16)]
    assert told == pytest.approx([*half, *half[-2:0:-1]], abs=0.005)
    assert 1e3 * wrap(76.2 * MM, 0.0) / 16 == pytest.approx(14.962, abs=0.001)


INCH = 25.4e-3

CUT_BACKS = {
    2.375: (1.188, 0.492, 0.318, 0.236),
    3.500: (1.750, 0.725, 0.469, 0.348),
    4.500: (2.250, 0.932, 0.603, 0.448),
    6.625: (3.312, 1.372, 0.888, 0.659),
    8.625: (4.312, 1.786, 1.156, 0.858),
    10.75: (5.375, 2.226, 1.440, 1.069),
    12.75: (6.375, 2.641, 1.708, 1.268),
}
"""Outside diameter [in] → cut-back [in] of 90° elbows of 2, 3, 4 and 5 pieces (pipe sizes of ASME B36.10).
Article "Pipe miter layout and fitting take-outs" of an open collection for millwrights, which says that it
worked its table from geometry: a secondary source, neither a printed handbook nor measured."""

ELEMENT_LINES = (1.0, 0.924, 0.707, 0.383, 0.0, -0.383, -0.707, -0.924, -1.0)
"""Ordinates of that article's wrapped template, method 2, in cut-backs from the square line: from the long
point round to the short one, 16 element lines all round. It gives these factors, not a table for a pipe."""


@pytest.mark.parametrize("outside", CUT_BACKS, ids=str)
@pytest.mark.parametrize("cuts", [1, 2, 3, 4])
def test_a_template_agrees_with_a_millwrights_article(outside: float, cuts: int) -> None:
    """All 16 element lines within the rounding of the article's table: half a thousandth of an inch of the
    cut-back, and half a thousandth of the cut-back from the factor."""
    cut_back = CUT_BACKS[outside][cuts - 1]
    heights = [y / INCH for y in ordinates(outside * INCH, saw_angle(radians(90.0), cuts), 16)]
    square_line = 0.5 * max(heights)
    from_long_point = [y - square_line for y in heights[8:] + heights[:8]]
    told = [factor * cut_back for factor in (*ELEMENT_LINES, *ELEMENT_LINES[-2:0:-1])]
    assert from_long_point == pytest.approx(told, abs=0.0005 * (1.0 + cut_back) + 1e-9)


COURSE_BASE = 600.0
"""Distance from the centre of the bend [mm] at which the insulators' course gives the rise of the cut."""

COURSE_ROWS = [check for check in load("space") if check.inputs.get("radius_mm") == COURSE_BASE]
"""Rises for 90° bends of 4 to 13 pieces, two of them halves. The row of 8 pieces is left out: the course
prints 67,0 where its own construction, which every other row keeps, gives 600 tan(90° / 14) = 67.6."""


@pytest.mark.parametrize(("outside", "radius"), [(60.3, 90.0), (168.3, 250.0), (273.0, 381.0)])
@pytest.mark.parametrize("row", COURSE_ROWS, ids=str)
def test_an_end_piece_has_the_lines_of_the_insulators_course(
    row: Check, outside: float, radius: float
) -> None:
    """The course lays off its rise 600 mm from the centre of the bend, joins it to the centre, and takes the
    lengths of 12 lines round the pipe from that slope; ours agree within the rounding of the printed rise."""
    cuts, rise = row.inputs["cuts"], row.expected / COURSE_BASE
    throat = mitred_bend(outside, radians(90.0), cuts, radius).segments[0].throat
    lines = [throat + y for y in ordinates(outside, saw_angle(radians(90.0), cuts), 12)]
    told = [rise * (radius - 0.5 * outside * cos(pi * k / 6.0)) for k in range(12)]
    assert row.tolerance_abs is not None
    furthest = (radius + 0.5 * outside) / COURSE_BASE
    assert lines == pytest.approx(told, abs=row.tolerance_abs * furthest)


@given(
    outside=st.floats(10.0, 200.0), saw=st.floats(0.5, 59.0), count=st.integers(3, 64), k=st.integers(0, 63)
)
def test_an_ordinate_is_where_the_slanted_plane_meets_the_tube(
    outside: float, saw: float, count: int, k: int
) -> None:
    """The plane through the throat, square to (−sin α, 0, cos α), cuts the tube round z at that height."""
    angle = 2.0 * pi * (k % count) / count
    height = ordinates(outside, radians(saw), count)[k % count]
    on_tube = np.array([-0.5 * outside * cos(angle), 0.5 * outside * sin(angle), height])
    throat = np.array([-0.5 * outside, 0.0, 0.0])
    normal = np.array([-sin(radians(saw)), 0.0, cos(radians(saw))])
    assert float((on_tube - throat) @ normal) == pytest.approx(0.0, abs=1e-9 * outside)


@given(st.floats(20.0, 120.0), st.floats(10.0, 170.0), st.integers(2, 9), st.floats(0.6, 4.0))
def test_the_middles_of_the_segments_lie_on_the_arc(
    outside: float, bend_deg: float, cuts: int, ratio: float
) -> None:
    """The corners of the polygon lie as far from the centre of the arc as R / cos of half a share."""
    radius, bend = ratio * outside, radians(bend_deg)
    made = mitred_bend(outside, bend, cuts, radius)
    whole = made.segments[1]
    assert sqrt(radius**2 + (0.5 * whole.centre) ** 2) == pytest.approx(radius / cos(bend / (2.0 * cuts)))
    assert len(made.segments) == cuts + 1
    for segment in made.segments:
        assert segment.back - segment.throat == pytest.approx(segment.centre * outside / radius)


def test_more_cuts_come_nearer_to_the_arc() -> None:
    lengths = [sum(s.centre for s in mitred_bend(60.0, radians(90), n, 90.0).segments) for n in (1, 2, 4, 50)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[0] == pytest.approx(2.0 * 90.0 * tan(radians(45.0)))
    assert lengths[-1] == pytest.approx(90.0 * pi / 2.0, rel=1e-4)


def test_what_cannot_be_cut_says_what_would_help() -> None:
    steep = fault(0.06, radians(150.0), 1, 0.09)
    assert steep is not None
    assert "Use 2 cuts or more" in steep
    tight = fault(0.06, radians(90.0), 2, 0.03)
    assert tight is not None
    assert "30 mm" in tight
    assert fault(0.06, radians(120.0), 1, 0.09) is None
    assert degrees(saw_angle(radians(120.0), 1)) == pytest.approx(60.0)


def test_a_throat_too_short_to_weld_round_is_told() -> None:
    assert len(notes(mitred_bend(0.06, radians(90.0), 6, 0.04))) == 2
    assert notes(mitred_bend(0.06, radians(90.0), 3, 0.09)) == ()
