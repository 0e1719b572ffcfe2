"""Whoever reads with a thumb, a keyboard, a screen reader or in the dark: the sheets of what is done and
bought.

WCAG 2.2, level AA, on one page of each kind; `tests.bench.access` looks at all of them.
"""

import re

import pytest
from fastapi import FastAPI
from playwright.sync_api import Page

from tests.access import QUESTIONS, Looked, listed, look_at_all
from tests.access_pages import AT_WORK, by_links


@pytest.fixture(scope="module")
def looked(still_phone: Page, demo_of_the_file: FastAPI) -> list[Looked]:
    return look_at_all(still_phone, by_links(demo_of_the_file, AT_WORK))


@pytest.mark.parametrize("question", QUESTIONS)
def test_pages_are_for_everybody(looked: list[Looked], question: str) -> None:
    faults = listed(looked, question)
    assert not faults, faults


def test_the_sheets_used_at_the_car_are_made_for_gloves(looked: list[Looked]) -> None:
    used = [
        page for page in looked if re.search(r"/(garage|stint|work|orders|orders/\d+|pull)$", page.address)
    ]
    assert len(used) >= 5
    assert [page.address for page in used if not page.at_the_car] == []
