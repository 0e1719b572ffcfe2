"""The handbook explains every rule: its signs, and an example whose numbers are what the check finds."""

import ast
from dataclasses import replace
from math import isclose

import pytest

from server.core.checks.answer import Finding
from server.core.checks.book.contents import ALL, BOOK
from server.core.checks.book.explained import Explained, Worked, steps, work
from server.core.checks.book.of_exhaust import STAND_EXHAUST
from server.core.checks.book.signs import Line, Relation, holds, signs_of, worth
from server.core.checks.register import RULES
from server.core.checks.rule import Verdict
from server.core.units import System
from tests.contracts.sources import CORE, python_files
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import check, with_piece

CHECKS = CORE / "checks"
CODES = [one.code for one in ALL]


def found(worked: Worked, item: str) -> Finding:
    """The finding of an item; the test says which there are where there is none of that name."""
    items = {one.item: one for one in worked.check.items}
    assert item in items, f"no {item!r} among {sorted(items)}"
    return items[item]


def room(line: Line, worked: Worked) -> float:
    """By how much a condition holds."""
    sign = -1.0 if line.relation is Relation.AT_MOST else 1.0
    return sign * (worth(line.left, worked.values) - worth(line.right, worked.values))


def test_every_rule_of_the_register_is_explained_once() -> None:
    assert sorted(CODES) == sorted({one.code for one in RULES})


@pytest.mark.parametrize("one", ALL, ids=CODES)
def test_every_sign_is_explained_and_no_two_look_alike(one: Explained) -> None:
    signs = one.signs
    assert signs
    assert all(sign.meaning for sign in signs)
    assert len({(sign.letter, sign.below) for sign in signs}) == len(signs)


@pytest.mark.parametrize("one", ALL, ids=CODES)
def test_an_example_starts_from_the_signs_of_the_formula_and_from_no_other(one: Explained) -> None:
    worked = work(one)
    assert set(worked.values) == set(one.signs)
    defined = {line.defines for line in (*one.lines, *one.tight)}
    assert not defined & set(worked.example.given)


@pytest.mark.parametrize("one", ALL, ids=CODES)
def test_what_the_lines_come_to_is_what_the_check_finds(one: Explained) -> None:
    worked = work(one)
    for told in worked.example.told:
        reported = getattr(found(worked, told.item), told.field)
        assert isclose(float(worked.values[told.sign]), reported, rel_tol=1e-9), told  # type: ignore[arg-type]


@pytest.mark.parametrize("one", ALL, ids=CODES)
def test_what_the_lines_come_to_is_what_the_rule_s_own_functions_give(one: Explained) -> None:
    worked = work(one)
    for sign, value in worked.example.same.items():
        assert isclose(float(worked.values[sign]), value, rel_tol=1e-9), sign  # type: ignore[arg-type]


@pytest.mark.parametrize("one", ALL, ids=CODES)
def test_every_sum_of_an_example_is_held_against_the_program(one: Explained) -> None:
    """What a line works out is reported by the check, given by a function, or leads to what is."""
    worked = work(one)
    compared = {told.sign for told in worked.example.told} | set(worked.example.same)
    rows = [*one.lines, *one.tight]
    conditions = [line for line in rows if line.defines is None]
    for line in rows:
        if line.defines is None or line.defines in compared:
            continue
        users = [other for other in rows if line.defines in signs_of((other,)) and other is not line]
        leads = any(other.defines in compared for other in users)
        # What still is tight is held against the check's own margin below.
        assert leads or (line in one.tight and set(users) & set(conditions)), line.defines


@pytest.mark.parametrize("one", ALL, ids=CODES)
def test_the_lines_pass_where_the_check_does(one: Explained) -> None:
    worked = work(one)
    assert worked.met is (worked.check.verdict is Verdict.GO)
    assert worked.met is (not worked.check.missing and all(item.margin >= 0.0 for item in worked.check.items))
    if one.tight and not worked.met:
        assert worked.tight is (worked.check.verdict is Verdict.TIGHT)


@pytest.mark.parametrize("one", [one for one in ALL if one.tight], ids=lambda one: one.code)
def test_what_is_left_until_no_go_is_what_the_check_leaves(one: Explained) -> None:
    worked = work(one)
    margins = [item.tight_margin for item in worked.check.items if item.tight_margin is not None]
    assert margins
    for line in one.tight:
        if line.defines is None and line.relation is not Relation.AMONG and one.code != "comes-apart":
            assert any(isclose(room(line, worked), margin, abs_tol=1e-9) for margin in margins), line


@pytest.mark.parametrize("one", ALL, ids=CODES)
@pytest.mark.parametrize("system", list(System))
def test_the_steps_are_the_lines_with_numbers_in_them(one: Explained, system: System) -> None:
    shown = steps(one, system)
    worked = work(one)
    assert len(shown) == len(one.lines) + (0 if worked.met else len(one.tight))
    for step, line in zip(shown, (*one.lines, *one.tight), strict=False):
        assert step.holds is (None if line.defines is not None else holds(line, worked.values))
        assert "not known" not in step.plain


def test_the_end_force_example_reads_as_a_bench_sum() -> None:
    told = [step.plain for step in steps(BOOK["end-force"], System.metric)]
    assert told[0] == "F = 130 kPa · π · (60 mm)^2 / 4 = 368 N"


@pytest.mark.parametrize("metal", STAND_EXHAUST)
def test_a_metal_that_is_said_to_stand_exhaust_passes_the_check(metal: str) -> None:
    case = downpipe_case()
    for piece in case.plan.pieces:
        case = with_piece(case, piece.number, material=metal)
    assert check(case, "hot-metal").verdict is Verdict.GO


def test_a_weld_of_stainless_to_steel_with_the_usual_filler_passes_the_check() -> None:
    example = BOOK["filler"].example()
    usual = next(value for value in example.given.values() if isinstance(value, tuple))
    joints = (*example.case.plan.joints[:2], replace(example.case.plan.joints[2], filler=usual[0]))
    case = replace(example.case, plan=replace(example.case.plan, joints=joints))
    assert check(case, "filler").verdict is Verdict.GO


def test_the_rules_know_nothing_of_what_explains_them() -> None:
    for path in python_files(CHECKS):
        if path.parent == CHECKS:
            names = [
                node.module or ""
                for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                if isinstance(node, ast.ImportFrom)
            ]
            assert not [name for name in names if name.startswith("server.core.checks.book")], path
