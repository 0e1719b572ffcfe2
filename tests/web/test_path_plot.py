"""A drawing along a path keeps inside its frame, and every name and value on it can be read."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as some

from server.web.path_plot import (
    LEFT,
    LOWER_BOTTOM,
    LOWER_TOP,
    RIGHT,
    UPPER_BOTTOM,
    UPPER_TOP,
    WIDTH,
    Axis,
    Leg,
    PathPlot,
    draw_path,
)

PRESSURE = Axis("pressure, kPa", "kPa", 1, 1.0, zero=True)
HEAT = Axis("temperature, °C", "°C", 0, 100.0)
PLACES = ("filter", "intake", "compressor", "charge pipe", "cooler", "cooler pipe", "throttle")


def drawn(levels: list[float], doubt: float = 0.0, sure: bool = True) -> PathPlot:
    """The seven places of the air's side, pressure from level to level."""
    legs = [
        Leg(
            place,
            number % 2 == 0,
            1.0 / len(PLACES),
            (levels[number], levels[number + 1]),
            (doubt, doubt),
            (25.0, 25.0),
            (0.0, 0.0),
            sure or number != 3,
            "" if sure or number != 3 else "no design yet",
        )
        for number, place in enumerate(PLACES)
    ]
    return draw_path("Air", "In words", legs, PRESSURE, HEAT)


def points(text: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in text.split())]


levels = some.lists(some.floats(-20.0, 400.0), min_size=8, max_size=8)


@given(levels, some.floats(0.0, 30.0))
def test_everything_lies_inside_its_panel(at: list[float], doubt: float) -> None:
    plot = drawn(at, doubt)
    for panel, top, bottom in (
        (plot.upper, UPPER_TOP, UPPER_BOTTOM),
        (plot.lower, LOWER_TOP, LOWER_BOTTOM),
    ):
        for line in (*panel.solid, *panel.dashed, panel.band):
            assert all(LEFT <= x <= RIGHT and top <= y <= bottom for x, y in points(line))
        assert all(top <= tick.at <= bottom for tick in panel.ticks)
        assert len(panel.ticks) >= 2


@given(levels)
def test_the_highest_and_the_lowest_value_are_called_out_and_none_covers_another(at: list[float]) -> None:
    plot = drawn(at)
    called = plot.upper.called
    assert called[0].text == PRESSURE.write(max(at))
    for number, one in enumerate(called):
        for other in called[number + 1 :]:
            wide = 3.9 * (len(one.text) + len(other.text))
            assert abs(one.text_x - other.text_x) > wide or abs(one.text_y - other.text_y) >= 14.0


def test_names_stand_apart_in_their_row_and_over_their_places() -> None:
    plot = drawn([0.0, -2.0, -2.5, 105.0, 103.0, 97.0, 96.0, 96.0])
    assert [name.text for name in plot.names] == [*PLACES[::2], *PLACES[1::2]]
    for row in (plot.names[:4], plot.names[4:]):
        edges = [(name.x - 3.3 * len(name.text), name.x + 3.3 * len(name.text)) for name in row]
        assert all(before[1] < after[0] for before, after in pairwise(edges))
        assert edges[0][0] >= 0.0
        assert edges[-1][1] <= WIDTH


def test_a_stretch_that_is_not_known_is_dashed() -> None:
    level = [0.0, -2.0, -2.5, 105.0, 105.0, 97.0, 96.0, 96.0]
    assert drawn(level).upper.dashed == ()
    plot = drawn(level, sure=False)
    assert len(plot.upper.dashed) == 1
    assert len(plot.upper.solid) == 2
    assert points(plot.upper.dashed[0])[0] == points(plot.upper.solid[0])[-1]
    (note,) = plot.notes
    assert points(plot.upper.dashed[0])[0][0] < note.x < points(plot.upper.dashed[0])[-1][0]
    assert (note.text, note.anchor) == ("no design yet", "start"), "under the curve, which is high here"


def test_what_is_not_known_is_not_called_out() -> None:
    at = [0.0, -2.0, -2.5, 105.0, 300.0, 97.0, 96.0, 96.0]
    assert drawn(at).upper.called[0].text == "300.0 kPa"
    plot = drawn([*at[:4], 105.0, *at[5:]], sure=False)
    assert plot.upper.called[0].text == "105.0 kPa"


def test_a_flat_line_stays_flat_and_is_told_once() -> None:
    panel = drawn([0.0] * 8).lower
    assert len({y for _, y in points(panel.solid[0])}) == 1
    assert [one.text for one in panel.called] == ["25 °C"]
    assert panel.zero is None


def test_values_are_written_with_a_proper_minus_and_no_minus_zero() -> None:
    assert PRESSURE.write(-2.51) == "−2.5 kPa"
    assert PRESSURE.write(-0.01) == "0 kPa"
    assert PRESSURE.write(105.64) == "105.6 kPa"
