"""Gaps to what stands near a run: movement between frames, growth, and what is left; one case a verdict."""

from dataclasses import replace

import pytest

from server.core.checks.answer import Check, answer
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.gaps import frames_of, growth_to
from server.core.checks.near import NATURES, STANDS
from server.core.checks.rule import Verdict, may_concede
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import Frame, NeighbourPlan, Stood, Warmth, What
from server.core.units import System
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import MM, charge_case, check


def near(what: What, gap: float | None, piece: int = 3, **changes: object) -> NeighbourPlan:
    """Something beside a piece; its gap in millimetres, as a tape takes it."""
    sizes = {} if gap is None else {"gap": Estimate(gap * MM, 1.0 * MM)}
    return replace(NeighbourPlan(7, what, "The " + what.value, piece, sizes=sizes), **changes)  # type: ignore[arg-type]


def moving(one: NeighbourPlan, by: float) -> NeighbourPlan:
    """The same with a typed sweep in millimetres."""
    return replace(one, sizes={**one.sizes, "moves": Estimate(by * MM, 0.0)})


def beside(*some: NeighbourPlan) -> Case:
    """The downpipe with these near it: engine up to its flex (4), body behind it."""
    return downpipe_case(neighbours=some)


def told(found: Check) -> str:
    return say(found.phrase, System.metric)


def test_a_loom_with_room_is_go() -> None:
    assert check(beside(near(What.LOOM, 60.0)), "gap").verdict is Verdict.GO


def test_the_gap_asked_is_movement_and_growth_and_what_is_left() -> None:
    case = beside(near(What.LOOM, 60.0))
    facts = Facts.at_best(case)
    grown = growth_to(facts, case.plan.pieces[2])
    found = check(case, "gap").finding
    assert found is not None
    assert found.limit is not None
    assert found.limit == pytest.approx(15.0 * MM + grown + 10.0 * MM)
    assert 0.003 < grown < 0.012


def test_a_loom_that_is_close_but_does_not_touch_is_tight() -> None:
    assert check(beside(near(What.LOOM, 29.0)), "gap").verdict is Verdict.TIGHT


def test_a_loom_that_the_pipe_comes_to_touch_is_no_go_and_the_move_is_told() -> None:
    found = check(beside(near(What.LOOM, 18.0)), "gap")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert found.cure.variable == "neighbour.7.gap"
    assert "further from" in say(found.cure.phrase, System.metric)
    cured = beside(near(What.LOOM, 18.0)).with_size("neighbour.7.gap", found.cure.value or 0.0)
    assert check(cured, "gap").verdict is Verdict.GO


def test_what_touches_is_told_by_how_much_to_move_it() -> None:
    found = check(beside(near(What.LOOM, 0.0)), "gap")
    assert found.cure is not None
    assert "further apart" in say(found.cure.phrase, System.metric)


def test_without_a_gap_it_is_not_measured_and_the_gap_is_asked_for() -> None:
    found = check(beside(near(What.LOOM, None)), "gap")
    assert found.verdict is Verdict.NOT_MEASURED
    assert told(found) == "Measure the gap to The wiring loom."


def test_the_same_gap_to_a_brake_line_is_an_injury_rule_without_tight_or_concession() -> None:
    found = check(beside(near(What.BRAKE_LINE, 29.0)), "line-gap")
    assert found.verdict is Verdict.NO_GO
    assert not may_concede(found.rule)
    assert check(beside(near(What.BRAKE_LINE, 29.0)), "line-gap").items[0].tight_margin is None


def test_a_brake_line_with_room_is_go() -> None:
    assert check(beside(near(What.BRAKE_LINE, 60.0)), "line-gap").verdict is Verdict.GO


def test_only_movement_between_different_frames_counts() -> None:
    """Behind the flex the pipe moves with the body, as the loom does: 15 mm less are asked."""
    before, behind = (check(beside(near(What.LOOM, 60.0, piece)), "gap").finding for piece in (3, 5))
    assert before is not None
    assert behind is not None
    assert (behind.limit or 0.0) < (before.limit or 0.0) - 15.0 * MM
    facts = Facts.at_best(beside())
    pieces = facts.plan.pieces
    assert frames_of(facts, pieces[0]) == {"engine"}
    assert frames_of(facts, pieces[3]) == {"engine", "body"}
    assert frames_of(facts, pieces[4]) == {"body"}


