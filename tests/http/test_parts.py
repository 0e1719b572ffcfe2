"""Parts as a browser and a script see them: the count in the garage, what is needed and what is short."""

from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from server.features.parts.service import part_faces, part_for_spec
from server.features.parts.tables import Part
from tests.asking import Browser, fresh_key, number_in
from tests.http.test_suppliers import selects

ELBOW = {"name": "76 mm elbow", "kind": "bend", "price": "31,50", "count": "2"}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def elbow(browser: Browser, build: int) -> str:
    """The address of a part with two pieces in the garage."""
    assert browser.post(f"/builds/{build}/parts", ELBOW).status_code == 303
    return f"/builds/{build}/parts/1"


def counts(browser: Browser, part: str) -> Any:
    return browser.get_json(part)["counts"]


def test_a_build_without_parts_says_what_a_part_is(browser: Browser, build: int) -> None:
    assert "No part yet" in browser.get(f"/builds/{build}/parts").text


def test_a_new_part_is_listed_with_its_price_and_its_count(browser: Browser, build: int, elbow: str) -> None:
    (line,) = browser.get_json(f"/builds/{build}/parts")["others"]
    assert line["about"] == "bend · to buy · 31.50 EUR"
    assert line["counts"]["in_hand"] == 2
    assert line["href"] == elbow


def test_bad_input_keeps_what_was_typed_and_stores_nothing(browser: Browser, build: int) -> None:
    answer = browser.post(
        f"/builds/{build}/parts", {"name": "", "price": "cheap", "count": "-3", "note": "<script>x</script>"}
    )
    assert answer.status_code == 422
    for kept in ("cheap", "-3", "&lt;script&gt;x&lt;/script&gt;", "an amount such as 24.50"):
        assert kept in answer.text
    assert browser.get_json(f"/builds/{build}/parts")["others"] == []


def test_one_more_and_one_less_change_the_count_by_one(browser: Browser, elbow: str) -> None:
    browser.post(f"{elbow}/shelf", {"change": "+1"})
    assert counts(browser, elbow)["in_hand"] == 3
    browser.post(f"{elbow}/shelf", {"change": "-1"})
    browser.post(f"{elbow}/shelf", {"change": "-1"})
    assert counts(browser, elbow)["in_hand"] == 1


def test_five_taps_on_the_same_button_count_once(browser: Browser, elbow: str) -> None:
    fields = {"change": "+1", "operation_key": fresh_key()}
    answers = browser.post_at_once(f"{elbow}/shelf", fields, 5)
    assert {answer.status_code for answer in answers} == {303}
    assert counts(browser, elbow)["in_hand"] == 3


def test_none_can_be_taken_from_none(browser: Browser, elbow: str) -> None:
    browser.post(f"{elbow}/shelf", {"count": "0"})
    answer = browser.post(f"{elbow}/shelf", {"change": "-1"})
    assert answer.status_code == 422
    assert "There is no 76 mm elbow in the garage to take away." in answer.text


def test_in_page_the_list_alone_comes_back_with_the_new_count(
    browser: Browser, build: int, elbow: str
) -> None:
    answer = browser.post(
        f"{elbow}/shelf", {"change": "+1"}, headers={"hx-request": "true", "hx-target": "part-list"}
    )
    assert answer.status_code == 200
    assert answer.text.lstrip().startswith('<div id="part-list">')
    assert "<b>3</b> in the garage" in answer.text
    assert "<b>3</b> in the garage" in browser.get(f"/builds/{build}/parts").text


def test_a_count_stands_whatever_arrived_or_was_used_before(browser: Browser, build: int, elbow: str) -> None:
    order = {"supplier": "Tarn Hose & Clamp", "part_1": "76 mm ELBOW", "quantity_1": "4"}
    browser.post(f"/builds/{build}/orders", order)
    browser.post(f"/builds/{build}/order-lines/1/deliveries", {})
    assert counts(browser, elbow)["in_hand"] == 6
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "5"})
    browser.post(f"{task}/state", {"state": "done"})
    assert counts(browser, elbow)["in_hand"] == 1
    browser.post(f"{elbow}/shelf", {"count": "3"})
    assert counts(browser, elbow)["in_hand"] == 3
    browser.post(f"{elbow}/shelf", {"count": "0"})
    assert counts(browser, elbow)["in_hand"] == 0


