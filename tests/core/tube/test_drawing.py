"""The drawing of a run: true to scale, the right way round, readable, and told in words."""

import math
import re
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from server.core.tube.centreline import lay_out
from server.core.tube.drawing import BALLOON, WIDTH, Drawing, draw
from server.core.tube.run import PiecePlan, RunPlan, Turn
from server.core.tube.view import choose_view, poses_along
from server.core.units import System
from server.settings import PROJECT
from tests.core.tube.example_runs import (
    EMPTY,
    EXAMPLES,
    HALF_TYPED,
    SEVEN,
    SINGLE,
    SOLID,
    THREE,
    bend,
    bung,
    clamped,
    coupler,
    hose_elbow,
    port,
    reducer,
    run,
    tube,
    welded,
)

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
Point = tuple[float, float]
slower = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def path(drawing: Drawing, css: str) -> str:
    """The one path of a class."""
    (found,) = [one.d for one in drawing.paths if one.css == css]
    return found


def centre_points(drawing: Drawing) -> list[Point]:
    """Where each step of the centre line ends, the stubs' ends included."""
    steps = re.findall(r"([MLAQ])([^MLAQ]*)", path(drawing, "centre"))
    ends = [[float(word) for word in NUMBER.findall(text)][-2:] for _, text in steps]
    return [(x, y) for x, y in ends]


def balloon_centres(drawing: Drawing) -> list[Point]:
    return [(float(balloon.x), float(balloon.y)) for balloon in drawing.balloons]


def leaders(drawing: Drawing) -> list[tuple[Point, Point]]:
    found = re.findall(r"M(\S+) (\S+)L(\S+) (\S+?)(?=M|$)", path(drawing, "leader"))
    return [((float(a), float(b)), (float(c), float(d))) for a, b, c, d in found]


def plane_bend(number: int, turn: float, length: float, radius: float) -> PiecePlan:
    """A bend in the plane of the first; less than 0 turns to the other side from the one before."""
    return bend(
        number,
        180.0 if turn < 0.0 else 0.0,
        outside_diameter=60.0,
        length=length,
        length_out=length,
        bend_angle=abs(turn),
        bend_radius=radius,
    )


@st.composite
def any_runs(draw_one: st.DrawFn) -> RunPlan:
    """Runs of up to twelve pieces of any kind, joint by joint welded or clamped."""
    count = draw_one(st.integers(1, 12))
    size = st.floats(20.0, 400.0)
    pieces: list[PiecePlan] = []
    for number in range(1, count + 1):
        length, radius, roll = draw_one(size), draw_one(size), draw_one(st.floats(-180.0, 180.0))
        angle, bore = draw_one(st.floats(1.0, 180.0)), draw_one(st.floats(20.0, 110.0))
        tap = bung(number, "tap", length / 2.0, 10.0, angle / 15.0)
        made: list[PiecePlan] = [
            tube(number, (tap,), outside_diameter=bore, length=length),
            bend(number, roll, outside_diameter=bore, length=length, bend_angle=angle, bend_radius=radius),
            coupler(number, bore=bore, wall=4.5, length=length),
            hose_elbow(number, roll, bore=bore, length=length, bend_angle=angle, bend_radius=radius),
            reducer(number, bore=bore, bore_out=radius / 4.0, wall=4.5, length=length),
            coupler(number),
        ]  # fmt: skip
        pieces.append(draw_one(st.sampled_from(made)))
    joints = tuple(clamped(n, 18.0) if draw_one(st.booleans()) else welded(n) for n in range(count + 1))
    ends = draw_one(st.booleans())
    return run(
        tuple(pieces),
        joints,
        port(101, "compressor outlet", outside_diameter=60.0) if ends else None,
        port(102, "throttle body, lower side", outside_diameter=70.0) if ends else None,
    )


