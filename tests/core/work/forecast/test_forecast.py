"""The forecast against a plain simulation, against published distributions, and against its own plan."""

from dataclasses import replace
from itertools import pairwise
from time import process_time

import numpy as np
import pytest
from scipy.stats import lognorm

from server.core.work.forecast.chosen import before, chosen
from server.core.work.forecast.foresee import (
    DAY,
    Delivery,
    Doubts,
    Driver,
    Forecast,
    Kind,
    Risk,
    _inputs,
    _through,
    forecast,
)
from server.core.work.forecast.lead_time import LeadTime, lead_time
from server.core.work.forecast.replay import replayed
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.problem import Activity, Problem, Resource, Use, Window
from server.core.work.plan.search import plan
from server.core.work.tasks import After
from tests.core.work.forecast.plain_simulation import simulated
from tests.open_cases import open_cases
from tests.plan_rules import drawn_problem, evenings_of_work
from tests.reference_values import Check, load

DRAWN = 1500
"""Draws of the plain simulation."""
BUILDER = (Use("builder"),)
BOTH = (Use("builder"), Use("helper"))


def garage() -> tuple[Problem, Doubts]:
    """Eight tasks over evenings and two visits, two parcels and a cut that may fail."""
    estimates = {
        at: ThreePoint(*three)
        for at, three in {
            1: (30, 60, 150),
            2: (20, 40, 120),
            3: (60, 90, 240),
            4: (10, 15, 60),
            5: (30, 45, 75),
            6: (45, 60, 100),
            7: (20, 30, 90),
            8: (15, 30, 45),
        }.items()
    }
    after = {2: (1,), 3: (1,), 4: (2,), 5: (3, 4), 6: (5,), 7: (2,), 8: (6, 7)}
    activities = tuple(
        Activity(
            at,
            round(estimate.mean),
            tuple(After(other, 600 if other == 4 else 0) for other in after.get(at, ())),
            BOTH if at == 6 else BUILDER,
            not_before={3: 3 * DAY, 7: 4 * DAY}.get(at, 0),
            splits=at in (1, 3, 7),
        )
        for at, estimate in estimates.items()
    )
    evenings = tuple(Window(day * DAY, day * DAY + 150) for day in range(60))
    visits = tuple(Window(day * DAY, day * DAY + 200) for day in range(5, 60, 3))
    problem = Problem(activities, (Resource("builder", evenings), Resource("helper", visits)))
    parcels = (
        Delivery(1, (3,), 3 * DAY, LeadTime(4.0, 0.5), waited=2.0),
        Delivery(2, (7,), 4 * DAY, LeadTime(3.0, 0.3), waited=-1.0),
    )
    return problem, Doubts(estimates, parcels, (Risk(1, 3, 0.2, 60, DAY),))


def test_quantiles_agree_with_a_plain_simulation() -> None:
    problem, doubts = garage()
    schedule = plan(problem)
    ours = forecast(problem, schedule, doubts, draws=4000)
    plain = simulated(problem, schedule, doubts, DRAWN, seed=11)
    for share in (0.2, 0.5, 0.8, 0.95):
        # The plain quantile's own rank is in doubt by three standard deviations of a binomial.
        doubt = 3 * np.sqrt(share * (1 - share) * (1 / DRAWN + 1 / 4000))
        low, high = (plain[int(DRAWN * at)] for at in (share - doubt, min(share + doubt, 0.999)))
        end = ours.by(share)
        assert end is not None
        assert low <= end <= high, f"{share}: {end} is not within {low} to {high}"


@pytest.mark.parametrize("check", load("forecast"), ids=str)
def test_a_network_is_forecast_as_independent_draws_have_it(check: Check) -> None:
    scale = 1000
    """Whole minutes stand for thousandths of a week."""
    numbers = {name: at for at, name in enumerate(check.inputs["estimates"])}
    estimates = {
        numbers[name]: ThreePoint(*(scale * one for one in three))
        for name, three in check.inputs["estimates"].items()
    }
    after = check.inputs["after"]
    activities = tuple(
        Activity(at, round(estimates[at].mean), tuple(After(numbers[one]) for one in after[name]))
        for name, at in numbers.items()
    )
    problem = Problem(activities)
    found = forecast(problem, plan(problem), Doubts(estimates), draws=20_000)
    ends = np.array(found.ends) / scale
    got = {"mean": ends.mean(), "sd": ends.std(), "P47": (ends <= 47).mean()}[check.inputs["of"]]
    assert check.allows(float(got))


def test_without_spread_every_draw_is_the_plan() -> None:
    for seed in range(150):
        problem = drawn_problem(seed)
        schedule = plan(problem, 15, seed)
        if not schedule.placed:
            continue
        certain = {one.id: ThreePoint(one.minutes, one.minutes, one.minutes) for one in problem.activities}
        found = forecast(problem, schedule, Doubts(certain), draws=3)
        assert set(found.ends) == {schedule.makespan}, f"problem {seed}"
        assert (found.likely, found.safe, found.drivers) == (schedule.makespan, schedule.makespan, ())
        finishes = replayed(chosen(problem, schedule), 2, {}, {}, {}).by_id()
        assert {at: one.finish for at, one in schedule.by_id().items()} == {
            at: both[1] for at, both in finishes.items()
        }, f"problem {seed}"


