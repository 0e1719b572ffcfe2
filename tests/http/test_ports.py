"""Ports and their readings, as a browser at the car and as a script see them."""

from math import pi, sqrt

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session, select

from server.core.tube.port import PortFacts
from server.core.tube.run import EndForm, Stretch
from server.features.ports.service import port_facts
from server.features.ports.tables import Reading
from tests.asking import Browser, fresh_key, number_in


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


@pytest.fixture
def port(browser: Browser, build: int) -> str:
    """The address of a spigot that a run ends on."""
    location: str = browser.post(f"/builds/{build}/ports", {"name": "Compressor inlet"}).headers["location"]
    return location


def read(browser: Browser, port: str, dimension: str, text: str, **more: str) -> None:
    answer = browser.post(f"{port}/readings", {"dimension": dimension, "reading": text} | more)
    assert answer.status_code == 303, answer.text


def facts(engine: Engine, build: int) -> PortFacts:
    with Session(engine) as session:
        return port_facts(session, build)[0]


def readings(engine: Engine) -> list[Reading]:
    with Session(engine) as session:
        return list(session.exec(select(Reading)))


def test_a_new_port_says_what_is_still_to_measure(
    browser: Browser, engine: Engine, build: int, port: str
) -> None:
    assert facts(engine, build).wanted == ("outside_diameter", "bore")
    listed = browser.get_json(f"/builds/{build}/ports")
    assert listed["to_measure"] == 1
    assert listed["next"]["text"] == "Measure: Compressor inlet"
    assert "to measure: outside diameter, wall or bore" in browser.get(f"/builds/{build}/ports").text
    read(browser, port, "outside_diameter", "101.6 mm")
    assert browser.get_json(port)["wanted"] == ["wall or bore"]
    read(browser, port, "wall", "2 mm")
    assert facts(engine, build).wanted == ()


@pytest.mark.parametrize(
    ("role", "shape", "wanted"),
    [
        ("run end", "spigot", ("outside_diameter", "bore")),
        ("run end", "hose", ("bore",)),
        ("run end", "flange", ("bore",)),
        ("run end", "V-band", ("bore",)),
        ("run end", "hole", ("bore",)),
        ("side port", "spigot", ("bore",)),
        ("side port", "hose", ("bore",)),
    ],
)
def test_what_is_wanted_follows_role_and_shape(
    browser: Browser, engine: Engine, build: int, role: str, shape: str, wanted: tuple[str, ...]
) -> None:
    browser.post(f"/builds/{build}/ports", {"name": "Opening", "role": role, "shape": shape})
    assert facts(engine, build).wanted == wanted


def test_the_ending_is_the_usual_one_of_the_shape_until_said(
    browser: Browser, engine: Engine, build: int
) -> None:
    fields = {"name": "Turbine outlet", "shape": "V-band", "stretch": Stretch.AFTER_COOLER}
    browser.post(f"/builds/{build}/ports", fields)
    found = facts(engine, build)
    assert found.end_form is EndForm.V_BAND
    assert found.stretch is Stretch.ANYWHERE, "only a side port has to find a place"


def test_one_dimension_typed_in_mixed_units_is_taken_together(
    browser: Browser, engine: Engine, build: int, port: str
) -> None:
    read(browser, port, "outside_diameter", "101,6 mm")
    read(browser, port, "outside_diameter", "4 in")
    read(browser, port, "outside_diameter", '4"')
    size = facts(engine, build).sizes["outside_diameter"]
    assert size.value == pytest.approx(0.1016)
    # The caliper's own error of ± 0.03 mm stays however often it is used (rectangular, JCGM 100:2008, 4.3.7).
    assert size.doubt >= 0.00003 / sqrt(3)
    text = browser.get_json(port)["sizes"][0]
    assert text["value"]["other"] == "4 in"
    assert text["note"] == "3 readings agree."


def test_a_string_round_the_tube_gives_its_outside_diameter(
    browser: Browser, engine: Engine, build: int, port: str
) -> None:
    read(browser, port, "circumference", f"{pi * 81:.3f} mm")
    assert facts(engine, build).sizes["outside_diameter"].value == pytest.approx(0.080, abs=1e-6)
    assert "outside diameter 80" in browser.get(port).text


def test_readings_that_disagree_are_said_to_and_widen_the_doubt(
    browser: Browser, engine: Engine, build: int, port: str
) -> None:
    read(browser, port, "bore", "80 mm")
    alone = facts(engine, build).sizes["bore"].doubt
    read(browser, port, "bore", "82 mm")
    assert facts(engine, build).sizes["bore"].doubt > 5 * alone
    assert "disagree by more than their doubts explain" in browser.get(port).text


def test_a_bore_larger_than_the_outside_is_pointed_out(browser: Browser, port: str) -> None:
    read(browser, port, "outside_diameter", "60 mm")
    read(browser, port, "bore", "63 mm")
    assert "one of the two is wrong" in browser.get(port).text


