"""What is supposed better never makes a date worse, however the plan is made with it."""

from dataclasses import replace
from random import Random

import pytest

from server.core.work.forecast.foresee import DAY, Delivery, Doubts, Forecast, forecast
from server.core.work.forecast.lead_time import LeadTime
from server.core.work.forecast.supposed import Supposed, supposed
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.problem import Activity, Problem, Resource, Use, Window
from server.core.work.plan.schedule import Schedule
from server.core.work.plan.search import plan
from server.core.work.tasks import After

PASSES, DRAWS = 6, 120
LATE = 9
"""Day on which the parcel is counted on."""


def small(seed: int) -> tuple[Problem, Doubts]:
    """Six or seven tasks in evenings and a few visits, a parcel, and estimates that are wide."""
    luck = Random(seed)
    count = luck.choice((6, 7))
    evenings = tuple(Window(day * DAY, day * DAY + luck.choice((60, 120, 180))) for day in range(0, 40, 2))
    visits = tuple(Window(day * DAY, day * DAY + 300) for day in sorted(luck.sample(range(3, 40), 4)))
    activities = tuple(
        Activity(
            at,
            luck.randrange(20, 150),
            tuple(After(one) for one in range(1, at) if luck.random() < 0.3),
            (Use("builder"), Use("helper")) if luck.random() < 0.3 else (Use("builder"),),
            LATE * DAY if at == 3 else 0,
            splits=luck.random() < 0.5,
        )
        for at in range(1, count + 1)
    )
    estimates = {one.id: ThreePoint(0.4 * one.minutes, one.minutes, 2.5 * one.minutes) for one in activities}
    parcel = Delivery(1, (3,), LATE * DAY, LeadTime(float(LATE), 0.5))
    problem = Problem(activities, (Resource("builder", evenings + visits), Resource("helper", visits)))
    return problem, Doubts(estimates, (parcel,))


def ways(problem: Problem, doubts: Doubts, seed: int) -> dict[str, tuple[Problem, Doubts]]:
    """Another long day, the parcel by express, the helper on an earlier day too."""
    builder, helper = problem.resources
    day = Random(seed).randrange(1, 30, 2)
    long_day = Window(day * DAY, day * DAY + 480)
    early = Window(DAY, DAY + 300)
    sooner = tuple(replace(one, not_before=2 * DAY) if one.not_before else one for one in problem.activities)
    return {
        "another day": (
            replace(problem, resources=(replace(builder, windows=(*builder.windows, long_day)), helper)),
            doubts,
        ),
        "express post": (
            replace(problem, activities=sooner),
            replace(doubts, deliveries=(Delivery(1, (3,), 2 * DAY),)),
        ),
        "helper earlier": (
            replace(
                problem,
                resources=tuple(replace(one, windows=(*one.windows, early)) for one in (builder, helper)),
            ),
            doubts,
        ),
    }


def dates(one: Supposed) -> list[float]:
    seen = one.foreseen
    found = (seen.likely, seen.safe) if seen is not None else (None, None)
    return [float("inf") if at is None else at for at in found]


@pytest.mark.parametrize("way", ["another day", "express post", "helper earlier"])
def test_what_is_supposed_better_never_makes_the_odds_worse(way: str) -> None:
    better = 0
    for seed in range(40):
        problem, doubts = small(seed)
        made = plan(problem, PASSES)
        before = Supposed(made, forecast(problem, made, doubts, draws=DRAWS))
        then_problem, then_doubts = ways(problem, doubts, seed)[way]

        def foresee(one: Schedule, asked: Problem = then_problem, open_: Doubts = then_doubts) -> Forecast:
            return forecast(asked, one, open_, draws=DRAWS)

        then = supposed(then_problem, PASSES, before, foresee)
        assert all(at <= was for at, was in zip(dates(then), dates(before), strict=True)), f"{way}, {seed}"
        better += dates(then) < dates(before)
    assert better >= 8
    """It is not only that all was left as it is."""


def test_without_keeping_to_it_a_plan_made_anew_does_make_some_odds_worse() -> None:
    """So the rule above is not empty."""
    worse = 0
    for seed in range(40):
        problem, doubts = small(seed)
        then_problem, then_doubts = ways(problem, doubts, seed)["another day"]
        now, then = (
            Supposed(made, forecast(asked, made, open_, draws=DRAWS))
            for asked, open_ in ((problem, doubts), (then_problem, then_doubts))
            for made in (plan(asked, PASSES),)
        )
        worse += any(at > was for at, was in zip(dates(then), dates(now), strict=True))
    assert worse > 0
