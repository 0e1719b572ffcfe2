"""Core computes: the same values in give the same values out, whatever the day, the machine or the luck."""

import ast
import inspect
import re
import types
from collections.abc import Iterator
from functools import cache
from importlib import import_module

from server.settings import PROJECT
from tests.contracts.sources import CORE, python_files, short, tree

CORE_FILES = python_files(CORE)
IMPURE = {
    "open": "reads or writes a file",
    "print": "writes to the terminal",
    "input": "asks the terminal",
    "now": "reads the clock",
    "today": "reads the clock",
    "utcnow": "reads the clock",
    "read_text": "reads a file",
    "write_text": "writes a file",
    "getenv": "reads the environment",
}
FILLED_STEP_BY_STEP = {"Ground": "what stands on a sheet so far, while it is being laid out"}
SEEDED = frozenset({"default_rng", "SeedSequence", "Generator", "PCG64", "Sobol", "Halton", "LatinHypercube"})
STATES_ITS_UNITS = re.compile(
    r"\[[^\]\n]+\]|geometry|\bsource\b|\bunits?\b|dimensionless|ratio|share|chance|probability|JCGM|ISO \d",
    re.IGNORECASE,
)


def name_called(call: ast.Call) -> str:
    target = call.func
    if isinstance(target, ast.Attribute):
        return target.attr
    return target.id if isinstance(target, ast.Name) else ""


@cache
def nodes() -> list[tuple[str, ast.AST]]:
    """Every node of core's files, with the file's name."""
    assert len(CORE_FILES) > 100
    return [(short(path), node) for path in CORE_FILES for node in ast.walk(tree(path))]


def calls() -> Iterator[tuple[str, ast.Call, str]]:
    """Every call in core: where it stands, the call, and the name that is called."""
    for name, node in nodes():
        if isinstance(node, ast.Call):
            yield f"{name} line {node.lineno}", node, name_called(node)


def test_core_reads_no_clock_no_file_and_no_environment() -> None:
    assert [f"{place}: {name} {IMPURE[name]}" for place, _, name in calls() if name in IMPURE] == []


def test_core_draws_random_numbers_from_a_seed_only() -> None:
    def is_seeded(call: ast.Call) -> bool:
        return bool(call.args) or any(word.arg in {"seed", "rng"} for word in call.keywords)

    unseeded = [place for place, call, name in calls() if name in SEEDED and not is_seeded(call)]
    assert unseeded == []
    legacy = re.compile(r"(^|\.)random\.\w+$")
    asked = [(place, ast.unparse(call.func)) for place, call, name in calls() if name not in SEEDED]
    assert [(place, text) for place, text in asked if legacy.search(text)] == []


def test_core_changes_no_value_from_outside() -> None:
    changed = [
        f"{name} line {node.lineno}" for name, node in nodes() if isinstance(node, ast.Global | ast.Nonlocal)
    ]
    assert changed == []


def test_values_of_core_are_frozen() -> None:
    thawed = [
        f"{name} line {node.lineno}: {node.name}"
        for name, node in nodes()
        if isinstance(node, ast.ClassDef) and node.name not in FILLED_STEP_BY_STEP
        for made in map(ast.unparse, node.decorator_list)
        if made.startswith("dataclass") and "frozen=True" not in made
    ]
    assert thawed == []


def public_functions() -> Iterator[tuple[str, types.FunctionType]]:
    for path in CORE_FILES:
        module = import_module(
            ".".join(path.relative_to(PROJECT).with_suffix("").parts).removesuffix(".__init__")
        )
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                yield f"{module.__name__.removeprefix('server.core.')}.{name}", function


def says_its_units(function: types.FunctionType) -> bool:
    """Whether a function that takes plain numbers says their units, or where its formula comes from."""
    parts = inspect.signature(function).parameters.values()
    module = inspect.getdoc(inspect.getmodule(function)) or ""
    told = f"{inspect.getdoc(function)}\n{module}"
    takes_numbers = any(part.annotation in (float, "float") for part in parts)
    return not takes_numbers or STATES_ITS_UNITS.search(told) is not None


def test_a_public_function_says_what_it_does_in_which_units() -> None:
    functions = list(public_functions())
    assert len(functions) > 500
    assert [name for name, function in functions if not (inspect.getdoc(function) or "").strip()] == []
    assert [name for name, function in functions if not says_its_units(function)] == []
