"""Labels as a person asks for them: chosen, laid out on a sheet of stickers, printed, scanned."""

from dataclasses import replace
from typing import Any
from urllib.parse import urlsplit

import pytest

from server.app import create_app
from server.settings import Settings
from server.web.paper_labels import PAGES
from tests.asking import ORIGIN, Browser
from tests.http.ledger_sheet import Sheet, servo_sheet
from tests.pdf_paths import sheets
from tests.web.test_paper_labels import read_codes

SHEET = "paper=A4&wide=70&high=37&columns=3&rows=8&left=0&top=0.5&across=0&down=0"


@pytest.fixture
def servo(browser: Browser) -> Sheet:
    return servo_sheet(browser)


def problem(browser: Browser, address: str, field: str) -> str:
    """The message beside a field of a page that was refused."""
    answer = browser.get(address, headers={"accept": "application/json"})
    assert answer.status_code == 422, answer.text
    (found,) = [one["message"] for one in answer.json()["form"]["errors"] if one["field"] == field]
    return str(found)


def codes(browser: Browser, page: Any) -> list[str]:
    """The addresses read off the printed sheets, in the order of their places."""
    printed = sheets(browser.get(page["pdf"]).content)
    found = [(at, *one) for at, sheet in enumerate(printed) for one in read_codes(sheet)]
    return [text for _, text, _ in sorted(found, key=lambda one: (one[0], -round(one[2][1]), one[2][0]))]


def test_a_scanned_label_of_a_hose_opens_its_sheet_and_it_gets_one_for_each_end(servo: Sheet) -> None:
    line = servo.numbers("line")["Servo hose"]
    page = servo.browser.get_json(f"{servo.build}/labels?line={line}")
    assert (page["count"], page["sheets_of"], page["next_place"]) == (2, 1, 3)
    assert codes(servo.browser, page) == [f"{ORIGIN}{servo.build}/lines/{line}"] * 2
    opened = servo.browser.get_json(urlsplit(codes(servo.browser, page)[0]).path)
    assert (opened["tag"], opened["name"]) == (7, "Servo hose")
    words = sheets(servo.browser.get(page["pdf"]).content)[0].text
    assert "7" in words.split()
    assert "Servo hose" in " ".join(words.split())


def test_every_kind_of_label_of_the_demo_opens_a_page(demo: Browser) -> None:
    whole = "&".join(f"all={sort}" for sort in ("shelf", "part", "line", "piece"))
    page = demo.get_json(f"/builds/1/labels?{whole}")
    assert [sort["chosen"] == sort["total"] > 0 for sort in page["sorts"]] == [True] * 4
    picked = {
        sort["sort"]: demo.get_json("/builds/1/labels?name=e")["sorts"][at]["listed"][0]["id"]
        for at, sort in enumerate(page["sorts"])
    }
    some = "&".join(f"{sort}={number}" for sort, number in picked.items())
    few = demo.get_json(f"/builds/1/labels?{some}&of_lines=1&boxes=Box+3:+clamp%0ABox+4")
    assert few["count"] == 6
    for address in codes(demo, few):
        assert demo.get(address).status_code == 200, address
    assert codes(demo, few)[:2] == [f"{ORIGIN}/builds/1/shelf?name=clamp", f"{ORIGIN}/builds/1/shelf"]


def test_sizes_are_kept_for_next_time_and_a_begun_sheet_is_not(browser: Browser, servo: Sheet) -> None:
    answer = browser.get(f"{servo.build}/labels?{SHEET}&first=9")
    assert answer.status_code == 200
    assert "httponly" in answer.headers["set-cookie"].lower()
    stands = browser.get_json(f"{servo.build}/labels")["stands"]
    assert (stands["wide"], stands["high"], stands["rows"], stands["first"]) == ("70", "37", "8", "1")


@pytest.mark.parametrize("cookie", ["%", "wide=" + "9" * 5000, "wide=\x7f;", "paper=A9&columns=x"])
def test_a_cookie_that_says_nothing_sensible_breaks_no_page(servo: Sheet, cookie: str) -> None:
    answer = servo.browser.get(f"{servo.build}/labels", headers={"cookie": f'labels="{cookie}"'})
    assert answer.status_code in {200, 422}


@pytest.mark.parametrize(
    ("typed", "field", "told"),
    [
        (
            SHEET.replace("wide=70", "wide=75"),
            "wide",
            "take 225 mm across, and the page has 210 mm: 15 mm too much",
        ),
        (
            SHEET.replace("top=0.5", "top=4"),
            "high",
            "take 300 mm down, and the page has 297 mm: 3 mm too much",
        ),
        (SHEET.replace("A4", "letter"), "high", "the page has 279.4 mm: 17.1 mm too much"),
        (SHEET.replace("high=37", "high=12"), "high", "a code takes"),
        (SHEET + "&first=25", "first", "25 is out of range"),
        (SHEET + "&wide=broad", "wide", "broad"),
        (SHEET + "&address=http://elsewhere.example/", "address", "does not answer under"),
        (SHEET + "&address=javascript:alert(1)", "address", "does not answer under"),
        (SHEET + "&boxes=" + "x" * 81, "boxes", "is no name"),
    ],
)
def test_what_does_not_fit_is_refused_beside_its_field(
    servo: Sheet, typed: str, field: str, told: str
) -> None:
    assert told in problem(servo.browser, f"{servo.build}/labels?all=line&{typed}", field)
    for file in ("labels.pdf", "labels/trial.pdf"):
        answer = servo.browser.get(f"{servo.build}/{file}?all=line&{typed}")
        assert answer.status_code == 303
        assert servo.browser.get(answer.headers["location"]).status_code == 422


def test_nothing_chosen_is_no_file_but_the_trial_is(servo: Sheet) -> None:
    assert servo.browser.get(f"{servo.build}/labels.pdf?{SHEET}").status_code == 303
    trial = servo.browser.get(servo.browser.get_json(f"{servo.build}/labels")["trial"])
    (sheet,) = sheets(trial.content)
    assert (sheet.wide, sheet.high) == pytest.approx([size * 1e3 for size in PAGES[False]], abs=0.01)


def test_codes_carry_a_name_that_phones_know_where_the_machine_asks_itself(
    settings: Settings, servo: Sheet
) -> None:
    """Without the gate, which stands before a server that others reach."""
    app = create_app(settings)
    app.state.settings = replace(settings, extra_hosts=("garage.local",))
    with Browser(app) as alone:
        page = alone.get_json(f"{servo.build}/labels")
    assert page["stands"]["address"] == "http://garage.local:8000"
    assert page["hosts"] == ["127.0.0.1", "garage.local"]
    app.state.engine.dispose()
