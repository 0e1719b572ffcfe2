"""Earliest and latest dates against published networks, three-point estimates against published chances."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.work.plan.estimate import ThreePoint, chance_within
from server.core.work.plan.network import network
from server.core.work.plan.problem import Activity
from server.core.work.tasks import After
from tests.reference_values import Check, load


def named(activities: list[tuple[str, int, str]]) -> list[Activity]:
    """Activities by single letters, numbered by their place in the alphabet."""
    return [
        Activity(ord(name), minutes, tuple(After(ord(other)) for other in earlier))
        for name, minutes, earlier in activities
    ]


@pytest.mark.parametrize("check", load("network"), ids=str)
def test_every_date_and_float_of_a_published_network(check: Check) -> None:
    found = network(named(check.inputs["activities"]))
    got = [
        [chr(at), one.early_start, one.early_finish, one.late_start, one.late_finish, one.float]
        for at, one in found.dates.items()
    ]
    assert sorted(got) == sorted(check.expected)
    assert found.end == check.inputs["end"]
    assert [chr(at) for at in found.critical] == check.inputs["critical"]


@pytest.mark.parametrize("check", load("estimates"), ids=str)
def test_the_chance_to_be_done_in_time_agrees_with_published_examples(check: Check) -> None:
    estimates = [ThreePoint(*three) for three in check.inputs["estimates"]]
    mean = sum(one.mean for one in estimates)
    variance = sum(one.variance for one in estimates)
    assert variance == pytest.approx(check.inputs["variance"], abs=0.002)
    assert check.allows(chance_within(check.inputs["limit"], mean, variance))


def test_the_beta_shape_has_the_mean_of_the_estimate() -> None:
    estimate = ThreePoint(2, 4, 12)
    first, second = estimate.shape
    assert (first, second) == pytest.approx((1.8, 4.2))
    assert estimate.low + 10 * first / (first + second) == pytest.approx(estimate.mean)


@pytest.mark.parametrize(
    ("estimate", "fault"),
    [
        (ThreePoint(-1, 2, 3), "A time can't be negative."),
        (ThreePoint(3, 2, 4), "The three times must rise: low, likely, high."),
        (ThreePoint(1, 5, 4), "The three times must rise: low, likely, high."),
        (ThreePoint(2, 2, 2), ""),
    ],
)
def test_an_estimate_says_what_is_wrong_with_it(estimate: ThreePoint, fault: str) -> None:
    assert estimate.fault == fault


def test_without_spread_the_chance_is_yes_or_no() -> None:
    assert chance_within(5, 5, 0) == 1.0
    assert chance_within(4, 5, 0) == 0.0


def test_an_empty_network_ends_at_once() -> None:
    found = network([])
    assert (found.end, found.critical) == (0, ())


def test_a_wait_and_an_earliest_start_move_the_dates() -> None:
    found = network([Activity(1, 30), Activity(2, 10, (After(1, 60),)), Activity(3, 5, not_before=98)])
    assert found.dates[2].early_start == 90
    assert found.end == 103
    assert [found.dates[at].float for at in (1, 2, 3)] == [3, 3, 0]


def test_a_ring_is_told_and_leaves_no_dates() -> None:
    found = network([Activity(1, 5, (After(3),)), Activity(2, 5, (After(1),)), Activity(3, 5, (After(2),))])
    assert found.ring == (1, 2, 3)
    assert found.dates == {}


@given(
    st.lists(
        st.tuples(st.integers(0, 9), st.integers(0, 4), st.sets(st.integers(0, 20), max_size=3)),
        min_size=1,
        max_size=12,
    )
)
def test_nothing_starts_before_what_it_waits_for_and_something_is_critical(
    drawn: list[tuple[int, int, set[int]]],
) -> None:
    activities = [
        Activity(at, minutes, tuple(After(other, wait) for other in sorted(earlier) if other < at))
        for at, (minutes, wait, earlier) in enumerate(drawn)
    ]
    found = network(activities)
    for one in activities:
        for link in one.after:
            first, second = found.dates[link.task_id], found.dates[one.id]
            assert second.early_start >= first.early_finish + link.least_wait
            assert second.late_start >= first.late_finish + link.least_wait
    assert min(one.float for one in found.dates.values()) == 0