def test_a_typed_doubt_stands_in_place_of_the_instruments(
    browser: Browser, engine: Engine, build: int, port: str
) -> None:
    read(browser, port, "bore", "80 mm", doubt="0.5 mm")
    assert facts(engine, build).sizes["bore"].doubt == pytest.approx(0.0005)
    read(browser, port, "wall", "2 ± 0.2 mm")
    assert facts(engine, build).sizes["wall"].doubt == pytest.approx(0.0002)


def test_a_gap_keeps_the_conditions_it_was_read_under(browser: Browser, port: str) -> None:
    more = {"stance": "ride_height", "engine_state": "hot", "seen_from": "below", "instrument": "tape"}
    read(browser, port, "gap", "1/2 in", **more)
    line = browser.get_json(port)["readings"][0]
    assert line["typed"] == "1/2 in"
    assert line["instrument"] == "tape measure, mark to mark"
    assert line["conditions"] == "at ride height; engine hot; seen from below"
    assert line["taken_at"].startswith("2026-11-25T10:00")


def test_a_mock_up_is_a_reading_in_words(browser: Browser, engine: Engine, build: int, port: str) -> None:
    read(browser, port, "mock_up", "brake servo hose", mock_up="touches")
    read(browser, port, "mock_up", "15 mm", mock_up="short")
    read(browser, port, "mock_up", "", mock_up="fits")
    words = [line["typed"] for line in browser.get_json(port)["readings"]]
    assert words == ["fits", "short by 15 mm", "touches at brake servo hose"]
    assert facts(engine, build).sizes == {}


def test_a_withdrawn_reading_stays_on_the_page_and_can_be_put_back(
    browser: Browser, engine: Engine, build: int, port: str
) -> None:
    read(browser, port, "bore", "80 mm")
    again = f"{port}/readings/{readings(engine)[0].key}/withdrawal"
    assert browser.post(again, {"to": "withdrawn"}).status_code == 303
    assert facts(engine, build).sizes == {}
    assert "withdrawn" in browser.get(port).text
    assert browser.post(again, {}).status_code == 303
    assert facts(engine, build).sizes["bore"].value == pytest.approx(0.080)


def test_a_reading_belongs_to_its_port(browser: Browser, engine: Engine, build: int, port: str) -> None:
    read(browser, port, "bore", "80 mm")
    other = browser.post(f"/builds/{build}/ports", {"name": "Throttle"}).headers["location"]
    answer = browser.post(f"{other}/readings/{readings(engine)[0].key}/withdrawal", {"to": "withdrawn"})
    assert answer.status_code == 404
    stranger = number_in(browser.post("/builds", {"name": "Another"}).headers["location"])
    assert browser.get(port.replace(f"/builds/{build}/", f"/builds/{stranger}/")).status_code == 404
    assert browser.get(f"/builds/{build}/ports/{10**30}").status_code == 404
    assert browser.post(f"/builds/{build}/ports/{10**30}/readings", {"dimension": "bore"}).status_code == 404


def test_the_form_asks_only_for_what_fits_the_dimension(browser: Browser, port: str) -> None:
    string = browser.get_json(f"{port}?measure=circumference")["entry"]
    assert [one["value"] for one in string["instruments"]] == ["string"]
    assert not string["asks_conditions"]
    assert "How the car" not in browser.get(f"{port}?measure=bore").text
    assert "The car stood" in browser.get(f"{port}?measure=gap").text
    assert browser.get_json(f"{port}?measure=nonsense")["entry"]["dimension"] == "outside_diameter"


def test_page_fragment_and_json_tell_the_same_size(browser: Browser, port: str) -> None:
    asked = {"hx-request": "true", "hx-target": "measuring"}
    fields = {"dimension": "bore", "reading": "97 mm"}
    part = browser.post(f"{port}/readings", fields, headers=asked)
    assert part.status_code == 200
    text = browser.get_json(port)["sizes"][0]["value"]["text"]
    assert text in part.text
    assert text in browser.get(port).text
    assert "<html" not in part.text
    assert 'id="measuring"' in part.text


BAD_READINGS = {
    "nonsense": {"dimension": "bore", "reading": "as wide as a thumb"},
    "nothing": {"dimension": "bore", "reading": ""},
    "negative": {"dimension": "bore", "reading": "-80 mm"},
    "absurd": {"dimension": "bore", "reading": "80 m"},
    "another quantity": {"dimension": "bore", "reading": "80 psi"},
    "script": {"dimension": "bore", "reading": "<script>alert(1)</script>"},
    "long": {"dimension": "bore", "reading": "8" * 10_000},
    "ambiguous": {"dimension": "bore", "reading": "1,234 mm"},
    "an instrument that can't": {"dimension": "bore", "reading": "80 mm", "instrument": "string"},
    "no such dimension": {"dimension": "colour", "reading": "80 mm"},
    "negative doubt": {"dimension": "bore", "reading": "80 mm", "doubt": "-1 mm"},
    "short by nothing": {"dimension": "mock_up", "mock_up": "short", "reading": ""},
    "touches nothing": {"dimension": "mock_up", "mock_up": "touches", "reading": ""},
    "long words": {"dimension": "mock_up", "mock_up": "touches", "reading": "hose " * 2_000},
    "no such stance": {"dimension": "gap", "reading": "9 mm", "stance": "on its roof"},
}


