"""Doubt carried from readings to everything computed from them."""

import math
import timeit
from collections.abc import Mapping
from unittest.mock import patch

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.core.measure import output
from server.core.measure.doubt import LOOKED_AT, PROBES, propagate
from server.core.measure.estimate import Estimate

Values = Mapping[str, float]


def same(values: Values) -> Values:
    return values


def test_independent_readings_add_in_squares() -> None:
    found = propagate(
        same, {"sum": lambda v: v["a"] + v["b"]}, {"a": Estimate(1, 3.0), "b": Estimate(2, 4.0)}
    )

    assert found.value("sum") == 3.0
    assert found.doubt("sum") == pytest.approx(5.0)
    assert found.method("sum") == "first order"
    assert [name for name, _ in found.shares("sum")] == ["b", "a"]
    assert [share for _, share in found.shares("sum")] == pytest.approx([0.64, 0.36])


def test_one_reading_is_one_variable_however_often_it_is_used() -> None:
    found = propagate(
        same, {"gap": lambda v: v["a"] - v["a"], "twice": lambda v: v["a"] * 2}, {"a": Estimate(1, 0.1)}
    )

    assert found.doubt("gap") == 0.0
    assert found.shares("gap") == ()
    assert found.doubt("twice") == pytest.approx(0.2)


def test_a_slope_of_zero_does_not_give_a_doubt_of_zero() -> None:
    offsets = {"up": Estimate(0.0, 2.0), "across": Estimate(0.0, 2.0)}
    found = propagate(same, {"offset": lambda v: math.hypot(v["up"], v["across"])}, offsets, draws=20_000)

    # Rayleigh: mean σ √(π/2), standard deviation σ √(2 - π/2).
    assert found.method("offset") == "Monte Carlo"
    assert found.doubt("offset") == pytest.approx(2.0 * math.sqrt(2.0 - math.pi / 2.0), rel=0.02)
    assert found.mean("offset") == pytest.approx(2.0 * math.sqrt(math.pi / 2.0), rel=0.02)
    assert [share for _, share in found.shares("offset")] == pytest.approx([0.5, 0.5], abs=0.05)


def test_a_product_of_two_readings_near_zero_is_seen_although_neither_slope_shows_it() -> None:
    both = {"a": Estimate(0.0, 1.0), "b": Estimate(0.0, 1.0)}
    found = propagate(same, {"product": lambda v: v["a"] * v["b"]}, both, draws=20_000)

    assert found.method("product") == "Monte Carlo"
    assert found.doubt("product") == pytest.approx(1.0, rel=0.03)
    assert [share for _, share in found.shares("product")] == pytest.approx([0.5, 0.5])


def test_a_kink_at_the_reading_is_sampled() -> None:
    found = propagate(same, {"least": lambda v: min(v["a"], 1.0)}, {"a": Estimate(1.0, 0.1)}, draws=20_000)

    assert found.method("least") == "Monte Carlo"
    assert found.probability_at_least("least", 1.0) == pytest.approx(0.5, abs=0.02)


def test_a_reading_in_doubt_that_an_output_never_uses_costs_it_nothing() -> None:
    found = propagate(same, {"a": lambda v: v["a"]}, {"a": Estimate(1.0, 0.1), "b": Estimate(1.0, 5.0)})

    assert found.shares("a") == (("a", 1.0),)
    assert found.doubt("a") == pytest.approx(0.1)


def test_exact_readings_leave_no_doubt_and_a_plain_yes_or_no() -> None:
    found = propagate(same, {"a": lambda v: v["a"]}, {"a": Estimate(1.0)})

    assert found.doubt("a") == 0.0
    assert found.probability_at_least("a", 1.0) == 1.0
    assert found.probability_at_least("a", 1.1) == 0.0
    assert found.joint_probability([("a", 1.0)]) == 1.0
    assert found.bundles == 1


def test_bundles_are_built_once_a_reading_and_not_once_an_output() -> None:
    built = []

    def make(values: Values) -> Values:
        built.append(dict(values))
        return values

    readings = {f"r{k}": Estimate(60.0, 0.1) for k in range(5)}
    found = propagate(make, {f"o{k}": lambda v: sum(v.values()) for k in range(30)}, readings)

    assert len(built) == found.bundles == 1 + 2 * 5 + PROBES


def test_monte_carlo_builds_each_draw_once_for_all_outputs_that_need_it() -> None:
    readings = {"a": Estimate(0.0, 1.0), "b": Estimate(0.0, 1.0)}
    outputs = {"square": lambda v: v["a"] ** 2, "length": lambda v: math.hypot(v["a"], v["b"])}
    found = propagate(same, outputs, readings, draws=500)

    assert found.bundles == 1 + 4 + PROBES + LOOKED_AT + 500
    assert (found.method("square"), found.method("length")) == ("second order", "Monte Carlo")


