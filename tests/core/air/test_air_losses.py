"""Loss coefficients: against a reference library, at their limits, and what they say out of range."""

from math import degrees, pi, radians

import pytest
from fluids.fittings import contraction_conical_Crane, diffuser_conical
from hypothesis import given
from hypothesis import strategies as st

from server.core.air import losses

ratios = st.floats(0.3, 0.99)
half_angles = st.floats(0.02, pi / 2)


@given(ratios, half_angles)
def test_a_reducer_agrees_with_a_reference_library(ratio: float, half_angle: float) -> None:
    """Crane TP-410 through the fluids library, whose angle is the full one."""
    ours = losses.cone(0.076, 0.076 * ratio, half_angle).value
    theirs = contraction_conical_Crane(0.076, 0.076 * ratio, angle=degrees(2.0 * half_angle))
    assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-12)


@given(ratios, half_angles)
def test_a_diffuser_agrees_with_a_reference_library(ratio: float, half_angle: float) -> None:
    """Crane TP-410 through the fluids library."""
    ours = losses.cone(0.076 * ratio, 0.076, half_angle).value
    theirs = diffuser_conical(0.076 * ratio, 0.076, angle=degrees(2.0 * half_angle), method="Crane")
    assert ours == pytest.approx(theirs, rel=1e-9, abs=1e-12)


@given(ratios)
def test_a_cone_without_length_is_a_square_step(ratio: float) -> None:
    small, large = 0.076 * ratio, 0.076
    assert losses.step(small, large, pi / 2).value == pytest.approx(losses.step(small, large).value)
    assert losses.step(large, small, pi / 2).value == pytest.approx(losses.step(large, small).value)


@given(ratios, st.floats(0.02, pi / 8))
def test_a_gentle_cone_loses_less_than_a_square_step(ratio: float, half_angle: float) -> None:
    small, large = 0.076 * ratio, 0.076
    assert losses.step(small, large, half_angle).value < losses.step(small, large).value
    assert losses.step(large, small, half_angle).value < losses.step(large, small).value


def test_no_change_of_bore_loses_nothing() -> None:
    assert losses.step(0.06, 0.06).value == 0.0
    assert losses.step(0.06, 0.06, 0.1).value == 0.0


@pytest.mark.parametrize(("bore_in", "bore_out", "half_angle"), [(0.0, 0.06, None), (0.06, 0.07, 2.0)])
def test_a_step_that_cannot_be_is_refused(bore_in: float, bore_out: float, half_angle: float | None) -> None:
    with pytest.raises(ValueError, match="above"):
        losses.step(bore_in, bore_out, half_angle)


def test_the_friction_of_a_long_cone_is_near_that_of_a_tube_of_the_mean_bore() -> None:
    """Geometry: a cone from 60 to 62 mm beside a tube of 61 mm, both of one length and friction factor."""
    half_angle = radians(0.5)
    length = 0.001 / radians(0.5)
    tube = 0.02 * length / 0.061 * (0.060 / 0.061) ** 4
    assert losses.cone_friction(0.060, 0.062, half_angle, 0.02) == pytest.approx(tube, rel=2e-3)


def test_a_longer_radius_is_not_always_better() -> None:
    """Crane TP-410, page A-29: the loss of a 90 degree bend is least near a radius of 2 to 3 bores."""
    loss = {n: losses.smooth_bend(0.05248, pi / 2, n * 0.05248, 0.019).value for n in (1.0, 2.0, 3.0, 6.0)}
    assert loss[1.0] > loss[2.0] < loss[6.0]
    assert loss[1.0] > loss[3.0] < loss[6.0]


def test_more_joints_of_a_smaller_angle_lose_less() -> None:
    """Rennels & Hudson: sums of 2, 3, 4 and 6 joints for 90 degrees fall."""
    sums = [losses.mitre(pi / 2, joints).value for joints in (1, 2, 3, 4, 6)]
    assert sums == sorted(sums, reverse=True)


def test_one_mitre_costs_several_smooth_bends() -> None:
    """Crane TP-410, page A-29: 60 fT for the mitre, 14 fT for the bend of 1.5 bores: 4 to 5 times."""
    bend = losses.smooth_bend(0.0508, pi / 2, 1.5 * 0.0508, 0.0185).value
    assert 4.0 < losses.mitre(pi / 2).value / bend < 6.0


def test_half_the_angle_of_a_mitre_loses_much_less_than_half() -> None:
    """ASHRAE Fundamentals (1989), square mitred elbow: 45 degrees loses 28 % of 90 degrees."""
    share = losses.mitre(pi / 4).value / losses.mitre(pi / 2).value
    assert share == pytest.approx(0.28, abs=0.05)


def test_out_of_range_comes_with_a_note_and_an_unchanged_value() -> None:
    assert losses.smooth_bend(0.06, radians(200.0), 0.12, 0.02).notes
    assert losses.smooth_bend(0.06, radians(90.0), 0.02, 0.02).notes
    assert losses.mitre(radians(160.0)).notes
    assert losses.friction(3000.0, 0.0).notes
    assert losses.friction(1e5, 0.06).notes
    assert losses.smooth_bend(0.06, radians(90.0), 0.12, 0.02).notes == ()
    assert losses.friction(1e5, 1e-4).notes == ()


def test_slow_flow_has_the_laminar_friction_factor() -> None:
    """Hagen-Poiseuille: 64/Re."""
    assert losses.friction(1000.0, 1e-3).factor == pytest.approx(0.064)


@pytest.mark.parametrize(("reynolds", "roughness"), [(0.0, 0.0), (1e5, -1e-3)])
def test_friction_that_cannot_be_is_refused(reynolds: float, roughness: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        losses.friction(reynolds, roughness)


def test_a_loss_read_at_one_flow_comes_back_at_that_flow() -> None:
    """Definition of the loss coefficient."""
    coefficient = losses.typed_loss(2500.0, 0.2, 0.08, 1.2).value
    speed = 0.2 / (1.2 * pi * 0.08**2 / 4.0)
    assert coefficient * 0.5 * 1.2 * speed**2 == pytest.approx(2500.0)
    with pytest.raises(ValueError, match="above zero"):
        losses.typed_loss(2500.0, 0.0, 0.08, 1.2)


def test_a_mitred_bend_without_a_joint_is_refused() -> None:
    with pytest.raises(ValueError, match="joint"):
        losses.mitre(pi / 2, 0)
