"""The shelf as a browser and a script see it: whole pieces, off-cuts, and how they are counted."""

from datetime import datetime
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from server.features.parts.service import off_cut_faces
from server.features.parts.tables import OffCut, Part
from tests.asking import Browser, number_in
from tests.http.test_suppliers import selects

TUBE = {"name": "Aluminium tube, 76 mm", "kind": "tube", "stock_length": "2 m", "count": "3"}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def tube(browser: Browser, build: int) -> str:
    """The address of a tube sold in lengths of 2 m, three of which lie in the garage."""
    browser.post(f"/builds/{build}/parts", TUBE)
    return f"/builds/{build}/parts/1"


def lines(browser: Browser, build: int, query: str = "") -> Any:
    return browser.get_json(f"/builds/{build}/shelf{query}")["lines"]


def test_an_empty_shelf_says_how_things_come_to_lie_there(browser: Browser, build: int) -> None:
    assert "Nothing lies in the garage yet." in browser.get(f"/builds/{build}/shelf").text


def test_only_what_lies_in_the_garage_is_on_the_shelf(browser: Browser, build: int, tube: str) -> None:
    browser.post(f"/builds/{build}/parts", {"name": "Downpipe gasket"})
    (line,) = lines(browser, build)
    assert (line["name"], line["in_hand"], line["href"]) == ("Aluminium tube, 76 mm", 3, tube)
    assert line["about"] == "each 2000 mm"


