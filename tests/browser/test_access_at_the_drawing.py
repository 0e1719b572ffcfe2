"""Whoever reads with a thumb, a keyboard, a screen reader or in the dark: the sheets of what is measured,
designed and looked up.

WCAG 2.2, level AA, on one page of each kind; `tests.bench.access` looks at all of them.
"""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.access import QUESTIONS, Looked, in_lights, listed, look_at_all, scripts, violations
from tests.access_pages import AT_THE_DRAWING


@pytest.fixture(scope="module")
def looked(still_phone: Page) -> list[Looked]:
    return look_at_all(still_phone, AT_THE_DRAWING)


@pytest.mark.parametrize("question", QUESTIONS)
def test_pages_are_for_everybody(looked: list[Looked], question: str) -> None:
    faults = listed(looked, question)
    assert not faults, faults


def test_so_is_a_refused_form(still_phone: Page) -> None:
    still_phone.goto("/builds/1/engine")
    for name in ("displacement", "boost"):
        still_phone.locator(f"[name={name}]").fill("a furlong")
    still_phone.get_by_role("button", name=re.compile("^Save")).first.click()
    expect(still_phone.get_by_role("alert")).to_be_visible()
    still_phone.evaluate(scripts())
    still_phone.evaluate("looking.unfold()")
    assert violations(still_phone) + in_lights(still_phone, ("sun", "night")) == []


def test_an_act_in_the_page_is_told_to_who_cannot_see_it(still_phone: Page) -> None:
    told = still_phone.get_by_role("status").first
    still_phone.goto("/builds/1/ports/4")
    still_phone.locator("#reading-form [name=reading]").fill("80 furlongs")
    still_phone.locator("#save-reading").click()
    expect(told).to_contain_text("Not saved yet")
    still_phone.locator("#reading-form [name=reading]").fill("80 mm")
    still_phone.locator("#save-reading").click()
    expect(told).to_have_text("Saved.")
    still_phone.goto("/builds/1/designs/9?piece=37")
    still_phone.locator("#piece-form [name=name]").fill("the long one")
    still_phone.locator("#piece-form [name=name]").press("Tab")
    expect(told).to_have_text("Saved.")
    still_phone.goto("/builds/1/orders")
    still_phone.get_by_role("button", name=re.compile("^Arrived")).first.click()
    expect(told).to_have_text("Saved.")
    expect(still_phone.locator(".news[role=status]")).to_be_visible()