def test_a_count_of_a_part_of_which_more_was_used_than_recorded_begins_afresh(
    browser: Browser, build: int, elbow: str
) -> None:
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "5"})
    browser.post(f"{task}/state", {"state": "done"})
    assert counts(browser, elbow)["in_hand"] == 0
    browser.post(f"{elbow}/shelf", {"count": "2"})
    assert counts(browser, elbow)["in_hand"] == 2


@pytest.mark.usefixtures("elbow")
def test_what_is_needed_and_under_way_nowhere_is_short_and_stands_first(browser: Browser, build: int) -> None:
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "3"})
    (short,) = browser.get_json(f"/builds/{build}/parts")["short"]
    assert (short["counts"]["needed"], short["counts"]["short"]) == (3, 1)
    assert '<b class="late">1 short</b>' in browser.get(f"/builds/{build}/parts").text


def test_a_stale_edit_shows_both_values_and_loses_nothing(browser: Browser, elbow: str) -> None:
    edit = {"version": "1", "kind": "bend", "origin": "buy"}
    assert browser.post(elbow, edit | {"name": "76 mm elbow, 90°", "price": "31.50"}).status_code == 303
    answer = browser.post(elbow, edit | {"name": "76 mm elbow, long leg", "price": "33.00"})
    assert answer.status_code == 412
    for text in ("76 mm elbow, 90°", "76 mm elbow, long leg", "31.50", "33.00"):
        assert text in answer.text
    assert browser.get_json(elbow)["name"] == "76 mm elbow, 90°"


def test_a_borrowed_part_begins_as_not_tried_on(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/parts", {"name": "Outlet of another car", "origin": "borrowed"})
    (line,) = browser.get_json(f"/builds/{build}/parts")["others"]
    assert line["about"] == "borrowed to try · not tried on yet"


def test_a_part_of_another_build_is_not_found(browser: Browser, elbow: str) -> None:
    other = number_in(browser.post("/builds", {"name": "The van"}).headers["location"])
    assert browser.get(f"/builds/{other}/parts/1").status_code == 404
    assert browser.post(f"/builds/{other}/parts/1/shelf", {"change": "+1"}).status_code == 404
    assert browser.get(elbow).status_code == 200


# what a part is


def settings(**changed: str) -> dict[str, str]:
    return {"version": "1", "name": "76 mm elbow", "kind": "bend", "origin": "buy", **changed}


def test_a_part_knows_its_length_as_sold_its_spares_and_what_runs_call_it(
    browser: Browser, build: int, elbow: str, engine: Engine
) -> None:
    changed = settings(
        stock_length="6 ft", spares="2", spare_reason="one cut goes wrong", spec="bend, 76 mm outside, 90°"
    )
    assert browser.post(elbow, changed).status_code == 303
    with Session(engine) as session:
        (face,) = part_faces(session, build)
    assert face.stock_length == pytest.approx(1.8288)
    assert (face.spares, face.spare_reason) == (2, "one cut goes wrong")
    page = browser.get_json(elbow)
    assert page["stock_length"] == "1828.8 mm"
    assert page["sold_in"]["si"] == pytest.approx(1.8288)
    assert browser.post(elbow, settings(version="2")).status_code == 303
    assert (browser.get_json(elbow)["spec"], browser.get_json(elbow)["sold_in"]) == ("", None)


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("stock_length", "two metres", "two metres"),
        ("stock_length", "2", "has no unit"),
        ("stock_length", "200 m", "out of range"),
        ("spares", "-1", "out of range"),
        ("spares", "2", "Say why spares are wanted."),
        ("spec", "x" * 161, "161 characters long"),
    ],
)
def test_settings_that_can_not_be_used_are_said_and_kept(
    browser: Browser, elbow: str, field: str, typed: str, said: str
) -> None:
    answer = browser.post(elbow, settings(**{field: typed, "note": "<i>kept</i>"}))
    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{typed}"' in answer.text
    assert "&lt;i&gt;kept&lt;/i&gt;" in answer.text
    assert browser.get_json(elbow)["version"] == 1


def test_runs_call_no_two_parts_the_same(browser: Browser, build: int, elbow: str) -> None:
    browser.post(elbow, settings(spec="bend, 76 mm outside, 90°"))
    browser.post(f"/builds/{build}/parts", {"name": "Another elbow"})
    other = f"/builds/{build}/parts/2"
    answer = browser.post(other, {"version": "1", "name": "Another", "spec": "bend, 76 mm outside, 90°"})
    assert answer.status_code == 422
    assert "Runs call 76 mm elbow that already." in answer.text


