"""Heat from a hot pipe on what is beside it: geometry, balance, and what must grow with what."""

from math import acos, atan, hypot, pi, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.constants import Stefan_Boltzmann

from server.core.air.radiant import (
    BRIGHT,
    Neighbour,
    grey_factors,
    neighbour,
    neighbour_notes,
    plate_factor,
    view_of_pipe,
)

SIZES = st.tuples(st.floats(0.01, 0.2), st.floats(0.0, 0.5), st.floats(0.005, 1.0))
"""Diameter, gap and width, [m]."""
EMISSIVITY = st.floats(0.02, 1.0)
HOT, AMBIENT, FILM = st.floats(350.0, 1200.0), st.floats(250.0, 350.0), st.floats(0.0, 100.0)
PLACES = st.tuples(HOT, EMISSIVITY, SIZES, EMISSIVITY, AMBIENT, FILM)
Place = tuple[float, float, tuple[float, float, float], float, float, float]


def beside(place: Place, shield: float | None = None, **other: float) -> Neighbour:
    hot, hot_emissivity, (diameter, gap, width), emissivity, ambient, film = place
    asked: dict[str, Any] = {
        "hot": hot,
        "hot_emissivity": hot_emissivity,
        "hot_diameter": diameter,
        "gap": gap,
        "neighbour_emissivity": emissivity,
        "neighbour_width": width,
        "ambient": ambient,
        "film": film,
    }
    return neighbour(**{**asked, **other}, shield_emissivity=shield)


def crossed_strings(diameter: float, gap: float, width: float) -> float:
    """Hottel's crossed strings: each end of the strip tied to the top of the pipe round either side of it."""
    radius, far = 0.5 * diameter, 0.5 * diameter + gap
    to_end = hypot(far, 0.5 * width)
    straight = sqrt(to_end**2 - radius**2)
    towards, opened = atan(0.5 * width / far), acos(min(radius / to_end, 1.0))
    near_side = straight + radius * (pi - towards - opened)
    far_side = straight + radius * (pi + towards - opened)
    return (2.0 * far_side - 2.0 * near_side) / 2.0 / width


@given(SIZES)
@settings(deadline=None)
def test_the_view_factor_is_that_of_crossed_strings(sizes: tuple[float, float, float]) -> None:
    assert view_of_pipe(*sizes) == pytest.approx(crossed_strings(*sizes), rel=1e-9)


@given(SIZES)
@settings(deadline=None)
def test_a_strip_sees_no_more_than_the_pipe_and_the_pipe_no_more_than_half_of_all(
    sizes: tuple[float, float, float],
) -> None:
    view = view_of_pipe(*sizes)
    assert 0.0 < view <= 1.0
    assert view * sizes[2] / (pi * sizes[0]) <= 0.5


@given(PLACES)
@settings(deadline=None)
def test_the_flux_is_that_of_the_net_radiation_network(place: Place) -> None:
    """Radiosities of two grey surfaces before black surroundings, solved as linear equations."""
    hot, hot_emissivity, sizes, emissivity, ambient, _ = place
    found = beside(place)
    view = view_of_pipe(*sizes)
    back = view * sizes[2] / (pi * sizes[0])
    emitted = Stefan_Boltzmann * np.array([hot, found.temperature, ambient]) ** 4
    left = [[1.0, -(1.0 - hot_emissivity) * back], [-(1.0 - emissivity) * view, 1.0]]
    right = [
        hot_emissivity * emitted[0] + (1.0 - hot_emissivity) * (1.0 - back) * emitted[2],
        emissivity * emitted[1] + (1.0 - emissivity) * (1.0 - view) * emitted[2],
    ]
    radiosity = np.linalg.solve(left, right)
    falls_on_it = view * radiosity[0] + (1.0 - view) * emitted[2]
    gained = falls_on_it - radiosity[1]
    assert found.flux - found.reradiated == pytest.approx(gained, rel=1e-6, abs=1e-5 * emitted[0])


@given(PLACES, st.one_of(st.none(), EMISSIVITY))
@settings(deadline=None)
def test_the_balance_closes_and_stays_between_pipe_and_air(place: Place, shield: float | None) -> None:
    found = beside(place, shield)
    assert abs(found.closure) <= 1e-6 * (abs(found.flux) + 1.0)
    assert place[4] - 1e-9 <= found.temperature <= place[0] + 1e-9
    if found.shield_temperature is not None:
        assert found.temperature <= found.shield_temperature + 1e-6


@given(PLACES, EMISSIVITY)
@settings(deadline=None)
def test_a_shield_never_makes_it_hotter_and_a_brighter_one_none_the_more(
    place: Place, emissivity: float
) -> None:
    bare, shielded = beside(place), beside(place, emissivity)
    assert shielded.temperature <= bare.temperature + 1e-5
    assert beside(place, 0.5 * emissivity).temperature <= shielded.temperature + 1e-5


@given(PLACES, st.floats(1.0, 5.0))
@settings(deadline=None)
def test_further_off_or_better_aired_is_no_hotter(place: Place, times: float) -> None:
    found = beside(place).temperature
    assert beside(place, gap=place[2][1] * times + 0.001).temperature <= found + 1e-6
    assert beside(place, film=place[5] * times + 0.1).temperature <= found + 1e-6
    assert beside(place, hot=place[0] * times).temperature >= found - 1e-6


@given(EMISSIVITY, EMISSIVITY)
@settings(deadline=None)
def test_two_large_plates_are_the_usual_formula(first: float, second: float) -> None:
    assert plate_factor(first, second) == pytest.approx(1.0 / (1.0 / first + 1.0 / second - 1.0))
    assert grey_factors(first, second, 1.0, 1.0)[1] == pytest.approx(0.0, abs=1e-12)


def test_where_all_is_as_warm_nothing_flows() -> None:
    found = neighbour(300.0, 0.8, 0.06, 0.05, 0.9, 0.1, 300.0, 10.0, BRIGHT)
    assert (found.temperature, found.shield_temperature) == pytest.approx((300.0, 300.0), rel=1e-12)
    assert found.flux == pytest.approx(0.0, abs=1e-9)


def test_a_pipe_colder_than_the_air_cools_what_is_beside_it() -> None:
    found = neighbour(250.0, 0.8, 0.06, 0.05, 0.9, 0.1, 300.0, 5.0)
    assert 250.0 < found.temperature < 300.0
    assert found.flux < 0.0


def test_what_the_formulas_leave_out_is_told() -> None:
    assert len(neighbour_notes(0.05, 0.06, None)) == 2
    assert "touches" in neighbour_notes(0.0, 0.06, None)[2]
    assert "evenly lit" in neighbour_notes(0.001, 0.06, None)[2]
    assert "not bright" in neighbour_notes(0.05, 0.06, 0.8)[3]