@pytest.mark.parametrize("wrong", BAD_READINGS.values(), ids=BAD_READINGS)
def test_a_reading_that_cant_be_used_is_kept_in_its_field_and_not_stored(
    browser: Browser, engine: Engine, port: str, wrong: dict[str, str]
) -> None:
    answer = browser.post(f"{port}/readings", wrong | {"reading_note": "at the lip"})
    assert answer.status_code == 422
    assert 'value="at the lip"' in answer.text
    assert "<script>alert" not in answer.text
    assert readings(engine) == []


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": ""},
        {"name": "x" * 10_000},
        {"name": "Throttle", "role": "decoration"},
        {"name": "Throttle", "subsystem_id": "99"},
        {"name": "Throttle", "subsystem_id": "-1 or 1"},
        {"name": "Throttle", "note": "y" * 10_000},
    ],
)
def test_a_port_that_cant_be_used_is_shown_again_and_not_stored(
    browser: Browser, build: int, wrong: dict[str, str]
) -> None:
    answer = browser.post(f"/builds/{build}/ports", wrong | {"facing": "towards the wing"})
    assert answer.status_code == 422
    assert 'value="towards the wing"' in answer.text
    assert browser.get_json(f"/builds/{build}/ports")["ports"] == []


def test_a_port_may_be_named_in_angle_brackets(browser: Browser, build: int) -> None:
    browser.post(f"/builds/{build}/ports", {"name": "<b>inlet</b>"})
    assert "&lt;b&gt;inlet&lt;/b&gt;" in browser.get(f"/builds/{build}/ports").text


def test_two_browsers_edit_one_port_and_the_second_is_told(browser: Browser, port: str) -> None:
    first = {"version": "1", "name": "Compressor inlet", "material": "aluminium", "note": "bead is worn"}
    assert browser.post(port, first).status_code == 303
    second = {"version": "1", "name": "Inlet of the compressor", "material": "steel", "facing": "forward"}
    late = browser.post(port, second)
    assert late.status_code == 412
    for text in (
        "Somebody else changed this",
        "aluminium",
        "steel",
        "bead is worn",
        "Inlet of the compressor",
    ):
        assert text in late.text
    assert 'value="forward"' in late.text
    assert browser.get_json(port)["fields"]["material"] == "aluminium", "the first edit stands untouched"
    assert browser.post(port, second | {"version": "2"}).status_code == 303
    assert browser.get_json(port)["fields"]["material"] == "steel"


def test_a_reading_taken_meanwhile_does_not_make_an_edit_stale(browser: Browser, port: str) -> None:
    read(browser, port, "bore", "80 mm")
    assert browser.post(port, {"version": "1", "name": "Inlet"}).status_code == 303


def test_the_same_reading_posted_five_times_at_once_acts_once(
    browser: Browser, engine: Engine, port: str
) -> None:
    fields = {"dimension": "bore", "reading": "80 mm", "operation_key": fresh_key()}
    answers = browser.post_at_once(f"{port}/readings", fields, 5)
    assert {answer.status_code for answer in answers} == {303}
    assert len(readings(engine)) == 1


def test_loading_a_refused_reading_again_shows_the_port(browser: Browser, port: str) -> None:
    assert browser.get(f"{port}/readings").headers["location"] == port


def test_lists_ask_the_database_as_often_for_twenty_ports_as_for_one(
    browser: Browser, engine: Engine, build: int, port: str
) -> None:
    def questions() -> int:
        seen: list[str] = []

        def note(*about: object) -> None:
            seen.append(str(about[2]))

        event.listen(engine, "before_cursor_execute", note)
        browser.get(f"/builds/{build}/ports")
        event.remove(engine, "before_cursor_execute", note)
        return len(seen)

    read(browser, port, "bore", "80 mm")
    one = questions()
    for number in range(19):
        more = browser.post(f"/builds/{build}/ports", {"name": f"Opening {number}"}).headers["location"]
        read(browser, more, "bore", f"{20 + number} mm")
    assert questions() == one <= 6


def test_a_doubt_out_of_range_says_the_range(browser: Browser, port: str) -> None:
    typed = {"dimension": "bore", "reading": "80 mm", "doubt": "-3"}
    refused = browser.post(f"{port}/readings", typed)
    assert refused.status_code == 422
    assert "Accepted: 0.001 to 100 mm, such as 0.1 mm or 0.004 in" in refused.text


def test_without_scripts_a_saved_reading_says_so_and_can_be_withdrawn(browser: Browser, port: str) -> None:
    saved = browser.post(f"{port}/readings", {"dimension": "bore", "reading": "57 mm"})
    assert "Saved: bore 57 mm." in browser.follow(saved).text
    undo = browser.get_json(saved.headers["location"])["news"]["undo"]
    withdrawn = browser.post(undo["href"], dict(undo["fields"]))
    assert "Withdrawn: bore 57 mm." in browser.follow(withdrawn).text
    assert "Saved" not in browser.get(port).text
