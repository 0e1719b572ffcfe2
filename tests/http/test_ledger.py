"""The connection ledger: what is entered, refused, corrected, taken out and put back, and what it tells."""

import pytest

from tests.asking import Browser
from tests.http.ledger_sheet import Sheet, servo_sheet, usual_sheet


@pytest.fixture
def sheet(browser: Browser) -> Sheet:
    return usual_sheet(browser)


@pytest.fixture
def servo(browser: Browser) -> Sheet:
    return servo_sheet(browser)


def test_a_point_is_open_until_a_line_joins_it_or_it_is_capped(sheet: Sheet) -> None:
    number = sheet.point("Manifold nipple", "the manifold behind the throttle")
    (found,) = sheet.page()["open_ends"]
    assert found["text"] == "Manifold nipple is open."
    assert found["do"] == "Join it, or cap it."
    form = {"name": "Manifold nipple", "medium": "manifold vacuum", "version": "1", "closing": "capped"}
    form |= {"space_id": sheet.numbers("space")["the manifold behind the throttle"]}
    assert sheet.enter(f"point/{number}", **form).status_code == 303
    assert sheet.page()["open_ends"] == []


def test_a_line_flows_by_state_and_keeps_what_was_typed(servo: Sheet) -> None:
    """Air runs from higher to lower: from the servo to the manifold at idle, back under boost."""
    (idle,) = servo.page("?state=idle")["lines"]
    assert idle["flow"] == "carries pressure, nothing flows"
    assert (idle["tag"], idle["joins"]) == (7, "Manifold nipple to Servo nipple")
    assert idle["detail"] == "manifold vacuum, hose, 10 mm, spring clamp, up to 150 °C"
    assert servo.page()["state"] == "boost"
    assert "brake servo" in " ".join(one["text"].lower() for one in servo.page()["broken"])


def test_an_end_that_slips_off_leaves_an_open_end(servo: Sheet) -> None:
    number = servo.numbers("line")["Servo hose"]
    first = servo.numbers("point")["Manifold nipple"]
    form = {"name": "Servo hose", "medium": "manifold vacuum", "version": "1", "first_id": first, "tag": "7"}
    assert servo.enter(f"line/{number}", **form).status_code == 303
    page = servo.page()
    assert page["lines"][0]["was"] == "Manifold nipple to Servo nipple"
    assert "Servo hose hangs loose from Manifold nipple." in [one["text"] for one in page["open_ends"]]


@pytest.mark.parametrize(
    ("sort", "fields", "message"),
    [
        ("line", {"name": ""}, "Its name is missing."),
        ("line", {"name": "A", "medium": "soup"}, "What it carries: choose one of the list."),
        ("line", {"name": "A", "medium": "fuel", "first_id": "999"}, "First end: choose one of the list."),
        ("line", {"name": "A", "medium": "fuel", "tag": "seven"}, "is not a whole number."),
        ("line", {"name": "A", "medium": "fuel", "tag": "7"}, "Number 7 is on another line."),
        ("line", {"name": "A", "medium": "fuel", "rating": "5 °C"}, "is out of range."),
        ("line", {"name": "A", "medium": "fuel", "size": "4 kg"}, "Size: "),
        ("point", {"name": "A", "medium": "fuel"}, "Opens into: choose one of the list."),
        ("point", {"name": "A", "medium": "fuel", "closing": "removed"}, "Reason is missing."),
        ("device", {"name": "A", "kind": "three-way solenoid"}, "A three-way solenoid has a third side."),
        ("space", {"kind": "the open air"}, "The open air is in the ledger already."),
        ("space", {"kind": "a cave"}, "What it is: choose one of the list."),
    ],
)
def test_bad_input_is_told_beside_its_field_and_kept(
    servo: Sheet, sort: str, fields: dict[str, str], message: str
) -> None:
    answer = servo.enter(sort, **fields)
    assert answer.status_code == 422
    assert message in answer.text
    assert f'value="{fields.get("name", "")}"' in answer.text