def test_drawn_times_keep_to_order_and_amounts() -> None:
    case = open_cases("j30")[12]
    schedule = plan(case.problem, 50)
    rng = np.random.default_rng(5)
    minutes = {one.id: rng.integers(0, 20, 40).astype(float) for one in case.problem.activities}
    finishes = replayed(chosen(case.problem, schedule), 40, minutes, {}, {}).by_id()
    for one in case.problem.activities:
        for link in one.after:
            assert (finishes[one.id] - minutes[one.id] >= finishes[link.task_id]).all()
    for draw in range(40):
        for resource in case.problem.resources:
            steps: list[tuple[float, int]] = []
            for one in case.problem.activities:
                used = sum(use.amount for use in one.uses if use.resource == resource.id)
                end = float(finishes[one.id][draw])
                if minutes[one.id][draw]:
                    steps += [(end, -used), (end - float(minutes[one.id][draw]), used)]
            there = 0
            for _, change in sorted(steps):
                there += change
                assert there <= resource.most


def test_changing_one_estimate_leaves_the_other_draws_as_they_are() -> None:
    work = tuple(Activity(at, 60) for at in (1, 2))
    problem = Problem(work)
    schedule = plan(problem)
    before = {1: ThreePoint(30, 60, 90), 2: ThreePoint(30, 60, 90)}
    for goal, same in ((1, True), (2, False)):
        first, second = (
            forecast(problem, schedule, Doubts(estimates), goal)
            for estimates in (before, before | {2: ThreePoint(30, 60, 300)})
        )
        assert (first.ends == second.ends) is same


def test_drivers_name_what_moves_the_date_most() -> None:
    problem, doubts = garage()
    late = replace(doubts.deliveries[0], lead=LeadTime(12.0, 0.6))
    found = forecast(problem, plan(problem), replace(doubts, deliveries=(late,)))
    first = found.drivers[0]
    assert (first.kind, first.id) == (Kind.DELIVERY, 1)
    assert first.minutes > DAY
    assert [one.minutes for one in found.drivers] == sorted(
        (one.minutes for one in found.drivers), reverse=True
    )


def test_a_certain_risk_adds_its_minutes_and_its_wait() -> None:
    problem = Problem((Activity(1, 60), Activity(2, 10, (After(1),))))
    found = forecast(problem, plan(problem), Doubts({}, risks=(Risk(9, 1, 1.0, 30, 100),)), draws=5)
    assert found.ends == (200.0,) * 5


def test_a_piece_that_is_sure_to_fit_leaves_the_plan_exactly_as_it_is() -> None:
    problem = Problem((Activity(1, 60), Activity(2, 30, (After(1),))))
    sure = tuple(Risk(7, 1, 0.0, 90, DAY, kind) for kind in (Kind.FIT, Kind.TRIM))
    found = forecast(problem, plan(problem), Doubts({}, (), sure), 2)
    assert set(found.ends) == {90}


def test_each_piece_draws_for_itself_whatever_is_known_of_another() -> None:
    problem = Problem(tuple(Activity(at, 60) for at in (1, 2, 3)))
    schedule = plan(problem)

    def failed(*risks: Risk, goal: int = 1) -> list[bool]:
        inputs = _inputs(chosen(problem, schedule), Doubts({}, (), risks), 400, 0)
        return [bool(one) for one in next(each for each in inputs if goal in each.bears_on).drawn]

    fit = Risk(7, 1, 0.3, 90, DAY, Kind.FIT)
    alone = failed(fit)
    assert failed(Risk(8, 2, 0.9, 5, 0, Kind.FIT), fit) == alone
    assert sum(alone) / 400 == pytest.approx(0.3, abs=0.08)
    # The same number of another kind has other luck; with a smaller chance some of the same draws fail.
    assert failed(Risk(7, 1, 0.3, 90, DAY, Kind.TRIM)) != alone
    assert all(one for one, less in zip(alone, failed(Risk(7, 1, 0.1, 90, 0, Kind.FIT)), strict=True) if less)


def test_what_only_comes_after_the_goal_is_not_gone_through() -> None:
    problem, doubts = garage()
    schedule = plan(problem)
    whole = chosen(problem, schedule)
    assert before(whole, None) == whole
    part = before(whole, 5)
    assert {step.id for step in part.steps} >= {1, 2, 3, 4, 5}
    assert len(part.steps) < len(whole.steps)
    assert forecast(problem, schedule, doubts, 5).planned == schedule.by_id()[5].finish


