"""What a reading was taken with decides how far it is trusted."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.measure.instruments import (
    Instrument,
    circumference_of,
    diameter_from_circumference,
    instrument,
    instruments_for,
    tape_limit,
    typed_doubt,
)
from server.core.sources import Sureness, all_sources
from server.core.units import Kind

EVERY = [one for kind in Kind for one in instruments_for(kind)]


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.code)
@pytest.mark.parametrize("value", [0.0, 0.01, 0.08, 1.5, -0.3])
def test_every_instrument_has_some_doubt_and_never_less_than_its_own(one: Instrument, value: float) -> None:
    assert one.doubt(value) >= one.floor(value) >= 0.0
    assert value == 0.0 or one.doubt(value) > 0.0


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.code)
def test_every_instrument_says_where_its_doubt_comes_from(one: Instrument) -> None:
    assert one.source in all_sources()


def test_a_page_is_told_that_the_hands_part_has_no_document_behind_it() -> None:
    assert instrument("tape").basis.endswith("what hand and eye add: common practice, no source")
    assert instrument("rule").basis == "common practice, no source"
    assert instrument("pressure_gauge").basis.startswith("EN 837-1")


def test_better_tools_leave_less_doubt_on_a_pipe() -> None:
    in_order = ["digital_caliper", "vernier_caliper", "bore_gauge", "rule", "tape", "tape_hooked", "feel"]
    doubts = [instrument(code).doubt(0.08) for code in in_order]

    assert doubts == sorted(doubts)


def test_a_string_round_the_tube_beats_a_tape_across_it() -> None:
    assert instrument("string").doubt(0.08) < instrument("tape").doubt(0.08)


def test_a_whole_number_of_metres_is_not_rounded_up_to_the_next() -> None:
    assert tape_limit(2.0) == pytest.approx(0.0007)
    assert tape_limit(78.740157480315 * 0.0254) == pytest.approx(0.0007)
    assert tape_limit(2.001) == pytest.approx(0.0009)


@given(st.floats(0.005, 1.0), st.floats(0.0, 0.005))
def test_diameter_and_circumference_undo_each_other(diameter: float, thickness: float) -> None:
    round_it = circumference_of(diameter, thickness)

    assert diameter_from_circumference(round_it, thickness) == pytest.approx(diameter, rel=1e-12)


@pytest.mark.parametrize(
    ("circumference", "thickness"), [(0.0, 0.0), (0.003, 0.001), (math.nan, 0.0), (0.2, -0.001)]
)
def test_a_string_that_leaves_no_tube_is_refused(circumference: float, thickness: float) -> None:
    with pytest.raises(ValueError, match="circumference"):
        diameter_from_circumference(circumference, thickness)


def test_a_typed_doubt_is_taken_at_its_word() -> None:
    own = typed_doubt(0.0002)

    assert own.doubt(0.0825) == own.floor(0.0825) == 0.0002
    assert own.source.sureness is Sureness.typed_by_builder


@pytest.mark.parametrize("doubt", [0.0, -1.0, math.nan, math.inf])
def test_a_typed_doubt_of_nothing_is_refused(doubt: float) -> None:
    with pytest.raises(ValueError, match="more than zero"):
        typed_doubt(doubt)


def test_an_unknown_instrument_names_the_known_ones() -> None:
    with pytest.raises(KeyError, match="digital_caliper"):
        instrument("divining rod")


@pytest.mark.parametrize(
    "kind", [Kind.length, Kind.pressure, Kind.temperature, Kind.angle, Kind.ratio, Kind.volume]
)
def test_every_kind_that_is_measured_on_a_car_has_an_instrument(kind: Kind) -> None:
    assert instruments_for(kind)
