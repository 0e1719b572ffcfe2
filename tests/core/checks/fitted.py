"""Cases of what is fitted, for the tests of rules that rest on figures."""

from collections.abc import Mapping

from server.core.checks.answer import Check, Finding, answer_figures
from server.core.checks.case import Case
from server.core.checks.cure import CureKind
from server.core.checks.figures import Figures
from server.core.checks.rule import Verdict
from server.core.measure.estimate import Estimate
from server.core.tube.run import JointKind, JointPlan, Place, RunPlan

Changes = Mapping[str, float | str | None]
"""Figures by key: a number [SI], a choice, None to leave one out."""


def fitted_case(place: Place, usual: Mapping[str, float | str], changes: Changes) -> Case:
    """What is fitted in a subsystem, without a run and without an engine; numbers good to half a percent."""
    known = {key: value for key, value in {**usual, **changes}.items() if value is not None}
    numbers = {
        key: Estimate(value, 0.005 * value) for key, value in known.items() if isinstance(value, float)
    }
    said = {key: value for key, value in known.items() if isinstance(value, str)}
    plan = RunPlan(place, None, None, (), (JointPlan(0, JointKind.HOSE_AND_CLAMP),))
    return Case(plan, figures=Figures(numbers, said))


def check_of(case: Case, code: str) -> Check:
    """One check of the figures."""
    return next(one for one in answer_figures(case).checks if one.rule.code == code)


def item_of(check: Check, item: str) -> Finding:
    """One item of a check."""
    return next(one for one in check.items if one.item == item)


def cured(case: Case, code: str) -> float:
    """The number that cures a check [SI]; with it, the check is go."""
    cure = check_of(case, code).cure
    assert cure is not None
    assert cure.kind is CureKind.NUMBER
    assert cure.variable is not None
    assert cure.value is not None
    assert check_of(case.with_size(cure.variable, cure.value), code).verdict is Verdict.GO
    return cure.value
