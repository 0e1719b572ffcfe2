"""Designs of one subsystem side by side: what each would cost, wait for and hold; one is chosen."""

from typing import Any

import pytest

from tests.http.intake_build import IntakeBuild, stored
from tests.page_forms import page_forms


@pytest.fixture
def two(intake: IntakeBuild) -> tuple[IntakeBuild, int]:
    """A second design: one long hose of lined silicone from port to port."""
    start = {
        "name": "One long hose",
        "start_port_id": str(intake.ports["meter"]),
        "end_port_id": str(intake.ports["compressor"]),
    }
    home = f"/builds/{intake.build_id}"
    number = stored(intake.browser.post(f"{home}/subsystems/{intake.subsystem_id}/designs", start))
    piece = {
        "kind": "reducer",
        "material": "lined silicone",
        "bore": "80",
        "bore_out": "101.6",
        "length": "400",
    }
    assert intake.browser.post(f"{home}/designs/{number}/pieces", piece).status_code == 303
    return intake, number


def address(intake: IntakeBuild) -> str:
    return f"/builds/{intake.build_id}/subsystems/{intake.subsystem_id}/compare"


def line(page: dict[str, Any], label: str) -> list[dict[str, Any]]:
    cells: list[dict[str, Any]] = next(one["cells"] for one in page["lines"] if one["label"] == label)
    return cells


def offer(intake: IntakeBuild, spec: str, price: str, days: str = "4") -> None:
    """Note on the shopping list what a supplier asks for something that a chosen design calls for."""
    answer = intake.browser.post(
        f"/builds/{intake.build_id}/shopping/offers",
        {"key": spec, "supplier": "Tarn Hose & Clamp", "price": price, "pack": "1", "lead_days": days},
    )
    assert answer.status_code == 303, answer.text


def test_each_design_is_one_column_and_the_lighter_work_is_marked(two: tuple[IntakeBuild, int]) -> None:
    page = two[0].browser.get_json(address(two[0]))
    assert [column["name"] for column in page["columns"]] == ["Bought elbow", "One long hose"]
    work = line(page, "Work at bench and car")
    assert [cell["best"] for cell in work] == [False, True]
    assert "8 clamped ends" in work[0]["small"]
    assert [cell["text"] for cell in line(page, "Pieces")] == ["7", "1"]


def test_what_is_left_to_pay_follows_from_the_offers_that_are_known(two: tuple[IntakeBuild, int]) -> None:
    intake, number = two
    choose = {"because": "to have it on the list", "no_go_known": "on"}
    assert intake.browser.post(f"{address(intake)}/{number}", choose).status_code == 303
    offer(intake, "lined silicone reducer, 80 mm to 101.6 mm bore, 400 mm long", "61.50", days="6")
    page = intake.browser.get_json(address(intake))
    pay, wait = line(page, "Still to pay for it"), line(page, "Waits for parts")
    assert pay[1]["text"] == "61.50 EUR"
    assert pay[0]["text"] == "no price yet"
    assert wait[1]["small"].startswith("Clamp, for 80 mm hose: kind of clamp not said yet")


def test_checks_that_differ_stand_apart_from_those_that_answer_alike(two: tuple[IntakeBuild, int]) -> None:
    page = two[0].browser.get_json(address(two[0]))
    differing = {one["label"] for one in page["checks"]}
    alike = {one["label"] for one in page["alike"]}
    assert differing
    assert alike
    assert not differing & alike
    assert "Bore held" in differing


def test_the_chosen_one_keeps_its_reason(two: tuple[IntakeBuild, int]) -> None:
    intake, number = two
    answer = intake.browser.post(
        f"{address(intake)}/{number}", {"because": "one part, no joints", "no_go_known": "on"}
    )
    page = intake.browser.follow(answer)
    assert "one part, no joints" in page.text
    columns = intake.browser.get_json(address(intake))["columns"]
    assert [column["chosen"] for column in columns] == [False, True]


def test_a_reason_that_is_too_long_stands_again_under_its_own_design(two: tuple[IntakeBuild, int]) -> None:
    intake, number = two
    answer = intake.browser.post(f"{address(intake)}/{number}", {"because": "x" * 400})
    assert answer.status_code == 422
    typed = {form.address: form.value("because") for form in page_forms(answer.text)}
    assert typed[f"{address(intake)}/{number}"] == "x" * 400
    assert "up to 300 characters" in answer.text
    columns = intake.browser.get_json(address(intake))["columns"]
    assert [column["chosen"] for column in columns] == [True, False]


def test_a_design_of_another_subsystem_can_not_be_chosen_here(two: tuple[IntakeBuild, int]) -> None:
    intake, number = two
    other = stored(intake.browser.post(f"/builds/{intake.build_id}/subsystems", {"kind": "oil feed"}))
    answer = intake.browser.post(
        f"/builds/{intake.build_id}/subsystems/{other}/compare/{number}", {"because": "no"}
    )
    assert answer.status_code == 404


def test_comparing_changes_nothing(two: tuple[IntakeBuild, int]) -> None:
    intake, _ = two
    before = intake.browser.get_json(f"/builds/{intake.build_id}/shopping")
    intake.browser.get(address(intake))
    assert intake.browser.get_json(f"/builds/{intake.build_id}/shopping") == before


def test_one_design_alone_says_how_to_get_a_second(intake: IntakeBuild) -> None:
    page = intake.browser.get(address(intake))
    assert "start a second one" in page.text


def test_a_choice_is_told_with_the_way_back_and_the_earlier_reason_is_offered_again(
    two: tuple[IntakeBuild, int],
) -> None:
    intake, number = two
    first, browser = intake.design_id, intake.browser
    browser.post(f"{address(intake)}/{first}", {"because": "It is on the shelf."})
    chosen = browser.post(f"{address(intake)}/{number}", {"because": "Fewer joints.", "no_go_known": "on"})
    assert chosen.headers["location"] == f"{address(intake)}?told=chosen-{number}-{first}"
    page = browser.get_json(chosen.headers["location"])
    assert page["news"]["text"] == "Chosen: One long hose."
    assert [column["because"] for column in page["columns"]] == ["It is on the shelf.", "Fewer joints."]
    undo = page["news"]["undo"]
    back = browser.follow(browser.post(undo["href"], dict(undo["fields"])))
    assert "Chosen: Bought elbow." in back.text
    page = browser.get_json(address(intake))
    assert [column["chosen"] for column in page["columns"]] == [True, False]
    assert [column["because"] for column in page["columns"]] == ["It is on the shelf.", "Fewer joints."]


def test_a_design_with_a_no_go_is_chosen_once_its_no_go_is_known(two: tuple[IntakeBuild, int]) -> None:
    intake, number = two
    browser = intake.browser
    browser.post(f"{address(intake)}/{number}", {"because": "Fewer joints.", "no_go_known": "on"})
    refused = browser.post(f"{address(intake)}/{intake.design_id}", {"because": "Shelf."})
    assert refused.status_code == 422
    assert "It is no-go: " in refused.text
    assert f'id="no_go_known-{intake.design_id}" name="no_go_known" aria-invalid="true"' in refused.text
    assert 'value="Shelf."' in refused.text
    at_design = browser.post(f"{intake.design}/choice", {"because": "Shelf."})
    assert at_design.status_code == 422
    assert 'id="choice-no_go_known"' in at_design.text
    known = {"because": "Shelf.", "no_go_known": "on"}
    told = browser.follow(browser.post(f"{intake.design}/choice", known))
    assert "Chosen: Bought elbow." in told.text