def test_a_mitre_is_drawn_along_the_plane_that_halves_its_turn() -> None:
    """Two tubes of 60 mm at 40°: their walls meet R tan 20° beyond and before the middle; geometry."""
    first = tube(1, outside_diameter=60.0, wall=1.5, length=200.0)
    mitred = replace(first, turns=(Turn(0.0, math.radians(40.0), 0.0, 0.0),))
    drawing = draw(run((mitred, tube(2, outside_diameter=60.0, wall=1.5, length=200.0))))
    one, other = ([float(n) for n in NUMBER.findall(p.d)] for p in drawing.paths if p.css == "wall")
    corners = [set(zip(numbers[::2], numbers[1::2], strict=True)) for numbers in (one, other)]
    shared = corners[0] & corners[1]
    assert len(shared) == 2, "both pieces end in the two points where their walls meet"
    assert math.dist(*shared) / drawing.scale == pytest.approx(0.060 / math.cos(math.radians(20.0)), abs=1e-3)
    assert len(corners[0]) == len(corners[1]) == 4
    assert drawing.length == "400 mm"


@given(
    turns=st.lists(
        st.tuples(st.floats(10.0, 100.0), st.booleans(), st.floats(40.0, 300.0), st.floats(40.0, 200.0)),
        min_size=1, max_size=4,
    )
)  # fmt: skip
@slower
def test_a_plane_run_is_drawn_to_one_scale_in_every_direction(
    turns: list[tuple[float, bool, float, float]],
) -> None:
    pieces = tuple(
        plane_bend(number, angle if left else -angle, length, radius)
        for number, (angle, left, length, radius) in enumerate(turns, start=1)
    )
    plan = run(pieces)
    drawing = draw(plan)
    true: list[tuple[float, float, float]] = []
    for line in lay_out(plan).pieces:
        true += [part.end.point for part in line.stretches]
    drawn = centre_points(drawing)[1:-1]
    assert len(drawn) == len(true)
    for (p, a), (q, b) in combinations(zip(true, drawn, strict=True), 2):
        assert math.dist(a, b) == pytest.approx(math.dist(p, q) * drawing.scale, abs=0.2)


@given(plan=any_runs())
@slower
def test_flow_goes_from_left_to_right(plan: RunPlan) -> None:
    line = lay_out(plan)
    poses = [pair for piece in line.pieces for pair in poses_along(piece)]
    view, _ = choose_view(line, poses, 300.0, 250.0)
    across, along = view.flat(line.end.point)
    assert across >= 0.49 * math.hypot(across, along)


@given(plan=any_runs())
@slower
def test_balloons_are_apart_on_the_sheet_and_one_for_each_piece(plan: RunPlan) -> None:
    drawing = draw(plan)
    centres = balloon_centres(drawing)
    assert [balloon.number for balloon in drawing.balloons] == [piece.number for piece in plan.pieces]
    for one, other in combinations(centres, 2):
        assert math.dist(one, other) > 2.0 * BALLOON
    top, height = float(drawing.top), float(drawing.height)
    for x, y in centres:
        assert BALLOON <= x <= WIDTH - BALLOON
        assert top + BALLOON <= y <= top + height - BALLOON


@given(plan=any_runs())
@slower
def test_every_run_gives_finite_sheet_numbers_and_a_line_of_words_for_each_piece(plan: RunPlan) -> None:
    drawing = draw(plan)
    text = " ".join(one.d for one in drawing.paths)
    assert not re.search(r"nan|inf|e[-+]", text)
    assert drawing.description.count(";") == len(plan.pieces) - 1
    assert len(drawing.keys) == sum(len(piece.bungs) for piece in plan.pieces)


@pytest.mark.parametrize("plan", [SEVEN, THREE, SOLID, HALF_TYPED, SINGLE])
def test_no_leader_crosses_a_balloon_or_another_leader_on_the_usual_runs(plan: RunPlan) -> None:
    drawing = draw(plan)
    centres = balloon_centres(drawing)
    for index, (start, end) in enumerate(leaders(drawing)):
        for other, centre in enumerate(centres):
            steps = [part / 40.0 for part in range(41)]
            near = min(
                math.dist(centre, (start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t))
                for t in steps
            )
            assert near >= BALLOON - 0.2 if index == other else near > BALLOON


