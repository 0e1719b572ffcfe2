"""Several sets of numbers asked about at one go, instead of one set after another."""

import numpy as np
import pytest

from server.core.measure.many import many, together


def area(length: float, width: float) -> float:
    return length * width


def test_sets_of_many_numbers_are_asked_about_at_one_go() -> None:
    calls = []

    def asked(length: float, width: float) -> float:
        calls.append(1)
        return area(length, width)

    first, second = together(asked, [(many(np.array([1.0, 2.0])), 3.0), (4.0, many(np.array([5.0, 6.0])))])
    assert np.asarray(first).tolist() == [3.0, 6.0]
    assert np.asarray(second).tolist() == [20.0, 24.0]
    assert len(calls) == 1


def test_where_draws_part_each_set_is_asked_about_by_itself() -> None:
    def long_way_round(length: float, width: float) -> float:
        return area(length, width) if length > 2.0 else 0.0

    sets = [(many(np.array([3.0, 4.0])), 1.0), (many(np.array([1.0, 2.0])), 1.0)]
    assert [np.asarray(found).tolist() for found in together(long_way_round, sets)] == [[3.0, 4.0], 0.0]


def test_single_numbers_give_single_numbers() -> None:
    assert together(area, [(2.0, 3.0), (4.0, 5.0)]) == [6.0, 20.0]
    assert together(area, []) == []


def test_a_sum_of_what_all_sets_share_alone_is_the_same_for_each() -> None:
    sets = [(many(np.array([1.0, 2.0])), 3.0), (many(np.array([5.0, 6.0])), 3.0)]
    found = together(lambda _, width: 2.0 * width, sets)
    assert [np.asarray(one).tolist() for one in found] == [pytest.approx([6.0, 6.0])] * 2