def test_a_stale_edit_shows_lengths_as_they_are_typed(browser: Browser, elbow: str) -> None:
    assert browser.post(elbow, settings(stock_length="2 m")).status_code == 303
    answer = browser.post(elbow, settings(stock_length="1 m"))
    assert answer.status_code == 412
    assert "2000 mm" in answer.text
    assert "1000 mm" in answer.text


def test_what_a_run_calls_for_finds_its_part_or_makes_it(engine: Engine, build: int) -> None:
    spec = "coupler, silicone, 80 mm bore, 76 mm long"
    with Session(engine) as session:
        made = part_for_spec(session, build, spec, "Coupler, silicone", "coupler")
        assert part_for_spec(session, build, spec, "Called otherwise now", "coupler") == made
        tube = part_for_spec(session, build, "tube, 76 mm outside", "Tube, 76 mm", "tube", 2.0)
        assert tube != made
        faces = {face.id: face for face in part_faces(session, build)}
    assert (faces[made].name, faces[made].kind, faces[made].spec) == ("Coupler, silicone", "coupler", spec)
    assert faces[tube].stock_length == 2.0


@pytest.mark.usefixtures("elbow")
def test_a_part_of_that_name_that_runs_call_nothing_yet_becomes_the_runs_part(
    engine: Engine, build: int
) -> None:
    with Session(engine) as session:
        assert part_for_spec(session, build, "bend, 76 mm outside", "76 MM elbow", "bend") == 1
        (face,) = part_faces(session, build)
    assert face.spec == "bend, 76 mm outside"


# trying on


@pytest.fixture
def borrowed(browser: Browser, build: int) -> str:
    browser.post(f"/builds/{build}/parts", {"name": "Outlet of another car", "origin": "borrowed"})
    return f"/builds/{build}/parts/1"


def test_one_tap_notes_that_a_borrowed_part_fits_and_another_takes_it_back(
    browser: Browser, borrowed: str
) -> None:
    assert "Not tried on yet." in browser.get(borrowed).text
    shown = browser.follow(browser.post(f"{borrowed}/tried", {"tried": "fits"}))
    assert "Noted: tried on: fits." in shown.text
    assert browser.get_json(borrowed)["tried"] == "fits"
    browser.post(f"{borrowed}/tried", {"tried": "not tried"})
    assert browser.get_json(borrowed)["tried"] == "not tried"


def test_a_part_that_is_not_borrowed_is_not_tried_on(browser: Browser, elbow: str) -> None:
    answer = browser.post(f"{elbow}/tried", {"tried": "fits"})
    assert answer.status_code == 422
    assert "76 mm elbow is not borrowed to try on." in answer.text


def test_trying_on_has_three_answers(browser: Browser, borrowed: str) -> None:
    assert browser.post(f"{borrowed}/tried", {"tried": "nearly"}).status_code == 422
    assert browser.get_json(borrowed)["tried"] == "not tried"


# setting aside


def test_a_part_set_aside_is_on_no_list_until_it_is_put_back(
    browser: Browser, build: int, elbow: str
) -> None:
    shown = browser.follow(browser.post(f"{elbow}/removal", {"aside": "yes"}))
    assert "Set aside: 76 mm elbow." in shown.text
    page = browser.get_json(f"/builds/{build}/parts")
    assert (page["others"], page["aside_count"]) == ([], 1)
    assert browser.get_json(f"/builds/{build}/shelf")["lines"] == []
    assert "This part is set aside." in browser.get(elbow).text
    browser.follow(browser.post(f"{elbow}/removal", {"aside": "no"}))
    assert counts(browser, elbow)["in_hand"] == 2
    assert len(browser.get_json(f"/builds/{build}/parts")["others"]) == 1


def test_a_part_that_a_task_calls_for_is_not_set_aside_and_the_task_is_named(
    browser: Browser, build: int, elbow: str
) -> None:
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "3"})
    answer = browser.post(f"{elbow}/removal", {"aside": "yes"})
    assert answer.status_code == 422
    assert "76 mm elbow is not set aside: ‘Fit it’ calls for 3." in answer.text
    (call,) = browser.get_json(elbow)["calls"]
    assert (call["task"]["text"], call["quantity"], call["state"]) == ("Fit it", 3, "1 short")


