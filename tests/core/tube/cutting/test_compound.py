"""Compound cuts, compared with exact angles and with vectors turned one after the other."""

from math import cos, degrees, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.tube.cutting.compound import compound_cut


def test_a_square_corner_either_way_is_a_plain_mitre() -> None:
    """Clock faces along the flow: left is 9 o'clock, up 12, right 3, down 6."""
    for left, up, hour in ((90.0, 0.0, 270.0), (0.0, 60.0, 0.0), (-90.0, 0.0, 90.0), (0.0, -60.0, 180.0)):
        cut = compound_cut(radians(left), radians(up))
        assert degrees(cut.saw) == pytest.approx(max(abs(left), abs(up)) / 2)
        assert degrees(cut.mark) == pytest.approx(hour, abs=1e-9)


def test_forty_five_left_and_forty_five_up_is_sixty_in_all() -> None:
    """cos 45° · cos 45° = 1/2, so 60° and the saw at 30°; the throat at 12 o'clock less atan(cos 45°)."""
    cut = compound_cut(radians(45.0), radians(45.0))
    assert degrees(cut.saw) == pytest.approx(30.0)
    assert degrees(cut.mark) == pytest.approx(360.0 - 35.2644, abs=1e-4)


@given(st.floats(-100.0, 100.0), st.floats(-80.0, 80.0))
def test_turning_about_the_throat_s_side_gives_the_asked_direction(left: float, up: float) -> None:
    a, b = radians(left), radians(up)
    wanted = np.array([cos(b) * cos(a), cos(b) * sin(a), sin(b)])
    cut = compound_cut(a, b)
    # Along the flow (+x) 12 o'clock is +z and 3 o'clock is −y.
    throat = np.array([0.0, -sin(cut.mark), cos(cut.mark)])
    turned = cos(cut.turn) * np.array([1.0, 0.0, 0.0]) + sin(cut.turn) * throat
    assert turned == pytest.approx(wanted, abs=1e-7)