def test_a_bend_to_the_left_goes_up_the_sheet_seen_from_above() -> None:
    left = centre_points(draw(run((plane_bend(1, 60.0, 100.0, 90.0),))))
    right = centre_points(draw(run((plane_bend(1, -60.0, 100.0, 90.0),))))
    assert left[-1][1] < left[0][1]
    assert right[-1][1] > right[0][1]


def test_a_bend_rolled_a_quarter_goes_up_the_sheet_seen_from_the_right() -> None:
    sizes = {
        "outside_diameter": 60.0,
        "length": 100.0,
        "length_out": 100.0,
        "bend_angle": 60.0,
        "bend_radius": 90.0,
    }
    up, down = (centre_points(draw(run((bend(1, roll, **sizes),)))) for roll in (90.0, -90.0))
    assert up[-1][1] < up[0][1]
    assert down[-1][1] > down[0][1]
    rise = [first[1] - point[1] for first, point in zip([up[0]] * len(up), up, strict=True)]
    fall = [point[1] - first[1] for first, point in zip([down[0]] * len(down), down, strict=True)]
    assert rise == pytest.approx(fall, abs=0.2)


def test_a_side_port_at_three_stands_on_the_right_hand_looking_with_the_flow() -> None:
    sizes = {
        "outside_diameter": 60.0,
        "length": 200.0,
        "length_out": 100.0,
        "bend_angle": 60.0,
        "bend_radius": 90.0,
    }
    plain = bend(1, **sizes)
    for hour, below in ((3.0, True), (9.0, False)):
        with_port = run(
            (
                PiecePlan(
                    1, 1, plain.kind, "bend", "steel", plain.sizes, bungs=(bung(1, "tap", 60.0, 12.0, hour),)
                ),
            )
        )
        drawing = draw(with_port)
        stub_y = float(NUMBER.findall(path(drawing, "bung"))[1])
        axis_y = centre_points(drawing)[0][1]
        assert (stub_y > axis_y) is below


def test_a_side_port_that_points_away_is_drawn_as_hidden() -> None:
    sizes = {
        "outside_diameter": 60.0,
        "length": 200.0,
        "length_out": 100.0,
        "bend_angle": 60.0,
        "bend_radius": 90.0,
    }
    plain = bend(1, **sizes)
    away = PiecePlan(
        1, 1, plain.kind, "bend", "steel", plain.sizes, bungs=(bung(1, "drain", 60.0, 12.0, 6.0),)
    )
    assert "a" in path(draw(run((away,))), "bung away")


def test_an_arc_in_the_plane_is_a_true_arc_with_both_walls_at_their_own_radius() -> None:
    elbow = bend(1, outside_diameter=60.0, length=50.0, length_out=50.0, bend_angle=90.0, bend_radius=100.0)
    drawing = draw(run((elbow,)))
    radii = sorted(float(one) for one in re.findall(r"A(\S+) ", path(drawing, "wall")))
    assert radii == pytest.approx([70.0 / 1000.0 * drawing.scale, 130.0 / 1000.0 * drawing.scale], abs=0.1)


def test_a_bend_tighter_than_its_tube_still_draws() -> None:
    elbow = bend(1, outside_diameter=60.0, length=50.0, length_out=50.0, bend_angle=90.0, bend_radius=20.0)
    radii = re.findall(r"A(\S+) ", path(draw(run((elbow,))), "wall"))
    assert len(radii) == 1


def test_a_leg_out_of_the_plane_is_told_in_words() -> None:
    notes = draw(SOLID).notes
    assert any("out of the page" in note and note.startswith("Piece 1:") for note in notes)
    assert draw(SEVEN).notes == ()


