"""Bends beyond one doubt, which steps of one doubt don't see, and chances that draws leave rough."""

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from server.core.measure.doubt import DRAWS, PROBES, Response, propagate_at_once
from server.core.measure.estimate import Estimate

Floats = NDArray[np.float64]
Margin = Callable[[Mapping[str, Floats]], Floats]

HOT = {"charge": Estimate(0.0, 1.0)}


def propagated(
    margin: Margin, inputs: Mapping[str, Estimate] = HOT, *, limit: float | None = 0.0
) -> Response:
    def ask(drawn: Mapping[str, Floats], wanted: Sequence[str], count: int) -> Floats:
        return np.asarray(margin(drawn)).reshape(count, len(wanted))

    return propagate_at_once(ask, ("margin",), inputs, limit=limit)


def bending_at(bend: float, then: float, room: float = 2.2) -> Margin:
    """Room lost one a doubt, from the bend on so many a doubt."""
    return lambda drawn: room - drawn["charge"] - (then - 1.0) * np.maximum(drawn["charge"] - bend, 0.0)


@pytest.mark.parametrize(("bend", "then"), [(1.2, 3.0), (1.5, 3.0), (1.2, 10.0), (1.0, 0.3)])
def test_a_bend_between_one_doubt_and_the_limit_is_seen(bend: float, then: float) -> None:
    """Geometry: it fails where the bent line meets the limit."""
    found = propagated(bending_at(bend, then))
    true = norm.cdf(bend + (2.2 - bend) / then)
    assert found.method("margin") == "Monte Carlo"
    assert found.probability_at_least("margin", 0.0) == pytest.approx(true, abs=0.003)


def test_a_bend_on_the_failing_side_of_a_margin_that_fails_already_is_seen() -> None:
    """The other way round: 1.8 doubts short, and the bend helps."""
    found = propagated(lambda drawn: -1.8 + drawn["charge"] + 4.0 * np.maximum(drawn["charge"] - 1.2, 0.0))
    true = norm.sf(1.2 + 0.6 / 5.0)
    assert found.probability_at_least("margin", 0.0) == pytest.approx(true, abs=0.003)


def test_a_bend_beyond_the_limit_changes_nothing_and_costs_few_rows() -> None:
    """The rows: at the readings, a step either way, two dozen draws and the failing point."""
    found = propagated(bending_at(2.5, 3.0))
    assert found.method("margin") == "first order"
    assert found.probability_at_least("margin", 0.0) == pytest.approx(norm.cdf(2.2), abs=1e-9)
    assert found.bundles == 3 + 24 + 1


@pytest.mark.parametrize("room", [0.5, 5.0])
def test_a_limit_nearer_than_a_step_or_far_away_is_not_looked_at(room: float) -> None:
    assert propagated(bending_at(9.0, 1.0, room)).bundles == 3 + 24


def test_without_a_limit_nothing_is_looked_at() -> None:
    found = propagated(bending_at(1.2, 3.0), limit=None)
    assert (found.method("margin"), found.bundles) == ("first order", 3 + 24)


def test_only_what_has_a_failing_point_is_asked_about_again() -> None:
    """What curves was seen at the two dozen draws, which were asked about along with the steps."""
    asked: list[tuple[int, tuple[str, ...]]] = []

    def ask(drawn: Mapping[str, Floats], wanted: Sequence[str], count: int) -> Floats:
        asked.append((count, tuple(wanted)))
        charge = drawn["charge"]
        rules = {"near": 2.0 - charge, "far": 9.0 - charge, "curved": 9.0 - charge - 0.1 * charge**2}
        return np.stack([rules[out] for out in wanted], axis=1)

    found = propagate_at_once(ask, ("near", "far", "curved"), HOT, limit=0.0)

    assert [found.method(out) for out in found.outputs] == ["first order", "first order", "second order"]
    assert asked == [(3 + 24, ("near", "far", "curved")), (1, ("near",))]


def test_a_margin_that_curves_is_told_by_its_curves() -> None:
    """A slight curve leaves the doubt alone but not the chance at the failing point: from the closed form."""
    found = propagated(lambda drawn: 1.5 - drawn["charge"] - 0.05 * drawn["charge"] ** 2)
    root = (-1.0 + np.sqrt(1.0 + 0.2 * 1.5)) / 0.1
    assert found.method("margin") == "second order"
    assert found.probability_at_least("margin", 0.0) == pytest.approx(norm.cdf(root), abs=0.002)


def test_what_draws_leave_uncertain_is_their_standard_error() -> None:
    """Of a product of two no slope tells the sign: half of the draws pass, off by √(p q / n) (a mean's)."""
    readings = {"a": Estimate(0.0, 1.0), "b": Estimate(0.0, 1.0)}
    found = propagated(lambda drawn: drawn["a"] * drawn["b"], readings)
    chance, error = found.joint_chance([("margin", 0.0)])
    assert found.bundles == 5 + PROBES + 24 + DRAWS
    assert error == pytest.approx(0.5 / DRAWS**0.5, rel=0.01)
    assert abs(chance - 0.5) < 3.0 * error


def test_what_slopes_tell_has_no_standard_error() -> None:
    _, error = propagated(bending_at(9.0, 1.0)).joint_chance([("margin", 0.0)])
    assert error == 0.0
