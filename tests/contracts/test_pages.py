"""Every page is a documented, frozen value that can be shown as JSON."""

import dataclasses
import types
import typing
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from importlib import import_module

import pytest

from server.settings import PROJECT
from server.web.render import environment
from server.web.view import Page
from tests.contracts.sources import FEATURES, python_files

PLAIN = (str, int, float, bool, type(None), date, datetime, Decimal)
"""A decimal number goes out as text, digit by digit."""


def pages() -> list[type[Page]]:
    for path in python_files(FEATURES):
        if path.stem == "page":
            import_module(".".join(path.relative_to(PROJECT).with_suffix("").parts))
    found: list[type[Page]] = []
    waiting = list(Page.__subclasses__())
    while waiting:
        page = waiting.pop()
        found.append(page)
        waiting += page.__subclasses__()
    return sorted(found, key=lambda page: page.__name__)


PAGES = pages()
LEAVES = [page for page in PAGES if not page.__subclasses__()]


def problem(kind: typing.Any, seen: set[type]) -> str:
    """Why a type can't be shown as JSON; empty where it can."""
    origin = typing.get_origin(kind)
    if kind in PLAIN or (isinstance(kind, type) and issubclass(kind, Enum)):
        return ""
    if origin in (typing.Union, types.UnionType):
        return next((found for part in typing.get_args(kind) if (found := problem(part, seen))), "")
    if origin in (tuple, frozenset):
        parts = [part for part in typing.get_args(kind) if part is not ...]
        return next((found for part in parts if (found := problem(part, seen))), "")
    if origin is dict and typing.get_args(kind) == (str, str):
        return ""
    if origin is typing.ClassVar:
        return ""
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        if kind in seen:
            return ""
        return next((found for part in fields_of(kind) if (found := problem(part, seen | {kind}))), "")
    return f"{kind} is no value that JSON can carry"


def fields_of(kind: type) -> list[typing.Any]:
    hints = typing.get_type_hints(kind)
    return [hints[field.name] for field in dataclasses.fields(kind)]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.__name__)
def test_a_page_is_frozen_and_says_what_it_answers(page: type[Page]) -> None:
    assert page.__dict__.get("__doc__"), f"{page.__name__} has no docstring"
    assert not page.__doc__ or not page.__doc__.startswith(f"{page.__name__}("), (
        f"{page.__name__} has no docstring"
    )
    assert page.__dataclass_params__.frozen, f"{page.__name__} is not frozen"  # type: ignore[attr-defined]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.__name__)
def test_every_field_of_a_page_can_be_shown_as_json(page: type[Page]) -> None:
    wrong = {
        name: found for name, kind in typing.get_type_hints(page).items() if (found := problem(kind, set()))
    }
    assert not wrong, f"{page.__name__}: {wrong}"


@pytest.mark.parametrize("page", LEAVES, ids=lambda page: page.__name__)
def test_a_page_and_its_fragments_have_their_template(page: type[Page]) -> None:
    template = environment().get_template(page.template)
    missing = set(page.fragments.values()) - set(template.blocks)
    assert not missing, f"{page.template} has no block {sorted(missing)}"


def test_no_two_pages_share_a_template() -> None:
    templates = [page.template for page in LEAVES]
    assert sorted(set(templates)) == sorted(templates)
