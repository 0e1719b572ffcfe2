"""Where a function is nothing, for one number by Brent's method and for many at once by false position."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.measure.many import many, root


def test_one_and_many_come_to_the_same() -> None:
    """Square roots: the function falls, and its root lies inside the bracket."""
    numbers = np.array([1.0, 2.0, 3.0, 10.0])
    together = root(lambda x: many(numbers) - x**2, 0.0, 10.0)
    assert np.asarray(together) == pytest.approx(np.sqrt(numbers), rel=1e-12)
    for number in numbers:
        assert root(lambda x, number=number: number - x**2, 0.0, 10.0) == pytest.approx(number**0.5)  # type: ignore[misc]


def test_without_a_root_inside_it_is_the_end_that_is_nearest() -> None:
    assert root(lambda x: -1.0 - x, 0.0, 10.0) == 0.0
    assert root(lambda x: 100.0 - x, 0.0, 10.0) == 10.0
    ends = root(lambda x: many(np.array([-1.0, 100.0])) - x, 0.0, 10.0)
    assert np.asarray(ends) == pytest.approx([0.0, 10.0], abs=1e-9)


@given(
    hot=st.lists(st.floats(310.0, 1300.0), min_size=1, max_size=12),
    film=st.floats(0.0, 60.0),
    shield=st.floats(1e-10, 5.67e-8),
)
def test_a_heat_balance_comes_to_the_same_for_many(hot: list[float], film: float, shield: float) -> None:
    """What a surface gains by radiation it gives off to the air: its root by Brent's method is scipy's."""

    def left_over(temperature: float, source: float) -> float:
        return shield * (source**4 - temperature**4) - film * (temperature - 300.0)

    together = root(lambda t: left_over(t, many(np.array(hot))), 300.0, 1400.0)
    alone = [root(lambda t, source=source: left_over(t, source), 300.0, 1400.0) for source in hot]  # type: ignore[misc]
    assert np.asarray(together) == pytest.approx(alone, abs=1e-6)


@pytest.mark.parametrize("power", [1, 3, 9])
def test_a_function_that_is_flat_at_one_end_is_no_harder_than_by_halving(power: int) -> None:
    """Where false position without more would creep: roots of numbers, met exactly in some of the draws."""
    numbers = np.array([0.0, 0.1, 0.5, 1.0, 2.0, 5.0])
    looks = 0

    def falling(x: float) -> float:
        nonlocal looks
        looks += 1
        return many(numbers) - x**power  # type: ignore[no-any-return]

    together = root(falling, 0.0, 6.0)

    assert np.asarray(together) == pytest.approx(numbers ** (1.0 / power), rel=1e-9)
    assert looks < 100
