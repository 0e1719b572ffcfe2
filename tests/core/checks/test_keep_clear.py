"""What is kept free round a keep-out; the rules are common practice, the sums worked by hand."""

import pytest

from server.core.checks.keep_clear import kept_clear
from server.core.measure.estimate import Estimate
from server.core.tube.run import Frame, What
from server.core.tube.space.solids import Shape, Solid

ENGINE, BODY = frozenset({str(Frame.ENGINE)}), frozenset({str(Frame.BODY)})


def ball(what: What, frame: str = "", **more: float) -> Solid:
    """Its place is known exactly, its width to 6 mm: 3 mm of its surface."""
    numbers = {f"at_{axis}": Estimate(0.0) for axis in ("forward", "left", "up")}
    numbers |= {"across": Estimate(0.1, 0.006), "gap": Estimate(0.010)}
    return Solid(1, "It", what, Shape.BALL, frame, numbers | {k: Estimate(v) for k, v in more.items()})


def test_within_one_frame_doubt_alone_comes_to_the_gap() -> None:
    kept = kept_clear(ball(What.STARTER), ENGINE, {})
    assert kept.moves == 0.0
    assert kept.shape.gap == pytest.approx(0.010 + 2 * 0.003)


def test_between_frames_the_engine_moves() -> None:
    assert kept_clear(ball(What.STARTER), BODY, {}).moves == pytest.approx(0.015)
    assert kept_clear(ball(What.STARTER), BODY, {"gap.engine_moves": 0.025}).moves == pytest.approx(0.025)


def test_a_run_between_two_flexes_may_move_with_either_frame() -> None:
    assert kept_clear(ball(What.STARTER), ENGINE | BODY, {}).moves == pytest.approx(0.015)


def test_a_sweep_that_was_said_goes_before_what_is_usual() -> None:
    kept = kept_clear(ball(What.STEERING, moves=0.004), BODY, {})
    assert kept.moves == pytest.approx(0.004)
    assert kept.swept


def test_steering_without_its_sweep_is_told() -> None:
    assert not kept_clear(ball(What.STEERING), BODY, {}).swept


def test_what_nobody_said_the_frame_of_counts_as_moving() -> None:
    assert kept_clear(ball(What.OTHER), ENGINE, {}).moves == pytest.approx(0.015)


def test_the_doubt_of_the_pipes_own_place_counts_too() -> None:
    """3 and 4 mm are 5 mm together, twice that is kept."""
    assert kept_clear(ball(What.STARTER), ENGINE, {}, 0.004).shape.gap == pytest.approx(0.020)
