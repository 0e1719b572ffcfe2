"""What holds a task, what that comes down to, and what to do now."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from server.core.again import Again
from server.core.work.do_now import do_now, unsuited
from server.core.work.holding import holding
from server.core.work.holds import Hold, HoldKind
from server.core.work.standing import Frees, Standing, Word, standing
from server.core.work.tasks import After, TaskPlan, TaskState

NOW = datetime(2026, 11, 25, 18, 0, tzinfo=timezone(timedelta(hours=1)))
ELBOW = Hold(HoldKind.PART, "76 mm elbow", "in the post", due=date(2026, 11, 26), subject_id=5)
CLAMP = Hold(HoldKind.PART, "T-bolt clamp", "in the post", due=date(2026, 11, 20), late_days=5, subject_id=6)
GASKET = Hold(HoldKind.PART, "turbine outlet gasket", "not ordered", subject_id=7)


def task(number: int, *earlier: int, state: TaskState = TaskState.OPEN, **more: object) -> TaskPlan:
    plan = TaskPlan(number, f"task {number}", state, after=tuple(After(other) for other in earlier))
    return plan._replace(**more)  # type: ignore[arg-type]


def stand(*tasks: TaskPlan, **causes: tuple[Hold, ...]) -> dict[int, Standing]:
    """Standings at NOW; causes are given as t3=(...)."""
    return standing(tasks, {int(name[1:]): holds for name, holds in causes.items()}, NOW)


def test_without_tasks_nothing_stands() -> None:
    assert stand() == {}
    assert do_now([], {}) == ()


def test_a_task_that_nothing_holds_is_ready() -> None:
    assert stand(task(1))[1] == Standing(Word.READY)


def test_a_task_behind_a_ready_one_is_held_by_that_one() -> None:
    cut = task(1, title="Cut the tube")
    held = stand(cut, task(2, 1))[2]
    assert held.word is Word.HELD
    assert [root.words for root in held.roots] == ["‘Cut the tube’, ready to do"]
    assert held.roots == held.holds


def test_the_root_is_looked_for_through_every_unfinished_task() -> None:
    stands = stand(task(1), task(2, 1), task(3, 2), t1=(ELBOW,))
    assert stands[3].roots == (ELBOW,)
    assert [hold.words for hold in stands[3].holds] == ["‘task 2’, held itself"]


def test_several_roots_are_all_named_the_last_due_first_and_undated_last() -> None:
    stands = stand(task(1), task(2), task(3, 1, 2), t1=(GASKET, CLAMP), t2=(ELBOW,))
    assert stands[3].roots == (ELBOW, CLAMP, GASKET)


def test_a_root_reached_by_two_ways_is_named_once() -> None:
    stands = stand(task(1), task(2, 1), task(3, 1), task(4, 2, 3), t1=(ELBOW,))
    assert stands[4].roots == (ELBOW,)


def test_a_part_that_arrived_makes_its_task_ready_and_moves_the_root_to_that_task() -> None:
    tasks = (task(1), task(2, 1))
    assert stand(*tasks, t1=(ELBOW,))[2].roots == (ELBOW,)
    after = stand(*tasks)
    assert after[1].word is Word.READY
    assert [root.subject_id for root in after[2].roots] == [1]


def test_a_done_task_holds_nothing_and_is_held_by_nothing() -> None:
    stands = stand(task(1, state=TaskState.DONE), task(2, 1), t1=(ELBOW,))
    assert stands[1] == Standing(Word.DONE)
    assert stands[2].word is Word.READY


def test_a_hold_set_by_hand_holds_like_any_other() -> None:
    helper = Hold(HoldKind.HELPER, "a friend who welds", due=date(2026, 11, 28))
    assert stand(task(1, holds=(helper,)))[1] == Standing(Word.HELD, (helper,), (helper,))


def test_a_task_in_hand_is_the_root_of_what_follows_and_no_longer_held_by_what_comes_before() -> None:
    stands = stand(task(1), task(2, 1, state=TaskState.IN_HAND), task(3, 2))
    assert stands[2].word is Word.IN_HAND
    assert stands[2].holds == ()
    assert [root.words for root in stands[3].roots] == ["‘task 2’, in hand"]


def test_a_task_in_hand_that_lacks_a_part_says_so_and_passes_the_root_on() -> None:
    stands = stand(task(1, state=TaskState.IN_HAND), task(2, 1), t1=(GASKET,))
    assert stands[1].word is Word.IN_HAND
    assert stands[1].holds == (GASKET,)
    assert stands[2].roots == (GASKET,)


def curing(minutes_ago: int) -> Standing:
    sealed = task(
        1, title="Seal the sump", state=TaskState.DONE, done_at=NOW - timedelta(minutes=minutes_ago)
    )
    return stand(sealed, task(2)._replace(after=(After(1, least_wait=24 * 60),)))[2]


def test_a_least_wait_runs_in_calendar_time_from_the_moment_the_task_before_was_done() -> None:
    held = curing(minutes_ago=6 * 60)
    assert held.word is Word.HELD
    [wait] = held.roots
    assert wait.kind is HoldKind.WAIT
    assert wait.until == NOW + timedelta(hours=18)
    assert wait.due == date(2026, 11, 26)
    assert wait.what == "the wait after ‘Seal the sump’"


def test_a_wait_is_told_on_the_garages_own_clock() -> None:
    sealed = task(1, state=TaskState.DONE, done_at=datetime(2026, 11, 25, 16, 30, tzinfo=UTC))
    [wait] = stand(sealed, task(2)._replace(after=(After(1, least_wait=7 * 60),)))[2].holds
    assert wait.until is not None
    assert wait.until.isoformat() == "2026-11-26T00:30:00+01:00"
    assert wait.due == date(2026, 11, 26)


def test_a_least_wait_is_over_to_the_minute() -> None:
    assert curing(minutes_ago=24 * 60 - 1).word is Word.HELD
    assert curing(minutes_ago=24 * 60).word is Word.READY


def test_a_task_done_at_an_unknown_time_was_done_long_ago() -> None:
    sealed = task(1, state=TaskState.DONE)
    assert stand(sealed, task(2)._replace(after=(After(1, least_wait=600),)))[2].word is Word.READY


def test_what_a_task_frees_is_counted_directly_and_in_all() -> None:
    stands = stand(task(1), task(2, 1), task(3, 1), task(4, 2, 3), t3=(ELBOW,))
    assert stands[1].frees == Frees(directly=1, in_all=3)
    assert stands[2].frees == Frees(directly=0, in_all=1)
    assert stands[4].frees == Frees(0, 0)


def test_a_ring_is_the_root_of_all_in_it_and_behind_it_and_the_others_stand_as_ever() -> None:
    stands = stand(task(1, 2), task(2, 1), task(3, 2), task(4))
    ring = "tasks that wait for each other: ‘task 1’, then ‘task 2’, then ‘task 1’"
    for number in (1, 2, 3):
        assert [root.what for root in stands[number].roots] == [ring]
    assert stands[4].word is Word.READY
    assert stands[1].frees.in_all == 2


def test_a_task_behind_one_that_was_left_out_is_refused() -> None:
    with pytest.raises(ValueError, match="task 2 comes after"):
        stand(task(2, 1))


def test_do_now_begins_with_what_is_in_hand_then_what_frees_most_then_the_shorter() -> None:
    tasks = (
        task(1, minutes_low=60, minutes_likely=60, minutes_high=60),
        task(2),
        task(3),
        task(4, 3),
        task(5, 4),
        task(6, state=TaskState.IN_HAND),
        task(7, state=TaskState.IN_HAND),
    )
    listed = do_now(tasks, stand(*tasks, t6=(GASKET,)))
    assert [entry.task_id for entry in listed] == [7, 6, 3, 2, 1]
    assert [entry.reason.words for entry in listed] == [
        "in hand",
        "begun, but something holds it",
        "frees 2 tasks",
        "nothing waits for it",
        "nothing waits for it",
    ]


@pytest.mark.parametrize(
    ("wanted", "stands_now", "words"),
    [
        ("on wheels", "on stands", "needs the car on wheels; it is on stands now"),
        ("on stands", "on wheels", "needs the car on stands; it is on wheels now"),
        ("on stands", "engine bay open", "needs the car on stands; it is on wheels now"),
        ("on wheels", "engine bay open", ""),
        ("engine bay open", "on stands", ""),
        ("on stands", "on stands", ""),
        ("any", "on stands", ""),
    ],
)
def test_a_task_says_how_the_car_must_stand_where_it_does_not(
    wanted: str, stands_now: str, words: str
) -> None:
    """Common practice, no source: the bay is opened whichever way the car stands."""
    assert unsuited(task(1, car_state=wanted), stands_now) == words


def test_do_now_puts_what_does_not_suit_the_car_as_it_stands_behind_what_does() -> None:
    tasks = (task(1, car_state="on wheels"), task(2, 1), task(3, car_state="on stands"), task(4))
    listed = do_now(tasks, stand(*tasks), "on stands")
    assert [entry.task_id for entry in listed] == [3, 4, 1], "though it frees most"
    assert listed[-1].reason.words == "needs the car on wheels; it is on stands now; frees 1 task"
    assert do_now(tasks, stand(*tasks), "on wheels")[0].task_id == 1


def test_one_task_is_freed_in_the_singular() -> None:
    tasks = (task(1, state=TaskState.IN_HAND), task(2, 1))
    assert do_now(tasks, stand(*tasks))[0].reason.words == "in hand; frees 1 task"


def test_ready_tasks_that_are_alike_keep_their_order() -> None:
    tasks = (task(9), task(2), task(5))
    assert [entry.task_id for entry in do_now(tasks, stand(*tasks))] == [9, 2, 5]


@st.composite
def plans(draw: st.DrawFn) -> tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]]:
    """A network without a ring, with any states, waits and causes; a done task may follow an open one."""
    tasks = []
    causes = {}
    for number in range(draw(st.integers(1, 9))):
        earlier = draw(st.sets(st.integers(0, number - 1), max_size=3)) if number else set()
        after = tuple(After(other, draw(st.sampled_from([0, 120]))) for other in sorted(earlier))
        state = draw(st.sampled_from([TaskState.OPEN, TaskState.OPEN, TaskState.IN_HAND, TaskState.DONE]))
        done_at = NOW - timedelta(minutes=draw(st.integers(0, 240))) if state is TaskState.DONE else None
        tasks.append(TaskPlan(number, f"task {number}", state, after=after, done_at=done_at))
        causes[number] = tuple(sorted(draw(st.sets(st.sampled_from([ELBOW, CLAMP, GASKET]))), key=str))
    return tuple(draw(st.permutations(tasks))), causes


@given(plans())
def test_a_ready_task_has_nothing_unfinished_before_it(
    drawn: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
) -> None:
    tasks, causes = drawn
    by_number = {plan.id: plan for plan in tasks}
    for number, stands in standing(tasks, causes, NOW).items():
        if stands.word is Word.READY:
            assert all(by_number[after.task_id].done for after in by_number[number].after)
            assert not causes[number]


@given(plans())
def test_every_held_task_has_a_root_and_no_root_is_held_by_another_task(
    drawn: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
) -> None:
    tasks, causes = drawn
    stands = standing(tasks, causes, NOW)
    for one in stands.values():
        assert (one.word is Word.HELD) <= bool(one.roots)
        for root in one.roots:
            if root.kind is HoldKind.TASK:
                assert root.subject_id is not None
                assert not stands[root.subject_id].holds


@given(plans())
def test_solving_every_root_lets_something_held_go_on(
    drawn: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
) -> None:
    tasks, causes = drawn
    before = standing(tasks, causes, NOW)
    roots = {root for one in before.values() for root in one.roots}
    assume(roots)
    finished = {root.subject_id for root in roots if root.kind is HoldKind.TASK}
    later = max([NOW, *(root.until for root in roots if root.until)])
    solved = tuple(
        plan._replace(state=TaskState.DONE, done_at=plan.done_at or NOW) if plan.id in finished else plan
        for plan in tasks
    )
    left = {number: tuple(hold for hold in holds if hold not in roots) for number, holds in causes.items()}
    # The waits that a just finished task begins are calendar time: they are let pass as well.
    after = standing(solved, left, later + timedelta(hours=2))
    freed = [
        number
        for number, one in before.items()
        if one.holds and not after[number].holds and after[number].word in (Word.READY, Word.IN_HAND)
    ]
    assert freed


@given(plans())
def test_the_order_in_which_tasks_are_given_changes_nothing(
    drawn: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
) -> None:
    tasks, causes = drawn
    assert standing(tasks, causes, NOW) == standing(sorted(tasks, key=lambda plan: plan.id), causes, NOW)


@given(plans())
def test_do_now_lists_each_task_in_hand_or_ready_once(
    drawn: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
) -> None:
    tasks, causes = drawn
    stands = standing(tasks, causes, NOW)
    listed = [entry.task_id for entry in do_now(tasks, stands)]
    wanted = [number for number, one in stands.items() if one.word in (Word.READY, Word.IN_HAND)]
    assert sorted(listed) == sorted(wanted)


def test_a_helper_written_down_on_two_tasks_is_one_root() -> None:
    saturday = date(2026, 12, 5)
    first = Hold(HoldKind.HELPER, "the fabricator", due=saturday, subject_id=1)
    second = replace(first, subject_id=2)
    stands = stand(task(1), task(2), task(3, 1, 2), t1=(first,), t2=(second,))
    assert [root.what for root in stands[3].roots] == ["the fabricator"]


@given(plans(), plans(), st.integers(-3, 3))
def test_begun_from_any_earlier_state_tasks_stand_as_they_do_from_nothing(
    earlier: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
    drawn: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
    hours: int,
) -> None:
    first = Again()
    do_now(earlier[0], standing(*earlier, NOW + timedelta(hours=hours), first), again=first)
    second = Again(first.left)
    stands = standing(*drawn, NOW, second)
    assert list(stands.items()) == list(standing(*drawn, NOW).items())
    assert do_now(drawn[0], stands, again=second) == do_now(drawn[0], stands)
    holding(earlier[0], standing(*earlier, NOW), first)
    assert holding(drawn[0], stands, Again(first.left)) == holding(drawn[0], stands)


@given(plans())
def test_what_a_root_holds_are_the_held_tasks_that_come_down_to_it(
    drawn: tuple[tuple[TaskPlan, ...], dict[int, tuple[Hold, ...]]],
) -> None:
    many = tuple(drawn[0][place % len(drawn[0])]._replace() for place in range(80))
    stands = standing(*drawn, NOW)
    for (kind, number), titles in holding(many, stands).items():
        assert list(titles) == [
            one.title
            for one in many
            if stands[one.id].word is Word.HELD
            and any((root.kind, root.subject_id or 0) == (kind, number) for root in stands[one.id].roots)
        ]


def test_a_wait_runs_out_though_nothing_else_changed() -> None:
    done = task(1, state=TaskState.DONE, done_at=NOW - timedelta(minutes=50))
    tasks = (done, task(2)._replace(after=(After(1, 60),)))
    first = Again()
    assert standing(tasks, {}, NOW, first)[2].word is Word.HELD
    second = Again(first.left)
    assert standing(tasks, {}, NOW + timedelta(minutes=10), second)[2].word is Word.READY
    assert standing(tasks, {}, NOW, Again(second.left))[2].word is Word.HELD
