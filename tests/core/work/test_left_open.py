"""What a plan leaves open: estimates about what is planned, parcels by part and day, mishaps as risks."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from server.core.work.forecast.foresee import forecast
from server.core.work.forecast.lead_time import LeadTime
from server.core.work.holds import Hold, HoldKind
from server.core.work.hours import Hours, Span
from server.core.work.left_open import Coming, Mishap, left_open, part_awaited
from server.core.work.plan.estimate import ThreePoint
from server.core.work.plan.search import plan
from server.core.work.standing import Standing, Word
from server.core.work.tasks import After, TaskPlan
from server.core.work.to_plan import Work, to_plan

ZONE = ZoneInfo("Europe/Paris")
NOW = datetime(2026, 11, 25, 10, tzinfo=ZONE)
EVENINGS = Hours(weekly=tuple((day, Span(18 * 60, 21 * 60)) for day in range(5)))
ELBOW = 5
FLANGE = TaskPlan(1, "Cut the flange", minutes_low=30, minutes_likely=60, minutes_high=90)
FIT = TaskPlan(2, "Fit the elbow", minutes_low=60, minutes_likely=60, minutes_high=60, after=(After(1),))


def work(*holds: Hold, minutes: int = 60) -> Work:
    standings = {1: Standing(Word.READY), 2: Standing(Word.HELD, holds)}
    return Work((FLANGE, FIT), {1: minutes, 2: 60}, standings, EVENINGS, NOW, ZONE)


def in_the_post(due: date) -> Hold:
    return Hold(HoldKind.PART, "elbow", "in the post", due, subject_id=ELBOW)


def test_what_is_left_of_a_task_is_drawn_about_the_time_that_is_planned() -> None:
    half_done = work(minutes=30)
    estimate = left_open(half_done, to_plan(half_done), {}, (), 1.0).estimates[1]
    assert estimate == ThreePoint(15, 30, 45)
    assert estimate.mean == 30


def test_with_parcels_on_their_day_and_nothing_in_doubt_it_is_done_when_planned() -> None:
    sure = work(in_the_post(date(2026, 11, 27)))
    asked = to_plan(sure)
    schedule = plan(asked.problem, 10)
    doubts = left_open(sure, asked, {}, (), 1.0)
    still = type(doubts)({}, doubts.deliveries, doubts.risks)
    seen = forecast(asked.problem, schedule, still, 2, draws=50)
    assert set(seen.ends) == {schedule.by_id()[2].finish}


def test_a_parcel_that_is_overdue_moves_the_later_date_and_is_named() -> None:
    late = work(in_the_post(date(2026, 11, 24)))
    asked = to_plan(late)
    doubts = left_open(late, asked, {ELBOW: Coming(LeadTime(14.0, 0.5), waited=20.0)}, (), 1.0)
    seen = forecast(asked.problem, plan(asked.problem, 10), doubts, 2)
    assert seen.likely is not None
    assert seen.safe is not None
    assert seen.safe > seen.likely
    assert [part_awaited(one.id) for one in seen.drivers if one.kind == "delivery"] == [ELBOW]


def test_a_cure_that_lasts_longer_than_the_parcel_is_waited_for_in_every_draw() -> None:
    cure = Hold(HoldKind.WAIT, "the cure", until=NOW + timedelta(days=7))
    both = work(in_the_post(date(2026, 11, 26)), cure)
    asked = to_plan(both)
    doubts = left_open(both, asked, {ELBOW: Coming(LeadTime(1.0, 0.2))}, (), 1.0)
    seen = forecast(asked.problem, plan(asked.problem, 10), doubts, 2)
    assert min(seen.ends) >= 7 * 24 * 60


@pytest.mark.parametrize(("chance", "share_longer"), [(0.0, 0.0), (0.25, 0.25), (1.0, 1.0)])
def test_a_mishap_happens_as_often_as_was_noted_and_takes_its_time(
    chance: float, share_longer: float
) -> None:
    asked_of = work()
    asked = to_plan(asked_of)
    snapped = Mishap(1, 1, chance, ThreePoint(120, 120, 120))
    doubts = left_open(asked_of, asked, {}, (snapped,), 1.5)
    assert doubts.risks[0].minutes == 180
    schedule = plan(asked.problem, 10)
    still = type(doubts)({}, (), doubts.risks)
    seen = forecast(asked.problem, schedule, still, 2)
    later = sum(end > schedule.by_id()[2].finish for end in seen.ends) / len(seen.ends)
    assert later == pytest.approx(share_longer, abs=0.02)
