"""A gap means something only with its conditions; a mock-up is a reading too."""

import pytest

from server.core.measure.conditions import (
    GapConditions,
    MockUp,
    MockUpOutcome,
    SeenFrom,
    Stance,
    Warmth,
    fits,
    short_by,
    touches_at,
)


def test_what_was_not_said_is_asked_for() -> None:
    assert GapConditions().missing == ("how the car stood", "engine cold or hot", "seen from where")
    assert GapConditions(Stance.ride_height, Warmth.cold, SeenFrom.below).missing == ()


def test_what_was_said_reads_in_one_line() -> None:
    seen = GapConditions(Stance.on_stands, Warmth.cold, by_camera=True)

    assert seen.label == "on stands, wheels hanging; engine cold; through a camera"
    assert GapConditions().label == "conditions not stated"


def test_only_a_mock_up_that_fits_settles_a_length() -> None:
    assert fits().settles_length
    assert not touches_at("brake servo hose").settles_length
    assert not short_by(0.015).settles_length


def test_a_mock_up_that_touches_names_what_it_touches() -> None:
    assert touches_at("starter motor").where == "starter motor"
    with pytest.raises(ValueError, match="what it touches"):
        touches_at("  ")


@pytest.mark.parametrize("amount", [0.0, -0.01, float("nan"), float("inf")])
def test_a_mock_up_that_is_short_says_by_how_much(amount: float) -> None:
    assert short_by(0.015).amount == 0.015
    with pytest.raises(ValueError, match="by how much"):
        short_by(amount)
    with pytest.raises(ValueError, match="by how much"):
        MockUp(MockUpOutcome.short)
