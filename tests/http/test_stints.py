"""When the garage is worked in: stints, exceptions, helpers, visits, and what is refused."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest
from fastapi import FastAPI

from tests.asking import Browser, number_in

TUESDAY = {"kind": "weekly", "weekday": "Tuesday", "begins": "18:00", "ends": "21:00"}
GARAGE = {"zone": "Europe/Paris", "raising": "40 min", "lowering": "20 min"}


@dataclass(frozen=True)
class Sheet:
    """The stints of an empty build; today is Wednesday, 25 November 2026."""

    browser: Browser
    address: str

    def send(self, more: str = "", **fields: str) -> httpx.Response:
        return self.browser.post(self.address + more, fields)

    def page(self) -> Any:
        return self.browser.get_json(self.address)

    def next(self) -> list[str]:
        return [one["text"] for one in self.page()["next"]]


@pytest.fixture
def sheet(browser: Browser) -> Sheet:
    build = browser.post("/builds", {"name": "Orrin"}).headers["location"]
    return Sheet(browser, f"/builds/{number_in(build)}/stints")


def test_the_week_a_day_off_and_an_extra_day_make_the_next_stints(sheet: Sheet) -> None:
    sheet.send(**TUESDAY)
    sheet.send(kind="off", day="2026-12-08")
    sheet.send(kind="extra", day="2026-12-05", begins="9:00", ends="12.30")
    assert sheet.next() == [
        "Tue 1 Dec 18:00–21:00",
        "Sat 5 Dec 09:00–12:30",
        "Tue 15 Dec 18:00–21:00",
        "Tue 22 Dec 18:00–21:00",
    ]
    assert [one["text"] for one in sheet.page()["exceptions"]] == ["Sat 5 Dec 09:00–12:30", "Tue 8 Dec: off"]


def test_a_stint_that_was_noted_can_be_taken_back_and_put_back(sheet: Sheet) -> None:
    told = sheet.browser.follow(sheet.send(**TUESDAY)).text
    assert "Noted: Tuesday 18:00–21:00." in told
    told = sheet.browser.follow(sheet.send("/1/removal", to="aside")).text
    assert "Set aside: Tuesday 18:00–21:00." in told
    assert sheet.next() == []
    sheet.send("/1/removal", to="back")
    assert len(sheet.next()) == 4


def test_a_helper_offers_a_day_and_that_is_a_stint_too(sheet: Sheet) -> None:
    sheet.send("/helpers", name="Jo", skills="welds stainless,  welds stainless, drives")
    sheet.send(
        "/visits", helper_id="1", day="2026-11-28", begins="09:00", ends="15:00", cancel_by="2026-11-26"
    )
    [one] = sheet.page()["next"]
    assert (one["text"], one["long"], one["who"]) == (
        "Sat 28 Nov 09:00–15:00",
        "6 h",
        "with Jo, who welds stainless",
    )
    assert sheet.page()["visits"][0]["note"] == "can be called off until Thu 26 Nov"
    sheet.send("/helpers/1/removal", to="aside")
    assert sheet.next() == []
    sheet.send("/helpers/1/removal", to="back")
    sheet.send("/visits/1/removal", to="aside")
    assert sheet.next() == []


def test_an_edit_of_a_helper_and_of_the_garage_names_its_version(sheet: Sheet) -> None:
    sheet.send("/helpers", name="Jo")
    assert sheet.send("/helpers/1", name="Jo", skills="welds").status_code == 428
    assert sheet.send("/helpers/1", version="1", name="Jo", skills="welds").status_code == 303
    stale = sheet.send("/helpers/1", version="1", name="Jo", skills="drives")
    assert stale.status_code == 412
    assert "<td>Able to do</td><td>welds</td><td>drives</td>" in stale.text
    assert sheet.send("/garage", version="0", **GARAGE).status_code == 303
    assert sheet.send("/garage", version="1", **GARAGE | {"raising": "1 h"}).status_code == 303
    stale = sheet.send("/garage", version="1", **GARAGE | {"raising": "2 h"})
    assert stale.status_code == 412
    assert "<td>Raising the car</td><td>1 h</td><td>2 h</td>" in stale.text


@pytest.mark.parametrize(
    ("more", "fields", "message"),
    [
        ("", TUESDAY | {"begins": "six"}, "From: “six” is not a time of day."),
        ("", TUESDAY | {"begins": ""}, "From is missing."),
        ("", TUESDAY | {"ends": "17:00"}, "It ends before it begins."),
        ("", TUESDAY | {"ends": "24:01"}, "is not a time of day."),
        ("", TUESDAY | {"weekday": "Someday"}, "The weekday: choose one of the list."),
        ("", TUESDAY | {"kind": "extra"}, "The day is missing."),
        ("/helpers", {"name": " "}, "The helper&#39;s name is missing."),
        ("/visits", {"helper_id": "7", "day": "2026-11-28"}, "Who comes: choose one of the list."),
        ("/garage", GARAGE | {"version": "0", "zone": "Europe/Nowhere"}, "is not known here."),
        ("/garage", GARAGE | {"version": "0", "zone": "../../etc/passwd"}, "is not known here."),
        ("/garage", GARAGE | {"version": "0", "noise_from": "08:00"}, "Noise needs both times, or neither."),
        ("/garage", GARAGE | {"version": "0", "raising": "9 h"}, "Raising the car: 9 h is out of range."),
    ],
)
def test_what_can_t_be_used_is_told_and_nothing_is_stored(
    sheet: Sheet, more: str, fields: dict[str, str], message: str
) -> None:
    before = sheet.page()
    refused = sheet.browser.post(sheet.address + more, fields)
    assert refused.status_code == 422
    assert message in refused.text
    assert sheet.page() == before


def test_a_visit_can_t_be_called_off_after_it(sheet: Sheet) -> None:
    sheet.send("/helpers", name="Jo")
    late = {
        "helper_id": "1",
        "day": "2026-11-28",
        "begins": "9:00",
        "ends": "15:00",
        "cancel_by": "2026-11-29",
    }
    assert "The last day to call it off is after the visit." in sheet.send("/visits", **late).text


def test_a_stint_on_the_night_that_the_clocks_go_back_says_so(app: FastAPI, sheet: Sheet) -> None:
    """From the last Sunday of October 2027; Directive 2000/84/EC."""
    app.state.clock = lambda: datetime(2027, 10, 30, 12, 0, tzinfo=ZoneInfo("Europe/Paris"))
    sheet.send("/garage", version="0", **GARAGE)
    sheet.send(kind="extra", day="2027-10-31", begins="00:00", ends="04:00")
    [night] = sheet.page()["next"]
    assert night["long"] == "5 h"
    assert night["change"] == "the clocks go back: 5 h really pass"


def test_addresses_of_what_is_not_there_say_so(sheet: Sheet) -> None:
    assert sheet.send("/9/removal", to="aside").status_code == 404
    assert sheet.send("/helpers/9", version="1", name="Jo").status_code == 404
    assert sheet.send("/visits/9/removal").status_code == 404
    assert sheet.browser.get("/builds/99/stints").status_code == 404


def test_the_demo_s_fabricator_comes_on_a_saturday(demo: Browser) -> None:
    page = demo.get_json("/builds/1/stints")
    assert page["visits"][0]["text"] == "Sat 5 Dec 09:00–15:00, The fabricator"
    assert len(page["weekly"]) == 3


def test_of_many_helpers_some_are_listed_and_the_rest_is_led_to(sheet: Sheet) -> None:
    for number in range(6):
        sheet.send("/helpers", name=f"Helper {number}")
    page = sheet.page()
    more = page["tally_helpers"]["more"]
    rest = sheet.browser.get_json(more["href"])
    names = [one["name"] for shown in (page, rest) for one in shown["helpers"]]
    assert (more["text"], names) == ("2 more of 6", [f"Helper {number}" for number in range(6)])
    last = rest["helpers"][-1]
    refused = sheet.send(f"/helpers/{last['id']}", name="", version=str(last["version"]))
    assert (refused.status_code, f'id="helper-{last["id"]}-name"' in refused.text) == (422, True)