def test_where_the_later_date_has_no_room_the_even_one_is_asked_what_it_hangs_on() -> None:
    evenings = tuple(Window(day * DAY, day * DAY + 60) for day in range(4))
    problem = Problem((Activity(1, 60, (), BUILDER, splits=True),), (Resource("builder", evenings),))
    seldom, often = Risk(1, 1, 0.4, 240, 0, Kind.TRIM), Risk(2, 1, 0.9, 60, 0, Kind.FIT)
    found = forecast(problem, plan(problem), Doubts({}, (), (seldom, often)))
    assert (found.safe, found.looked_at) == (None, 0.5)
    assert found.drivers[0] == Driver(Kind.FIT, 2, DAY)


def test_a_late_certain_parcel_holds_what_waits_for_it() -> None:
    problem = Problem((Activity(1, 60, not_before=500), Activity(2, 10)))
    parcel = Delivery(4, (1,), 700)
    assert forecast(problem, plan(problem), Doubts({}, (parcel,)), draws=3).ends == (760.0,) * 3


def test_windows_that_end_too_soon_leave_a_date_unsaid() -> None:
    evening = Resource("builder", (Window(0, 100),))
    problem = Problem((Activity(1, 60, (), BUILDER, splits=True),), (evening,))
    found = forecast(problem, plan(problem), Doubts({1: ThreePoint(50, 60, 500)}))
    assert found.likely is None or found.likely <= 100
    assert found.safe is None


def test_work_in_one_go_that_outgrows_every_window_is_stayed_late_for() -> None:
    evenings = Resource("builder", (Window(0, 60), Window(1440, 1540)))
    problem = Problem((Activity(1, 60, (), BUILDER),), (evenings,))
    found = forecast(problem, plan(problem), Doubts({1: ThreePoint(120, 120, 130)}), draws=50)
    assert min(found.ends) >= 1560
    assert max(found.ends) <= 1570


def test_a_share_of_draws_is_an_order_statistic() -> None:
    found = Forecast(tuple(float(one) for one in range(1, 11)), 5)
    assert [found.by(share) for share in (0.05, 0.1, 0.5, 0.8, 1.0)] == [1, 1, 5, 8, 10]


@pytest.mark.parametrize("waited", [0.0, 3.0, 9.0])
def test_lead_times_are_a_log_normal_cut_off_at_what_has_passed(waited: float) -> None:
    lead = LeadTime(4.0, 0.4)
    known = lognorm(s=0.4, scale=4.0)
    for share in (0.1, 0.5, 0.8, 0.99):
        passed = known.cdf(waited)
        expected = known.ppf(passed + share * (1 - passed))
        assert lead.quantile(share, waited) == pytest.approx(expected, rel=1e-6)


def test_a_parcel_long_overdue_is_still_expected_later_than_today() -> None:
    lead = LeadTime(4.0, 0.4)
    expected = [lead.quantile(0.5, day) for day in (0, 5, 10, 20, 90)]
    assert all(first < second for first, second in pairwise(expected))
    assert expected[-1] > 90.0


def test_what_arrived_moves_a_weak_prior() -> None:
    assert lead_time(4.0, []) == LeadTime(4.0, 0.4)
    slow = lead_time(4.0, [10.0, 11.0, 9.0, 10.0])
    assert 4.0 < slow.median < 10.0
    assert lead_time(4.0, [10.0] * 40).median == pytest.approx(10.0, rel=0.06)
    assert lead_time(4.0, [10.0] * 40).spread < 0.4
    assert lead_time(4.0, [1.0, 16.0, 2.0, 8.0]).spread > 0.4
    with pytest.raises(ValueError, match="over 0 days"):
        lead_time(0.0, [])


def test_a_lead_time_without_spread_is_certain() -> None:
    sure = LeadTime(3.0, 0.0)
    assert (sure.quantile(0.1), sure.quantile(0.9), sure.quantile(0.9, 5.0)) == (3.0, 3.0, 5.0)
    assert (sure.left(2.0), sure.left(3.0)) == (1.0, 0.0)


def test_a_thousand_draws_of_sixty_tasks_take_a_blink() -> None:
    problem, doubts = evenings_of_work(60)
    schedule = plan(problem, 2)
    began = process_time()
    forecast(problem, schedule, doubts)
    assert process_time() - began < 0.6
    """Twice what is allowed, for a machine that does something else too; the bench has the figure."""


def test_drivers_are_told_by_kind_and_id() -> None:
    problem = Problem((Activity(1, 60),))
    found = forecast(problem, plan(problem), Doubts({1: ThreePoint(30, 60, 240)}))
    assert found.safe is not None
    assert found.drivers == (Driver(Kind.TASK, 1, found.safe - 60),)


def test_what_one_input_leaves_as_it_was_need_not_be_gone_through_again() -> None:
    problem, doubts = garage()
    order = chosen(problem, plan(problem))
    inputs = _inputs(order, doubts, 60, 0)
    through = _through(order, inputs, 60)
    for one in inputs:
        anew, again = _through(order, inputs, 60, None, one), _through(order, inputs, 60, through, one)
        assert all((a == b).all() for a, b in zip(anew.finishes, again.finishes, strict=True))
