"""Which straight of a run each piece stands in, and the run as a bender works."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from server.core.tube.centreline import lay_out
from server.core.tube.run import RunPlan
from server.core.tube.straights import bend_table, straights_of
from tests.core.tube.example_runs import SEVEN, SINGLE, SOLID, THREE, bend, run


@pytest.mark.parametrize("plan", [SINGLE, THREE, SEVEN, SOLID])
def test_straights_and_arcs_add_up_to_the_run(plan: RunPlan) -> None:
    line = lay_out(plan)
    assert bend_table(line).developed == pytest.approx(line.length)


def test_every_piece_stands_in_its_straights() -> None:
    """Two bends, pieces 2 and 5, part three straights; each bend has a leg in the one before and after."""
    assert straights_of(lay_out(SEVEN)) == {
        1: (0,), 2: (0, 1), 3: (1,), 4: (1,), 5: (1, 2), 6: (2,), 7: (2,),
    }  # fmt: skip
    assert straights_of(lay_out(THREE)) == {1: (0,), 2: (0,), 3: (0,)}


@given(some.floats(-170.0, 170.0), some.floats(10.0, 120.0), some.floats(10.0, 120.0))
def test_rolls_and_angles_come_back(roll: float, first: float, second: float) -> None:
    sizes = {"outside_diameter": 60.0, "length": 80.0, "length_out": 50.0, "bend_radius": 90.0}
    table = bend_table(
        lay_out(run((bend(1, 0.0, bend_angle=first, **sizes), bend(2, roll, bend_angle=second, **sizes))))
    )
    assert [math.degrees(row.angle) for row in table.rows] == pytest.approx([first, second])
    assert math.degrees(table.rows[1].rotation) == pytest.approx(roll, abs=1e-6)
    assert table.rows[1].straight == pytest.approx(0.13)
