"""A plot's axes carry round numbers, and everything drawn lies inside them."""

from hypothesis import given
from hypothesis import strategies as some

from server.web.plot import BOTTOM, LEFT, RIGHT, TOP, Curve, draw, round_scale

heights = some.floats(min_value=1e-3, max_value=1e4)


@given(low=some.floats(0.0, 1e4), span=some.floats(1e-3, 1e5), marks=some.integers(3, 10))
def test_a_scale_covers_its_range_with_about_as_many_marks_as_asked(
    low: float, span: float, marks: int
) -> None:
    scale = round_scale(low, low + span, marks)
    assert scale.low <= low * (1 + 1e-9)
    assert scale.high >= (low + span) * (1 - 1e-9)
    assert 2 <= len(scale.marks()) <= marks + 3


def test_marks_stand_at_numbers_that_are_easy_to_read() -> None:
    assert round_scale(0.0, 0.24, 5).marks() == (0.0, 0.05, 0.1, 0.15000000000000002, 0.2, 0.25)
    assert round_scale(1980.0, 6600.0, 6).marks() == (1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0, 7000.0)


@given(some.lists(heights, min_size=1, max_size=30))
def test_every_point_lies_inside_the_axes_and_the_highest_is_called_out(flows: list[float]) -> None:
    speeds = [1000.0 + 200.0 * number for number in range(len(flows))]
    curve = Curve("air, kg/s", speeds, flows)
    level = Curve("boost, bar", speeds, [0.0] * len(flows))
    plot = draw("air", "in words", "rpm", curve, level, speeds[-1], "redline", ("peak",))
    drawn = [tuple(map(float, pair.split(","))) for pair in plot.thick.split()]
    assert len(drawn) == len(flows)
    assert all(LEFT <= x <= RIGHT and TOP <= y <= BOTTOM for x, y in drawn)
    assert plot.peak.y == min(y for _, y in drawn)
