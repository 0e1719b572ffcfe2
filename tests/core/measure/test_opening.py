"""Readings of one opening, taken together."""

from datetime import UTC, datetime
from math import pi, sqrt

import pytest

from server.core.measure.conditions import MockUpOutcome
from server.core.measure.instruments import instrument
from server.core.measure.opening import (
    DIMENSIONS,
    LIMITS,
    SIZES,
    Reading,
    coarsely_taken,
    instruments_of,
    own_doubt,
    together,
)


def reading(dimension: str, value: float | None, code: str = "digital_caliper", **more: object) -> Reading:
    doubt = None if value is None else own_doubt(dimension, code, value)
    fields: dict[str, object] = {
        "id": 1,
        "dimension": dimension,
        "typed": "as typed",
        "value": value,
        "doubt": doubt,
        "instrument": code,
        "taken_at": datetime(2026, 11, 25, tzinfo=UTC),
        "taken_by": "builder",
        "conditions": None,
        "mock_up": None,
        "note": "",
        "withdrawn": False,
    }
    return Reading(**{**fields, **more})  # type: ignore[arg-type]


def test_repeats_lessen_the_doubt_down_to_the_instruments_own() -> None:
    one = together([reading("bore", 0.08)])["bore"]
    many = together([reading("bore", 0.08)] * 1000)["bore"]
    assert many.doubt < one.doubt
    # Limits of ± 0.03 mm: 0.03 / √3 (JCGM 100:2008, 4.3.7).
    assert many.doubt == pytest.approx(0.00003 / sqrt(3))


def test_a_better_instrument_weighs_more_than_a_feel() -> None:
    both = together([reading("bore", 0.080), reading("bore", 0.090, "feel")])["bore"]
    assert both.value == pytest.approx(0.080, abs=5e-5)


def test_string_and_caliper_tell_the_same_outside_diameter() -> None:
    string = reading("circumference", pi * 0.081, "string")
    size = together([string, reading("outside_diameter", 0.080)])["outside_diameter"]
    assert size.agree
    assert size.value == pytest.approx(0.080, abs=1e-5)
    told = string.size
    assert told is not None
    assert told[1].doubt == pytest.approx(instrument("string").doubt(0.080))


def test_withdrawn_readings_and_mock_ups_tell_no_size() -> None:
    gone = reading("bore", 0.08, withdrawn=True)
    short = reading("mock_up", None, "", mock_up=MockUpOutcome.short, typed="15 mm")
    assert together([gone, short]) == {}
    assert short.words == "short by 15 mm"


@pytest.mark.parametrize("dimension", LIMITS)
def test_every_dimension_has_instruments_with_a_doubt_at_both_of_its_limits(dimension: str) -> None:
    assert dimension in DIMENSIONS
    for one in instruments_of(dimension):
        for limit in LIMITS[dimension]:
            assert own_doubt(dimension, one.code, limit) > 0.0


def test_a_combined_size_is_one_that_can_be_measured() -> None:
    assert set(SIZES) <= set(DIMENSIONS)


def test_advice_names_a_coarse_way_only_where_nothing_better_was_used() -> None:
    felt = reading("bore", 0.057, "feel")
    assert coarsely_taken([felt, reading("wall", 0.0015)]) == {"bore": "by feel"}
    assert coarsely_taken([felt, reading("bore", 0.0571)]) == {}
    assert coarsely_taken([reading("circumference", 0.19, "string")]) == {"outside_diameter": "by a string"}
