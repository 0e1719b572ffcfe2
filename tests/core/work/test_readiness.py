"""Whether a visit is ready: its work, what comes before that, what comes in time and what too late."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from server.core.work.holds import Hold, HoldKind
from server.core.work.hours import Span, Visit
from server.core.work.readiness import Readiness, Stand, readiness
from server.core.work.standing import standing
from server.core.work.tasks import After, TaskPlan, TaskState

PARIS = ZoneInfo("Europe/Paris")
NOW = datetime(2026, 11, 25, 10, tzinfo=PARIS)
SATURDAY = date(2026, 12, 5)
JO = Visit(1, 1, "Jo", ("welds",), SATURDAY, Span(9 * 60, 15 * 60))
CUT = TaskPlan(1, "Cut it")
TACK = TaskPlan(2, "Tack it", after=(After(1),), helper_skill="welds stainless")
TACK_ALONE = TaskPlan(2, "Tack it", helper_skill="welds stainless")
WELD = TaskPlan(3, "Weld it out", after=(After(2),), helper_skill="welds stainless")


def ready(
    *tasks: TaskPlan,
    holds: tuple[Hold, ...] = (),
    visit: Visit = JO,
    inside: frozenset[int] = frozenset(),
    expected: dict[str, date] | None = None,
) -> Readiness:
    """Of these tasks; holds: what stops the first of them."""
    standings = standing(tasks, {tasks[0].id: holds}, NOW)
    return readiness(tasks, standings, visit, PARIS, inside, expected or {})


def test_the_visit_is_for_what_the_helper_can_do_and_the_rest_comes_before() -> None:
    found = ready(CUT, TACK, WELD, TaskPlan(4, "Paint it", helper_skill="paints"))
    assert (found.work, found.before) == ((2, 3), (1,))
    [cut] = found.against
    assert (cut.hold.what, cut.stand, cut.stops) == ("‘Cut it’", Stand.TO_DO, (2, 3))


def test_when_what_comes_before_is_done_it_is_ready_and_the_second_weld_waits_its_turn() -> None:
    found = ready(TaskPlan(1, "Cut it", TaskState.DONE), TACK, WELD)
    assert (found.work, found.before, found.against, found.stand) == ((2, 3), (), (), None)


@pytest.mark.parametrize(
    ("hold", "expected", "stand"),
    [
        (Hold(HoldKind.PART, "elbow", "in the post", SATURDAY - timedelta(days=1)), None, Stand.IN_TIME),
        (Hold(HoldKind.PART, "elbow", "in the post", SATURDAY), None, Stand.TOO_LATE),
        (Hold(HoldKind.PART, "elbow", "in the post"), SATURDAY, Stand.TOO_LATE),
        (Hold(HoldKind.PART, "elbow", "not ordered", subject_id=5), date(2026, 12, 2), Stand.TO_DO),
        (Hold(HoldKind.PART, "elbow", "not ordered", subject_id=5), date(2026, 12, 9), Stand.TOO_LATE),
        (Hold(HoldKind.PART, "flange", "to be made", subject_id=6), None, Stand.TO_DO),
        (Hold(HoldKind.READING, "the bore", "to measure", subject_id=7), None, Stand.TO_DO),
        (Hold(HoldKind.DECISION, "the choice", "not made", subject_id=8), None, Stand.TO_DO),
        (Hold(HoldKind.TOOL, "a mandrel", due=SATURDAY), None, Stand.IN_TIME),
        (Hold(HoldKind.TOOL, "a mandrel", due=SATURDAY + timedelta(days=1)), None, Stand.TOO_LATE),
        (Hold(HoldKind.TOOL, "a mandrel", due=date(2026, 11, 20), late_days=5), None, Stand.TO_DO),
        (Hold(HoldKind.HELPER, "Sam as well"), None, Stand.TO_DO),
    ],
)
def test_what_stands_against_it(hold: Hold, expected: date | None, stand: Stand) -> None:
    [found] = ready(TACK_ALONE, holds=(hold,), expected={hold.what: expected} if expected else {}).against
    assert found.stand is stand


def test_the_helper_s_coming_is_not_against_it_and_the_gravest_comes_first() -> None:
    coming = Hold(HoldKind.HELPER, "Jo", due=SATURDAY)
    late = Hold(HoldKind.PART, "elbow", "in the post", SATURDAY)
    reading = Hold(HoldKind.READING, "the bore", "to measure", subject_id=7)
    found = ready(TACK_ALONE, holds=(coming, reading, late))
    assert [one.stand for one in found.against] == [Stand.TOO_LATE, Stand.TO_DO]
    assert found.stand is Stand.TOO_LATE


def test_what_comes_by_post_on_the_day_is_there_for_a_visit_in_the_evening() -> None:
    evening = Visit(1, 1, "Jo", ("welds",), SATURDAY, Span(18 * 60, 21 * 60))
    late = Hold(HoldKind.PART, "elbow", "in the post", SATURDAY)
    assert ready(TACK_ALONE, holds=(late,), visit=evening).stand is Stand.IN_TIME


def test_two_hands_without_a_skill_do_what_the_plan_puts_into_the_visit() -> None:
    neighbour = Visit(2, 2, "The neighbour", (), SATURDAY, Span(9 * 60, 12 * 60))
    lift, shift = TaskPlan(1, "Lift it", hands=2), TaskPlan(4, "Shift it", hands=2)
    assert ready(lift, shift, TACK_ALONE, visit=neighbour, inside=frozenset({2, 4})).work == (4,)
