"""Outputs that bend along their own slope: what two inputs do together then follows from one number."""

from collections.abc import Mapping, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from server.core.measure.doubt import LOOKED_AT, PROBES, Response, propagate_at_once
from server.core.measure.draws import JointDraws, joint_draws
from server.core.measure.estimate import Estimate
from server.core.measure.output import Expansion, common_bends, second_orders

Floats = NDArray[np.float64]

LOSSES = {name: Estimate(0.0, 0.15) for name in "abcdef"}
"""Logarithms of six factors on a loss."""
BESIDE, MOST = 1.0, 2.6
"""Pressure that is lost beside it, and what may be lost in all, in parts of the loss."""
SLOPES = np.array([[3.0], [4.0], [0.5]])
"""Of three inputs."""


def _margin(drawn: Mapping[str, Floats]) -> Floats:
    return np.asarray(np.log(MOST / (BESIDE + np.exp(sum(drawn.values())))))


def _propagated() -> Response:
    def ask(drawn: Mapping[str, Floats], wanted: Sequence[str], count: int) -> Floats:
        return _margin(drawn).reshape(count, len(wanted))

    return propagate_at_once(ask, ("margin",), LOSSES, limit=0.0)


def test_a_loss_beside_another_needs_no_march_in_thousands_of_draws() -> None:
    """Slopes and curves miss what two factors do together; the rows beyond them are one failing point."""
    found = _propagated()
    assert found.method("margin") == "second order"
    assert found.bundles == 1 + 2 * len(LOSSES) + PROBES + LOOKED_AT + 1


def test_its_doubt_and_chance_are_those_of_half_a_million_draws() -> None:
    """The loss is log-normal: its logarithm is one draw of doubt 0.15 √6. Source: plain Monte Carlo."""
    loss = np.random.default_rng(5).normal(0.0, 0.15 * np.sqrt(len(LOSSES)), 500_000)
    margins = np.log(MOST / (BESIDE + np.exp(loss)))
    found = _propagated()
    assert found.doubt("margin") == pytest.approx(margins.std(), rel=0.01)
    assert found.mean("margin") == pytest.approx(margins.mean(), abs=0.003)
    assert found.probability_at_least("margin", 0.0) == pytest.approx((margins >= 0.0).mean(), abs=0.01)
    assert [part for _, part in found.shares("margin")] == pytest.approx([1.0 / 6.0] * 6, abs=0.01)


@pytest.mark.parametrize("bend", [-0.3, 0.0, 0.02])
def test_the_bend_of_a_square_is_found_from_the_probes(bend: float) -> None:
    """Algebra: of x + bend x², x a straight sum, terms of two inputs are twice bend times their slopes."""
    signs = np.where(joint_draws(("a", "b", "c"), 20, 100)[:, :PROBES] >= 0.0, 1.0, -1.0).T
    along = signs @ SLOPES
    curves = bend * SLOPES**2
    found = common_bends(np.zeros(1), SLOPES, curves, signs, along + bend * along**2)
    assert found == pytest.approx([bend], abs=1e-12)


def test_of_one_input_alone_probes_tell_nothing() -> None:
    slopes = np.array([[2.0], [0.0]])
    signs = np.array([[1.0, 1.0], [1.0, -1.0], [-1.0, 1.0]])
    probes = np.array([[2.5], [2.5], [-1.5]])
    assert common_bends(np.zeros(1), slopes, np.zeros((2, 1)), signs, probes).tolist() == [0.0]


def test_an_expansion_of_a_square_is_that_square_and_its_variance_is_shared_out_whole() -> None:
    """Of x + x²/10, x of variance 25.25: that, and twice its square over a hundred. Source: moments."""
    normal = joint_draws(("a", "b", "c"), 20, 2000)
    whole = Expansion(np.array([7.0]), SLOPES, 0.1 * SLOPES**2, np.array([0.1]))
    along = SLOPES[:, 0] @ normal
    assert whole.at(normal)[0] == pytest.approx(7.0 + along + 0.1 * along**2)
    (found,) = second_orders(whole, JointDraws(("a", "b", "c"), 20, 2000))
    assert found.sampled == pytest.approx(whole.at(normal)[0])
    assert found.doubt**2 == pytest.approx(25.25 + 2.0 * 0.01 * 25.25**2)
    assert found.parts.sum() == pytest.approx(found.doubt**2)


def test_the_first_draws_are_those_that_all_draws_begin_with() -> None:
    for names in (("a", "b", "c"), ("c", "a")):
        for count in (2, LOOKED_AT):
            first = JointDraws(names, 20, 2000).first(count)
            assert first.tolist() == joint_draws(names, 20, 2000)[:, :count].tolist()


def test_inputs_that_matter_together_alone_are_drawn_still() -> None:
    """The product of two readings bends along no slope of theirs."""

    def ask(drawn: Mapping[str, Floats], wanted: Sequence[str], count: int) -> Floats:
        found = 0.2 + drawn["a"] + 0.5 * drawn["b"] * drawn["c"]
        return np.asarray(found).reshape(count, len(wanted))

    inputs = {name: Estimate(0.0, 1.0) for name in "abc"}
    assert propagate_at_once(ask, ("margin",), inputs, limit=0.0).method("margin") == "Monte Carlo"
