"""Corners to bend table and back, compared with a bender's arithmetic and with a reference library."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from server.core.tube.space.bend_table import BendRow, BendTable, NoPipe, corners_of, table_of
from server.core.tube.space.vectors import Vector, vector

Corners = list[list[float]]

THREE_BENDS = BendTable(
    (
        BendRow(0.100, 0.0, math.radians(90.0), 0.1),
        BendRow(0.120, math.radians(60.0), math.radians(45.0), 0.1),
        BendRow(0.090, math.radians(-45.0), math.radians(30.0), 0.1),
    ),
    0.150,
)


def points(corners: Corners) -> list[Vector]:
    return [vector(corner) for corner in corners]


def test_a_table_gives_the_corners_of_a_reference_library() -> None:
    """Corners worked with scipy.spatial.transform.Rotation from the same table."""
    told = [1e3 * corner for corner in corners_of(THREE_BENDS)]
    wanted = [
        (0.0, 0.0, 0.0), (200.0, 0.0, 0.0), (200.0, 261.421, 0.0), (144.062, 373.297, 96.887),
        (13.698, 437.363, 197.671),
    ]  # fmt: skip
    assert np.allclose(told, wanted, atol=1e-3)
    assert 1e3 * THREE_BENDS.developed == pytest.approx(747.9793, abs=1e-3)


def test_mirrored_rotations_are_the_mirrored_pipe() -> None:
    rows = tuple(BendRow(r.straight, -r.rotation, r.angle, r.radius) for r in THREE_BENDS.rows)
    mirrored = corners_of(BendTable(rows, THREE_BENDS.last_straight))
    assert np.allclose(mirrored, np.array(corners_of(THREE_BENDS)) * (1.0, 1.0, -1.0))


def test_a_square_bend_takes_off_its_radius() -> None:
    """Legs of 300 and 200 mm to the corner, radius 114.3 mm: straights 185.7 and 85.7, developed 450.942 mm
    (tube-bending arithmetic, worked with numpy)."""
    table = table_of([vector([0, 0, 0]), vector([0.3, 0, 0]), vector([0.3, 0, 0.2])], [0.1143])
    assert [1e3 * table.rows[0].straight, 1e3 * table.last_straight] == pytest.approx([185.7, 85.7])
    assert 1e3 * table.developed == pytest.approx(450.942, abs=1e-3)


@st.composite
def pipes(draw: st.DrawFn) -> BendTable:
    """A pipe of one to six bends, none so slight that its plane is lost in rounding."""
    angles, lengths = st.floats(0.02, math.pi - 0.05), st.floats(0.001, 1.5)
    count = draw(st.integers(1, 6))
    rows = tuple(
        BendRow(
            draw(lengths),
            draw(st.floats(-3.14, 3.14)) if at else 0.0,
            draw(angles),
            draw(st.floats(0.01, 0.3)),
        )
        for at in range(count)
    )
    return BendTable(rows, draw(lengths))


@given(
    pipes(),
    st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3),
    st.lists(st.floats(-2, 2), min_size=3, max_size=3),
)
def test_points_to_table_to_points_returns_whatever_the_orientation(
    pipe: BendTable, rotation: list[float], moved: list[float]
) -> None:
    """Within 1e-6 mm, of pipes that stand anywhere."""
    turned = Rotation.from_rotvec(rotation)
    corners: list[Vector] = [turned.apply(corner) + moved for corner in corners_of(pipe)]
    table = table_of(corners, [row.radius for row in pipe.rows])
    way = corners[1] - corners[0]
    way /= np.linalg.norm(way)
    normal = np.cross(way, corners[2] - corners[1])
    normal /= np.linalg.norm(normal)
    again = corners_of(table, corners[0], way, normal)
    assert np.abs(np.array(again) - corners).max() < 1e-9
    assert table.developed == pytest.approx(pipe.developed, abs=1e-9)


def test_half_a_turn_between_planes_is_always_the_positive_one() -> None:
    """An S: the second bend lies in the plane of the first and turns the other way."""
    corners = points([[0, 0, 0], [0.3, 0, 0], [0.6, 0.3, 0], [0.9, 0.3, 0]])
    assert table_of(corners, [0.05, 0.05]).rows[1].rotation == pytest.approx(math.pi)
    mirrored = [corner * (1.0, -1.0, 1.0) for corner in corners]
    assert table_of(mirrored, [0.05, 0.05]).rows[1].rotation == pytest.approx(math.pi)


def test_a_corner_without_a_turn_leaves_the_plane_of_the_last_bend() -> None:
    corners = points([[0, 0, 0], [0.3, 0, 0], [0.3, 0.3, 0], [0.3, 0.5, 0], [0.3, 0.5, 0.3]])
    table = table_of(corners, [0.05, 0.05, 0.05])
    assert [round(math.degrees(row.rotation), 6) for row in table.rows] == [0.0, 0.0, 90.0]
    assert np.allclose(corners_of(table), corners)


def test_arcs_that_overlap_leave_a_straight_under_nothing() -> None:
    corners = points([[0, 0, 0], [0.3, 0, 0], [0.3, 0.1, 0], [0.6, 0.1, 0]])
    assert table_of(corners, [0.08, 0.08]).rows[1].straight == pytest.approx(-0.06)


@pytest.mark.parametrize(
    ("corners", "at", "why"),
    [
        ([[0, 0, 0], [0, 0, 0], [1, 0, 0]], 1, "same place"),
        ([[0, 0, 0], [1, 0, 0], [0.5, 0, 0]], 1, "right back"),
    ],
)
def test_what_is_no_pipe_names_its_corner(corners: Corners, at: int, why: str) -> None:
    with pytest.raises(NoPipe, match=why) as told:
        table_of(points(corners), [0.05])
    assert told.value.at == at


def test_half_a_turn_in_one_bend_has_no_corner() -> None:
    with pytest.raises(NoPipe, match="two bends") as told:
        corners_of(BendTable((BendRow(0.1, 0.0, math.pi, 0.1),), 0.1))
    assert told.value.at == 0
