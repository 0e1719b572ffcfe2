"""Several readings of one thing, taken as one."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.measure.estimate import Estimate, combine

READINGS = st.lists(st.builds(Estimate, st.floats(-1e3, 1e3), st.floats(1e-6, 10.0)), min_size=1, max_size=12)


def test_a_single_reading_stands_as_it_is() -> None:
    alone = combine([Estimate(0.0825, 0.0001)])

    assert (alone.value, alone.doubt, alone.agree) == (0.0825, 0.0001, True)
    assert "One reading" in alone.note


def test_readings_that_disagree_widen_the_doubt_and_say_so() -> None:
    apart = combine([Estimate(82.5, 0.1), Estimate(83.5, 0.1)])

    assert not apart.agree
    assert apart.value == pytest.approx(83.0)
    assert apart.doubt == pytest.approx(0.1 / math.sqrt(2) * math.sqrt(apart.chi_square))
    assert "disagree" in apart.note


def test_repeating_never_takes_the_doubt_under_the_instruments_own() -> None:
    often = combine([Estimate(82.5, 0.05)] * 100, floor=0.03)

    assert often.doubt == 0.03
    assert "instrument's own" in often.note


def test_a_lone_reading_surer_than_its_instrument_is_not_believed() -> None:
    assert combine([Estimate(82.5, 0.001)], floor=0.03).doubt == 0.03


@given(READINGS, st.floats(0.0, 5.0))
def test_the_mean_lies_among_its_readings_and_the_doubt_above_the_floor(
    readings: list[Estimate], floor: float
) -> None:
    both = combine(readings, floor)
    values = [reading.value for reading in readings]

    assert min(values) - 1e-9 <= both.value <= max(values) + 1e-9
    assert both.doubt >= floor
    assert both.chi_square >= 0.0


@given(READINGS)
def test_the_order_of_the_readings_does_not_matter(readings: list[Estimate]) -> None:
    turned = list(reversed(readings))

    assert combine(turned).value == pytest.approx(combine(readings).value, rel=1e-9, abs=1e-9)
    assert combine(turned).chi_square == pytest.approx(combine(readings).chi_square, rel=1e-6, abs=1e-6)


def test_readings_of_the_very_small_are_weighed_without_overflow() -> None:
    tiny = combine([Estimate(1e-9, 1e-200), Estimate(1e-9, 1.0)])

    assert tiny.value == pytest.approx(1e-9)


@pytest.mark.parametrize(
    ("readings", "floor", "says"),
    [
        ([], 0.0, "at least one"),
        ([Estimate(1.0, 0.0), Estimate(1.0, 0.1)], 0.0, "greater than zero"),
        ([Estimate(1.0, 0.1)], -1.0, "floor"),
        ([Estimate(1.0, 0.1)], math.nan, "floor"),
    ],
)
def test_what_cannot_be_combined_says_why(readings: list[Estimate], floor: float, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        combine(readings, floor)


@pytest.mark.parametrize(("value", "doubt"), [(math.nan, 0.1), (math.inf, 0.1), (1.0, -0.1), (1.0, math.nan)])
def test_an_estimate_is_finite_and_its_doubt_not_negative(value: float, doubt: float) -> None:
    with pytest.raises(ValueError, match="finite number"):
        Estimate(value, doubt)
