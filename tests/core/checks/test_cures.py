"""A number given as a cure turns its check to go, and names every other check that it makes worse."""

import numpy as np
import pytest

from server.core.checks.again import judge_again
from server.core.checks.answer import answer
from server.core.checks.case import Case
from server.core.checks.cure import Cure, CureKind
from server.core.checks.facts import Facts
from server.core.checks.levers import piece_there, with_another
from server.core.checks.register import rules_for
from server.core.checks.rule import GRAVEST_FIRST, Verdict
from server.core.measure.estimate import Estimate
from server.core.phrase import say
from server.core.tube.run import Origin
from server.core.units import System
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import (
    MM,
    charge_case,
    check,
    intake_case,
    sizes,
    with_joint,
    with_piece,
    with_piece_sizes,
)


def variant(seed: int) -> Case:
    """A sound run with one piece too narrow, one overlap too short and one hose that is another size."""
    rng = np.random.default_rng(seed)
    case = (charge_case, intake_case, downpipe_case)[seed % 3]()
    metal = [piece for piece in case.plan.pieces if "outside_diameter" in piece.sizes]
    chosen = metal[int(rng.integers(len(metal)))]
    outside = chosen.sizes["outside_diameter"].value
    narrowed = Estimate(outside - float(rng.uniform(1.0, 14.0)) * MM, 0.1 * MM)
    case = with_piece_sizes(case, chosen.number, {"outside_diameter": narrowed})
    if rng.random() < 0.5:
        case = with_piece(case, chosen.number, origin=Origin.SALVAGED)
    clamped = [at for at, joint in enumerate(case.plan.joints) if "overlap" in joint.sizes]
    if clamped:
        at = int(rng.choice(clamped))
        joint = case.plan.joints[at]
        changed = {"overlap": Estimate(float(rng.uniform(15.0, 26.0)) * MM, 0.5 * MM)}
        if "holds" in joint.sizes:
            changed["holds"] = Estimate(float(rng.uniform(200.0, 700.0)), 20.0)
        case = with_joint(case, at, sizes={**joint.sizes, **changed})
        hose = next(piece for piece in case.plan.pieces if piece.is_hose)
        bore = hose.sizes["bore"].value + float(rng.uniform(-4.0, 2.0)) * MM
        case = with_piece_sizes(case, hose.number, {"bore": Estimate(bore, 0.1 * MM)})
    return case


def cured_by(case: Case, cure: Cure) -> Case:
    """The case with the cure done: a piece that is there already gives way to one that is bought."""
    assert cure.variable is not None
    assert cure.value is not None
    there = piece_there(case.plan, cure.variable)
    bought = case if there is None else with_another(case, there)
    return bought.with_size(cure.variable, cure.value)


def verdicts(case: Case) -> dict[str, Verdict]:
    """Every rule judged, whether or not it rests on what a cure changes."""
    judged, _, _ = judge_again(case, rules_for(case.plan.place), Facts.at_best(case), None)
    return {one.rule.code: one.verdict for one in judged}


@pytest.mark.parametrize("seed", range(21))
def test_a_number_cures_its_check_and_nothing_gets_worse_unnamed(seed: int) -> None:
    case = variant(seed)
    before = answer(case)
    was = {one.rule.code: one.verdict for one in before.checks}
    for one in before.checks:
        if one.cure is None or one.cure.kind is not CureKind.NUMBER:
            continue
        now = verdicts(cured_by(case, one.cure))
        assert now[one.rule.code] is Verdict.GO
        worse = {
            code: verdict
            for code, verdict in now.items()
            if GRAVEST_FIRST.index(verdict) < GRAVEST_FIRST.index(was.get(code, Verdict.GO))
        }
        assert {rule.code: verdict for rule, verdict in one.cure.worse} == worse
        told = say(one.cure.phrase, System.metric)
        assert all(f"{rule.title} turns {verdict}" in told for rule, verdict in one.cure.worse)


def test_a_wider_pipe_on_which_the_charge_pushes_harder_says_that_its_joint_is_then_tight() -> None:
    """The joint that holds the narrow bend would not surely hold the wide one: area goes with its square."""
    case = with_piece_sizes(charge_case(), 2, sizes(outside_diameter=52.0))
    case = with_joint(case, 2, sizes={**case.plan.joints[2].sizes, "holds": Estimate(545.0, 20.0)})
    assert check(case, "end-force").verdict is Verdict.GO
    cure = check(case, "bore-held").cure
    assert cure is not None
    assert [(rule.code, verdict) for rule, verdict in cure.worse] == [("end-force", Verdict.TIGHT)]
    assert say(cure.phrase, System.metric) == (
        "A bore of 57 mm (60 mm outside) in 90° bend (2) turns this to go; "
        "End force at clamped joints turns tight by it."
    )


def test_a_cure_that_harms_nothing_names_nothing() -> None:
    cure = check(with_piece_sizes(charge_case(), 2, sizes(outside_diameter=48.0)), "bore-held").cure
    assert cure is not None
    assert cure.worse == ()
    assert "by it" not in say(cure.phrase, System.metric)
