"""Cut-backs, offsets, take-offs and hole spacing, compared with fitters' pages and tables."""

from math import hypot, radians, tan

import numpy as np
import pytest

from server.core.tube.cutting.bolt_circle import BoltCircle
from server.core.tube.cutting.mitre import mitred_bend, ordinates, saw_angle
from server.core.tube.cutting.offset import rolling_offset
from server.core.tube.space.bend_table import table_of
from tests.reference_values import Check, load


def found(check: Check) -> float:
    """What this project says, in the unit of the published value."""
    asked = check.inputs
    match check.subject:
        case "cut_back":
            bend = mitred_bend(asked["outside_mm"], radians(asked["bend_deg"]), asked["cuts"], 500.0)
            return 0.5 * (bend.segments[0].back - bend.segments[0].throat)
        case "offset.travel":
            return rolling_offset(0.0, asked["offset"], radians(asked["fitting_deg"])).travel
        case "offset.advance":
            return rolling_offset(0.0, asked["offset"], radians(asked["fitting_deg"])).advance
        case "chord":
            return BoltCircle(asked["holes"], 1.0, 0.01, 0.1, 2.0).pitch
        case "take_off":
            return take_off(asked["radius_mm"], radians(asked["angle_deg"]))
    raise AssertionError(check.subject)


def take_off(radius: float, angle: float) -> float:
    """What a bend takes off the leg before it: the corner's distance less the straight of the bend table."""
    leg = 1000.0
    corners = [np.zeros(3), np.array([leg, 0.0, 0.0])]
    corners.append(corners[1] + leg * np.array([np.cos(angle), np.sin(angle), 0.0]))
    return leg - table_of(corners, [radius]).rows[0].straight


@pytest.mark.parametrize("check", load("fabricating"), ids=str)
def test_agrees_with_published_values(check: Check) -> None:
    assert check.allows(found(check))


def test_the_cut_back_is_the_height_of_the_template_half_way_round() -> None:
    """The fitter of FAB-01 parts the pipe in eight: 0, 45, 90, 135, 180° from the throat, cut-back 22.50 mm
    either side of the middle. The parts between are the sine's own: 0.1464, 0.5, 0.8536 (from memory)."""
    heights = ordinates(168.0, saw_angle(radians(90.0), 3), 8)
    assert [y / 45.0 for y in heights[:5]] == pytest.approx([0.0, 0.1464, 0.5, 0.8536, 1.0], abs=5e-4)


def test_the_fitters_rolling_offset_is_the_one_that_goes_sideways_and_up() -> None:
    """Rise and roll come together as the sides of a right angle; 30 5/8 and 17 5/8 in give 35.3346 in:
    602apprentice.blogspot.com, rolling offsets."""
    both = rolling_offset(30.625, 17.625, radians(45.0))
    assert both.true_offset == pytest.approx(35.334561692485, abs=1e-9)
    assert both.travel == pytest.approx(hypot(30.625, 17.625) * 1.4142, abs=1e-3)
    assert both.advance * tan(radians(45.0)) == pytest.approx(both.true_offset)
