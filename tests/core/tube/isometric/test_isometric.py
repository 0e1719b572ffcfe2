"""The isometric drawing: never a mirror image, true lengths, helpers that add up, words side by side."""

import math
import re
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.tube.centreline import Triple, cross, lay_out
from server.core.tube.isometric.ghosts import ghost, near
from server.core.tube.isometric.looking import STANDS, Side, Stand
from server.core.tube.isometric.scene import Frame, Leg, Scene, helper, legs_of, scene
from server.core.tube.isometric.sheet import Sheet, sheet
from server.core.tube.isometric.words import CAR, RUN, described, leg_words
from server.core.tube.placing import Capsule, distance
from server.core.tube.run import RunPlan
from server.core.tube.space.keep_outs import Box, ball
from server.core.tube.space.keep_outs import Capsule as Bar
from server.core.tube.space.vectors import vector
from server.core.units import System
from tests.core.tube.example_runs import HALF_TYPED, SEVEN, SINGLE, SOLID, THREE, bend, run

AXES: tuple[Triple, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
TO_THE_LEFT = run(
    (
        bend(
            1, 0.0, outside_diameter=60.0, wall=1.5,
            length=110.0, length_out=210.0, bend_angle=90.0, bend_radius=90.0,
        ),
    ),
)  # fmt: skip
RUNS = {"three": THREE, "seven": SEVEN, "solid": SOLID, "half typed": HALF_TYPED, "single": SINGLE}


def drawn(plan: RunPlan, side: Side = Side.ISOMETRIC, frame: Frame | None = None) -> tuple[Scene, Sheet]:
    line = lay_out(plan)
    found = scene(plan, line, System.metric, frame or Frame())
    return found, sheet(found, side, RUN, System.metric, "title", described(found, RUN, System.metric))


def numbers(text: str) -> list[float]:
    return [float(one) for one in re.findall(r"-?\d+\.?\d*", text)]


def test_the_axes_run_as_a_right_hand_has_them() -> None:
    """Forward, left and up at 210, 330 and 90°, counter-clockwise, each as long: a mirror image would have
    the pipe welded the wrong way round. Axes 120° apart, √(2/3) of true: ISO 5456-3, from memory."""
    view = STANDS[Side.ISOMETRIC].view
    flat = [view.flat(axis) for axis in AXES]
    assert [round(math.degrees(math.atan2(y, x)) % 360.0, 6) for x, y in flat] == [210.0, 330.0, 90.0]
    assert [math.hypot(*one) for one in flat] == pytest.approx([math.sqrt(2.0 / 3.0)] * 3)


@given(st.floats(-math.pi, math.pi), st.floats(-math.pi / 2, math.pi / 2))
def test_no_view_is_ever_a_mirror_image(turn: float, rise: float) -> None:
    view = Stand("any", turn, rise).view
    assert cross(view.right, view.up) == pytest.approx(view.towards, abs=1e-9)


def test_the_square_views_stand_as_one_would_stand_at_the_car() -> None:
    """From above forward is to the right and left is up; from the right forward is to the right; from the
    front the car's left is to the right."""
    seen = {side: [STANDS[side].view.flat(axis) for axis in AXES] for side in Side}
    assert np.allclose(seen[Side.ABOVE], [(1, 0), (0, 1), (0, 0)], atol=1e-12)
    assert np.allclose(seen[Side.RIGHT], [(1, 0), (0, 0), (0, 1)], atol=1e-12)
    assert np.allclose(seen[Side.FRONT], [(0, 0), (1, 0), (0, 1)], atol=1e-12)


def test_a_bend_to_the_left_is_drawn_to_the_left_of_the_flow() -> None:
    """110 + 90 mm along to the corner, 90 + 210 mm to the left of that, worked by hand."""
    found, shown = drawn(TO_THE_LEFT)
    first, second = found.legs
    assert (first.length, second.length) == pytest.approx((0.2, 0.3))
    assert second.step == pytest.approx((0.0, 0.3, 0.0))
    ways = [numbers(path.d) for _, path in shown.runs]
    turns = sorted(
        round(math.degrees(math.atan2(way[1] - way[-1], way[-2] - way[0])) % 360.0) for way in ways
    )
    assert turns == [210, 270, 330], "along to the lower left, round, then left to the lower right"


def test_legs_go_from_corner_to_corner_and_end_where_the_run_ends() -> None:
    for plan in RUNS.values():
        line = lay_out(plan)
        legs = legs_of(line)
        end = np.sum([leg.step for leg in legs], axis=0)
        assert end == pytest.approx(line.end.point, abs=1e-12)
        assert len(legs) == 1 + sum(piece.piece.has_arc for piece in line.pieces)


def test_a_leaning_leg_is_told_by_components_that_add_up() -> None:
    """2, 3 and 6 to the side of a box of which 7 is the diagonal: whole numbers check it."""
    paths, labels = helper(Leg(1, (0.0, 0.0, 0.0), (0.2, 0.3, -0.6)), System.metric)
    assert [label.text for label in labels] == ["200", "300", "600"]
    assert sum(path.css == "hatch" for path in paths) == 10
    _, level = helper(Leg(1, (0.0, 0.0, 0.0), (0.3, 0.4, 0.0)), System.metric)
    assert [label.text for label in level] == ["300", "400"]
    _, upright = helper(Leg(1, (0.0, 0.0, 0.0), (0.0, 0.3, 0.4)), System.metric)
    assert sorted(label.text for label in upright) == ["300", "400"]


def test_legs_along_an_axis_need_no_helper() -> None:
    found, _ = drawn(SEVEN)
    assert all(leg.axis is not None for leg in found.legs)
    assert not any(path.css == "helper" for path in found.thin)
    assert any(path.css == "helper" for path in drawn(SOLID)[0].thin)


@pytest.mark.parametrize("name", ["three", "seven", "solid", "half typed", "single"])
def test_every_leg_has_its_true_length_and_no_two_words_overlap(name: str) -> None:
    found, shown = drawn(RUNS[name])
    texts = [word.text for word in shown.words]
    for leg in found.legs:
        if leg.length > 0.02:
            assert any(float(text) == pytest.approx(leg.length * 1e3, abs=0.06) for text in texts)
    assert len(shown.balloons) == len(RUNS[name].pieces)
    for one, other in combinations([room(word.transform, word.text) for word in shown.words], 2):
        assert distance(one, other) > 8.0, texts


def room(transform: str, text: str) -> Capsule:
    """What a word of 13 units covers: its middle line, from the way it was put."""
    x, y, turn = numbers(transform)
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    half = max(0.0, 3.6 * len(text) - 5.0)
    x, y = x + 8.0 * s, y - 8.0 * c
    return Capsule((x - c * half, y - s * half), (x + c * half, y + s * half), 4.0)


@pytest.mark.parametrize("side", list(Side))
def test_a_leg_is_as_long_on_the_sheet_as_geometry_has_it(side: Side) -> None:
    """Along an axis: true length, times the sheet's scale, times the axis' own picture."""
    _, shown = drawn(SEVEN, side)
    view = STANDS[side].view
    scale = float(shown.scale)
    for _, path in shown.runs:
        ends = numbers(path.points)
        step = np.array(ends[-3:]) - np.array(ends[:3])
        flat = numbers(path.d)
        across, down = flat[-2] - flat[0], flat[-1] - flat[1]
        x, y = view.flat((step[0], step[1], step[2]))
        assert (across, -down) == pytest.approx((x * scale, y * scale), abs=0.8)


def test_words_tell_every_leg() -> None:
    found, shown = drawn(SEVEN)
    assert shown.description.count("Leg ") == len(found.legs) == 3
    assert "then a bend of 90° on a radius of 90 mm" in shown.description
    assert leg_words(Leg(4, (0.0, 0.0, 0.0), (0.3, -0.4, 0.0)), CAR, System.metric) == (
        "Leg 4: 500 mm, 300 mm forward, 400 mm right"
    )


def test_in_the_car_a_run_stands_where_its_port_is_and_faces() -> None:
    """A port half a metre forward that faces left: along is the car's left, the run's left is rearward."""
    frame = Frame((0.5, 0.0, 0.2), ((0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    first, second = drawn(TO_THE_LEFT, frame=frame)[0].legs
    assert first.start == pytest.approx((0.5, 0.0, 0.2))
    assert first.step == pytest.approx((0.0, 0.2, 0.0))
    assert second.step == pytest.approx((-0.3, 0.0, 0.0))


def test_the_outline_of_a_keep_out_lies_on_its_skin() -> None:
    box = Box(vector([0.1, 0.0, 0.2]), vector([0.1, 0.2, 0.05]), np.eye(3), 0.02)
    bar = Bar(vector([0.0, 0.0, 0.0]), vector([0.3, 0.1, 0.0]), 0.03, 0.0)
    for shape, count in ((box, 6), (bar, 10), (ball(vector([0.2, 0.0, 0.0]), 0.05, 0.0), 5)):
        outline = ghost(shape)
        assert len(outline) == count
        points = np.array([point for path in outline for point in path.points])
        assert shape.distance(points) == pytest.approx(0.0, abs=1e-12)


def test_only_keep_outs_within_reach_are_drawn() -> None:
    shapes = [ball(vector([x, 0.0, 0.0]), 0.1, 0.0) for x in (0.0, 0.5, 2.0)]
    assert near(shapes, (0.0, 0.0, 0.0), 0.5) == tuple(shapes[:2])
