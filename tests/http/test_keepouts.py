"""Keep-outs: entered as ball, bar and box, refused where wrong, changed, set aside, shown to scripts."""

from dataclasses import dataclass
from typing import Any

import httpx
import pytest

from tests.asking import Browser, number_in

SHAFT = {
    "shape": "capsule",
    "what": "steering shaft or rack",
    "name": "Steering shaft",
    "at": "-200 -350 100",
    "to": "-10 in; -12 in; 2 in",
    "across": "22",
    "gap": "25",
    "moves": "3",
}


@dataclass(frozen=True)
class Sheet:
    """The keep-outs of an empty build."""

    browser: Browser
    address: str

    def enter(self, **fields: str) -> httpx.Response:
        return self.browser.post(self.address, SHAFT | fields)

    def page(self, more: str = "") -> Any:
        return self.browser.get_json(self.address + more)


@pytest.fixture
def sheet(browser: Browser) -> Sheet:
    build = browser.post("/builds", {"name": "Orrin", "car": "saloon"}).headers["location"]
    return Sheet(browser, f"/builds/{number_in(build)}/keep-outs")


def test_a_bar_has_two_ends_and_keeps_what_was_typed(sheet: Sheet) -> None:
    assert sheet.enter().status_code == 303
    (one,) = sheet.page()["keep_outs"]
    assert one["detail"] == (
        "22 mm across, from -200 mm, -350 mm, 100 mm to -254 mm, -304.8 mm, 50.8 mm, comes nearer by 3 mm"
    )
    assert one["gap"] == "25 mm"
    assert one["point"] == pytest.approx([-0.2, -0.35, 0.1])
    assert sheet.page(f"?edit={one['id']}")["fields"]["values"]["to"] == "-10 in; -12 in; 2 in"


def test_a_ball_and_a_box_have_a_middle(sheet: Sheet) -> None:
    sheet.enter(shape="ball", name="Starter")
    sheet.enter(shape="box", name="Bell housing", long="300", wide="400", high="350", turned="10")
    ball, box = sheet.page()["keep_outs"]
    assert ball["detail"].startswith("22 mm across, at -200 mm")
    assert box["detail"].startswith("300 mm long, 400 mm wide, 350 mm high, at -200 mm")
    assert sheet.page("?shape=box")["fields"]["fields"] == ["at", "long", "wide", "high", "turned"]


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"at": ""}, "One end is missing."),
        ({"at": "1 2"}, "2 of three numbers."),
        ({"at": "1 2 3 4"}, "4 of three numbers."),
        ({"at": "0 0 bar"}, "Its middle: "),
        ({"at": "0 0 9000"}, "is out of range."),
        ({"to": "-200 -350 100"}, "Both ends are one point."),
        ({"across": "-22"}, "Across: -22 is out of range."),
        ({"across": "0"}, "Across: 0 is out of range."),
        ({"across": "12 kg"}, "Across: "),
        ({"gap": "-1"}, "What must stay free round it: -1 is out of range."),
        ({"gap": ""}, "What must stay free round it is missing."),
        ({"moves": "2 m"}, "It comes towards a pipe by: 2 m is out of range."),
        ({"shape": "cone"}, "Taken for: choose one of the list."),
        ({"what": "dragon"}, "What it is: choose one of the list."),
        ({"frame": "sky"}, "It moves with: choose one of the list."),
        ({"instrument": "nose"}, "Measured with: choose one of the list."),
        ({"name": "x" * 81}, "Its name is 81 characters long."),
    ],
)
def test_what_can_t_be_used_is_told_beside_its_field(
    sheet: Sheet, fields: dict[str, str], message: str
) -> None:
    refused = sheet.enter(**fields)
    assert refused.status_code == 422
    assert message.replace("One end", "Its middle") in refused.text
    assert sheet.page()["keep_outs"] == []


def test_an_edit_names_its_version_and_a_second_one_is_told(sheet: Sheet) -> None:
    sheet.enter()
    one = f"{sheet.address}/{sheet.page()['keep_outs'][0]['id']}"
    assert sheet.browser.post(one, SHAFT).status_code == 428
    assert sheet.browser.post(one, SHAFT | {"version": "1", "gap": "30"}).status_code == 303
    assert sheet.page()["keep_outs"][0]["gap"] == "30 mm"
    stale = sheet.browser.post(one, SHAFT | {"version": "1", "gap": "40"})
    assert stale.status_code == 412
    assert "What must stay free round it" in stale.text


def test_what_was_set_aside_comes_back(sheet: Sheet) -> None:
    sheet.enter()
    one = f"{sheet.address}/{sheet.page()['keep_outs'][0]['id']}"
    sheet.browser.post(f"{one}/removal", {})
    assert sheet.page()["keep_outs"] == []
    assert [there["name"] for there in sheet.page()["aside"]] == ["Steering shaft"]
    sheet.browser.post(f"{one}/return", {})
    assert len(sheet.page()["keep_outs"]) == 1


def test_addresses_of_what_is_not_there_say_so(sheet: Sheet) -> None:
    assert sheet.browser.post(f"{sheet.address}/99", SHAFT | {"version": "1"}).status_code == 404
    assert sheet.browser.post(f"{sheet.address}/99/removal", {}).status_code == 404
    assert sheet.browser.get("/builds/99/keep-outs").status_code == 404
