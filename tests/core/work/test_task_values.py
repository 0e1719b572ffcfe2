"""Tasks: expected durations, the order of work, and rings of tasks that wait for each other."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.work.tasks import (
    NEAR,
    After,
    TaskPlan,
    TaskState,
    expected_minutes,
    find_cycle,
    in_order,
    start_is_near,
)
from tests.reference_values import Check, load


def task(number: int, *earlier: int) -> TaskPlan:
    return TaskPlan(number, f"task {number}", after=tuple(After(other) for other in earlier))


@pytest.mark.parametrize("check", load("work"), ids=str)
def test_expected_duration_agrees_with_published_examples(check: Check) -> None:
    total = sum(
        expected_minutes(TaskPlan(1, "", minutes_low=low, minutes_likely=likely, minutes_high=high))
        for low, likely, high in check.inputs["estimates"]
    )
    assert check.allows(total)


def test_no_tasks_have_no_ring_and_no_order() -> None:
    assert find_cycle([]) is None
    assert in_order([]) == ((), None)


def test_a_task_that_waits_for_itself_is_a_ring_of_one() -> None:
    assert find_cycle([task(7, 7)]) == (7,)


def test_a_ring_is_told_in_working_order_from_its_lowest_number() -> None:
    assert find_cycle([task(3, 2), task(1, 3), task(2, 1)]) == (1, 2, 3)


def test_tasks_that_only_hang_on_a_ring_are_not_named_in_it() -> None:
    tasks = [task(1), task(2, 1, 4), task(3, 2), task(4, 3), task(5, 4)]
    assert find_cycle(tasks) == (2, 3, 4)


def test_two_ways_to_one_task_are_no_ring() -> None:
    assert find_cycle([task(1), task(2, 1), task(3, 1), task(4, 2, 3)]) is None


def test_coming_after_a_task_that_is_not_there_is_refused_by_number() -> None:
    with pytest.raises(ValueError, match="task 2 comes after"):
        find_cycle([task(1), task(2, 1, 9)])


networks = st.integers(1, 7).flatmap(
    lambda count: st.lists(st.sets(st.integers(0, count - 1), max_size=3), min_size=count, max_size=count)
)
"""For each task the tasks it comes after, drawn freely: about half of these go round in a ring."""


def reaches_itself(network: list[set[int]], start: int) -> bool:
    """Brute force: follow every arrow until nothing new is found."""
    found = set(network[start])
    while True:
        wider = found.union(*(network[other] for other in found))
        if wider == found:
            return start in found
        found = wider


@given(networks)
def test_a_ring_is_found_exactly_when_a_task_can_be_reached_from_itself(network: list[set[int]]) -> None:
    ring = find_cycle([task(number, *sorted(earlier)) for number, earlier in enumerate(network)])
    assert (ring is not None) == any(reaches_itself(network, number) for number in range(len(network)))
    if ring is not None:
        assert len(set(ring)) == len(ring)
        assert all(first in network[second] for first, second in pairwise((*ring, ring[0])))


@given(networks)
def test_each_task_in_the_order_stands_behind_all_it_comes_after(network: list[set[int]]) -> None:
    order, _ = in_order([task(number, *sorted(earlier)) for number, earlier in enumerate(network)])
    for place, number in enumerate(order):
        assert network[number] <= set(order[:place])


def test_the_first_start_is_near_once_few_tasks_are_left_before_it() -> None:
    """How few is common practice, no source; a done task no longer counts, nor what it came after."""

    def row(count: int, state: TaskState = TaskState.OPEN) -> list[TaskPlan]:
        links = [
            TaskPlan(number, "Fit it", state, after=(After(number - 1),)) for number in range(2, count + 1)
        ]
        start = TaskPlan(99, "First start, no revs", after=(After(count),))
        return [TaskPlan(1, "Fit it", state), *links, start]

    assert start_is_near(row(NEAR))
    assert not start_is_near(row(NEAR + 1))
    assert start_is_near(row(NEAR + 5, TaskState.DONE))
    assert not start_is_near([TaskPlan(1, "Fit it")])
