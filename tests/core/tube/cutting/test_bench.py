"""What is done to each piece at the bench: marks, where the inside of a bend stands, what to leave long."""

import math
from itertools import pairwise

import pytest

from server.core.tube.centreline import lay_out
from server.core.tube.cutting.bench import Benched, benched, clock_of
from server.core.tube.cutting.bench_drawing import ROOM, bench_drawing, clock_words
from server.core.tube.run import RunPlan
from server.core.units import System
from tests.core.tube.example_runs import SEVEN, SOLID, bend, run


def bench_of(plan: RunPlan) -> tuple[Benched, ...]:
    return benched(lay_out(plan), {})


def test_marks_stand_where_hoses_reach_bends_begin_and_side_ports_are() -> None:
    """By hand: 60 mm leg, an arc of 90 mm through 90° of 141.4 mm, 60 mm leg; 30 mm of hose on each end."""
    _, elbow, _, straight, *_ = bench_of(SEVEN)
    assert elbow.length * 1e3 == pytest.approx(60.0 + 141.372 + 60.0, abs=1e-3)
    assert [round(mark.at * 1e3, 1) for mark in elbow.marks] == [30.0, 60.0, 201.4, 231.4]
    ports = [
        (round(mark.at * 1e3), mark.what, mark.clock) for mark in straight.marks if mark.clock is not None
    ]
    assert ports == [(90, "boost signal", pytest.approx(math.radians(270.0))), (170, "bypass valve", 0.0)]


@pytest.mark.parametrize(
    ("roll", "hour", "goes"), [(0.0, 270.0, (0, 1, 0)), (90.0, 0.0, (0, 0, 1)), (180.0, 90.0, (0, -1, 0))]
)
def test_the_inside_of_a_bend_is_on_the_side_that_it_turns_to(
    roll: float, hour: float, goes: tuple[int, int, int]
) -> None:
    """Along the flow 9 o'clock is to the left, 12 up, 3 to the right; a roll goes clockwise (ISO 8855)."""
    plan = run(
        (
            bend(
                1, roll, outside_diameter=60.0, wall=1.5,
                length=50.0, length_out=50.0, bend_angle=90.0, bend_radius=90.0,
            ),
        ),
    )  # fmt: skip
    (one,) = bench_of(plan)
    assert one.inside is not None
    assert math.degrees(one.inside) == pytest.approx(hour, abs=1e-9)
    assert lay_out(plan).end.direction == pytest.approx(goes, abs=1e-12)


def test_a_clock_counts_clockwise_along_the_flow() -> None:
    flow, up, right = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0)
    assert math.degrees(clock_of(right, up, flow)) == pytest.approx(90.0)
    assert clock_words(math.radians(315.0), System.metric) == "315° (half past 10)"
    assert clock_words(0.0, System.metric) == "0° (12 o'clock)"


def test_what_is_left_on_counts_only_for_what_is_sawn() -> None:
    coupler, elbow, *_ = benched(lay_out(SEVEN), {1: 0.004, 2: 0.005})
    assert (coupler.sawn, coupler.long_by) == (False, 0.0)
    assert (elbow.sawn, elbow.long_by) == (True, 0.005)


def test_figures_on_a_piece_never_meet() -> None:
    for plan in (SEVEN, SOLID):
        for one in bench_of(plan):
            drawing = bench_drawing(one, System.metric)
            rows: dict[str, list[float]] = {}
            for word in drawing.words[3:]:
                rows.setdefault(word.y, []).append(float(word.x))
            for places in rows.values():
                assert all(b - a >= ROOM - 0.11 for a, b in pairwise(places))
            assert len(drawing.words) == 3 + len(one.marks)
