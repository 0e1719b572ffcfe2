"""Two photos of a build side by side, whatever they show, and the photos of a design and its pieces."""

import re
from datetime import timedelta
from typing import Any

import pytest
from sqlmodel import select

from server.db import write_session
from server.features.photos.tables import Photo
from tests.asking import Browser
from tests.http.intake_build import IntakeBuild, make_intake
from tests.pictures import picture, saved

SHEET = "/builds/1/side-by-side"


def photo(wide: int = 80) -> dict[str, Any]:
    return {"photo": ("a.jpg", saved(picture(wide, 60)), "image/jpeg")}


@pytest.fixture(scope="module")
def intake(bench: Browser) -> IntakeBuild:
    """A photo each of a note, a reading, a task, a line, a design and a piece, each older than the next."""
    made = make_intake(bench)
    port = min(made.ports.values())
    task = bench.post("/builds/1/tasks", {"title": "Weld the bung", "likely": "1 h"}).headers["location"]
    hose = {"name": "servo hose", "medium": "manifold vacuum"}
    assert bench.post("/builds/1/ledger/line", hose).status_code == 303
    sent = (
        ("/builds/1/log", {"text": "The old pipe is off. " * 9}),
        (f"/builds/1/ports/{port}/readings", {"dimension": "bore", "reading": "57 mm"}),
        (f"{task}/photos", {"caption": "the bung"}),
        ("/builds/1/lines/1/photos", {"shows": "line after"}),
        (f"{made.design}/photos", {"caption": "offered up"}),
        (f"{made.design}/photos", {"shows": str(made.pieces[1])}),
    )
    for wide, (address, fields) in enumerate(sent, 80):
        assert bench.post(address, fields, files=photo(wide)).status_code == 303
    engine = bench.client._transport.app.state.engine  # type: ignore[attr-defined]
    with write_session(engine) as session:
        for row in session.exec(select(Photo)):
            row.added_at += timedelta(hours=row.key)
            session.add(row)
    return made


def test_the_older_of_two_stands_on_the_left_in_whichever_order_they_were_chosen(intake: IntakeBuild) -> None:
    for address in (f"{SHEET}?first=1&second=3", f"{SHEET}?first=3&second=1"):
        page = intake.browser.get_json(address)
        assert [(one["label"], one["whole"]) for one in page["pair"]] == [
            ("Before", "/builds/1/photos/1"),
            ("After", "/builds/1/photos/3"),
        ]
        assert page["groups"] == []
    text = intake.browser.get(f"{SHEET}?first=1&second=3").text
    assert len(re.findall(r'<img src="/builds/1/photos/[13]"', text)) == 2
    assert "Note: The old pipe is off. The old pipe is off. The old pipe is of…" in text
    assert "the bung" in text


def test_photos_are_chosen_by_tapping_them_one_after_the_other(intake: IntakeBuild) -> None:
    """Those of the same thing come first, whatever of it they show."""
    first = intake.browser.get_json(SHEET)
    names = [group["name"] for group in first["groups"]]
    assert first["groups"][0]["photos"][0]["href"] == f"{SHEET}?first=6"
    assert {"Weld the bung", "Servo hose"} < set(names)
    then = intake.browser.get_json(f"{SHEET}?first=5")
    assert then["groups"][0]["photos"][0]["href"] == f"{SHEET}?first=5&second=6"
    assert [one["label"] for one in then["pair"]] == ["Chosen"]
    assert "Tap the photo that belongs beside it." in intake.browser.get(f"{SHEET}?first=5").text


def test_two_photos_go_on_paper(intake: IntakeBuild) -> None:
    answer = intake.browser.get("/builds/1/side-by-side.pdf?first=1&second=3")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.count(b"/Subtype /Image") == 2
    assert intake.browser.get("/builds/1/side-by-side.pdf?first=1&second=1").status_code == 404


@pytest.mark.parametrize("query", ["first=99", "first=1&second=99", "first=-1", "first=x", f"first={10**30}"])
def test_a_photo_that_is_not_there_is_told(intake: IntakeBuild, query: str) -> None:
    assert intake.browser.get(f"{SHEET}?{query}").status_code == 404


def test_a_build_without_photos_says_what_takes_them(bench: Browser, intake: IntakeBuild) -> None:
    assert intake
    address = bench.post("/builds", {"name": "The van"}).headers["location"].split("/start")[0]
    assert "No photos yet. Ports, tasks" in bench.get(f"{address}/side-by-side").text
    assert bench.get(f"{address}/side-by-side?first=1").status_code == 404, "it is another build's"
    assert bench.get(f"{address}/pieces/{intake.pieces[0]}").status_code == 404


def test_a_design_and_its_pieces_take_photos(intake: IntakeBuild) -> None:
    page = intake.browser.get_json(f"{intake.design}/photos")
    assert [words for words, _ in page["albums"]] == ["the design as a whole", page["shows"][2]["text"]]
    assert page["shows"][2]["text"].startswith("piece 2, ")
    assert f'href="{intake.design}/photos"' in intake.browser.get(intake.design).text
    sheet = intake.browser.get_json("/builds/1/photos/6/sheet")
    assert sheet["subject"] == "piece"
    assert intake.browser.get(sheet["back"]).headers["location"] == f"{intake.design}/photos"
    wrong = intake.browser.post(f"{intake.design}/photos", {"shows": "999"}, files=photo())
    assert wrong.status_code == 422
    assert intake.browser.post(f"{intake.design}/photos", {}).status_code == 422


def test_two_photos_of_one_thing_lead_to_each_other(intake: IntakeBuild) -> None:
    address = f"{intake.design}/photos"
    assert intake.browser.get_json(address)["albums"][0][1]["pair"] == ""
    intake.browser.post(address, {}, files=photo())
    link = intake.browser.get_json(address)["albums"][0][1]["pair"]
    assert link == f"{SHEET}?first=5&second=7"
    assert f'href="{link.replace("&", "&amp;")}"' in intake.browser.get(address).text
