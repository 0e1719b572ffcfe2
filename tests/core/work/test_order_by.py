"""Until when a part must be ordered, from the plan and what the post takes."""

from datetime import date, timedelta

from server.core.work.holds import Hold, HoldKind
from server.core.work.hours import Hours, Span
from server.core.work.order_by import OrderBy, order_days
from server.core.work.plan.search import plan
from server.core.work.tasks import After, TaskPlan
from server.core.work.to_plan import Work, to_plan
from tests.core.work.test_to_plan import EVENINGS, NOW, part, work

SATURDAYS = Hours(weekly=((5, Span(9 * 60, 12 * 60)),))
LONG = TaskPlan(1, "Clear the bay", minutes_low=900, minutes_likely=900, minutes_high=900)
FIT = TaskPlan(2, "Fit it", minutes_likely=60, after=(After(1),))


def days(asked: Work) -> tuple[OrderBy, ...]:
    return order_days(asked, plan(to_plan(asked).problem, 10))


def test_work_of_an_evening_gets_its_part_that_day_and_work_of_a_morning_the_day_before() -> None:
    """Fifteen hours come first: five evenings of three, or five Saturdays; two days by post."""
    [evening] = days(work(LONG, FIT, holds={2: part("not ordered")}))
    assert (evening.starts.date(), evening.here_by, evening.day) == (
        date(2026, 12, 2),
        date(2026, 12, 2),
        date(2026, 11, 30),
    )
    [morning] = days(work(LONG, FIT, holds={2: part("not ordered")}, hours=SATURDAYS))
    assert morning.starts.date() - morning.here_by == timedelta(days=1)
    assert morning.here_by - morning.day == timedelta(days=2)


def test_a_part_that_the_work_waits_for_is_ordered_today_and_never_yesterday() -> None:
    [waited_for] = days(work(TaskPlan(1, "Fit it"), holds={1: part("not ordered")}))
    assert waited_for.day == NOW.date()
    assert waited_for.told


def test_the_first_work_that_needs_it_counts_and_what_is_in_the_post_needs_no_order() -> None:
    both = {1: part("not ordered"), 2: (*part("not ordered"), *part("in the post", NOW.date(), 7))}
    [one] = days(work(TaskPlan(1, "Offer it up"), FIT, holds=both))
    assert (one.part_id, one.task_id) == (5, 1)


def test_without_an_offer_a_week_is_assumed_and_without_a_place_there_is_no_day() -> None:
    [assumed] = days(work(LONG, FIT, holds={2: part("not ordered", number=6)}))
    assert (assumed.days, assumed.told) == (7, False)
    nobody = TaskPlan(1, "Weld it", helper_skill="welds")
    piece = Hold(HoldKind.PART, "2 × bung", "not ordered")
    assert days(work(nobody, holds={1: part("not ordered")}, hours=EVENINGS)) == ()
    assert days(work(TaskPlan(1, "Weld it"), holds={1: (piece,)})) == ()