def test_whether_a_line_may_go_and_what_it_leaves(servo: Sheet) -> None:
    number = servo.numbers("line")["Servo hose"]
    address = f"{servo.build}/lines/{number}"
    told = servo.browser.get_json(address)
    assert told["may"] in {"no", "ask first"}
    assert told["stops"] == ["The brake pedal goes hard: no help from the servo."]
    assert "licensed" in told["law"]
    assert len(told["plugs"]) == 2
    refused = servo.browser.post(f"{address}/out", {"version": "1", "closing": "capped"})
    assert refused.status_code == 422
    assert "Reason is missing." in refused.text
    out = {"version": "1", "closing": "capped", "reason": "Electric servo"}
    assert servo.browser.post(f"{address}/out", out).status_code == 303
    page = servo.page()
    assert page["lines"] == []
    assert page["open_ends"] == []
    assert "capped: Electric servo (builder" in page["out"][0]["detail"]
    assert page["next_tag"] == 1
    assert servo.browser.post(f"{address}/in", {}).status_code == 303
    assert len(servo.page()["lines"]) == 1


def test_two_people_correct_one_line_and_both_values_are_shown(servo: Sheet) -> None:
    number = servo.numbers("line")["Servo hose"]
    form = {"name": "Brake hose", "medium": "manifold vacuum", "tag": "7", "version": "1"}
    assert servo.enter(f"line/{number}", **form).status_code == 303
    answer = servo.enter(f"line/{number}", **form | {"name": "Vacuum hose"})
    assert answer.status_code == 412
    assert "Brake hose" in answer.text
    assert "Vacuum hose" in answer.text


def test_what_was_entered_by_mistake_is_set_aside_and_put_back(servo: Sheet) -> None:
    space = servo.numbers("space")["the brake servo"]
    refused = servo.enter(f"space/{space}/removal")
    assert refused.status_code == 422
    assert "Rests on it: Servo nipple." in refused.text
    number = servo.numbers("line")["Servo hose"]
    assert servo.enter(f"line/{number}/removal").status_code == 303
    assert servo.page()["aside"][0]["name"] == "Servo hose"
    other = servo.line("New hose", first=servo.numbers("point")["Servo nipple"])
    assert servo.enter(f"line/{number}/return").status_code == 303
    joins = {one["id"]: one["joins"] for one in servo.page()["lines"]}
    assert joins[int(number)] == "Manifold nipple to an end that hangs loose"
    assert joins[int(other)].startswith("Servo nipple")


def test_a_proved_over_boost_cut_is_said_once_and_changed_by_version(sheet: Sheet) -> None:
    address = f"{sheet.build}/ledger-cut"
    assert sheet.browser.post(address, {"version": "0", "over_boost_cut": "proved"}).status_code == 303
    assert sheet.page()["cut"]["value"] == "proved"
    late = sheet.browser.post(address, {"version": "0", "over_boost_cut": "there is none"})
    assert late.status_code == 412
    assert sheet.browser.post(address, {"version": "1", "over_boost_cut": "maybe"}).status_code == 422


def test_a_long_list_goes_on_behind_a_link_and_its_fold_is_open_there(sheet: Sheet) -> None:
    spaces = len(sheet.page()["spaces"])
    for number in range(61 - spaces):
        assert sheet.enter("space", kind="a junction", name=f"Tee {number}").status_code == 303
    first = sheet.page()
    assert (first["tally"]["spaces"]["total"], len(first["spaces"])) == (61, 60)
    more = first["tally"]["spaces"]["more"]
    assert more["text"] == "1 more of 61"
    rest = sheet.browser.get_json(more["href"])
    assert [one["name"] for one in rest["spaces"]] == [f"Tee {60 - spaces}"]
    assert rest["tally"]["spaces"]["back"]["text"] == "The ones before"
    assert 'id="spaces" open' in sheet.browser.get(more["href"]).text
