"""Where a verdict turns: at the chances a build asks for, and at 99 % where somebody can be hurt."""

from dataclasses import replace
from math import nextafter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from server.core.checks.again import judge_again
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.judge import Judged, asked_of, verdict_of
from server.core.checks.limits import LIMITS
from server.core.checks.register import RULES, rule
from server.core.checks.rule import INJURY_ASKS, RuleClass, Verdict
from server.core.measure.estimate import Estimate
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import MM, charge_case, with_joint

GO, NO_GO = LIMITS["chance.go"], LIMITS["chance.no_go"]
asked_chances = st.floats(*GO.range)
least_chances = st.floats(*NO_GO.range)


def judged(case: Case, code: str) -> Judged:
    return judge_again(case, [rule(code)], Facts.at_best(case), None)[0][0]


def with_overlap(overlap: float, **limits: float) -> Case:
    """The charge pipe with one overlap of a millimetre's doubt, all others far from their limit [m]."""
    sizes = {**charge_case().plan.joints[2].sizes, "overlap": Estimate(overlap, 1.0 * MM)}
    changed = {key.replace("_", ".", 1): value for key, value in limits.items()}
    return replace(with_joint(charge_case(), 2, sizes=sizes), limits=changed)


@given(st.floats(0.0, 1.0), asked_chances, least_chances)
def test_between_what_is_asked_and_no_go_it_is_tight(chance: float, asked: float, no_go: float) -> None:
    found = verdict_of(chance, asked, no_go, failures_are_tight=False)
    assert (found is Verdict.GO) == (chance >= asked)
    assert (found is Verdict.TIGHT) == (no_go <= chance < asked)
    assert (found is Verdict.NO_GO) == (chance < no_go)


@given(asked_chances, least_chances)
def test_at_its_edges_a_chance_belongs_to_the_better_verdict(asked: float, no_go: float) -> None:
    def found(chance: float) -> Verdict:
        return verdict_of(chance, asked, no_go, failures_are_tight=False)

    assert found(asked) is Verdict.GO
    assert found(nextafter(asked, 0.0)) is Verdict.TIGHT
    assert found(no_go) is Verdict.TIGHT
    assert found(nextafter(no_go, 0.0)) is Verdict.NO_GO


def test_what_a_build_may_ask_for_leaves_room_for_tight() -> None:
    assert NO_GO.range[1] < GO.range[0]
    assert (NO_GO.default, GO.default) == (0.50, 0.95)


@settings(max_examples=15, deadline=None)
@given(asked_chances, least_chances)
def test_a_check_turns_where_the_build_says_that_it_turns(asked: float, no_go: float) -> None:
    """The overlap at which the chance is just what is asked, and the one at which it is just not no-go."""

    def case(overlap: float) -> Case:
        return with_overlap(overlap, chance_go=asked, chance_no_go=no_go)

    def edge(chance: float) -> float:
        def off(overlap: float) -> float:
            return judged(case(overlap), "overlap").probability - chance

        return float(brentq(off, 0.0225, 0.029, xtol=1e-7))

    hair = 0.01 * MM
    assert judged(case(edge(asked) + hair), "overlap").verdict is Verdict.GO
    assert judged(case(edge(asked) - hair), "overlap").verdict is Verdict.TIGHT
    assert judged(case(edge(no_go) + hair), "overlap").verdict is Verdict.TIGHT
    below = judged(case(edge(no_go) - hair), "overlap")
    assert below.verdict is (Verdict.TIGHT if all(i.is_tight for i in below.items[:1]) else Verdict.NO_GO)


@settings(max_examples=30, deadline=None)
@given(asked_chances)
def test_where_somebody_can_be_hurt_99_percent_is_asked_whatever_the_build_asks(asked: float) -> None:
    facts = Facts.at_best(replace(charge_case(), limits={"chance.go": asked}))
    for one in RULES:
        injury = one.rule_class is RuleClass.INJURY
        assert asked_of(facts, one) == (INJURY_ASKS if injury else asked), one.code
    assert INJURY_ASKS == 0.99


def gated(swing: float, asked: float) -> Case:
    """A turbine with the gate inside whose flap sweeps so far [m], in doubt by half a millimetre."""
    case = downpipe_case()
    start = case.plan.start
    assert start is not None
    flap = {"flap_reach": Estimate(10.0 * MM, 0.5 * MM), "flap_swing": Estimate(swing, 0.5 * MM)}
    plan = replace(case.plan, start=replace(start, sizes={**start.sizes, **flap}))
    return replace(case, plan=plan, limits={"chance.go": asked})


@pytest.mark.parametrize("asked", [0.55, 0.95, 0.999])
def test_an_injury_check_is_tight_under_99_percent_and_go_from_there(asked: float) -> None:
    """The flap has 36.6 mm from the centre of a 73.2 mm pipe, of which 3 mm are to be left."""

    def off(swing: float) -> float:
        return judged(gated(swing, asked), "flap-room").probability - INJURY_ASKS

    edge = float(brentq(off, 0.030, 0.0336, xtol=1e-7))
    assert edge == pytest.approx(0.0336 - 2.326 * 0.5 * MM, abs=0.05 * MM)
    assert judged(gated(edge - 0.01 * MM, asked), "flap-room").verdict is Verdict.GO
    assert judged(gated(edge + 0.01 * MM, asked), "flap-room").verdict is Verdict.TIGHT
