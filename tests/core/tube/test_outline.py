"""A piece on the sheet: its sections, and the outline that follows from them."""

import pytest

from server.core.tube.centreline import Centreline, lay_out
from server.core.tube.outline import Sheet, outline, sections, spot
from server.core.tube.view import View, poses_along
from tests.core.tube.example_runs import bend, run, tube

FROM_BEHIND = Sheet(View((0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0)), 1000.0)
"""A run's first leg goes into the page in this view, and its first bend turns to the left."""


def _line() -> Centreline:
    straight = tube(1, outside_diameter=60.0, wall=2.0, length=200.0)
    bent = bend(
        2, outside_diameter=60.0, wall=2.0, bend_angle=90.0, bend_radius=90.0, length=50.0, length_out=50.0
    )
    return lay_out(run((straight, bent)))


def test_a_section_seen_end_on_has_the_flow_of_the_first_that_is_not() -> None:
    bent = _line().pieces[1]
    seen = sections(FROM_BEHIND, poses_along(bent))
    assert seen[0].lean == pytest.approx(1.0)
    assert all(one.flow == pytest.approx((-1.0, 0.0)) for one in seen)


def test_a_piece_that_is_seen_end_on_all_along_is_taken_to_flow_to_the_right() -> None:
    straight = _line().pieces[0]
    seen = sections(FROM_BEHIND, poses_along(straight))
    assert [one.flow for one in seen] == [(1.0, 0.0), (1.0, 0.0)]
    assert seen[0].centre == pytest.approx(seen[1].centre)


def test_sections_run_from_face_to_face_and_the_outline_starts_at_the_first() -> None:
    bent = _line().pieces[1]
    from_above = Sheet(View((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)), 1000.0)
    seen = sections(from_above, poses_along(bent))
    assert seen[0].centre == pytest.approx(from_above.at(bent.start.point))
    assert seen[-1].centre == pytest.approx(from_above.at(bent.end.point))
    assert outline(from_above, bent, seen).startswith(f"M{spot(seen[0].point(0.0, seen[0].radius))}")
