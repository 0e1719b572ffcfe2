"""Quantities at the edge: SI floats out, text in the build's units in."""

import math
import timeit

import pytest

from server.core.units import (
    UNITS_TO_ASK,
    Kind,
    System,
    dash_of,
    fraction_of_inch,
    from_si,
    show,
    show_text,
    to_si,
)

METRIC, INCH = System.metric, System.inch


@pytest.mark.parametrize(
    ("length", "metric", "inch"),
    [
        (0.08255, "82.6 mm", "3 1/4 in"),
        (0.06, "60 mm", "2.362 in"),
        (0.0761, "76.1 mm", "2.996 in"),
        (0.0762, "76.2 mm", "3 in"),
        (0.001651, "1.65 mm", "0.065 in"),
        (-0.0127, "-12.7 mm", "-1/2 in"),
        (0.0, "0 mm", "0 in"),
        (-1e-7, "0 mm", "0 in"),
        (2.35, "2350 mm", "92.52 in"),
    ],
)
def test_a_length_reads_in_both_systems_side_by_side(length: float, metric: str, inch: str) -> None:
    shown = show(length, Kind.length, METRIC)
    turned = show(length, Kind.length, INCH)

    assert (shown.text, shown.other) == (metric, inch)
    assert (turned.text, turned.other) == (inch, metric)
    assert str(shown) == f"{metric} · {inch}"


def test_less_than_nothing_by_less_than_its_doubt_has_no_sign() -> None:
    assert show_text(-0.00001, Kind.length, METRIC, doubt=0.0003) == "0.0 ± 0.3 mm"
    assert show_text(-0.001, Kind.length, METRIC, doubt=0.03) == "0 ± 30 mm"


@pytest.mark.parametrize(
    ("doubt", "text"),
    [
        (0.0001, "82.6 ± 0.1 mm"),
        (0.000058, "82.55 ± 0.06 mm"),
        (0.00015, "82.55 ± 0.15 mm"),
        (0.00099, "83 ± 1 mm"),
        (0.012, "83 ± 12 mm"),
        (0.000299, "82.6 ± 0.3 mm"),
        (0.12, "80 ± 120 mm"),
    ],
)
def test_the_value_has_as_many_decimals_as_its_doubt(doubt: float, text: str) -> None:
    assert show(0.08255, Kind.length, METRIC, doubt).text == text


def test_inches_in_doubt_are_decimal_because_a_fraction_hides_the_doubt() -> None:
    assert show(0.08255, Kind.length, INCH, 0.0001).text == "3.250 ± 0.004 in"


@pytest.mark.parametrize("doubt", [None, 0.0, math.nan, math.inf])
def test_no_usable_doubt_shows_none(doubt: float | None) -> None:
    assert show(0.08255, Kind.length, METRIC, doubt).text == "82.6 mm"


def test_a_doubt_of_a_temperature_is_a_difference_without_the_offset() -> None:
    assert show(313.15, Kind.temperature, METRIC, 2.0).text == "40 ± 2 °C"
    assert show(313.15, Kind.temperature, INCH, 5.0).text == "104 ± 9 °F"


@pytest.mark.parametrize(
    ("value", "kind", "unit", "text", "other"),
    [
        (101_325.0, Kind.pressure, None, "101.3 kPa", "14.7 psi"),
        (100_000.0, Kind.pressure, "bar", "1 bar", "14.5 psi"),
        (50.0, Kind.temperature_difference, None, "50 °C", "90 °F"),
        (0.25, Kind.mass_flow, None, "250 g/s", "33.1 lb/min"),
        (0.2, Kind.volume_flow, None, "200 l/s", "424 cfm"),
        (math.radians(42.5), Kind.angle, None, "42.5°", ""),
        (0.95, Kind.ratio, None, "0.95", ""),
        (0.95, Kind.ratio, "percent", "95 %", ""),
        (0.0021, Kind.volume, None, "2.1 l", "128 cu in"),
        (0.0021, Kind.volume, "cc", "2100 cc", "128 cu in"),
        (0.015875, Kind.size, None, "-10 AN", "15.9 mm tube"),
        (0.016, Kind.size, None, "no dash size", "16 mm tube"),
        (to_si(6600.0, "rpm"), Kind.rotation, None, "6600 rpm", ""),
        (2.0e8, Kind.stress, None, "200 MPa", "29 ksi"),
    ],
)
def test_each_kind_has_one_usual_unit(
    value: float, kind: Kind, unit: str | None, text: str, other: str
) -> None:
    shown = show(value, kind, METRIC, unit=unit)

    assert (shown.text, shown.other) == (text, other)


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_reads_not_known(kind: Kind, value: float) -> None:
    assert show(value, kind, METRIC).text == "not known"


def test_a_unit_nobody_offered_is_a_mistake_in_the_program() -> None:
    assert "furlong" not in UNITS_TO_ASK
    with pytest.raises(KeyError):
        show(1.0, Kind.length, METRIC, unit="furlong")


def test_mechanical_and_metric_horsepower_stay_apart() -> None:
    assert to_si(1.0, "hp") / to_si(1.0, "metric_horsepower") == pytest.approx(1.013870, rel=1e-6)


@pytest.mark.parametrize(
    "unit", ["mm", "inch", "psi", "bar", "degC", "degF", "delta_degF", "rpm", "lb/min", "hp"]
)
@pytest.mark.parametrize("magnitude", [-40.0, 0.0, 1e-6, 3.25, 6600.0])
def test_there_and_back_is_where_it_was(unit: str, magnitude: float) -> None:
    assert from_si(to_si(magnitude, unit), unit) == pytest.approx(magnitude, rel=1e-12, abs=1e-12)


def test_a_fraction_is_reduced_and_says_what_it_leaves_over() -> None:
    text, residual = fraction_of_inch(0.0254 * 0.375 + 0.0001)

    assert text == "3/8 in"
    assert residual == pytest.approx(0.0001)
    assert fraction_of_inch(0.0001)[0] == "0 in"
    assert fraction_of_inch(-0.087)[0] == "-3 7/16 in"
    with pytest.raises(ValueError, match="finite length"):
        fraction_of_inch(math.nan)
    with pytest.raises(ValueError, match="denominator"):
        fraction_of_inch(0.1, 0)


def test_only_tube_of_whole_sixteenths_has_a_dash_size() -> None:
    assert dash_of(0.015875) == 10
    assert dash_of(0.0160) is None
    assert dash_of(0.0) is None


def test_showing_is_cheap_enough_for_a_page_of_hundreds() -> None:
    batch = timeit.repeat(lambda: show(0.08255, Kind.length, METRIC, 0.0001), number=500, repeat=7)
    each = min(batch) / 500  # the least, because whatever else the machine does only adds

    assert each < 50e-6, f"{each * 1e6:.0f} µs; about 8 µs on the machine it was written on"
