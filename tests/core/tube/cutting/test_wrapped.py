"""The wrap-round template, wrapped back round its pipe; and a flange's drilling pattern."""

from dataclasses import replace
from math import atan2, cos, degrees, hypot, pi, radians, sin, tan, tau

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from server.core.tube.centreline import lay_out
from server.core.tube.cutting.bench import benched
from server.core.tube.cutting.bolt_circle import BoltCircle, drilling, fault, notes
from server.core.tube.cutting.mitre import mitred_bend, unequal
from server.core.tube.cutting.pattern import Layer, Line
from server.core.tube.cutting.wrapped import BASE, STEPS, Slant, height, lobster_back, wrapped
from server.core.tube.run import Turn
from tests.core.tube.example_runs import run, tube

SLANT = Slant(0.0635, radians(22.5), 0.0001, 0.0016, mark=radians(90.0))


def outline(slant: Slant) -> Line:
    (found,) = [line for line in wrapped(slant, "t").lines if line.layer is Layer.CUT]
    return found


def test_wrapped_round_the_pipe_the_edge_lies_in_one_slanted_plane() -> None:
    """Seen from the square edge towards the cut the strip goes round clockwise, print outside; its edge is
    where the plane through the throat at the saw's angle meets the tube. Geometry."""
    slant = SLANT
    around = pi * (slant.outside + slant.paper)
    edge = [point for point in outline(slant).points if point[1] > 0.0]
    assert len(edge) == STEPS + 1
    for x, y in edge:
        angle = 2.0 * pi * x / around
        along = cos(angle) * slant.outside / 2.0
        assert y == pytest.approx(BASE + tan(slant.saw) * (slant.outside / 2.0 - along), abs=1e-12)


def test_the_strip_meets_itself_and_is_as_long_as_the_paper_asks() -> None:
    """π (63.5 + 0.1) = 199.805 mm."""
    points = outline(SLANT).points
    xs = [x for x, _ in points]
    assert max(xs) - min(xs) == pytest.approx(0.199805, abs=1e-6)
    starts = [y for x, y in points if x == 0.0]
    ends = [y for x, y in points if x == max(xs)]
    assert sorted(starts) == pytest.approx(sorted(ends))


def test_twelve_o_clock_stands_where_the_throat_is_said_to_be_from_it() -> None:
    """Throat a quarter clockwise from 12 o'clock: 12 o'clock is three quarters on from the throat."""
    pattern = wrapped(SLANT, "t")
    (note,) = [one for one in pattern.notes if one.text == "12 o'clock"]
    assert note.at[0] == pytest.approx(0.75 * 0.199805, abs=0.0011)
    assert any("90° from 12 o'clock" in text for text in pattern.told)
    assert any("wall 1.6 mm" in text and "0.3 mm of that for the paper" in text for text in pattern.told)


@pytest.mark.parametrize("roll", [0.0, 65.0, 200.0])
def test_wrapped_round_either_side_of_a_mitre_its_edge_lies_in_the_plane_of_the_joint(roll: float) -> None:
    """The edge put round the pipe, print outside: all in the plane that halves the turn."""
    turn = Turn(radians(roll), radians(40.0), 0.0, 0.0)
    first = replace(tube(1, outside_diameter=63.5, wall=1.6, length=200.0), turns=(turn,))
    line = lay_out(run((first, tube(2, outside_diameter=63.5, wall=1.6, length=150.0))))
    mitre = line.pieces[0].mitre_out
    assert mitre is not None
    halves = np.array(mitre.start.direction) + np.array(mitre.end.direction)
    ends = [end for one in benched(line, {}) for end in one.mitres]
    for end, pose, sense in zip(ends, (mitre.start, mitre.end), (1.0, -1.0), strict=True):
        towards, up = sense * np.array(pose.direction), np.array(pose.up)
        slant = Slant(0.0635, end.saw, mark=end.towards)
        for step in range(12):
            around = tau * step / 12.0
            # To the right on the strip is clockwise as one looks towards the cut.
            out = Rotation.from_rotvec((end.towards + around) * towards).apply(up)
            along = height(slant, around) - height(slant, 0.25 * tau)
            assert (0.03175 * out + along * towards) @ halves == pytest.approx(0.0, abs=1e-9)


def test_figures_stand_only_where_there_is_room_for_them() -> None:
    small, large = (wrapped(Slant(d, radians(15.0)), "t") for d in (0.012, 0.1))
    assert len(large.notes) - len(small.notes) >= 15
    assert not any("Small figures" in text for text in small.told)
    assert "10.2" not in [note.text for note in small.notes]
    assert "26.8" in [note.text for note in large.notes], "100 mm × tan 15°, half way round"


def test_one_template_marks_out_a_whole_bend() -> None:
    """The bend of pipingengineer.org: 75.8 to the first mark, 151.6 from each to the next."""
    told = " ".join(lobster_back(mitred_bend(0.273, radians(90.0), 4, 0.381)))
    assert "first cut 75.8 mm" in told
    assert "each next 151.6 mm" in told
    assert "half round" in told
    assert len(lobster_back(mitred_bend(0.06, radians(45.0), 1, 0.09))) == 1


def test_two_sizes_of_pipe_are_refused_with_a_cure() -> None:
    assert unequal(0.0635, 0.0640) is None
    why = unequal(0.0635, 0.0761)
    assert why is not None
    assert "63.5 mm and 76.1 mm" in why
    assert "reducer" in why


FLANGE = BoltCircle(4, 0.110, 0.0105, 0.0761, 0.140, radians(45.0))


def test_holes_go_clockwise_from_twelve_o_clock() -> None:
    for k, (x, y) in enumerate(FLANGE.centres):
        assert hypot(x, y) == pytest.approx(0.055)
        assert degrees(atan2(x, y)) % 360.0 == pytest.approx(45.0 + 90.0 * k)
    first, second = FLANGE.centres[:2]
    assert hypot(first[0] - second[0], first[1] - second[1]) == pytest.approx(FLANGE.pitch)
    assert FLANGE.pitch == pytest.approx(0.110 * sin(pi / 4))


def test_a_drilling_pattern_shows_every_hole_the_bore_and_the_rim() -> None:
    pattern = drilling(FLANGE, "t")
    cut = sorted(ring.radius for ring in pattern.rings if ring.layer is Layer.CUT)
    assert cut == pytest.approx([0.00525] * 4 + [0.03805, 0.070])
    assert fault(FLANGE) is None
    assert notes(FLANGE) == ()


def test_holes_that_run_into_something_are_told() -> None:
    assert "the bore" in (fault(BoltCircle(4, 0.08, 0.0105, 0.0761, 0.14)) or "")
    assert "the rim" in (fault(BoltCircle(4, 0.135, 0.0105, 0.0761, 0.14)) or "")
    assert "the next hole" in (fault(BoltCircle(36, 0.11, 0.0105, 0.0761, 0.14)) or "")
    assert "to the rim" in notes(BoltCircle(4, 0.127, 0.0105, 0.0761, 0.14))[0]
