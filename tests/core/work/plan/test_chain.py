"""What sets the date: the chain of work behind the end of a plan, each link with its reason."""

from itertools import pairwise

from server.core.work.plan.chain import Because, chain
from server.core.work.plan.problem import Activity, Car, Problem, Resource, Use, Window, always
from server.core.work.plan.search import plan
from server.core.work.tasks import ON_STANDS, ON_WHEELS, After
from tests.open_cases import open_cases
from tests.plan_rules import drawn_problem

BUILDER = (Use("builder"),)


def reasons(problem: Problem) -> list[tuple[int, Because, int | None]]:
    return [(one.id, one.because, one.other) for one in chain(problem, plan(problem, 50))]


def test_no_plan_has_no_chain() -> None:
    assert reasons(Problem(())) == []


def test_one_pair_of_hands_ties_work_that_has_nothing_else_in_common() -> None:
    work = (
        Activity(1, 30, uses=BUILDER),
        Activity(2, 60, (After(1),), BUILDER),
        Activity(3, 5, uses=BUILDER),
    )
    found = chain(Problem(work, (always("builder"),)), plan(Problem(work, (always("builder"),)), 50))
    assert found[0].because is Because.START
    assert {one.because for one in found[1:]} <= {Because.SHARES, Because.AFTER}
    assert len(found) == 3
    assert all(one.resource == "builder" for one in found if one.because is Because.SHARES)


def test_a_delivery_begins_the_chain_that_it_sets() -> None:
    work = (Activity(1, 30, not_before=500), Activity(2, 10, (After(1, 60),)))
    assert reasons(Problem(work)) == [(1, Because.NOT_BEFORE, None), (2, Because.AFTER, 1)]


def test_a_helpers_slot_begins_the_chain_that_it_sets() -> None:
    helper = Resource("helper", (Window(300, 400),))
    assert reasons(Problem((Activity(1, 30, uses=(Use("helper"),)),), (helper,))) == [
        (1, Because.WINDOWS, None)
    ]


def test_a_night_between_two_tasks_leaves_the_first_one_to_blame() -> None:
    evenings = Resource("builder", (Window(0, 60), Window(1440, 1500)))
    work = (Activity(1, 50, uses=BUILDER), Activity(2, 50, (After(1),), BUILDER))
    assert reasons(Problem(work, (evenings,))) == [(1, Because.START, None), (2, Because.AFTER, 1)]


def test_a_car_that_has_to_be_raised_first_is_a_link() -> None:
    work = (Activity(1, 30, (), BUILDER, car_state=ON_WHEELS), Activity(2, 30, car_state=ON_STANDS))
    problem = Problem(work, (always("builder"),), Car(ON_WHEELS, 20, 20, BUILDER))
    assert reasons(problem) == [(1, Because.START, None), (2, Because.CAR, 1)]


def test_chains_of_open_cases_have_no_gap() -> None:
    for case in open_cases("j30")[::32]:
        found = plan(case.problem, 30)
        placed = found.by_id()
        links = chain(case.problem, found)
        assert placed[links[0].id].start == 0
        assert placed[links[-1].id].finish == found.makespan
        for first, second in pairwise(links):
            assert second.other == first.id
            assert placed[second.id].start == placed[first.id].finish


def test_a_chain_goes_back_in_time_to_something_that_waits_for_nothing() -> None:
    for seed in range(150):
        problem = drawn_problem(seed)
        found = plan(problem, 15)
        placed = found.by_id()
        links = chain(problem, found)
        assert bool(links) == bool(placed)
        for first, second in pairwise(links):
            assert placed[first.id].finish <= placed[second.id].start
