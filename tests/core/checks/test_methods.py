"""How losses are reckoned as doubt: authorities differ, losses share it, and no reading takes it away."""

from dataclasses import replace
from math import log

import pytest

from server.core.air.spread import bend_doubt, step_doubt
from server.core.checks.again import judge_again
from server.core.checks.answer import Check, answer
from server.core.checks.case import BENDS, STEPS, Case
from server.core.checks.facts import Facts
from server.core.checks.flow import elements_of, flow_of
from server.core.checks.judge import LOSS
from server.core.checks.names import plain_name
from server.core.checks.next_reading import best_instrument, next_readings, open_run
from server.core.checks.register import rule
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.units import System
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import charge_case


def charge_loss(case: Case) -> Check:
    return next(one for one in answer(case).checks if one.rule.code == "charge-loss")


def close_to_its_limit(case: Case) -> Case:
    """The same run, its limit half a per cent above what it loses."""
    facts = Facts.at_best(case)
    share = 1.005 * flow_of(facts).loss / facts.engine.boost
    return replace(case, limits={"charge.loss_share": share})


def test_a_run_is_reckoned_with_a_factor_of_one_as_sure_as_its_authorities_agree() -> None:
    sizes = charge_case().variables()
    assert sizes[BENDS] == Estimate(1.0, bend_doubt())
    assert sizes[STEPS] == Estimate(1.0, step_doubt())


def test_a_factor_changes_the_coefficient_it_is_named_for_and_no_other() -> None:
    case = charge_case()
    best = Facts.at_best(case)
    moved = Facts(case, {**best.values, BENDS: 1.0 + log(1.5)}, best)
    bends = [piece.id for piece in case.plan.pieces if piece.has_arc]
    assert bends
    assert flow_of(moved).loss > flow_of(best).loss
    assert {one.name for one in elements_of(moved) if abs(one.bend_factor - 1.5) < 1e-12} == {
        f"piece.{number}" for number in bends
    }
    for before, after in zip(flow_of(best).pieces, flow_of(moved).pieces, strict=True):
        if before.piece_id in bends:
            assert after.loss > 1.05 * before.loss
        else:
            # The gas is a little thinner behind a bend that loses more.
            assert after.loss == pytest.approx(before.loss, rel=0.05)


def test_no_draw_of_a_factor_is_less_than_nothing() -> None:
    case = charge_case()
    best = Facts.at_best(case)
    far_below = Facts(case, {**best.values, BENDS: -3.0}, best)
    assert 0.0 < flow_of(far_below).loss < flow_of(best).loss
    assert all(one.bend_factor > 0.0 for one in elements_of(far_below))


@pytest.mark.parametrize("case", [charge_case(), downpipe_case()], ids=["charge pipe", "downpipe"])
def test_the_doubt_of_the_loss_has_the_method_s_part(case: Case) -> None:
    """JCGM 100:2008, 5.1.2: the slope for one doubt of the method, by marching the run again."""
    best = Facts.at_best(case)
    _, response, _ = judge_again(case, [rule("steps")], best, None)
    shares = dict(response.shares(LOSS))
    losses = [
        flow_of(Facts(case, {**best.values, BENDS: 1.0 + way * bend_doubt()}, best)).loss for way in (-1, 1)
    ]
    part = ((losses[1] - losses[0]) / (2.0 * flow_of(best).loss)) ** 2
    assert shares[BENDS] == pytest.approx(part / response.doubt(LOSS) ** 2, rel=0.1)


def test_a_chance_that_rests_on_the_method_says_so_and_asks_for_no_reading_of_it() -> None:
    case = charge_case()
    check = charge_loss(close_to_its_limit(case))
    assert check.probability is not None
    assert 0.3 < check.probability < 0.7
    assert check.disputed is not None
    assert "how the loss of bends is reckoned: authorities differ" in say(check.disputed, System.metric)
    assert check.settles is not None
    assert not check.settles.variable.startswith("method.")


def test_no_reading_is_asked_of_a_method() -> None:
    case = close_to_its_limit(charge_case())
    assert best_instrument(BENDS) is None
    asked = next_readings([open_run("one", case, answer(case))])
    assert not [one for one in asked if one.variable.startswith("method.")]
    assert plain_name(case.plan, STEPS) == "how the loss of steps and cones is reckoned"


def test_a_sound_chance_is_not_called_disputed() -> None:
    assert charge_loss(charge_case()).disputed is None


def test_a_check_without_losses_does_not_rest_on_the_method() -> None:
    case = charge_case()
    rules = [rule("bore-held"), rule("coupler-fit")]
    judged, response, _ = judge_again(case, rules, Facts.at_best(case), None)
    assert judged
    for one in judged:
        for item in one.items:
            assert not [name for name, _ in response.shares(item.output) if name.startswith("method.")]
