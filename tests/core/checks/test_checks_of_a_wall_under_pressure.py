"""Rule of a metal tube's wall under pressure, and the sum behind it."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.checks.cure import CureKind
from server.core.checks.register import rules_for
from server.core.checks.rule import Verdict
from server.core.checks.strength import (
    STRENGTHS,
    between,
    bore_stress,
    hoop_notes,
    hoop_stress,
    wall_fault,
)
from server.core.phrase import say
from server.core.tube.run import Origin, Place
from server.core.units import System
from tests.core.checks.runs import MM, charge_case, check, intake_case, sizes, with_piece, with_piece_sizes


def test_a_pipe_of_the_usual_wall_is_far_from_yielding() -> None:
    found = check(charge_case(), "hoop")
    assert found.verdict is Verdict.GO
    # 1.3 bar on 60 mm with 1.5 wall: 2.6 MPa
    assert "to 2.6 MPa" in say(found.phrase, System.metric)


def test_a_wall_of_foil_is_tight_and_a_thicker_one_cures_it() -> None:
    found = check(with_piece_sizes(charge_case(), 4, sizes(1e-6, wall=0.15)), "hoop")
    assert found.verdict is Verdict.TIGHT
    assert found.cure is not None
    assert (found.cure.kind, found.cure.variable) == (CureKind.NUMBER, "piece.4.wall")


def test_the_wall_of_a_pipe_that_is_there_is_as_it_is() -> None:
    thin = with_piece_sizes(charge_case(), 4, sizes(1e-6, wall=0.15))
    found = check(with_piece(thin, 4, origin=Origin.SALVAGED), "hoop")
    assert found.cure is not None
    assert found.cure.kind is CureKind.MOVE
    assert "in place of Tube (4)" in say(found.cure.phrase, System.metric)


def test_a_wall_that_would_yield_is_no_go() -> None:
    found = check(with_piece_sizes(charge_case(), 4, sizes(1e-6, wall=0.05)), "hoop")
    assert found.verdict is Verdict.NO_GO


def test_a_wall_that_comes_out_at_nothing_is_asked_for_and_never_passes() -> None:
    no_wall = with_piece_sizes(charge_case(), 4, sizes(wall=0.0))
    bore_over_outside = with_piece_sizes(charge_case(), 4, sizes(outside_diameter=60.0, bore=61.0), ("wall",))
    for case in (no_wall, bore_over_outside):
        found = check(case, "hoop")
        assert found.verdict is Verdict.NOT_MEASURED
        assert found.missing[0].variable == "piece.4.wall"


def test_the_usual_wall_stands_in_where_none_is_typed() -> None:
    without = with_piece_sizes(charge_case(), 4, sizes(outside_diameter=60.0), ("wall",))
    assert check(without, "hoop").verdict is Verdict.GO


def test_a_pipe_of_a_metal_that_nobody_named_is_not_measured() -> None:
    found = check(with_piece(charge_case(), 4, material=""), "hoop")
    assert found.verdict is Verdict.NOT_MEASURED
    assert say(found.phrase, System.metric) == "Say which metal Tube (4) is of."


def test_cast_iron_has_no_strength_here_and_plastic_is_no_metal() -> None:
    assert check(with_piece(charge_case(), 4, material="cast iron"), "hoop").verdict is Verdict.NOT_MEASURED
    told = check(with_piece(charge_case(), 4, material="plastic"), "hoop")
    assert {item.item for item in told.items} == {"piece.2"}


def test_the_reserve_may_be_changed_for_a_build() -> None:
    case = with_piece_sizes(charge_case(), 4, sizes(1e-6, wall=0.15))
    assert check(replace(case, limits={"hoop.reserve": 1.0}), "hoop").verdict is Verdict.GO


def test_only_pipes_under_boost_are_judged() -> None:
    assert "hoop" in {one.code for one in rules_for(Place.COOLER_PIPE)}
    assert "hoop" not in {one.code for one in rules_for(intake_case().plan.place)}


TUBES = st.tuples(st.floats(5.0, 500.0), st.floats(0.001, 0.499))


@given(TUBES, st.floats(0.0, 1e8))
def test_the_thin_wall_never_says_less_than_lame_at_the_bore(
    tube: tuple[float, float], pressure: float
) -> None:
    outside, share = tube[0] * MM, tube[1]
    thin, thick = (stress(outside, share * outside, pressure) for stress in (hoop_stress, bore_stress))
    assert thick <= thin * (1.0 + 1e-9)
    assert thin - thick <= 0.5 * pressure * (1.0 + 1e-6) + 1e-9 * thin


@given(TUBES)
def test_stress_goes_with_the_pressure_and_changes_sign_with_it(tube: tuple[float, float]) -> None:
    outside, wall = tube[0] * MM, tube[1] * tube[0] * MM
    assert hoop_stress(outside, wall, 2e5) == pytest.approx(2.0 * hoop_stress(outside, wall, 1e5))
    assert hoop_stress(outside, wall, -1e5) == -hoop_stress(outside, wall, 1e5)
    assert wall_fault(outside, wall) is None


def test_two_walls_that_leave_no_bore_are_no_tube() -> None:
    assert wall_fault(0.010, 0.005) is not None
    assert wall_fault(0.010, 0.0049) is None


def test_a_wall_that_is_not_thin_is_told_and_so_is_suction() -> None:
    assert hoop_notes(0.060, 0.0015, 1e5) == ()
    assert "not a thin wall" in hoop_notes(0.020, 0.002, 1e5)[0]
    assert "Suction" in hoop_notes(0.060, 0.0015, -1e5)[0]


@given(st.sampled_from(sorted(STRENGTHS)), st.floats(200.0, 700.0), st.floats(0.0, 50.0))
def test_metal_is_no_stronger_hot(name: str, temperature: float, more: float) -> None:
    cold, hot = (STRENGTHS[name].at(at) for at in (temperature, temperature + more))
    assert hot is None or (cold is not None and hot <= cold)


def test_nothing_is_told_beyond_the_table() -> None:
    assert STRENGTHS["aluminium"].at(600.0) is None
    with pytest.raises(ValueError, match="outside"):
        between(((0.0, 1.0), (1.0, 2.0)), 1.5)
