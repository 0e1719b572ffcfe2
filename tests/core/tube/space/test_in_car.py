"""A run in car axes: its points are where its poses are, and no further apart than asked."""

import math
from dataclasses import replace

import numpy as np
import pytest

from server.core.tube.centreline import lay_out
from server.core.tube.run import PiecePlan, Turn
from server.core.tube.space.in_car import in_car
from server.core.tube.space.poses import LEFT, Facing, Place, PortPose, run_axes
from server.core.tube.space.vectors import Vector, vector
from tests.core.tube.example_runs import bend, run, tube

FIVE, STEP = math.radians(5.0), 0.008
START = PortPose(Place(vector((1.0, 2.0, 0.5)), vector((0.0, 0.0, 0.0))), Facing(LEFT, FIVE, FIVE))


def straight(number: int) -> PiecePlan:
    return tube(number, outside_diameter=60.0, wall=1.5, length=150.0)


def bent(number: int, roll: float = 0.0) -> PiecePlan:
    """By 60° at a radius of 90 mm, after a leg of 40 mm; the piece ends where its arc does."""
    sizes = {"outside_diameter": 60.0, "wall": 1.5, "length": 40.0, "length_out": 0.0}
    return bend(number, roll, bend_angle=60.0, bend_radius=90.0, **sizes)


def in_the_car(point: tuple[float, float, float]) -> Vector:
    """A point of a run that leaves a port facing left [m]."""
    return START.place.point + vector(point) @ run_axes(LEFT)


def test_the_points_of_a_run_that_leaves_its_plane_lie_on_its_centre_line() -> None:
    """The second bend is rolled, so that nothing lies in one plane."""
    line = lay_out(run((straight(1), bent(2), bent(3, roll=50.0), straight(4))))
    for piece, told in zip(line.pieces, in_car(line, START, STEP), strict=True):
        assert np.linalg.norm(np.diff(told.points, axis=0), axis=1).max() <= STEP + 1e-12
        assert told.points[0] == pytest.approx(in_the_car(piece.start.point))
        assert told.points[-1] == pytest.approx(in_the_car(piece.end.point))
        for arc in piece.arcs:
            half_way = np.linalg.norm(told.points - in_the_car(arc.pose_at(0.5 * arc.length).point), axis=1)
            from_centre = np.linalg.norm(told.points - in_the_car(arc.centre), axis=1)
            assert half_way.min() <= 0.5 * STEP
            assert from_centre.min() == pytest.approx(arc.radius)


def test_a_mitre_is_a_corner_of_the_run() -> None:
    """150 mm along to the corner, 50 mm on after it."""
    sawn = replace(straight(1), turns=(Turn(0.0, math.radians(45.0), 0.0, 0.05),))
    line = lay_out(run((sawn,)))
    (told,) = in_car(line, START, STEP)
    corner = np.linalg.norm(told.points - in_the_car((0.15, 0.0, 0.0)), axis=1)
    assert corner.min() == pytest.approx(0.0, abs=1e-12)
    assert told.points[-1] == pytest.approx(in_the_car(line.end.point))
    assert np.linalg.norm(told.points[-1] - in_the_car((0.15, 0.0, 0.0))) == pytest.approx(0.05)
