"""Where a function is nothing, for one number by Brent's method and for many at once by halving."""

import numpy as np
import pytest

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
