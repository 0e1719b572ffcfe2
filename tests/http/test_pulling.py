"""A hose comes off at the car: its number, its photos, the ledger and the log; and the way back."""

import pytest

from tests.asking import Browser
from tests.http.ledger_sheet import Sheet, servo_sheet
from tests.pictures import picture, saved


@pytest.fixture
def servo(browser: Browser) -> Sheet:
    return servo_sheet(browser)


def pulled(servo: Sheet, tag: int = 7) -> str:
    """The servo hose comes off; the address of its sheet."""
    line = servo.numbers("line")["Servo hose"]
    answer = servo.browser.post(f"{servo.build}/pull", {"line": f"{line}-{tag}"})
    assert answer.status_code == 303, answer.text
    assert answer.headers["location"] == f"{servo.build}/pull?told=line-{line}"
    return f"{servo.build}/lines/{line}"


def logged(servo: Sheet) -> list[str]:
    days = servo.browser.get_json(f"{servo.build}/log")["days"]
    return [line["text"] for day in days for line in day["lines"]]


def test_one_tap_takes_a_hose_off_and_says_its_number(servo: Sheet) -> None:
    (hose,) = servo.browser.get_json(f"{servo.build}/pull")["hoses"]
    assert (hose["tag"], hose["name"], hose["joins"]) == (7, "Servo hose", "Manifold nipple to Servo nipple")
    line = pulled(servo)
    told = servo.browser.get_json(f"{servo.build}/pull?told=line-{line.rsplit('/', 1)[1]}")
    assert (told["off"]["tag"], told["off"]["name"], told["hoses"]) == (7, "Servo hose", [])
    sheet = servo.browser.get_json(line)
    assert sheet["before"] == "Manifold nipple to Servo nipple"
    assert sheet["off"]
    ends = [one["text"] for one in servo.page()["open_ends"]]
    assert ends == ["Manifold nipple is open.", "Servo nipple is open."]
    assert "Servo hose taken off, 7 on both ends" in logged(servo)


def test_the_caution_stands_before_the_hoses(servo: Sheet) -> None:
    page = servo.browser.get(f"{servo.build}/pull").text
    caution = page.index("Fuel pressure off")
    assert "licensed practice" in page[: page.index("Which one comes off?")]
    assert caution < page.index("Which one comes off?")


def test_sent_twice_or_late_it_is_off_once(servo: Sheet) -> None:
    """A phone without signal sends again what it has: the act says how it is to be, not to turn it over."""
    pulled(servo)
    pulled(servo)
    assert logged(servo).count("Servo hose taken off, 7 on both ends") == 1


def test_undo_puts_it_back_on_both_points(servo: Sheet) -> None:
    line = pulled(servo)
    undo = servo.browser.get_json(f"{servo.build}/pull?told=line-{line.rsplit('/', 1)[1]}")["off"]["undo"]
    assert servo.browser.post(undo["href"], {}).status_code == 303
    assert servo.page()["open_ends"] == []
    assert servo.browser.get_json(line)["before"] == ""
    assert "Servo hose joined, as before" in logged(servo)


def test_both_photos_stand_side_by_side(servo: Sheet) -> None:
    line = servo.numbers("line")["Servo hose"]
    sheet, photo = f"{servo.build}/lines/{line}", {"photo": ("a.jpg", saved(picture()), "image/jpeg")}
    assert servo.browser.post(f"{servo.build}/pull", {"line": f"{line}-7"}, files=photo).status_code == 303
    after = servo.browser.post(f"{sheet}/photos", {"shows": "line after"}, files=photo)
    assert after.status_code == 303
    assert [words for words, _ in servo.browser.get_json(sheet)["pair"]] == ["before", "after"]
    text = servo.browser.get(sheet).text
    assert text.index("Before") < text.index("After")
    refused = servo.browser.post(f"{sheet}/photos", {"shows": "the moon"}, files=photo)
    assert refused.status_code == 422


def test_numbers_are_on_one_line_each(servo: Sheet) -> None:
    """A line without one is offered the lowest that is free, each its own; a number in use is refused."""
    one = servo.point("Manifold, front nipple", "the manifold behind the throttle")
    other = servo.point("Manifold, rear nipple", "the manifold behind the throttle")
    servo.line("Front hose", one)
    servo.line("Rear hose", other)
    hoses = servo.browser.get_json(f"{servo.build}/pull")["hoses"]
    assert sorted(hose["tag"] for hose in hoses) == [1, 2, 7]
    front = servo.numbers("line")["Front hose"]
    taken = servo.browser.post(f"{servo.build}/pull", {"line": f"{front}-7"})
    assert taken.status_code == 422
    assert "Number 7 is on Servo hose." in taken.text
    wrong = servo.browser.post(f"{servo.build}/pull", {"line": f"{servo.numbers('line')['Servo hose']}-9"})
    assert "Servo hose has number 7, not 9." in wrong.text


def test_a_hose_that_nobody_entered_is_entered_as_it_comes_off(servo: Sheet) -> None:
    form = {"first": "Air box", "second": "Valve cover", "medium": "crankcase vapour", "tag": "1"}
    answer = servo.browser.post(f"{servo.build}/pull/new", form)
    assert answer.status_code == 303
    (line,) = (one for one in servo.page()["lines"] if one["name"] == "Air box to Valve cover")
    assert (line["tag"], line["was"]) == (1, "Air box to Valve cover")
    again = servo.browser.post(f"{servo.build}/pull/new", form)
    assert again.status_code == 422
    assert "Number 1 is on Air box to Valve cover." in again.text
    bare = servo.browser.post(f"{servo.build}/pull/new", {"tag": ""})
    for message in ("One end came off is missing.", "What it carries: choose one", "The number is missing."):
        assert message in bare.text


def test_a_hose_that_is_off_and_then_out_closes_the_points_that_it_had(servo: Sheet) -> None:
    line = pulled(servo)
    version = str(servo.browser.get_json(line)["version"])
    out = {"version": version, "closing": "capped", "reason": "Electric servo"}
    assert servo.browser.post(f"{line}/out", out).status_code == 303
    assert servo.page()["open_ends"] == []
    assert "Servo hose taken out, its points capped: Electric servo" in logged(servo)
    late = servo.browser.post(f"{servo.build}/pull", {"line": f"{line.rsplit('/', 1)[1]}-7"})
    assert "Servo hose is out of the car already." in late.text


def test_the_log_tells_what_was_capped_removed_and_put_back(servo: Sheet) -> None:
    number = servo.point("Spare nipple", "the manifold behind the throttle")
    form = {"name": "Spare nipple", "medium": "manifold vacuum", "version": "1", "closing": "removed"}
    form |= {"space_id": servo.numbers("space")["the manifold behind the throttle"], "reason": "welded shut"}
    assert servo.enter(f"point/{number}", **form).status_code == 303
    line = servo.numbers("line")["Servo hose"]
    out = {"version": "1", "closing": "capped", "reason": "Electric servo"}
    servo.browser.post(f"{servo.build}/lines/{line}/out", out)
    servo.browser.post(f"{servo.build}/lines/{line}/in", {})
    told = logged(servo)
    assert "Spare nipple removed, welded shut" in told
    assert "Servo hose put back in the car" in told


def test_the_numbers_to_print_are_those_in_use_and_the_next(servo: Sheet) -> None:
    tags = servo.browser.get_json(f"{servo.build}/line-tags")
    assert tags["used"] == [7]
    assert tags["free"][:7] == [1, 2, 3, 4, 5, 6, 8]
