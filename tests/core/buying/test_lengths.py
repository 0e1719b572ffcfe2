"""Cutting lengths as sold: kerfs, off-cuts first, and a number that no plan gets below."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.core.buying.lengths import KERF, TRIM, USEFUL, Bar, Saw, cut_plan, lengths_to_buy

BARE = Saw(kerf=0.003, trim=0.0)
NOTHING_LOST = Saw(kerf=0.0, trim=0.0)

few = settings(max_examples=25)
millimetres = st.integers(min_value=5, max_value=2500).map(lambda mm: mm / 1000)
some_cuts = st.lists(millimetres, max_size=14)
some_off_cuts = st.lists(millimetres, max_size=6)
stocks = st.none() | st.integers(min_value=300, max_value=3000).map(lambda mm: mm / 1000)


@pytest.mark.parametrize(("part", "pieces"), [(0.247, 4), (0.250, 3), (0.2485, 3), (0.2477, 4)])
def test_n_pieces_take_their_sum_and_one_kerf_less_than_there_are_pieces(part: float, pieces: int) -> None:
    """Arithmetic: floor((1000 + 3) / (part + 3)) pieces come out of a bar of 1000 mm with a 3 mm kerf."""
    assert lengths_to_buy([part] * pieces, [], 1.0, BARE) == 1
    assert lengths_to_buy([part] * (pieces + 1), [], 1.0, BARE) == 2


def test_an_off_cut_costs_one_kerf_more_and_less_than_a_kerf_is_dust() -> None:
    assert Bar(1.0, False, (0.247,) * 4).off_cut(BARE) == pytest.approx(0.0)
    assert Bar(1.0, False, (0.3, 0.3)).off_cut(BARE) == pytest.approx(1.0 - 0.6 - 2 * 0.003)
    assert Bar(1.0, True).off_cut(BARE) == 1.0


def test_where_the_longest_first_is_not_the_best_the_plan_is_still_the_least() -> None:
    """Fourteen pieces from bars of 2000 mm: 5 bars by OR-Tools, exact; the longest first takes 6."""
    cuts = [0.765, *[0.75] * 4, *[0.68] * 3, *[0.61] * 2, *[0.51] * 4]
    plan = cut_plan(cuts, [], 2.0, BARE)
    assert len(plan.bought) == 5
    assert plan.is_least


def test_only_an_off_cut_of_some_length_goes_back_on_the_shelf() -> None:
    assert Bar(1.0, False, (0.3, 0.3)).kept(BARE) == pytest.approx(0.394)
    assert Bar(1.0, False, (0.97,)).kept(BARE) == 0.0
    assert USEFUL == 0.05


def test_of_two_off_cuts_that_take_a_cut_the_long_one_is_left_whole() -> None:
    plan = cut_plan([0.3, 0.4], [1.2, 0.41, 0.33], 2.0)
    assert {(bar.length, bar.cuts) for bar in plan.bars} == {(0.41, (0.4,)), (0.33, (0.3,))}


def test_pieces_of_more_than_half_a_bar_need_one_each() -> None:
    plan = cut_plan([0.6] * 3, [], 1.0, NOTHING_LOST)
    assert len(plan.bought) == 3
    assert plan.is_least


def test_the_shortest_off_cut_that_takes_a_cut_is_used_before_anything_is_bought() -> None:
    plan = cut_plan([0.3], [0.9, 0.32, 0.2], 1.0)
    (bar,) = plan.bars
    assert (bar.length, bar.from_shelf, bar.cuts) == (0.32, True, (0.3,))
    assert plan.bought == ()
    assert lengths_to_buy([0.3], [0.9, 0.32, 0.2], 1.0) == 0


def test_an_off_cut_as_long_as_the_finished_piece_leaves_nothing_to_dress_and_is_not_used() -> None:
    assert lengths_to_buy([0.3], [0.3], 1.0) == 1
    assert lengths_to_buy([0.3], [0.3 + TRIM], 1.0) == 0


def test_what_is_longer_than_any_bar_is_told() -> None:
    plan = cut_plan([2.4, 0.5], [], 2.0)
    assert plan.too_long == (2.4,)
    assert [bar.cuts for bar in plan.bars] == [(0.5,)]
    assert lengths_to_buy([2.4, 0.5], [], 2.0) == 2


def test_without_a_length_as_sold_each_cut_is_bought_cut_to_length() -> None:
    assert cut_plan([0.4, 0.3], [0.5], None).too_long == (0.3,)
    assert lengths_to_buy([0.4, 0.3], [], None) == 2
    assert lengths_to_buy([], [1.0], None) == 0


@few
@given(some_cuts, some_off_cuts, stocks)
def test_every_cut_comes_out_of_one_bar_that_has_room_for_it_and_nothing_is_bought_in_vain(
    cuts: list[float], off_cuts: list[float], stock: float | None
) -> None:
    plan = cut_plan(cuts, off_cuts, stock)
    laid_out = [cut for bar in plan.bars for cut in bar.cuts]
    assert Counter(laid_out) + Counter(plan.too_long) == Counter(cuts)
    for bar in plan.bars:
        lost = TRIM * len(bar.cuts) + KERF * (len(bar.cuts) - 1)
        assert sum(bar.cuts) + lost + bar.off_cut(plan.saw) <= bar.length + 1e-9
    assert Counter(bar.length for bar in plan.bars if bar.from_shelf) <= Counter(off_cuts)
    assert all(bar.length == stock for bar in plan.bought)
    assert plan.is_least


@few
@given(some_cuts, some_off_cuts, stocks, millimetres)
def test_one_more_off_cut_that_takes_nothing_changes_nothing(
    cuts: list[float], off_cuts: list[float], stock: float | None, too_short: float
) -> None:
    shortest = min(cuts, default=0.0)
    more = [*off_cuts, min(too_short, shortest)]
    assert lengths_to_buy(cuts, more, stock) == lengths_to_buy(cuts, off_cuts, stock)
