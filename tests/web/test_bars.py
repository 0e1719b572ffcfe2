"""Bars along a run stand side by side under their limit, and the highest is called out."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as some

from server.web.bars import BOTTOM, LEFT, RIGHT, TOP, BarPlot, Measure, draw_bars

SPEEDS = some.lists(some.floats(0.0, 600.0), min_size=1, max_size=40)


def drawn(speeds: list[float], limit: float | None = 104.0) -> BarPlot:
    pieces = [Measure(number, speed, limit) for number, speed in enumerate(speeds, 1)]
    return draw_bars("Speed", "In words", "m/s", pieces, "63.8 m/s in piece 3", "limit, Mach 0.30")


@given(SPEEDS)
def test_bars_stand_in_order_inside_the_axes_and_as_high_as_their_value(speeds: list[float]) -> None:
    plot = drawn(speeds)
    assert len(plot.bars) == len(speeds)
    for bar in plot.bars:
        assert bar.x >= LEFT
        assert bar.x + bar.width <= RIGHT
        assert TOP <= bar.y <= BOTTOM
        assert abs(bar.y + bar.height - BOTTOM) < 0.06
    assert all(before.x + before.width < after.x for before, after in pairwise(plot.bars))
    assert [bar.highest for bar in plot.bars].count(True) == 1
    assert speeds[[bar.highest for bar in plot.bars].index(True)] == max(speeds)


@given(SPEEDS)
def test_numbers_stand_far_enough_apart_and_the_first_is_told(speeds: list[float]) -> None:
    told = [bar for bar in drawn(speeds).bars if bar.number]
    assert told[0].number == "1"
    assert all(after.middle - before.middle >= 16.9 for before, after in pairwise(told))


def test_the_limit_is_a_line_over_every_bar_it_holds_for() -> None:
    plot = drawn([40.0, 104.0])
    spots = [tuple(map(float, pair.split(","))) for pair in plot.limit.split()]
    assert [x for x, _ in spots] == [LEFT, 219.0, 219.0, RIGHT]
    assert {y for _, y in spots} == {plot.bars[1].y}, "a speed at its limit reaches the line"
    assert plot.limit_first, "its words keep clear of those of the highest bar"
    assert drawn([40.0], limit=None).limit == drawn([40.0], limit=None).limit_text == ""
