"""Keep-outs as measured: distances worked by hand."""

import math

import numpy as np
import pytest

from server.core.measure.estimate import Estimate
from server.core.tube.run import What
from server.core.tube.space.solids import Shape, Solid


def solid(shape: Shape, doubt: float = 0.001, **sizes: float) -> Solid:
    numbers = {name: Estimate(value, doubt) for name, value in sizes.items()}
    return Solid(1, "Starter motor", What.STARTER, shape, "", {"gap": Estimate(0.01)} | numbers)


def test_a_bar_is_a_capsule_of_half_its_width() -> None:
    bar = solid(
        Shape.CAPSULE,
        at_forward=0.0,
        at_left=0.0,
        at_up=0.0,
        to_forward=0.4,
        to_left=0.0,
        to_up=0.0,
        across=0.1,
    )
    shape = bar.keep_out(0.005)
    assert shape.gap == pytest.approx(0.015)
    assert shape.distance(np.array([[0.2, 0.15, 0.0], [0.5, 0.0, 0.0]])) == pytest.approx([0.1, 0.05])


def test_a_ball_is_told_by_how_wide_it_is() -> None:
    shape = solid(Shape.BALL, at_forward=0.1, at_left=0.0, at_up=0.0, across=0.06).keep_out()
    assert shape.distance(np.array([0.0, 0.0, 0.0])) == pytest.approx(0.07)


def test_a_box_is_turned_from_forward_towards_the_left() -> None:
    """400 long, turned by a quarter: it reaches 200 to the left, and 50 forward."""
    box = solid(
        Shape.BOX, at_forward=0.0, at_left=0.0, at_up=0.0, long=0.4, wide=0.1, high=0.1, turned=math.pi / 2.0
    )
    points = np.array([[0.0, 0.3, 0.0], [0.15, 0.0, 0.0]])
    assert box.keep_out().distance(points) == pytest.approx([0.1, 0.1])


def test_the_doubt_is_that_of_place_and_size() -> None:
    """3 mm of place and half of 8 mm of width: 5 mm."""
    numbers = {"at_forward": Estimate(0.0, 0.003), "at_left": Estimate(0.0), "at_up": Estimate(0.0)}
    numbers |= {"across": Estimate(0.1, 0.008), "gap": Estimate(0.01)}
    one = Solid(1, "Hose", What.HOSE, Shape.BALL, "", numbers)
    assert one.doubt == pytest.approx(0.005)
