"""Rules asked about every draw at once say what they say of each draw alone."""

from dataclasses import replace

import numpy as np
import pytest

from server.core.checks.at_once import facts_in_draws, look_at, loss_in_draws, margins_in_draws
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.flow import flow_of
from server.core.checks.missing import NotMeasured
from server.core.checks.register import rules_for
from server.core.checks.rule import Findings, Found, Rule
from server.core.measure.many import Floats, Parted, either, greatest, least, many
from server.core.tube.run import Protection, What
from tests.bench.calibration import random_cases
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import charge_case, intake_case
from tests.core.checks.test_checks_of_gaps import near
from tests.core.checks.test_checks_of_the_fuel import fuel_case

DRAWS = 60
CASES = [intake_case(), charge_case(), downpipe_case(), *random_cases(2, seed=8)]


def drawn_from(case: Case) -> dict[str, Floats]:
    """Every reading of a case in so many draws, wide enough that conditions of rules part them."""
    rng = np.random.default_rng(11)
    return {
        name: rng.normal(size.value, 2.0 * size.doubt, DRAWS)
        for name, size in case.variables().items()
        if size.doubt > 0.0
    }


def alone(rule: Rule, best: Facts, drawn: dict[str, Floats], draw: int) -> dict[str, float]:
    values = {**best.values, **{name: float(some[draw]) for name, some in drawn.items()}}
    try:
        found = rule.find(Facts(best.case, values, best))
    except (NotMeasured, ValueError):
        return {}
    return {one.item: one.margin for one in found if isinstance(one, Found)}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.plan.place.value)
def test_margins_of_all_draws_are_those_of_each(case: Case) -> None:
    best, drawn = Facts.at_best(case), drawn_from(case)
    facts = facts_in_draws(best, drawn)
    compared = 0
    for rule in rules_for(case.plan.place):
        looked = look_at(rule, best)
        items = [one.item for one in looked.findings if isinstance(one, Found) and not one.yes_or_no]
        with np.errstate(all="ignore"):
            together = margins_in_draws(looked, items, facts, DRAWS)
        for draw in range(0, DRAWS, 6):
            margins = alone(rule, best, drawn, draw)
            for at, item in enumerate(items):
                single = margins.get(item, np.nan)
                assert together[at, draw] == pytest.approx(single, rel=1e-6, abs=1e-7, nan_ok=True), item
                compared += 1
    assert compared >= 100


def test_the_loss_of_all_draws_is_that_of_each() -> None:
    case = charge_case()
    best, drawn = Facts.at_best(case), drawn_from(case)
    together = loss_in_draws(facts_in_draws(best, drawn), DRAWS)
    for draw in range(0, DRAWS, 10):
        values = {**best.values, **{name: float(some[draw]) for name, some in drawn.items()}}
        assert np.exp(together[draw]) == pytest.approx(flow_of(Facts(case, values, best)).loss, rel=1e-9)


def test_a_look_knows_what_it_rests_on_though_another_look_found_it_first() -> None:
    best = Facts.at_best(charge_case())
    twice = [{rule.code: look_at(rule, best).reads for rule in rules_for(best.plan.place)} for _ in range(2)]
    assert twice[0] == twice[1]
    assert "engine.boost" in twice[0]["charge-loss"]
    assert not any(name.startswith("engine.") for name in twice[0]["bore-held"])


def test_a_rule_that_takes_single_numbers_alone_is_asked_draw_by_draw() -> None:
    case = charge_case()
    best, drawn = Facts.at_best(case), drawn_from(case)
    usual = next(rule for rule in rules_for(case.plan.place) if rule.code == "end-force")

    def as_single_numbers(facts: Facts) -> Findings:
        return usual.find(facts) if float(facts.engine.boost) > 0.0 else ()

    alone_only = replace(usual, find=as_single_numbers)
    looks = [look_at(rule, best) for rule in (usual, alone_only)]
    items = [one.item for one in looks[0].findings if isinstance(one, Found) and not one.yes_or_no]
    facts = facts_in_draws(best, drawn)
    together, apart = (margins_in_draws(looked, items, facts, DRAWS) for looked in looks)
    assert np.allclose(together, apart, rtol=1e-12)
    assert np.isfinite(apart).all()


def test_the_injectors_duty_of_all_draws_is_found_in_one_go() -> None:
    best = Facts.at_best(fuel_case())
    rule = next(rule for rule in rules_for(best.plan.place) if rule.code == "injector-duty")
    boosts = np.array([-3000.0, 0.0, 4000.0])
    found = rule.find(best.in_draws({"engine.boost": boosts}))
    (duty,) = (one for one in found if isinstance(one, Found))
    each = [alone(rule, best, {"engine.boost": boosts}, draw)["injectors"] for draw in range(3)]
    assert np.asarray(duty.margin).tolist() == pytest.approx(each, rel=1e-12)
    assert each[0] > each[1] > each[2]


def test_many_numbers_part_where_they_go_different_ways() -> None:
    heights = many(np.array([1.0, 3.0, 5.0]))
    assert heights > 0.5
    assert not heights > 6.0
    with pytest.raises(Parted) as parted:
        bool(heights > 2.0)
    assert parted.value.meets.tolist() == [False, True, True]


def test_many_numbers_are_not_changed_by_a_sum_that_adds_up() -> None:
    lengths = many(np.array([1.0, 2.0]))
    total = lengths
    total += 1.0
    total -= 0.5
    total *= 2.0
    total /= 4.0
    assert lengths.tolist() == [1.0, 2.0]
    assert total.tolist() == [0.75, 1.25]


def test_the_least_and_the_greatest_are_found_draw_by_draw() -> None:
    first, second = many(np.array([1.0, 4.0])), many(np.array([2.0, 3.0]))
    assert np.asarray(least(first, second)).tolist() == [1.0, 3.0]
    assert np.asarray(greatest(first, 2.0)).tolist() == [2.0, 4.0]
    assert np.asarray(either(first < 2.0, first, second)).tolist() == [1.0, 3.0]
    assert (least(1.0, 2.0), greatest(1.0, 2.0), either(False, 1.0, 2.0)) == (1.0, 2.0, 2.0)


def test_heat_and_gaps_of_what_stands_near_are_those_of_each_draw_too() -> None:
    """Bare, shielded, sleeved: no sum of it is one that only a single number can take."""
    some = (
        near(What.LOOM, 60.0),
        replace(near(What.BRAKE_LINE, 80.0), id=8, protection=Protection.SHIELD),
        replace(near(What.HOSE, 120.0, material="EPDM"), id=9, protection=Protection.SLEEVE),
    )
    test_margins_of_all_draws_are_those_of_each(downpipe_case(neighbours=some))
