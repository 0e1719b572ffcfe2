"""Cutting plans: published examples with a known best plan, and random ones against a plain search."""

import pytest

from server.core.buying.cutting import (
    Piece,
    Stock,
    off_cut,
    piece_tenths,
    plan_cuts,
    stock_tenths,
    used,
)
from tests.cut_problems import Problem, faults, least_cost, problems
from tests.reference_values import Check, load


@pytest.mark.parametrize("check", [one for one in load("buying") if one.id.startswith("CUT")], ids=str)
def test_a_published_example_is_solved_to_its_best_plan(check: Check) -> None:
    stock = tuple(Stock(length, None, price) for length, price in check.inputs["stock"])
    pieces = tuple(Piece(length, count) for length, count in check.inputs["pieces"])
    plan = plan_cuts(stock, pieces, check.inputs["kerf"])
    assert (plan.cost, plan.lower_bound) == (check.expected, check.expected)
    assert not faults(Problem(stock, pieces, check.inputs["kerf"]), plan)


def test_random_plans_hold_and_are_proved_to_be_the_cheapest() -> None:
    """Thirty of the 500 of `python -m tests.bench.cut_plans`; the small ones by trying everything too."""
    tried = 0
    for problem in problems(seed=500, count=30):
        plan = plan_cuts(problem.stock, problem.pieces, problem.kerf)
        assert not faults(problem, plan)
        assert plan.is_best
        assert not any(plan.short)
        if problem.small:
            tried += 1
            assert plan.cost == least_cost(problem)
    assert tried >= 5


def test_the_same_problem_has_the_same_plan() -> None:
    one = next(problems(seed=7, count=1))
    assert plan_cuts(one.stock, one.pieces, one.kerf) == plan_cuts(one.stock, one.pieces, one.kerf)


def test_a_piece_is_rounded_up_and_stock_down_to_tenths_of_a_millimetre() -> None:
    assert piece_tenths(0.24775) == 2478
    assert stock_tenths(1.99999) == 19_999
    assert (piece_tenths(0.3), stock_tenths(0.3)) == (3000, 3000)


def test_an_off_cut_costs_one_kerf_more_than_lies_between_the_pieces() -> None:
    assert used((2470,) * 4, 30) == 9970
    assert off_cut(10_000, (2470,) * 4, 30) == 0
    assert off_cut(10_000, (3000, 3000), 30) == 3940


def test_off_cuts_that_cost_nothing_are_used_before_anything_is_bought() -> None:
    plan = plan_cuts((Stock(20_000, None, 900), Stock(5000, 1, 0)), (Piece(4000), Piece(4500)), 30)
    assert plan.cost == 900
    plan = plan_cuts((Stock(20_000, None, 900), Stock(9000, 1, 0)), (Piece(4000), Piece(4500)), 30)
    assert [(bar.stock, bar.pieces) for bar in plan.bars] == [(1, (1, 0))]
    assert plan.cost == plan.lower_bound == 0


def test_two_short_bars_are_taken_where_they_cost_less_than_a_long_one() -> None:
    plan = plan_cuts((Stock(6000, None, 700), Stock(3000, None, 300)), (Piece(2500, 2),), 30)
    assert (plan.cost, len(plan.bars)) == (600, 2)


def test_what_no_bar_is_left_for_is_told_and_as_few_pieces_as_can_be() -> None:
    plan = plan_cuts((Stock(1000, 2),), (Piece(600, 3), Piece(300, 2)), 0)
    assert plan.short == (1, 0)
    assert len(plan.bars) == 2
    assert plan_cuts((Stock(1000),), (Piece(2000, 2), Piece(500)), 0).short == (2, 0)
    assert plan_cuts((Stock(1000, 0),), (Piece(500),), 0).short == (1,)
    assert plan_cuts((), (Piece(500),), 0).bars == ()


def test_equal_pieces_that_stand_in_two_places_are_handed_out_to_both() -> None:
    plan = plan_cuts((Stock(1000),), (Piece(400), Piece(400), Piece(200, 2)), 0)
    assert sorted(place for bar in plan.bars for place in bar.pieces) == [0, 1, 2, 2]
