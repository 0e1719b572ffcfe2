"""The examples in the docstrings of measuring are true."""

import doctest
import importlib

import pytest

MODULES = (
    "server.core.units",
    "server.core.sources",
    "server.core.measure.typed",
    "server.core.measure.instruments",
    "server.core.measure.estimate",
    "server.core.measure.conditions",
    "server.core.measure.doubt",
)


@pytest.mark.parametrize("module", MODULES)
def test_the_examples_of_a_module_come_out_as_written(module: str) -> None:
    found = doctest.testmod(importlib.import_module(module))

    assert found.attempted > 0
    assert found.failed == 0
