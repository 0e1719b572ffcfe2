"""After an edit a run is answered as if nothing had been known before, and less is asked again."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from server.core.checks.again import judge_again
from server.core.checks.answer import Answers, answer, answer_again
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.flow import flow_of
from server.core.checks.register import rules_for
from server.core.checks.rule import Findings
from server.core.measure.estimate import Estimate
from server.core.tube.run import variables
from tests.bench.random_runs import random_build
from tests.core.checks.runs import MM, charge_case


def edits(case: Case, rng: np.random.Generator) -> Iterator[Case]:
    """Some sizes of the run changed, one at a time, each edit of the one before."""
    names = [name for name, size in variables(case.plan).items() if size.value > 0.0]
    for name in rng.choice(names, 2, replace=False):
        case = case.with_size(str(name), case.variables()[str(name)].value * float(rng.uniform(0.97, 1.06)))
        yield case


def words(answers: Answers) -> list[object]:
    return [
        (one.rule.code, one.verdict, one.missing, one.phrase.text, one.cure and one.cure.phrase.text)
        for one in answers.checks
    ]


def numbers(answers: Answers) -> list[float]:
    items = [item for one in answers.checks for item in one.items]
    of_items = [(item.margin, item.tight_margin, item.probability, item.doubt) for item in items]
    chances = [answers.all_pass, answers.loss_doubt, *(one.probability for one in answers.checks)]
    return [number for some in (*of_items, chances) for number in some if number is not None]


@pytest.mark.parametrize("run", range(4))
def test_an_edited_run_is_answered_as_anew(run: int) -> None:
    rng = np.random.default_rng(run)
    case = random_build(rng)[run]
    _, before = answer_again(case, None)
    for edited in edits(case, rng):
        found, before = answer_again(edited, before)
        anew = answer(edited)
        assert words(found) == words(anew)
        assert numbers(found) == pytest.approx(numbers(anew), rel=1e-9, abs=1e-12)


def _never(_: Facts) -> Findings:
    raise AssertionError("asked again")


def test_a_rule_none_of_whose_sizes_changed_is_not_asked_again() -> None:
    case = charge_case()
    _, before = answer_again(case, None)
    name = f"piece.{case.plan.pieces[1].id}.length"
    longer = case.with_size(name, case.variables()[name].value + 5.0 * MM)
    stands = {"coupler-fit", "clamp", "steps"}
    rules = [replace(one, find=_never) if one.code in stands else one for one in rules_for(case.plan.place)]
    judged, _, _ = judge_again(longer, rules, Facts.at_best(longer), before.judging)
    assert stands <= {one.rule.code for one in judged}


def test_what_is_told_of_an_item_may_rest_on_more_than_its_margin() -> None:
    """How a far too narrow piece stands is told by the loss of the whole run: any length counts."""
    case = charge_case()
    tube = next(piece for piece in case.plan.pieces if not piece.is_hose)
    narrow = case.with_size(f"piece.{tube.id}.outside_diameter", 44.0 * MM)
    _, before = answer_again(narrow, None)
    held = before.judging.judged["bore-held"]
    lengths = {f"piece.{piece.id}.length" for piece in case.plan.pieces}
    assert lengths <= held.rests_on
    assert not lengths & held.reads


def test_what_is_told_is_told_anew_after_a_doubt_went_too() -> None:
    """A doubt that no longer counts lets every rule be judged otherwise; what is told may rest on more still.

    The narrow piece made longer loses more, which tells how its bore stands.
    """
    case = charge_case()
    tube = next(piece for piece in case.plan.pieces if not piece.is_hose)
    narrow = case.with_size(f"piece.{tube.id}.outside_diameter", 44.0 * MM)
    first = narrow.plan.joints[0]
    held = replace(first, sizes={**first.sizes, "holds": Estimate(first.sizes["holds"].value)})
    sure = replace(narrow, plan=replace(narrow.plan, joints=(held, *narrow.plan.joints[1:])))
    length = f"piece.{tube.id}.length"
    longer = sure.with_size(length, 3.0 * sure.variables()[length].value)
    _, before = answer_again(narrow, None)
    _, between = answer_again(sure, before)
    found, _ = answer_again(longer, between)
    assert between.judging.moved != before.judging.moved
    assert numbers(found) == pytest.approx(numbers(answer(longer)), rel=1e-9, abs=1e-12)


def test_facts_after_a_reading_take_over_what_was_found_without_it() -> None:
    case = charge_case()
    facts = Facts.at_best(case)
    before = flow_of(facts)
    read = {f"piece.{case.plan.pieces[1].id}.length": 0.4}
    after = facts.otherwise(read)
    assert after.engine is facts.engine
    assert flow_of(after) == flow_of(Facts(case, {**facts.values, **read})) != before
