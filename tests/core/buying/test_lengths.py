"""Cutting lengths as sold: kerfs, off-cuts first, and a number that no plan gets below."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.buying.lengths import KERF, SLACK, TRIM, Bar, CutPlan, Saw, cut_plan, lengths_to_buy

BARE = Saw(kerf=0.003, trim=0.0)
NOTHING_LOST = Saw(kerf=0.0, trim=0.0)

millimetres = st.integers(min_value=5, max_value=2500).map(lambda mm: mm / 1000)
some_cuts = st.lists(millimetres, max_size=14)
some_off_cuts = st.lists(millimetres, max_size=6)
stocks = st.none() | st.integers(min_value=300, max_value=3000).map(lambda mm: mm / 1000)


@pytest.mark.parametrize(("part", "pieces"), [(0.247, 4), (0.250, 3), (0.2485, 3), (0.24775, 4)])
def test_n_pieces_take_their_sum_and_one_kerf_less_than_there_are_pieces(part: float, pieces: int) -> None:
    """Arithmetic: floor((1000 + 3) / (part + 3)) pieces come out of a bar of 1000 mm with a 3 mm kerf."""
    assert lengths_to_buy([part] * pieces, [], 1.0, BARE) == 1
    assert lengths_to_buy([part] * (pieces + 1), [], 1.0, BARE) == 2


def test_an_off_cut_costs_one_kerf_more_and_less_than_a_kerf_is_dust() -> None:
    assert Bar(1.0, False, (0.247,) * 4).off_cut(BARE) == pytest.approx(0.0)
    assert Bar(1.0, False, (0.3, 0.3)).off_cut(BARE) == pytest.approx(1.0 - 0.6 - 2 * 0.003)
    assert Bar(1.0, True).off_cut(BARE) == 1.0


def test_where_the_longest_first_is_not_the_best_the_plan_says_so() -> None:
    """Fourteen pieces from bars of 2000 mm: the best plan has 5 bars (proved with an exact solver)."""
    cuts = [0.765, *[0.75] * 4, *[0.68] * 3, *[0.61] * 2, *[0.51] * 4]
    plan = cut_plan(cuts, [], 2.0, BARE)
    assert len(plan.bought) == 6
    assert plan.least == 5
    assert not plan.is_least


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


@given(some_cuts, some_off_cuts, stocks)
def test_every_cut_is_in_exactly_one_bar_or_too_long(
    cuts: list[float], off_cuts: list[float], stock: float | None
) -> None:
    plan = cut_plan(cuts, off_cuts, stock)
    laid_out = [cut for bar in plan.bars for cut in bar.cuts]
    assert Counter(laid_out) + Counter(plan.too_long) == Counter(cuts)


@given(some_cuts, some_off_cuts, stocks)
def test_no_bar_is_cut_up_beyond_its_length(
    cuts: list[float], off_cuts: list[float], stock: float | None
) -> None:
    plan = cut_plan(cuts, off_cuts, stock)
    for bar in plan.bars:
        lost = TRIM * len(bar.cuts) + KERF * (len(bar.cuts) - 1)
        assert sum(bar.cuts) + lost + bar.off_cut(plan.saw) <= bar.length + SLACK * len(bar.cuts)


@given(some_cuts, some_off_cuts, stocks)
def test_no_off_cut_is_used_twice_and_nothing_else_is_taken_from_the_shelf(
    cuts: list[float], off_cuts: list[float], stock: float | None
) -> None:
    plan = cut_plan(cuts, off_cuts, stock)
    assert Counter(bar.length for bar in plan.bars if bar.from_shelf) <= Counter(off_cuts)
    assert all(bar.length == stock for bar in plan.bought)


@given(some_cuts, some_off_cuts, stocks)
def test_a_plan_never_needs_fewer_bars_than_the_least(
    cuts: list[float], off_cuts: list[float], stock: float | None
) -> None:
    plan = cut_plan(cuts, off_cuts, stock)
    assert len(plan.bought) >= plan.least >= 0


@given(some_cuts.filter(bool), stocks.filter(bool))
def test_without_off_cuts_the_longest_first_stays_near_the_least(
    cuts: list[float], stock: float | None
) -> None:
    """Bars that are all opened are more than half full in pairs, so there are fewer than twice the least."""
    plan: CutPlan = cut_plan(cuts, [], stock)
    assert len(plan.bought) <= 2 * plan.least


@given(some_cuts, some_off_cuts, stocks, millimetres)
def test_one_more_off_cut_that_takes_nothing_changes_nothing(
    cuts: list[float], off_cuts: list[float], stock: float | None, too_short: float
) -> None:
    shortest = min(cuts, default=0.0)
    more = [*off_cuts, min(too_short, shortest)]
    assert lengths_to_buy(cuts, more, stock) == lengths_to_buy(cuts, off_cuts, stock)
