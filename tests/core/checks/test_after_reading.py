"""Readings judged together come out as each does alone, its reading put into the case by hand."""

import pytest

from server.core.checks.after_reading import Trial, judge_after
from server.core.checks.again import judge_again
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.register import rules_for
from server.core.measure.estimate import Estimate
from tests.core.checks.runs import MM, charge_case, intake_case, with_piece_sizes

CASES = [charge_case(), intake_case()]


def as_read(case: Case, piece: int, size: str, read: Estimate) -> Case:
    number = next(one.number for one in case.plan.pieces if one.id == piece)
    return with_piece_sizes(case, number, {size: read})


@pytest.mark.parametrize("case", CASES, ids=["charge pipe", "intake"])
def test_verdicts_after_several_readings_are_those_after_each_alone(case: Case) -> None:
    """Diameters and lengths go far down and a little up: other ends become the narrower, steps turn round."""
    rules = tuple(rules_for(case.plan.place))
    readings = {
        (piece.id, name, by): Estimate(size.value + by * MM, 0.1 * MM)
        for piece in case.plan.pieces
        for name, size in piece.sizes.items()
        if name in {"bore", "bore_out", "outside_diameter", "length"}
        for by in (-8.0, 0.5)
    }
    trials = [Trial(rules, {f"piece.{at}.{name}": read}) for (at, name, _), read in readings.items()]

    together = judge_after(Facts.at_best(case), trials)

    for ((at, name, _), read), verdicts in zip(readings.items(), together, strict=True):
        alone = as_read(case, at, name, read)
        judged, _, _ = judge_again(alone, rules, Facts.at_best(alone), None)
        assert verdicts == {one.rule.code: one.verdict for one in judged}


def test_nothing_is_judged_after_no_reading() -> None:
    assert judge_after(Facts.at_best(charge_case()), []) == ()
