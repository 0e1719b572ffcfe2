"""Heat balances solved in closed form, beside a plain search for the same temperatures."""

import numpy as np
import pytest
from scipy.constants import Stefan_Boltzmann
from scipy.optimize import brentq

from server.core.air.heat_balance import Face, behind_a_sheet, face
from server.core.measure.many import many

CASES = 200


def drawn(least: float, most: float) -> list[float]:
    """Spread evenly by their logarithm, in an order that belongs to these bounds alone."""
    order = np.random.default_rng([int(1e6 * least), int(1e3 * most)])
    return [least * (most / least) ** at for at in order.permutation(np.linspace(0.0, 1.0, CASES)).tolist()]


def test_a_black_body_is_as_hot_as_the_law_of_stefan_and_boltzmann_has_it() -> None:
    """Source: a kilowatt a square metre is 364.41 K, T = (q / σ)^(1/4)."""
    assert face([(1.0, 364.41)], []).gains == pytest.approx(1000.0, rel=1e-4)
    assert Face(Stefan_Boltzmann, 0.0, 1000.0).temperature() == pytest.approx(364.41, abs=0.01)


def test_a_face_that_hardly_radiates_is_as_warm_as_what_is_behind_its_film() -> None:
    assert face([(1e-9, 900.0)], [(1e6, 300.0)]).temperature() == pytest.approx(300.0, abs=1e-6)


def test_the_temperature_is_that_of_a_plain_search() -> None:
    cases = zip(drawn(1e-6, 2.0), drawn(1e-3, 1e5), drawn(350.0, 1200.0), drawn(250.0, 349.0), strict=True)
    for factor, film, hot, ambient in cases:
        found = face([(factor, hot)], [(film, ambient)])
        searched = brentq(found.loses, ambient - 1.0, hot + 1.0, xtol=1e-12, rtol=1e-14)
        assert found.temperature() == pytest.approx(searched, rel=1e-11)


def faces(
    hot: float, rest: float, plates: float, before: float, behind: float, flame: float, air: float
) -> tuple[Face, Face, float]:
    """A sheet before what is hot, a face behind it, and the factor between the two."""
    return face([(hot, flame), (rest, air)], [(before, air)]), face([], [(behind, air)]), plates


def sheets() -> list[tuple[float, float, float, float, float, float, float]]:
    """Factors of the sheet with what is hot and with the rest, of the two plates, films, temperatures."""
    factors, films = (
        (drawn(1e-3, 1.0), drawn(2e-3, 1.0), drawn(3e-3, 1.0)),
        (drawn(0.01, 200.0), drawn(0.02, 300.0)),
    )
    return list(zip(*factors, *films, drawn(350.0, 1200.0), drawn(250.0, 349.0), strict=True))


def test_behind_a_sheet_neither_gains_nor_loses_and_many_are_found_as_one_is() -> None:
    columns = (many(np.array(column)) for column in zip(*sheets(), strict=True))
    together = [np.asarray(found) for found in behind_a_sheet(*faces(*columns))]
    for row, case in enumerate(sheets()):
        outside, inside, plates = faces(*case)
        strip, sheet = behind_a_sheet(outside, inside, plates)
        assert (strip, sheet) == pytest.approx([found[row] for found in together], rel=1e-11)
        between = plates * Stefan_Boltzmann * (sheet**4 - strip**4)
        rounding = 1e-11 * (outside.gains + inside.gains)
        assert outside.loses(sheet) + between == pytest.approx(0.0, abs=rounding)
        assert inside.loses(strip) == pytest.approx(between, abs=rounding)
        assert case[-1] <= strip <= sheet <= case[-2]
