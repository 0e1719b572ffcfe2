"""Numbers of the checks against published ones, each with its source in tests/reference/checks.toml."""

from collections.abc import Callable, Mapping
from math import radians, sin

import pytest

from server.core.checks.charge import end_force
from server.core.checks.intake import collapse_pressure
from server.core.checks.limits import LIMITS
from server.core.checks.near import STANDS
from server.core.checks.rubber import RUBBERS, TYPE_LETTERS, ZERO_CELSIUS
from server.core.checks.rule import SignalWord, Verdict
from tests.core.checks.runs import charge_case, check, port, sizes, with_joint, with_piece_sizes
from tests.reference_values import Check, load

MM = 1e-3


def _end_force(inputs: Mapping[str, float]) -> float:
    return end_force(inputs["diameter_mm"] * MM, inputs["gauge_bar"] * 1e5)


def _bend_thrust(inputs: Mapping[str, float]) -> float:
    return 2.0 * _end_force(inputs) * sin(radians(inputs["bend_deg"]) / 2.0)


def _collapse(inputs: Mapping[str, float]) -> float:
    return collapse_pressure(
        inputs["outside_diameter_mm"] * MM, inputs["wall_mm"] * MM, inputs["stiffness_pa"], inputs["poisson"]
    )


SUBJECTS: Mapping[str, Callable[[Mapping[str, float]], float]] = {
    "core.checks.charge.end_force": _end_force,
    "core.checks.charge.end_force, both legs of a bend": _bend_thrust,
    "core.checks.intake.collapse_pressure": _collapse,
}


@pytest.mark.parametrize("wanted", [one for one in load("checks") if one.subject in SUBJECTS], ids=str)
def test_a_formula_of_the_checks_meets_its_published_value(wanted: Check) -> None:
    assert wanted.allows(SUBJECTS[wanted.subject](wanted.inputs))


@pytest.mark.parametrize(
    "wanted", [one for one in load("checks") if one.subject == "core.checks.rubber"], ids=str
)
def test_a_type_letter_has_its_published_test_temperature(wanted: Check) -> None:
    assert wanted.allows(TYPE_LETTERS[wanted.inputs["letter"]] - ZERO_CELSIUS)


@pytest.mark.parametrize(
    "wanted", [one for one in load("checks") if one.subject == "core.checks.near.STANDS"], ids=str
)
def test_a_neighbour_stands_the_heat_that_its_source_gives(wanted: Check) -> None:
    assert wanted.allows(STANDS[wanted.inputs["material"]].temperature - ZERO_CELSIUS)


@pytest.mark.parametrize(
    "wanted",
    [one for one in (*load("checks"), *load("exhaust")) if one.subject == "core.checks.limits"],
    ids=str,
)
def test_a_usual_limit_is_the_one_its_source_gives(wanted: Check) -> None:
    assert wanted.allows(LIMITS[wanted.inputs["key"]].default)


@pytest.mark.parametrize(
    "wanted", [one for one in load("checks") if one.subject == "core.checks.couplers.clamp"], ids=str
)
def test_a_published_clamp_range_is_taken_and_refused_where_it_should_be(wanted: Check) -> None:
    """The clamp's published range is put on joint 3 of a charge pipe made to the asked tube."""
    outside = wanted.inputs["tube_mm"]
    case = with_piece_sizes(charge_case(), 2, sizes(0.0, outside_diameter=outside))
    clamp = sizes(0.0, clamp_least=wanted.inputs["least_mm"], clamp_most=wanted.inputs["most_mm"])
    found = check(with_joint(case, 2, sizes=clamp), "clamp")
    on_joint = [item for item in found.items if item.item.startswith("joint.62")]
    passes = all(item.margin >= 0.0 for item in on_joint)
    assert len(on_joint) == 3
    assert wanted.allows(float(passes))


def test_every_reference_value_is_run() -> None:
    run_here = {*SUBJECTS, "core.checks.rubber", "core.checks.limits", "core.checks.couplers.clamp"}
    run_here |= {"core.checks.near.STANDS"}
    assert {one.subject for one in load("checks")} == run_here


def test_the_published_letters_of_the_families_in_use_are_kept() -> None:
    """ASTM D2000: NBR is type B (BF, BG), EPDM type C (CA is C), silicone type F (FC, FE)."""
    letters = {"NBR": "B", "EPDM": "C", "silicone": "F"}
    for name, letter in letters.items():
        assert RUBBERS[name].test_temperature == TYPE_LETTERS[letter]


def test_signal_words_are_those_of_the_standard() -> None:
    """ANSI Z535.4-2007, 4.14."""
    assert [word.value for word in SignalWord] == ["DANGER", "WARNING", "CAUTION", "NOTICE"]


def test_hose_is_sold_by_bore_and_tube_by_outside_diameter() -> None:
    """Common practice, no source: 60 outside with a 1.5 wall is 57 inside.

    A 60 hose fits it, a 57 hose does not.
    """
    assert check(charge_case(start=port(13, "Compressor outlet", 60.0)), "coupler-fit").verdict is Verdict.GO
    small = with_piece_sizes(charge_case(), 1, sizes(bore=57.0))
    assert check(small, "coupler-fit").verdict is not Verdict.GO