def test_a_part_that_is_still_to_come_is_not_set_aside_and_the_supplier_is_named(
    browser: Browser, build: int, elbow: str
) -> None:
    order = {"supplier": "Tarn Hose & Clamp", "part_1": "76 mm elbow", "quantity_1": "4"}
    browser.post(f"/builds/{build}/orders", order)
    answer = browser.post(f"{elbow}/removal", {"aside": "yes"})
    assert answer.status_code == 422
    assert "on order: 4 from Tarn Hose &amp; Clamp, no day promised." in answer.text
    (coming,) = browser.get_json(elbow)["coming"]
    assert coming["href"] == f"/builds/{build}/orders/1"


def test_a_done_task_still_shows_its_part_after_that_was_set_aside(
    browser: Browser, build: int, elbow: str
) -> None:
    task = browser.post(f"/builds/{build}/tasks", {"title": "Fit it", "likely": "1 h"}).headers["location"]
    browser.post(f"{task}/needs", {"part_id": "1", "quantity": "2"})
    browser.post(f"{task}/state", {"state": "done"})
    assert browser.post(f"{elbow}/removal", {"aside": "yes"}).status_code == 303
    shown = browser.get(task)
    assert shown.status_code == 200
    assert "76 mm elbow" in shown.text


@pytest.mark.usefixtures("elbow")
def test_a_part_that_is_ordered_again_by_name_is_not_set_aside_any_longer(
    browser: Browser, build: int, elbow: str
) -> None:
    browser.post(f"{elbow}/removal", {"aside": "yes"})
    order = {"supplier": "Tarn Hose & Clamp", "part_1": "76 mm elbow", "quantity_1": "4"}
    browser.post(f"/builds/{build}/orders", order)
    assert browser.get_json(elbow)["set_aside"] is False


# a long list


def fill(engine: Engine, build: int, first: int, count: int) -> None:
    with Session(engine) as session:
        for number in range(first, first + count):
            kind = "clamp" if number % 2 else "hose"
            session.add(Part(build_id=build, name=f"Part {number:04d} of the list", kind=kind, on_shelf=1))
        session.commit()


def test_a_long_list_is_shown_thirty_at_a_time_and_costs_no_more_queries(
    browser: Browser, build: int, elbow: str, engine: Engine
) -> None:
    fill(engine, build, 1, 69)
    browser.get(f"/builds/{build}/parts")
    with selects(engine) as few:
        browser.get(f"/builds/{build}/parts")
    fill(engine, build, 100, 630)
    browser.post(f"{elbow}/shelf", {"change": "+1"})
    browser.get(f"/builds/{build}/parts")
    with selects(engine) as many:
        page = browser.get_json(f"/builds/{build}/parts")
    assert len(many) == len(few)
    assert len(page["others"]) == 30
    assert page["sheets_of"]["total"] == 700
    assert "The next 30" in browser.get(f"/builds/{build}/parts").text
    following = browser.get_json(page["sheets_of"]["next"]["href"])
    assert following["others"][0]["name"] == "Part 0030 of the list"
    assert "The ones before" in browser.get(page["sheets_of"]["next"]["href"]).text


def test_parts_are_found_by_any_words_of_their_name_and_by_kind(
    browser: Browser, build: int, engine: Engine
) -> None:
    fill(engine, build, 1, 69)

    def found(query: str) -> list[str]:
        return [line["name"] for line in browser.get_json(f"/builds/{build}/parts?{query}")["others"]]

    assert found("name=LIST+0042") == ["Part 0042 of the list"]
    assert found("name=0042&kind=clamp") == []
    assert len(found("kind=clamp&from=30")) == 5
    assert found("name=nothing+of+that+name") == []
    assert len(found("kind=nonsense&from=-4")) == 30


def test_a_tap_on_a_list_that_was_looked_through_stays_there(
    browser: Browser, build: int, engine: Engine
) -> None:
    fill(engine, build, 1, 69)
    tap = {"change": "+1", "kind": "clamp", "from": "30"}
    answer = browser.post(f"/builds/{build}/parts/69/shelf", tap)
    assert answer.headers["location"] == f"/builds/{build}/parts?kind=clamp&from=30"


def test_what_is_looked_for_comes_back_as_text(browser: Browser, build: int) -> None:
    shown = browser.get(f"/builds/{build}/parts?name=%22%3E%3Cscript%3Ex")
    assert "<script>x" not in shown.text
    assert "&lt;script&gt;x" in shown.text
