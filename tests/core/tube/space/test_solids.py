"""Keep-outs as arrays beside the same keep-outs one by one."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from server.core.tube.space.keep_outs import Box, Capsule, KeepOut, ball, room, solids
from server.core.tube.space.vectors import vector

TURNED = Rotation.from_euler("xyz", [20, -35, 50], degrees=True).as_matrix()
SHAPES: tuple[KeepOut, ...] = (
    ball(vector([0.2, 0.1, 0.0]), 0.05, 0.01),
    Capsule(vector([0.0, -0.2, 0.1]), vector([0.3, 0.3, -0.1]), 0.02, 0.0),
    Box(vector([-0.1, 0.2, 0.3]), vector([0.05, 0.1, 0.2]), TURNED, 0.015),
)


def test_room_in_one_pass_is_the_room_beside_each() -> None:
    points = np.random.default_rng(3).uniform(-0.5, 0.5, (500, 3))
    left = solids(SHAPES).room(points.T[:, None], 0.03)
    for one, shape in zip(left, SHAPES, strict=True):
        assert one == pytest.approx(shape.distance(points) - shape.gap - 0.03, abs=1e-12)
    assert left.min(axis=1) == pytest.approx(room(points, SHAPES, 0.03), abs=1e-12)