def test_a_stand_in_is_drawn_differently_and_told_in_words() -> None:
    drawing = draw(HALF_TYPED)
    assert "Piece 4 is drawn with a stand-in for its length." in drawing.notes
    assert sum("assumed" in one.css for one in drawing.paths) == 5
    assert drawing.length.startswith("about ")


def test_a_no_go_piece_is_told_by_shape_and_weight_and_word() -> None:
    drawing = draw(SEVEN, {5: "no-go", 7: "not measured", 3: "tight", 1: "go"})
    shapes = {balloon.number: (balloon.shape, balloon.css) for balloon in drawing.balloons}
    assert shapes[5] == ("square", "nogo")
    assert shapes[3] == ("house", "tight")
    assert shapes[7] == ("circle", "unmeasured")
    assert shapes[1] == ("circle", "")
    assert sum("nogo" in one.css for one in drawing.paths) == 1
    assert "5 hose elbow" in drawing.description
    assert ", no-go;" in drawing.description


@pytest.mark.parametrize("plan", [SEVEN, THREE, SOLID, HALF_TYPED, SINGLE])
def test_the_scale_bar_is_as_long_as_it_says(plan: RunPlan) -> None:
    drawing = draw(plan)
    length = float(NUMBER.findall(path(drawing, "scale"))[3])
    (label,) = [word.text for word in drawing.words if word.anchor == "start"]
    assert label.endswith(" mm")
    assert length == pytest.approx(float(label.removesuffix(" mm")) / 1000.0 * drawing.scale, abs=0.1)


def test_the_amounts_are_in_the_units_of_the_build() -> None:
    inch = draw(THREE, {}, System.inch)
    assert " mm" not in inch.description + " ".join(word.text for word in inch.words)
    assert "10.7" in inch.length


def test_an_empty_run_says_so() -> None:
    drawing = draw(EMPTY)
    assert drawing.description == "No pieces yet."
    assert [word.text for word in drawing.words] == ["No pieces yet"]


def environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(PROJECT / "templates"),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@pytest.mark.parametrize(("name", "plan", "verdicts"), EXAMPLES, ids=[name for name, _, _ in EXAMPLES])
def test_the_macro_and_the_include_write_the_same_accessible_svg(
    name: str, plan: RunPlan, verdicts: dict[int, str]
) -> None:
    drawing = draw(plan, verdicts)
    macro = '{% from "designs/drawing.html" import run_drawing %}{{ run_drawing(drawing) }}'
    include = '{% include "designs/drawing.html" %}'
    svg = environment().from_string(macro).render(drawing=drawing)
    assert environment().from_string(include).render(drawing=drawing).strip() == svg.strip(), name
    assert 'role="img"' in svg
    assert f">{drawing.title}</title>" in svg
    assert "style=" not in svg
    assert not re.search("(?<!&)#", svg), "a colour or a link stands in the drawing"


def test_names_are_escaped() -> None:
    plan = run(
        (tube(1, outside_diameter=60.0, length=100.0),), (), port(101, "<b>outlet", outside_diameter=60.0)
    )
    svg = environment().from_string('{% include "designs/drawing.html" %}').render(drawing=draw(plan))
    assert "<b>" not in svg


def test_ten_pieces_stay_small() -> None:
    tubes = [tube(number, outside_diameter=60.0, length=90.0) for number in (2, 4, 6, 8, 10)]
    hoses = [
        hose_elbow(
            n, 180.0, bore=60.0, wall=4.5, length=50.0, length_out=50.0, bend_angle=60.0, bend_radius=80.0
        )
        for n in (1, 3, 5, 7, 9)
    ]
    pieces = tuple(piece for pair in zip(hoses, tubes, strict=True) for piece in pair)
    ends = port(101, "compressor outlet", outside_diameter=60.0), port(102, "throttle", outside_diameter=60.0)
    drawing = draw(run(pieces, tuple(clamped(n) for n in range(11)), *ends))
    svg = environment().from_string('{% include "designs/drawing.html" %}').render(drawing=drawing)
    assert len(svg) - len(drawing.description) < 6500
