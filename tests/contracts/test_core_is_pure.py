"""Core computes: the same values in give the same values out, whatever the day, the machine or the luck."""

import ast
import inspect
import re
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest

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


@pytest.mark.parametrize("path", CORE_FILES, ids=short)
def test_core_reads_no_clock_no_file_and_no_environment(path: Path) -> None:
    found = [
        f"line {call.lineno}: {name_called(call)} {IMPURE[name_called(call)]}"
        for call in ast.walk(tree(path))
        if isinstance(call, ast.Call) and name_called(call) in IMPURE
    ]
    assert not found, f"{short(path)}: {found}"


@pytest.mark.parametrize("path", CORE_FILES, ids=short)
def test_core_draws_random_numbers_from_a_seed_only(path: Path) -> None:
    for call in ast.walk(tree(path)):
        if not isinstance(call, ast.Call):
            continue
        name = name_called(call)
        if name in SEEDED:
            seeded = call.args or any(word.arg in {"seed", "rng"} for word in call.keywords)
            assert seeded, f"{short(path)} line {call.lineno}: {name} without a seed"
        legacy = re.search(r"(^|\.)random\.\w+$", ast.unparse(call.func))
        assert not legacy or name in SEEDED, f"{short(path)} line {call.lineno}: {ast.unparse(call.func)}"


@pytest.mark.parametrize("path", CORE_FILES, ids=short)
def test_core_changes_no_value_from_outside(path: Path) -> None:
    changed = [node.lineno for node in ast.walk(tree(path)) if isinstance(node, ast.Global | ast.Nonlocal)]
    assert not changed, f"{short(path)} rebinds names from outside on lines {changed}"


@pytest.mark.parametrize("path", CORE_FILES, ids=short)
def test_values_of_core_are_frozen(path: Path) -> None:
    for node in ast.walk(tree(path)):
        if not isinstance(node, ast.ClassDef):
            continue
        for made in node.decorator_list:
            text = ast.unparse(made)
            if text.startswith("dataclass") and node.name not in FILLED_STEP_BY_STEP:
                assert "frozen=True" in text, f"{short(path)} line {node.lineno}: {node.name} is not frozen"


def public_functions() -> Iterator[tuple[str, object]]:
    for path in CORE_FILES:
        module = import_module(
            ".".join(path.relative_to(PROJECT).with_suffix("").parts).removesuffix(".__init__")
        )
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                yield f"{module.__name__.removeprefix('server.core.')}.{name}", function


FUNCTIONS = list(public_functions())
NAMES = [name for name, _ in FUNCTIONS]


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=NAMES)
def test_a_public_function_says_what_it_does(name: str, function: object) -> None:
    assert (inspect.getdoc(function) or "").strip(), f"{name} has no docstring"


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=NAMES)
def test_a_function_of_numbers_says_their_units_or_its_source(name: str, function: object) -> None:
    assert inspect.isfunction(function)
    numbers = [
        part.name
        for part in inspect.signature(function).parameters.values()
        if part.annotation in (float, "float")
    ]
    module = inspect.getdoc(inspect.getmodule(function)) or ""
    told = f"{inspect.getdoc(function)}\n{module}"
    assert len(numbers) == 0 or STATES_ITS_UNITS.search(told), f"{name} does not say the unit of {numbers}"
