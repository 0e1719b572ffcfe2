"""The work as a problem to plan, what it waits for from outside, and the chain that sets the date."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

from server.core.work.driving import Why, driving
from server.core.work.holds import Hold, HoldKind
from server.core.work.hours import Hours, Span, Visit
from server.core.work.plan.problem import Activity, Problem, Resource, Use, Window
from server.core.work.plan.search import plan
from server.core.work.standing import Standing, Word
from server.core.work.tasks import After, TaskPlan
from server.core.work.to_plan import BUILDER, Work, to_plan

PARIS = ZoneInfo("Europe/Paris")
NOW = datetime(2026, 11, 25, 10, tzinfo=PARIS)
"""A Wednesday."""
EVENINGS = Hours(weekly=tuple((day, Span(18 * 60, 21 * 60)) for day in range(5)))
JO = Visit(1, 1, "Jo", ("welds",), date(2026, 11, 28), Span(9 * 60, 12 * 60))


def work(*tasks: TaskPlan, holds: dict[int, tuple[Hold, ...]] | None = None, hours: Hours = EVENINGS) -> Work:
    standings = {task.id: Standing(Word.READY, (holds or {}).get(task.id, ())) for task in tasks}
    minutes = {task.id: task.minutes_likely for task in tasks}
    return Work(tasks, minutes, standings, hours, NOW, PARIS, lead_days={5: 2})


def day_of(asked: Work, task_id: int) -> str:
    made = to_plan(asked)
    start = plan(made.problem, 10).by_id()[task_id].start
    return f"{datetime.fromtimestamp(NOW.timestamp() + 60 * start, PARIS):%a %H:%M}"


def part(state: str, due: date | None = None, number: int = 5) -> tuple[Hold, ...]:
    return (Hold(HoldKind.PART, "elbow", state, due, subject_id=number),)


def test_a_part_counts_from_its_day_a_late_one_some_days_on_and_one_not_ordered_from_its_lead_time() -> None:
    task = TaskPlan(1, "Fit it", minutes_likely=60)
    for hold, day in (
        (part("in the post", date(2026, 11, 27)), "Fri 18:00"),
        (part("in the post", date(2026, 11, 20)), "Mon 18:00"),  # three days on: Saturday
        (part("not ordered"), "Fri 18:00"),
        (part("not ordered", number=6), "Wed 18:00"),  # a week on
        ((), "Wed 18:00"),
    ):
        assert day_of(work(task, holds={1: hold}), 1) == day, hold


def test_what_nobody_offers_and_what_has_no_day_is_told() -> None:
    task = TaskPlan(1, "Fit it")
    choice = Hold(HoldKind.DECISION, "the choice of a design", "not made", subject_id=2)
    made = to_plan(work(task, holds={1: (choice, *part("not ordered", number=6))}))
    assert made.assumed == (choice,)
    assert [hold.subject_id for hold in made.unoffered] == [6]


def test_a_reading_is_work_of_its_own_that_comes_first() -> None:
    task = TaskPlan(1, "Cut it", minutes_likely=60)
    made = to_plan(work(task, holds={1: (Hold(HoldKind.READING, "the bore of Drain", subject_id=7),)}))
    assert made.readings == {-7: "Take the bore of Drain"}
    placed = plan(made.problem, 10).by_id()
    assert placed[-7].finish == placed[1].start


def test_work_for_a_helper_waits_for_the_visit_and_without_one_it_has_no_place() -> None:
    weld = TaskPlan(1, "Weld it", minutes_likely=60, helper_skill="welds stainless")
    with_jo = Hours(weekly=EVENINGS.weekly, visits=(JO,))
    assert day_of(work(weld, hours=with_jo), 1) == "Sat 09:00"
    [missing] = plan(to_plan(work(weld)).problem, 10).no_place
    assert "a helper who welds stainless" in missing.why


def test_loud_work_waits_until_noise_is_allowed() -> None:
    grind = TaskPlan(1, "Grind it", minutes_likely=60, hot_work=True)
    assert (
        day_of(work(grind, hours=Hours(weekly=EVENINGS.weekly, noise=Span(19 * 60, 20 * 60))), 1)
        == "Wed 19:00"
    )


HANDS = Resource("you", (Window(0, 60), Window(100, 160), Window(200, 260)))
USE = (Use("you"),)


def test_the_chain_that_sets_the_date_is_followed_back_to_what_it_hangs_on() -> None:
    """Worked by hand: 2 arrives at 90, so it is done 100-160 and 3 after it 200-230; 1 has time to spare."""
    acts = (
        Activity(1, 40, (), USE),
        Activity(2, 60, (), USE, not_before=90),
        Activity(3, 30, (After(2),), USE),
    )
    problem = Problem(acts, (HANDS,))
    chain = driving(problem, plan(problem, 20), 3, "you")
    assert [(link.id, link.why) for link in chain] == [(2, Why.ARRIVAL), (3, Why.AFTER)]


def test_where_hands_are_short_the_work_before_sets_the_date() -> None:
    acts = (Activity(1, 60, (), USE), Activity(2, 60, (), USE), Activity(3, 30, (After(2),), USE))
    problem = Problem(acts, (HANDS,))
    made = plan(problem, 20)
    first = driving(problem, made, max(made.placed, key=lambda one: one.finish).id, BUILDER)[0]
    chain = driving(problem, made, max(made.placed, key=lambda one: one.finish).id, "you")
    assert first.why is not Why.ARRIVAL
    assert chain[0].why is Why.FIRST
    assert len(chain) >= 2


def test_what_has_no_place_has_no_chain() -> None:
    problem = Problem((Activity(1, 90, (), USE),), (HANDS,))
    assert driving(problem, plan(problem, 5), 1, "you") == ()
