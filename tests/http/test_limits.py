"""Limits of the checks: changed for a build with a reason, told wherever a verdict rests on them."""

from typing import Any

import httpx
import pytest

from server.core.checks.limits import LIMITS
from tests.asking import Browser
from tests.page_forms import page_forms

MACH = "/builds/1/limits/mach.most"


def line(browser: Browser, key: str) -> dict[str, Any]:
    page = browser.get_json("/builds/1/limits")
    every = [*page["changed"], *(one for chapter in page["chapters"] for one in chapter["limits"])]
    [found] = [one for one in every if one["key"] == key]
    return dict(found)


def change(browser: Browser, address: str = MACH, **more: str) -> httpx.Response:
    form = {"value": "0.36", "reason": "The maker's map allows it", "version": "0"} | more
    return browser.post(address, form)


def test_every_limit_stands_on_the_page_once_with_its_source(demo: Browser) -> None:
    page = demo.get_json("/builds/1/limits")
    keys = [one["key"] for chapter in page["chapters"] for one in chapter["limits"]]
    assert sorted(keys) == sorted(LIMITS)
    assert all(one["source"] for chapter in page["chapters"] for one in chapter["limits"])


def test_a_changed_limit_is_told_with_its_reason_and_by_whom(demo: Browser) -> None:
    change(demo)
    found = line(demo, "mach.most")
    assert (found["usual"], found["instead"]) == ("0.3", "0.36")
    assert found["reason"] == "The maker's map allows it"
    assert str(found["changed"]).endswith("builder")
    log = demo.get("/builds/1/log").text
    assert "Limit changed: Mach number at the peak, 0.36 instead of 0.3. The maker&#39;s map allows it" in log


def test_a_verdict_that_rests_on_a_changed_limit_says_so(demo: Browser) -> None:
    design = "/builds/1/designs/2"

    def speed() -> dict[str, Any]:
        page = demo.get_json(design)
        return next(one for one in [*page["open_checks"], *page["passed_checks"]] if one["code"] == "speed")

    assert speed()["verdict"]["word"] == "go"
    change(demo, value="0.1", reason="Quiet at all cost")
    after = speed()
    assert after["verdict"]["word"] != "go"
    assert after["changed"] == ["Mach number at the peak: 0.1 instead of 0.3. Quiet at all cost"]
    assert "<b>Limit changed:</b> Mach number at the peak: 0.1 instead of 0.3" in demo.get(design).text


def test_the_usual_limit_can_count_again(demo: Browser) -> None:
    change(demo)
    demo.post(f"{MACH}/usual", {"version": "1"})
    found = line(demo, "mach.most")
    assert (found["instead"], found["version"]) == ("", 2)
    change(demo, version="2", value="0.2")
    assert line(demo, "mach.most")["instead"] == "0.2"


def test_two_who_change_one_limit_see_both_values(demo: Browser) -> None:
    change(demo)
    second = change(demo, value="0.25", reason="Another opinion")
    assert second.status_code == 412
    assert "0.36" in second.text
    assert "0.25" in second.text
    change(demo, value="0.25", reason="Another opinion", version="1")
    assert line(demo, "mach.most")["instead"] == "0.25"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"value": ""}, "is missing"),
        ({"value": "fast"}, "Mach number at the peak"),
        ({"value": "-0.3"}, "out of range"),
        ({"value": "30"}, "0.03 to 3"),
        ({"value": "nan"}, "Mach number at the peak"),
        ({"reason": ""}, "The reason is missing"),
        ({"reason": "x" * 301}, "301 characters"),
    ],
)
def test_bad_input_keeps_what_was_typed_and_changes_nothing(
    demo: Browser, typed: dict[str, str], said: str
) -> None:
    answer = change(demo, **typed)
    assert answer.status_code == 422
    assert said in answer.text
    assert line(demo, "mach.most")["instead"] == ""


def test_a_limit_that_is_not_there_is_not_found(demo: Browser) -> None:
    assert change(demo, "/builds/1/limits/no.such").status_code == 404
    assert demo.get("/builds/1/limits/no.such").status_code == 404
    assert demo.get(MACH).headers["location"] == "/builds/1/limits#limit-mach-most"


def test_the_chance_that_go_asks_for_is_a_limit_too(demo: Browser) -> None:
    """With less asked, a check of a performance rule that was tight by its doubt alone turns to go."""

    def tight() -> dict[str, object]:
        page = demo.get_json("/builds/1/designs/3")
        return {one["code"]: one["verdict"]["percent"] for one in page["open_checks"]}

    likely = {code for code, percent in tight().items() if isinstance(percent, int) and percent >= 60}
    assert likely
    change(demo, "/builds/1/limits/chance.go", value="60 %", reason="A track car")
    assert not likely & set(tight())


def test_who_conceded_a_check_and_when_stands_beside_it(demo: Browser) -> None:
    page = demo.get_json("/builds/1/designs/4")
    conceded = [one for one in page["open_checks"] if one["conceded"]]
    assert [one["signed"] for one in conceded] == ["builder, Sat 21 Nov"]


def test_a_limit_is_changed_by_the_form_of_its_row(demo: Browser) -> None:
    form = next(
        one for one in page_forms(demo.get("/builds/1/limits?change=mach.most").text) if one.address == MACH
    )
    assert (form.value("version"), form.value("value")) == ("0", "0.3")