def test_slopes_and_curves_stand_for_the_draws_where_they_explain_those_looked_at() -> None:
    """Logarithm of a sum of losses with a wide factor: bent, not so that a parabola misses it."""
    readings = {"bends": Estimate(0.0, 0.24), "rest": Estimate(1.0, 0.02)}
    outputs = {"margin": lambda v: -math.log(0.6 * math.exp(v["bends"]) + 0.4 * v["rest"])}
    found = propagate(same, outputs, readings, draws=20_000)
    with patch.object(output, "MOST_UNEXPLAINED", -1.0):
        drawn = propagate(same, outputs, readings, draws=20_000)

    assert (found.method("margin"), drawn.method("margin")) == ("second order", "Monte Carlo")
    assert found.bundles == 1 + 4 + PROBES + LOOKED_AT
    assert found.doubt("margin") == pytest.approx(drawn.doubt("margin"), rel=0.01)
    for limit in (-0.3, -0.15, 0.0, 0.1):
        assert found.probability_at_least("margin", limit) == pytest.approx(
            drawn.probability_at_least("margin", limit), abs=0.01
        )


def test_all_at_once_is_counted_jointly() -> None:
    readings = {"a": Estimate(0.0, 1.0), "b": Estimate(0.0, 1.0)}
    outputs = {
        "a": lambda v: v["a"],
        "minus_a": lambda v: -v["a"],
        "b": lambda v: v["b"],
        "a_again": lambda v: v["a"],
    }
    found = propagate(same, outputs, readings, draws=20_000)

    assert found.joint_probability([("a", 0.0), ("a_again", 0.0)]) == pytest.approx(0.5, abs=0.01)
    assert found.joint_probability([("a", 0.0), ("b", 0.0)]) == pytest.approx(0.25, abs=0.01)
    assert found.joint_probability([("a", 0.5), ("minus_a", 0.5)]) == 0.0
    assert found.joint_probability([]) == 1.0


def test_sampled_and_first_order_outputs_share_their_draws() -> None:
    found = propagate(
        same, {"a": lambda v: v["a"], "square": lambda v: v["a"] ** 2}, {"a": Estimate(0.0, 1.0)}, draws=500
    )

    assert found.method("a") == "first order"
    assert found.method("square") == "second order"
    assert found.samples("square") == pytest.approx(found.samples("a") ** 2)


def test_the_same_seed_gives_the_same_answer_and_another_seed_another() -> None:
    def ask(seed: int) -> float:
        found = propagate(same, {"o": lambda v: abs(v["a"])}, {"a": Estimate(0.0, 1.0)}, seed=seed)
        return found.doubt("o")

    assert ask(20) == ask(20)
    assert ask(20) != ask(21)


def test_adding_a_reading_leaves_the_draws_of_the_others_alone() -> None:
    alone = propagate(same, {"a": lambda v: v["a"]}, {"a": Estimate(0.0, 1.0)})
    beside = propagate(same, {"a": lambda v: v["a"]}, {"b": Estimate(0.0, 1.0), "a": Estimate(0.0, 1.0)})

    assert np.array_equal(alone.samples("a"), beside.samples("a"))


def test_readings_of_different_names_move_independently() -> None:
    readings = {"a": Estimate(0.0, 1.0), "b": Estimate(0.0, 1.0)}
    found = propagate(same, {"a": lambda v: v["a"], "b": lambda v: v["b"]}, readings, draws=20_000)

    assert abs(np.corrcoef(found.samples("a"), found.samples("b"))[0, 1]) < 0.03


def test_draws_that_cannot_be_built_meet_no_limit_and_are_counted() -> None:
    def make(values: Values) -> float:
        if values["gap"] < 0.0:
            raise ValueError("the pieces overlap")
        return values["gap"]

    found = propagate(make, {"gap": float}, {"gap": Estimate(0.5, 1.0)}, draws=20_000)
    possible = 0.6915  # normal law at half a standard deviation, from memory

    assert found.method("gap") == "Monte Carlo"
    assert found.failed("gap") == pytest.approx(1.0 - possible, abs=0.01)
    assert found.probability_at_least("gap", -100.0) == pytest.approx(possible, abs=0.01)
    assert 0.0 < found.doubt("gap") < 1.0


def test_an_output_that_fails_when_a_reading_moves_does_not_spoil_the_others() -> None:
    outputs = {"root": lambda v: math.sqrt(v["a"]), "plain": lambda v: v["a"]}
    found = propagate(same, outputs, {"a": Estimate(0.1, 1.0)})

    assert found.failed("root") > 0.3
    assert (found.failed("plain"), found.method("plain")) == (0.0, "first order")
    assert found.joint_probability([("root", 0.0), ("plain", -100.0)]) == pytest.approx(
        1.0 - found.failed("root")
    )


