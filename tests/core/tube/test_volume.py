"""How much a run holds, beside plain geometry."""

from math import pi

import pytest

from server.core.tube.centreline import lay_out
from server.core.tube.volume import inside
from tests.core.tube.example_runs import run, tube


def test_a_metre_of_tube_holds_what_a_cylinder_does() -> None:
    """π/4 · 57² mm² · 1 m = 2.5518 l; 60 outside with a wall of 1.5 is 57 inside."""
    assert inside(lay_out(run((tube(1, bore=57.0, length=1000.0),)))) == pytest.approx(2.5518e-3, rel=1e-4)
    walled = run((tube(1, outside_diameter=60.0, wall=1.5, length=1000.0),))
    assert inside(lay_out(walled)) == pytest.approx(0.25 * pi * 0.057**2)


def test_a_run_without_pieces_holds_nothing() -> None:
    assert inside(lay_out(run(()))) == 0.0