def test_what_nothing_calls_for_and_the_spares_are_told(browser: Browser, build: int, tube: str) -> None:
    spares = {"version": "1", "name": TUBE["name"], "spares": "1", "spare_reason": "one cut goes wrong"}
    browser.post(tube, spares)
    task = browser.post(f"/builds/{build}/tasks", {"title": "Cut it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "2"})
    assert lines(browser, build)[0]["about"] == "2 for tasks · 1 over · 1 spare wanted: one cut goes wrong"


@pytest.mark.usefixtures("tube")
def test_one_more_one_less_and_a_count(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/shelf/1", {"change": "+1"})
    assert lines(browser, build)[0]["in_hand"] == 4
    browser.post(f"/builds/{build}/shelf/1", {"change": "-1"})
    assert lines(browser, build)[0]["in_hand"] == 3
    browser.post(f"/builds/{build}/shelf/1", {"count": "7"})
    assert lines(browser, build)[0]["in_hand"] == 7
    browser.post(f"/builds/{build}/shelf/1", {"count": "0"})
    assert lines(browser, build) == []


@pytest.mark.usefixtures("tube")
def test_in_page_the_shelf_alone_comes_back(browser: Browser, build: int) -> None:
    asked = {"hx-request": "true", "hx-target": "shelf"}
    answer = browser.post(f"/builds/{build}/shelf/1", {"change": "+1"}, headers=asked)
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="shelf">')
    assert '<b class="great">4</b>' in answer.text
    assert '<b class="great">4</b>' in browser.get(f"/builds/{build}/shelf").text


@pytest.mark.usefixtures("tube")
def test_a_count_that_is_none_is_shown_again_and_changes_nothing(browser: Browser, build: int) -> None:
    answer = browser.post(f"/builds/{build}/shelf/1", {"count": "a few"})
    assert answer.status_code == 422
    assert 'value="a few"' in answer.text
    assert "is not a whole number" in answer.text
    assert lines(browser, build)[0]["in_hand"] == 3


@pytest.mark.usefixtures("tube")
def test_an_off_cut_lies_with_its_part_whatever_unit_it_was_typed_in(
    browser: Browser, build: int, engine: Engine
) -> None:
    cut = {"part": "ALUMINIUM tube, 76 mm", "length": "18 in", "note": "one end beaded"}
    shown = browser.follow(browser.post(f"/builds/{build}/off-cuts", cut))
    assert "On the shelf: 457.2 mm of Aluminium tube, 76 mm." in shown.text
    browser.post(f"/builds/{build}/off-cuts", cut | {"length": "610 mm"})
    found = [(one["length"]["text"], one["note"]) for one in lines(browser, build)[0]["cuts"]]
    assert found == [("610 mm", "one end beaded"), ("457.2 mm", "one end beaded")]
    with Session(engine) as session:
        assert [round(one.length, 4) for one in off_cut_faces(session, build)] == [0.61, 0.4572]


@pytest.mark.usefixtures("tube")
def test_a_used_up_off_cut_can_be_laid_back(browser: Browser, build: int, engine: Engine) -> None:
    browser.post(f"/builds/{build}/off-cuts", {"part": TUBE["name"], "length": "450 mm"})
    shown = browser.follow(browser.post(f"/builds/{build}/off-cuts/1/use", {"used": "yes"}))
    assert "Used up: 450 mm of Aluminium tube, 76 mm." in shown.text
    assert "It lies here after all" in shown.text
    assert lines(browser, build)[0]["cuts"] == []
    with Session(engine) as session:
        assert off_cut_faces(session, build) == ()
    browser.post(f"/builds/{build}/off-cuts/1/use", {"used": "no"})
    assert len(lines(browser, build)[0]["cuts"]) == 1


@pytest.mark.usefixtures("tube")
@pytest.mark.parametrize("length", ["", "long", "-450 mm", "0 mm", "90 m", "450", "450 kg"])
def test_a_length_that_is_none_is_refused_and_everything_typed_stays(
    browser: Browser, build: int, length: str
) -> None:
    typed = {"part": TUBE["name"], "length": length, "note": "<b>behind the door</b>"}
    answer = browser.post(f"/builds/{build}/off-cuts", typed)
    if length == "450":  # bare lengths are millimetres nowhere: the unit has to be said
        assert "has no unit" in answer.text
    assert answer.status_code == 422
    assert f'value="{length}"' in answer.text
    assert "&lt;b&gt;behind the door&lt;/b&gt;" in answer.text
    assert lines(browser, build)[0]["cuts"] == []


@pytest.mark.usefixtures("tube")
def test_an_off_cut_of_no_known_part_is_refused_with_a_name_that_is_known(
    browser: Browser, build: int
) -> None:
    answer = browser.post(f"/builds/{build}/off-cuts", {"part": "Copper pipe", "length": "450 mm"})
    assert answer.status_code == 422
    assert "No part is called “Copper pipe”." in answer.text
    assert "Aluminium tube, 76 mm" in answer.text


@pytest.mark.usefixtures("tube")
def test_the_shelf_of_another_build_is_not_found(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/off-cuts", {"part": TUBE["name"], "length": "450 mm"})
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    assert browser.post(f"/builds/{other}/shelf/1", {"change": "+1"}).status_code == 404
    assert browser.post(f"/builds/{other}/off-cuts/1/use", {"used": "yes"}).status_code == 404
    assert lines(browser, build)[0]["in_hand"] == 3


def test_ten_times_the_parts_cost_no_more_queries_and_are_shown_thirty_at_a_time(
    browser: Browser, build: int, engine: Engine, now: datetime
) -> None:
    def fill(first: int, count: int) -> None:
        with Session(engine) as session:
            for number in range(first, first + count):
                part = Part(build_id=build, name=f"Part {number:04d}", on_shelf=1, stock_length=2.0)
                session.add(part)
                session.flush()
                session.add(OffCut(part_id=part.key, length=0.5, put_at=now))
            session.commit()

    browser.post(f"/builds/{build}/parts", TUBE)
    fill(1, 70)
    browser.get(f"/builds/{build}/shelf")
    with selects(engine) as few:
        browser.get(f"/builds/{build}/shelf")
    fill(100, 630)
    browser.post(f"/builds/{build}/shelf/1", {"change": "+1"})
    browser.get(f"/builds/{build}/shelf")
    with selects(engine) as many:
        page = browser.get_json(f"/builds/{build}/shelf")
    assert len(many) == len(few)
    assert len(page["lines"]) == 30
    assert page["sheets_of"]["total"] == 701
    following = browser.get_json(page["sheets_of"]["next"]["href"])
    assert following["lines"][0]["name"] == "Part 0030"
    assert [one["name"] for one in lines(browser, build, "?name=part+0712")] == ["Part 0712"]