def test_a_typed_sweep_goes_before_what_is_usual() -> None:
    usual, typed = (
        check(beside(one), "gap").finding
        for one in (near(What.LOOM, 60.0), moving(near(What.LOOM, 60.0), 25.0))
    )
    assert usual is not None
    assert typed is not None
    assert (typed.limit or 0.0) == pytest.approx((usual.limit or 0.0) + 10.0 * MM)


def test_a_gap_measured_hot_has_its_growth_in_it() -> None:
    cold, hot = (
        check(beside(near(What.LOOM, 60.0, warmth=warmth)), "gap").finding
        for warmth in (Warmth.COLD, Warmth.HOT)
    )
    assert cold is not None
    assert hot is not None
    assert hot.limit == pytest.approx(25.0 * MM)
    assert (cold.limit or 0.0) > 25.0 * MM


def test_what_swings_with_the_wheels_is_measured_at_ride_height_with_its_sweep() -> None:
    on_stands = near(What.STEERING, 60.0, stood=Stood.ON_STANDS)
    assert "measure at ride height" in told(check(beside(on_stands), "line-gap"))
    standing = replace(on_stands, stood=Stood.AT_RIDE_HEIGHT)
    assert "droop, ride height, bump and full lock" in told(check(beside(standing), "line-gap"))
    assert check(beside(moving(standing, 10.0)), "line-gap").verdict is Verdict.GO
    assert check(beside(moving(standing, 40.0)), "line-gap").verdict is Verdict.NO_GO


@pytest.mark.parametrize(
    ("gap", "verdict"), [(140.0, Verdict.GO), (80.0, Verdict.TIGHT), (3.0, Verdict.NO_GO)]
)
def test_the_ground_counts_at_ride_height(gap: float, verdict: Verdict) -> None:
    ground = near(What.GROUND, gap, 5, stood=Stood.AT_RIDE_HEIGHT, warmth=Warmth.HOT)
    ground = moving(ground, 10.0)
    assert check(beside(ground), "gap").verdict is verdict
    unsaid = replace(ground, stood=Stood.NOT_SAID)
    assert check(beside(unsaid), "gap").verdict is Verdict.NOT_MEASURED


def test_something_that_nobody_said_the_frame_of_is_not_measured() -> None:
    assert told(check(beside(near(What.OTHER, 60.0)), "gap")) == "Say what The something else moves with."
    said = near(What.OTHER, 60.0, frame=Frame.BODY)
    assert check(beside(said), "gap").verdict is Verdict.GO


def test_a_piece_that_is_out_of_the_run_is_asked_for_again() -> None:
    assert "out of the run" in told(check(beside(near(What.LOOM, 60.0, piece_id=None)), "gap"))


def test_a_hot_run_that_nobody_looked_along_is_not_measured() -> None:
    case = downpipe_case(looked_round=False)
    assert check(case, "line-gap").verdict is Verdict.NOT_MEASURED
    assert "line-gap" not in {one.rule.code for one in answer(downpipe_case()).checks}


def test_a_cold_run_with_nothing_near_has_nothing_to_say() -> None:
    codes = {one.rule.code for one in answer(charge_case()).checks}
    assert not codes & {"gap", "line-gap", "line-heat", "neighbour-heat"}


def test_a_charge_pipe_has_gaps_too_but_does_not_grow() -> None:
    case = charge_case()
    start, end = case.plan.start, case.plan.end
    assert start is not None
    assert end is not None
    loom = near(What.LOOM, 60.0, case.plan.pieces[1].id)
    start, end = replace(start, frame="engine"), replace(end, frame="body")
    plan = replace(case.plan, neighbours=(loom,), start=start, end=end)
    found = check(replace(case, plan=plan), "gap").finding
    assert found is not None
    assert found.limit == pytest.approx(25.0 * MM)


def test_every_kind_of_neighbour_has_what_is_usual_of_it() -> None:
    assert set(NATURES) == set(What)
    assert {one.material for one in NATURES.values()} - {"", "bare metal"} <= set(STANDS)