def test_an_output_that_fails_at_the_readings_is_not_a_number_and_has_no_probability() -> None:
    outputs = {"root": lambda v: math.sqrt(v["a"]), "plain": lambda v: v["a"]}
    found = propagate(same, outputs, {"a": Estimate(-1.0, 0.1)})

    assert math.isnan(found.value("root"))
    assert math.isnan(found.doubt("root"))
    assert math.isnan(found.mean("root"))
    assert math.isnan(found.probability_at_least("root", 0.0))
    assert math.isnan(found.joint_probability([("plain", -100.0), ("root", 0.0)]))
    assert found.probability_at_least("plain", -100.0) == 1.0


def test_what_cannot_be_built_at_the_readings_is_the_callers_to_see() -> None:
    def make(_values: Values) -> Values:
        raise ValueError("no run without pieces")

    with pytest.raises(ValueError, match="no run"):
        propagate(make, {"a": lambda v: v["a"]}, {"a": Estimate(1.0, 0.1)})


def test_a_margin_without_limit_stays_without_limit() -> None:
    found = propagate(
        same, {"margin": lambda _v: math.inf}, {"a": Estimate(1.0, 0.1), "b": Estimate(1.0, 0.1)}
    )

    assert found.value("margin") == math.inf
    assert found.doubt("margin") == 0.0
    assert found.probability_at_least("margin", 5.0) == 1.0
    assert found.joint_probability([("margin", 5.0)]) == 1.0


def test_a_margin_that_is_endless_on_one_side_is_sampled() -> None:
    found = propagate(
        same, {"margin": lambda v: math.inf if v["a"] > 1.0 else 0.0}, {"a": Estimate(1.0, 0.1)}, draws=20_000
    )

    assert found.method("margin") == "Monte Carlo"
    assert found.probability_at_least("margin", 1.0) == pytest.approx(0.5, abs=0.02)
    assert found.failed("margin") == 0.0


def test_samples_cannot_be_changed_by_who_reads_them() -> None:
    found = propagate(same, {"a": lambda v: v["a"]}, {"a": Estimate(1.0, 0.1)})

    with pytest.raises(ValueError, match="read-only"):
        found.samples("a")[0] = 0.0


def test_too_few_draws_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 2"):
        propagate(same, {"a": lambda v: v["a"]}, {"a": Estimate(1.0, 0.1)}, draws=1)


@settings(max_examples=30, deadline=None)
@given(
    bore=st.floats(0.03, 0.12),
    bore_doubt=st.floats(0.0, 0.15),
    power=st.sampled_from([1.0, 2.0, -1.0, -2.0]),
    offset=st.sampled_from([0.0, 0.001, 0.02]),
    offset_doubt=st.floats(1e-4, 0.01),
)
def test_doubt_agrees_with_plain_monte_carlo_even_at_a_nominally_zero_offset(
    bore: float, bore_doubt: float, power: float, offset: float, offset_doubt: float
) -> None:
    readings = {
        "bore": Estimate(bore, bore * bore_doubt / 2.0),
        "across": Estimate(offset, offset_doubt),
        "up": Estimate(0.0, offset_doubt),
    }
    outputs = {
        "flow": lambda v: v["bore"] ** power,
        "offset": lambda v: math.hypot(v["across"], v["up"]),
        "both": lambda v: v["bore"] + math.hypot(v["across"], v["up"]),
    }
    found = propagate(same, outputs, readings, draws=5_000)

    own = np.random.default_rng(7)
    draw = {name: own.normal(one.value, one.doubt, 100_000) for name, one in readings.items()}
    hypot = np.hypot(draw["across"], draw["up"])
    expected = {"flow": draw["bore"] ** power, "offset": hypot, "both": draw["bore"] + hypot}

    for name, sample in expected.items():
        assert found.doubt(name) == pytest.approx(float(sample.std()), rel=0.1, abs=1e-12), name
        limit = float(np.quantile(sample, 0.2))
        if found.doubt(name) > 1e-12:
            assert found.probability_at_least(name, limit) == pytest.approx(0.8, abs=0.05), name


def test_tens_of_readings_and_outputs_are_carried_in_a_few_milliseconds() -> None:
    readings = {f"r{k}": Estimate(60.0, 0.1) for k in range(22)}
    outputs = {f"o{k}": lambda v, k=k: v[f"r{k % 22}"] ** 2 / v["r0"] for k in range(40)}
    found = propagate(same, outputs, readings)
    took = min(timeit.repeat(lambda: propagate(same, outputs, readings), number=1, repeat=7))

    assert all(found.method(out) == "first order" for out in outputs)
    assert found.bundles == 1 + 2 * 22 + PROBES
    assert took < 0.05, f"{took * 1000:.0f} ms; about 3 ms on the machine it was written on"
