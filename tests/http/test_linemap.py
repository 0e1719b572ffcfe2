"""The line map's drawing on its page: what is drawn in which state, marked, heard and told as a table."""

import io

import pytest
from pypdf import PdfReader

from tests.asking import Browser
from tests.http.ledger_sheet import Sheet, servo_sheet


@pytest.fixture
def servo(browser: Browser) -> Sheet:
    return servo_sheet(browser)


def drawn(servo: Sheet, state: str) -> list[str]:
    """The words on the drawing."""
    (band,) = servo.browser.get_json(f"{servo.build}/line-map?state={state}")["bands"]
    return [word["text"] for item in band["picture"]["items"] for word in item["words"]]


def test_a_hose_without_its_valve_is_marked_under_boost_with_rule_and_cure(servo: Sheet) -> None:
    """Boost in a brake servo leaves no vacuum in it: the drawing bears the letter of the words below."""
    page = servo.browser.get_json(f"{servo.build}/line-map?state=boost")
    (wrong,) = (one for one in page["wrong"] if "brake servo" in one["found"]["text"])
    assert wrong["letter"] in drawn(servo, "boost")
    assert wrong["found"]["do"].startswith("Fit the one-way valve")
    assert wrong["found"]["injury"]
    idle = servo.browser.get_json(f"{servo.build}/line-map?state=idle")
    assert [one["letter"] for one in idle["wrong"] if one["letter"]] == []  # what no line joins is not drawn


@pytest.mark.parametrize(
    ("state", "pressure"), [("boost", "pressure"), ("idle", "vacuum"), ("hot_soak", "as the open air")]
)
def test_a_line_is_told_alike_on_the_drawing_and_in_the_table(
    servo: Sheet, state: str, pressure: str
) -> None:
    page = servo.browser.get_json(f"{servo.build}/line-map?state={state}")
    (line,) = page["lines"]
    assert (line["tag"], line["name"], line["pressure"]) == (7, "Servo hose", pressure)
    assert {"7", "Servo hose", pressure} <= set(drawn(servo, state))
    assert list(page["links"].values()) == [line["href"]]
    (words,) = page["heard"].values()
    assert words == f"7 Servo hose: {pressure}, carries pressure, nothing flows"


def test_the_drawing_works_without_scripts_and_each_line_is_a_link(servo: Sheet) -> None:
    text = servo.browser.get(f"{servo.build}/line-map").text
    line = f"{servo.build}/lines/{servo.numbers('line')['Servo hose']}"
    assert f'<a href="{line}" aria-description="7 Servo hose' in text
    assert 'role="group"' in text


def test_where_nothing_is_entered_nothing_is_drawn(browser: Browser) -> None:
    build = browser.post("/builds", {"name": "Orrin", "car": "saloon"}).headers["location"].rsplit("/", 1)[0]
    assert "nothing to draw" in browser.get(f"{build}/line-map").text


def test_the_map_stands_on_one_page_with_what_is_wrong_below(servo: Sheet) -> None:
    answer = servo.browser.get(f"{servo.build}/line-map.pdf?state=boost")
    assert answer.headers["content-type"] == "application/pdf"
    read = PdfReader(io.BytesIO(answer.content))
    first = " ".join(read.pages[0].extract_text().split())
    for name in drawn(servo, "boost"):
        assert name in first
    assert "Wrong in boost" in " ".join(page.extract_text() for page in read.pages)


def test_a_map_without_lines_is_a_page_that_says_how_to_read_one(browser: Browser) -> None:
    browser.post("/builds", {"name": "New"})
    read = PdfReader(io.BytesIO(browser.get("/builds/1/line-map.pdf").content))
    assert "Thick: pressure." in read.pages[0].extract_text()
