"""Which piece of a run may turn out not to fit, and how likely that is."""

from dataclasses import replace

import pytest

from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.misfits import Misfit, misfits, sizes_wrong
from tests.core.checks.runs import charge_case, check, port, sizes, with_piece_sizes

MM = 1e-3


def of(case: Case) -> dict[int, Misfit]:
    return {one.piece.number: one for one in misfits(answer(case).checks, case.plan)}


def test_a_coupler_whose_bore_is_in_doubt_may_not_fit_as_often_as_its_check_says() -> None:
    case = with_piece_sizes(charge_case(), 3, sizes(doubt=1.0 * MM, bore=59.5))
    worst = min(item.probability or 0.0 for item in check(case, "coupler-fit").items)
    assert 0.0 < worst < 1.0
    assert of(case)[3].chance == pytest.approx(1.0 - worst)
    assert of(case)[3].why == "Couplers fit both spigots"


def test_the_better_it_is_read_the_less_likely_it_does_not_fit() -> None:
    by_feel, by_caliper = (
        of(with_piece_sizes(charge_case(), 3, sizes(doubt=doubt, bore=59.5)))[3].chance
        for doubt in (1.0 * MM, 0.3 * MM)
    )
    assert by_caliper < by_feel / 4


def test_what_is_no_go_holds_the_work_and_is_not_counted_again() -> None:
    case = with_piece_sizes(charge_case(), 3, sizes(bore=63.0))
    assert check(case, "coupler-fit").holds_work
    assert of(case).get(3, Misfit(case.plan.pieces[2], 0.0, "")).why != "Couplers fit both spigots"


def test_the_chance_of_a_wrong_size_is_that_of_the_worse_spigot() -> None:
    case = with_piece_sizes(charge_case(), 3, sizes(doubt=1.0 * MM, bore=59.5))
    found = sizes_wrong(answer(case).checks, case.plan)
    worst = min(item.probability or 0.0 for item in check(case, "coupler-fit").items)
    assert found[3] == pytest.approx(1.0 - worst)
    sure = charge_case()
    assert sizes_wrong(answer(sure).checks, sure.plan)[3] < 0.001


def test_with_a_spigot_that_nobody_measured_no_chance_is_told() -> None:
    case = charge_case(end=replace(port(14, "Cooler inlet", 63.5), sizes={}))
    assert sizes_wrong(answer(case).checks, case.plan) == {}
