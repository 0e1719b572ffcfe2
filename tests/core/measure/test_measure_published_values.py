"""Reading, showing and doubting quantities, compared with published values one by one."""

from collections import Counter
from collections.abc import Callable, Mapping
from statistics import NormalDist
from typing import Any

import pytest

from server.core.measure.doubt import Response, propagate
from server.core.measure.estimate import Combined, Estimate, combine, rectangular, triangular
from server.core.measure.instruments import tape_limit
from server.core.measure.typed import read
from server.core.units import Kind, fraction_of_inch, from_si, to_si
from tests.reference_values import Check, load

MM = 0.001
ENOUGH_DRAWS = 100_000
CHECKS = load("measure")


def _length_typed(inputs: Mapping[str, Any], kind: Kind) -> float:
    return read(inputs["text"], kind).value / MM


def _difference_typed(inputs: Mapping[str, Any]) -> str:
    left = read(inputs["from"], Kind.length).value - read(inputs["take"], Kind.length).value
    return fraction_of_inch(left)[0]


def _combined(inputs: Mapping[str, Any]) -> Combined:
    pairs = zip(inputs["values"], inputs["doubts"], strict=True)
    return combine([Estimate(value, doubt) for value, doubt in pairs])


def _stack(inputs: Mapping[str, Any]) -> float:
    cut = Estimate(100.0, rectangular(inputs["half_width_mm"]))
    pieces = {"first": cut, "second": cut, "third": cut}
    return propagate(lambda cuts: cuts, {"length": lambda cuts: sum(cuts.values())}, pieces).doubt("length")


END_GAUGE = {
    "standard": Estimate(50_000_623.0, 25.0),
    "comparison": Estimate(215.0, 9.7),
    "expansion": Estimate(11.5e-6, rectangular(2e-6)),
    "expansion_difference": Estimate(0.0, rectangular(1e-6)),
    "temperature": Estimate(-0.1, 0.41),
    "temperature_difference": Estimate(0.0, rectangular(0.05)),
}
"""JCGM 100:2008, H.1 [nm, 1/K, °C]."""


def _end_gauge(in_doubt: set[str]) -> Response:
    """The example with only some of its readings in doubt."""
    readings = {
        name: reading if name in in_doubt else Estimate(reading.value) for name, reading in END_GAUGE.items()
    }

    def length(given: Mapping[str, float]) -> float:
        expansion = (
            given["expansion_difference"] * given["temperature"]
            + given["expansion"] * given["temperature_difference"]
        )
        return given["standard"] + given["comparison"] - given["standard"] * expansion

    return propagate(length, {"length": float}, readings, draws=ENOUGH_DRAWS)


def _end_gauge_first_order() -> float:
    # To first order neither the expansion nor the temperature itself counts: their slopes are nothing.
    response = _end_gauge({"standard", "comparison", "expansion_difference", "temperature_difference"})
    assert response.method("length") == "first order"
    return response.doubt("length")


def _end_gauge_all_terms() -> float:
    response = _end_gauge(set(END_GAUGE))
    assert response.method("length") == "Monte Carlo"
    return response.doubt("length")


def _sum_of_squares(x1: float) -> Response:
    pair = {"x1": Estimate(x1, 0.005), "x2": Estimate(0.0, 0.005)}
    response = propagate(
        lambda given: given["x1"] ** 2 + given["x2"] ** 2, {"loss": float}, pair, draws=ENOUGH_DRAWS
    )
    assert response.method("loss") != "first order"
    return response


def _mass_calibration() -> Response:
    """The densities are rectangular: each is told by a standard normal number that runs along its range."""
    readings = {
        "reference": Estimate(100_000.0, 0.050),
        "added": Estimate(1.234, 0.020),
        "air": Estimate(0.0, 1.0),
        "weight": Estimate(0.0, 1.0),
        "standard": Estimate(0.0, 1.0),
    }

    def along(number: float, half_width: float) -> float:
        return half_width * (2.0 * NormalDist().cdf(number) - 1.0)

    def correction(given: Mapping[str, float]) -> float:
        weight, standard = 8000.0 + along(given["weight"], 1000.0), 8000.0 + along(given["standard"], 50.0)
        buoyancy = 1.0 + along(given["air"], 0.1) * (1.0 / weight - 1.0 / standard)
        return (given["reference"] + given["added"]) * buoyancy - 100_000.0

    return propagate(correction, {"correction": float}, readings, draws=ENOUGH_DRAWS)


ANSWERS: dict[str, Callable[[Mapping[str, Any]], float | str]] = {
    "core.units.to_si": lambda given: to_si(given["magnitude"], given["unit"]),
    "core.units.celsius_as_fahrenheit": lambda given: from_si(to_si(given["celsius"], "degC"), "degF"),
    "core.units.difference_as_fahrenheit": lambda given: from_si(given["kelvin"], "delta_degF"),
    "core.units.fraction_of_inch text": lambda given: fraction_of_inch(
        given["length_mm"] * MM, given["denominator"]
    )[0],
    "core.units.fraction_of_inch residual": lambda given: (
        fraction_of_inch(given["length_mm"] * MM, given["denominator"])[1] / MM
    ),
    "core.measure.typed.read length": lambda given: _length_typed(given, Kind.length),
    "core.measure.typed.read size": lambda given: _length_typed(given, Kind.size),
    "core.measure.typed.read less read, as inches": _difference_typed,
    "core.measure.instruments.tape_limit": lambda given: (
        tape_limit(given["length_m"], given["from_hook"]) / MM
    ),
    "core.measure.estimate.rectangular": lambda given: rectangular(given["half_width"]),
    "core.measure.estimate.triangular": lambda given: triangular(given["half_width"]),
    "core.measure.estimate.combine value": lambda given: _combined(given).value,
    "core.measure.estimate.combine doubt": lambda given: _combined(given).doubt,
    "core.measure.estimate.combine chi_square": lambda given: _combined(given).chi_square,
    "core.measure.doubt three cut lengths": _stack,
    "core.measure.doubt end gauge value": lambda _given: _end_gauge(set()).value("length"),
    "core.measure.doubt end gauge component": lambda given: _end_gauge({given["reading"]}).doubt("length"),
    "core.measure.doubt end gauge first order": lambda _given: _end_gauge_first_order(),
    "core.measure.doubt end gauge all terms": lambda _given: _end_gauge_all_terms(),
    "core.measure.doubt sum of squares doubt": lambda given: _sum_of_squares(given["x1"]).doubt("loss"),
    "core.measure.doubt sum of squares mean": lambda given: _sum_of_squares(given["x1"]).mean("loss"),
    "core.measure.doubt mass calibration value": lambda _given: _mass_calibration().value("correction"),
    "core.measure.doubt mass calibration doubt": lambda _given: _mass_calibration().doubt("correction"),
}
"""By subject: our answer to a check's inputs, in the check's unit."""


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_ours_agrees_with_the_published_value(check: Check) -> None:
    ours = ANSWERS[check.subject](check.inputs)

    if isinstance(ours, str):
        assert ours == check.expected
    else:
        assert check.allows(ours), (
            f"{check.quantity}: {ours} {check.unit}, {check.source} has {check.expected}"
        )


def test_the_published_values_are_many_and_no_formula_has_more_than_its_share() -> None:
    distinct = {(check.source, check.quantity) for check in CHECKS}
    by_formula = Counter(check.subject for check in CHECKS)

    assert len(distinct) >= 22
    assert max(by_formula.values()) <= 5
