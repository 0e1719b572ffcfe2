"""A build's own sheet: its budget as money, kept and shown again."""

import pytest

from server.features.builds.service import free_letters
from tests.asking import Browser, number_in

EDIT = {"version": "1", "name": "The saloon"}


@pytest.fixture
def build(browser: Browser) -> str:
    number = number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])
    return f"/builds/{number}"


@pytest.mark.parametrize(
    ("typed", "shown"), [("2400", "2400.00"), ("2 400,50", "2400.50"), ("0.05", "0.05"), ("", "")]
)
def test_a_budget_is_money(browser: Browser, build: str, typed: str, shown: str) -> None:
    assert browser.post(build, EDIT | {"budget": typed}).status_code == 303
    assert browser.get_json(build)["budget"] == shown


def test_a_budget_may_be_given_with_the_new_build(browser: Browser) -> None:
    answer = browser.post("/builds", {"name": "The saloon", "budget": "1800"})
    assert browser.get_json(f"/builds/{number_in(answer.headers['location'])}")["budget"] == "1800.00"


def test_a_budget_that_is_no_amount_is_shown_again(browser: Browser, build: str) -> None:
    answer = browser.post(build, EDIT | {"budget": "a lot"})
    assert answer.status_code == 422
    assert 'value="a lot"' in answer.text
    assert browser.get_json(build)["budget"] == ""


def test_a_stale_edit_of_the_budget_shows_both(browser: Browser, build: str) -> None:
    browser.post(build, EDIT | {"budget": "2000"})
    answer = browser.post(build, EDIT | {"budget": "2500"})
    assert answer.status_code == 412
    assert "2000.00" in answer.text
    assert "2500.00" in answer.text


def test_drawings_have_letters_for_ten_times_a_large_build() -> None:
    letters = free_letters(())
    assert letters[23:26] == ["Z", "AA", "AB"]
    assert len(letters) == len(set(letters)) == 600
    assert not {"I", "O"} & set("".join(letters))
