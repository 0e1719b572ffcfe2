"""Heat and hot or pressed walls against the world: every value of `tests/reference/heat.toml`."""

from collections import Counter
from collections.abc import Callable
from math import pi

import pytest

from server.core.air import radiant, surface
from server.core.air.expansion import Metal, metal_named
from server.core.checks import strength
from tests.reference_values import Check, load

CHECKS = load("heat")


def _metal(name: str) -> Metal:
    found = metal_named(name)
    assert found is not None, name
    return found


def _strength(metal: str, celsius: float) -> float:
    found = strength.STRENGTHS[metal].at(celsius + 273.15)
    assert found is not None
    return found


def _plates(hot: float, cold: float, first: float, second: float) -> float:
    return radiant.net_flux(hot, cold, radiant.plate_factor(first, second))


def _series(first: float, second: float, sheet: float) -> float:
    return 1.0 / (1.0 / radiant.plate_factor(first, sheet) + 1.0 / radiant.plate_factor(sheet, second))


def _shielded(hot: float, cold: float, first: float, second: float, sheet: float) -> float:
    return radiant.net_flux(hot, cold, _series(first, second, sheet))


def _sheet(hot: float, cold: float, first: float, second: float, sheet: float) -> float:
    share = _series(first, second, sheet) / radiant.plate_factor(first, sheet)
    return float((hot**4 - share * (hot**4 - cold**4)) ** 0.25)


def _to_a_person(hot: float, cold: float, emissivity: float, view: float, area: float) -> float:
    exchange, _ = radiant.grey_factors(1.0, emissivity, view, view)
    return area * radiant.net_flux(hot, cold, exchange)


def _insulated(**given: float) -> float:
    outside = given["bore"] + 2.0 * given["wall"]
    skin = outside + 2.0 * given["wool"]
    through = (
        1.0 / (pi * given["bore"] * given["inner_film"])
        + surface.layer_resistance(given["bore"], surface.Layer(given["wall"], given["wall_conductivity"]))
        + surface.layer_resistance(outside, surface.Layer(given["wool"], given["wool_conductivity"]))
        + 1.0 / (pi * skin * given["outer_film"])
    )
    return (given["inside"] - given["outside"]) / through


def _layer(inner_diameter: float, thickness: float, conductivity: float) -> float:
    return surface.layer_resistance(inner_diameter, surface.Layer(thickness, conductivity))


def _from_the_pipe(diameter: float, gap: float, width: float) -> float:
    return radiant.view_of_pipe(diameter, gap, width) * width / (pi * diameter)


SUBJECTS: dict[str, Callable[..., float]] = {
    "air.radiant.view_of_ball": radiant.view_of_ball,
    "checks.strength.hoop_stress": strength.hoop_stress,
    "checks.strength.bore_stress": strength.bore_stress,
    "checks.strength.STRENGTHS": _strength,
    "air.expansion.melts_from": lambda metal: _metal(metal).melts_from,
    "air.expansion.expansion": lambda material: _metal(material).expansion,
    "air.radiant.net_flux": _to_a_person,
    "air.radiant.plate_factor": _plates,
    "air.radiant.plate_factor, one shield between": _shielded,
    "air.radiant.plate_factor, the sheet's temperature": _sheet,
    "air.radiant.view_of_pipe": radiant.view_of_pipe,
    "air.radiant.view_of_pipe, from the pipe": _from_the_pipe,
    "air.radiant.FINISHES": lambda finish: {one.name: one.emissivity for one in radiant.FINISHES}[finish],
    "air.surface.air_conductivity": surface.air_conductivity,
    "air.surface.gnielinski": surface.gnielinski,
    "air.surface.churchill_chu": surface.churchill_chu,
    "air.surface.churchill_bernstein": surface.churchill_bernstein,
    "air.surface.still_film": surface.still_film,
    "air.surface.skin_loss": surface.skin_loss,
    "air.surface.layer_resistance": _layer,
    "air.surface.layer_resistance, heat lost": _insulated,
}


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_a_value_agrees_with_its_source(check: Check) -> None:
    ours = SUBJECTS[check.subject.removeprefix("core.")](**check.inputs)
    assert check.allows(ours), f"{check.quantity}: {check.source} has {check.expected}, ours is {ours}"


def test_the_values_come_from_many_sources_and_lean_on_no_single_formula() -> None:
    assert len({(check.source, check.quantity) for check in CHECKS}) >= 20
    for subject, count in Counter(check.subject for check in CHECKS).items():
        assert count <= 5, f"{subject} has {count} checks"


def test_degrees_celsius_in_the_fourth_power_would_miss_the_textbook() -> None:
    """THR-04 of Katz: 400 and 35 taken for kelvin give less than a tenth."""
    check = next(one for one in CHECKS if one.id == "THR-04")
    assert _to_a_person(**{**check.inputs, "hot": 400.0, "cold": 35.0}) < 0.2 * check.expected
