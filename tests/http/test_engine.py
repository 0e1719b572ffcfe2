"""The engine sheet, as a browser and as a script see it."""

from collections.abc import Iterator
from contextlib import contextmanager
from math import hypot

import pytest
from sqlalchemy import Engine, event
from sqlmodel import Session

from server.features.builds.service import build_face
from server.features.engine.service import EngineNumbers, engine_numbers
from tests.asking import Browser, number_in

SHEET = {"displacement": "2.1 l", "redline": "6600 rpm", "boost": "1.0 bar", "fuel": "petrol-95"}


@pytest.fixture
def build(browser: Browser) -> int:
    return number_in(browser.post("/builds", {"name": "The saloon"}).headers["location"])


def engine_of(build: int) -> str:
    return f"/builds/{build}/engine"


def numbers(engine: Engine, build: int) -> EngineNumbers:
    with Session(engine) as session:
        found = engine_numbers(session, build_face(session, build))
    assert found is not None
    return found


@contextmanager
def counted(engine: Engine) -> Iterator[list[str]]:
    """The statements that run inside the block."""
    seen: list[str] = []

    def note(*about: object) -> None:
        seen.append(str(about[2]))

    event.listen(engine, "before_cursor_execute", note)
    yield seen
    event.remove(engine, "before_cursor_execute", note)


def test_four_numbers_are_enough_and_the_rest_is_common_practice(
    browser: Browser, engine: Engine, build: int
) -> None:
    empty = browser.get_json(engine_of(build))
    assert empty["answer"] is None
    assert empty["version"] == 0
    page = browser.follow(browser.post(engine_of(build), SHEET | {"version": "0"}))
    assert page.status_code == 200
    assert "common practice" in page.text
    found = numbers(engine, build)
    assert found.sheet.displacement == pytest.approx(2.1e-3)
    assert found.sheet.redline == pytest.approx(6600)
    assert max(point.boost for point in found.sheet.points) == pytest.approx(100e3)
    assert found.sheet.overboost == pytest.approx(125e3), "a quarter over the boost where it is not typed"
    assert found.meter_range is None


def test_the_same_engine_typed_in_other_units_is_the_same_engine(
    browser: Browser, engine: Engine, build: int
) -> None:
    metric = SHEET | {"version": "0", "meter_range": "0.25 kg/s", "ambient_temperature": "20 °C"}
    browser.post(engine_of(build), metric)
    first = numbers(engine, build)
    inch = {
        "version": "1",
        "displacement": "2100 cc",
        "redline": "6600",
        "boost": "14.503774 psi",
        "fuel": "petrol-95",
        "meter_range": "33.0693 lb/min",
        "ambient_temperature": "68 °F",
    }
    assert browser.post(engine_of(build), inch).status_code == 303
    second = numbers(engine, build)
    assert second.sheet.displacement == pytest.approx(first.sheet.displacement)
    assert second.sheet.points[2].boost == pytest.approx(first.sheet.points[2].boost, rel=1e-6)
    assert second.meter_range == pytest.approx(first.meter_range, rel=1e-5)
    assert second.sheet.ambient_temperature == pytest.approx(first.sheet.ambient_temperature)


def test_the_peak_agrees_with_the_speed_density_sum_done_by_hand(browser: Browser, build: int) -> None:
    """From memory: one 2.0 litre four-stroke at 6000 rpm and 100 % fills 0.1 m³/s; air 287.05 J/(kg K)."""
    rows = {"rpm_1": "3000", "efficiency_1": "100 %", "boost_1": "0 bar"}
    rows |= {"rpm_2": "6000", "efficiency_2": "1.00", "boost_2": "0 bar"}
    sheet = {
        "version": "0",
        "displacement": "2.0 l",
        "redline": "6000",
        "boost": "0 bar",
        "fuel": "petrol-98",
        "elevation": "0 m",
        "ambient_temperature": "15 °C",
        "cooler_effectiveness": "100 %",
        "cooler_loss": "0 kPa",
        "filter_loss": "0 kPa",
    }
    browser.post(engine_of(build), sheet | rows)
    answer = browser.get_json(engine_of(build))["answer"]
    assert answer["peak_flow"]["si"] == pytest.approx(0.1 * 101325 / (287.05 * 288.15), rel=1e-3)
    assert answer["peak_rpm"] == "6000 rpm"
    # Flow goes as efficiency and as pressure here, so their relative doubts of 4 % and 5 kPa add as squares.
    doubt = hypot(0.04, 5000 / 101325)
    assert answer["peak_flow"]["doubt"] / answer["peak_flow"]["si"] == pytest.approx(doubt, rel=0.02)


def test_only_the_rows_filled_in_count_and_their_gaps_take_the_boost_asked_for(
    browser: Browser, engine: Engine, build: int
) -> None:
    rows = {"rpm_1": "6500", "rpm_3": "3000", "efficiency_3": "88 %", "boost_3": "0.5 bar"}
    browser.post(engine_of(build), SHEET | {"version": "0"} | rows)
    points = numbers(engine, build).sheet.points
    assert [point.rpm for point in points] == [3000, 6500]
    assert points[1].boost == pytest.approx(100e3)
    assert points[0].volumetric_efficiency == pytest.approx(0.88)


@pytest.mark.parametrize("rpm", ["6600", "7200", "200"])
def test_one_row_is_enough_wherever_it_stands(browser: Browser, build: int, rpm: str) -> None:
    browser.post(engine_of(build), SHEET | {"version": "0", "rpm_1": rpm})
    plot = browser.get_json(engine_of(build))["answer"]["plot"]
    ticks = [tick["text"] for tick in plot["x_ticks"]]
    assert len(set(ticks)) == len(ticks) >= 3
    assert plot["left"] <= plot["peak"]["x"] <= plot["right"]
    assert plot["top"] <= plot["peak"]["y"] <= plot["bottom"]


def test_page_fragment_and_json_tell_the_same_peak(browser: Browser, build: int) -> None:
    browser.post(engine_of(build), SHEET | {"version": "0"})
    peak = browser.get_json(engine_of(build))["answer"]["peak_flow"]["text"]
    page = browser.get(engine_of(build)).text
    part = browser.get(engine_of(build), headers={"hx-request": "true", "hx-target": "demand"}).text
    assert peak in page
    assert peak in part
    assert "<html" not in part
    assert 'id="demand"' in part


def test_the_drawing_of_the_air_has_a_title_and_is_told_in_words(browser: Browser, build: int) -> None:
    browser.post(engine_of(build), SHEET | {"version": "0"})
    page = browser.get(engine_of(build)).text
    assert '<svg viewBox="0 0 400.0 290.0" role="img" aria-labelledby="air-title"' in page
    assert '<title id="air-title">Air demand over engine speed: peak' in page
    assert '<desc id="air-desc">Air from ' in page
    assert "redline 6600 rpm. The table below has the numbers.</desc>" in page


def test_a_small_air_meter_is_said_to_run_out_of_range(browser: Browser, build: int) -> None:
    browser.post(engine_of(build), SHEET | {"version": "0", "meter_range": "10 lb/min"})
    assert browser.get_json(engine_of(build))["answer"]["meter_over"] is True
    assert "runs lean" in browser.get(engine_of(build)).text


HOSTILE = {
    "nonsense": {"displacement": "about two litres"},
    "negative": {"redline": "-6600"},
    "absurd": {"displacement": "900 m3"},
    "another quantity": {"boost": "3 kg"},
    "absolute": {"boost": "2 bar a"},
    "script": {"boost": "<script>alert(1)</script>"},
    "long": {"elevation": "9" * 10_000},
    "no such fuel": {"fuel": "kerosene"},
    "two rows of one speed": {"rpm_1": "3000", "rpm_2": "3000"},
    "row without speed": {"efficiency_4": "90 %"},
    "over-boost below the boost": {"highest_boost": "0.5 bar"},
}


@pytest.mark.parametrize("wrong", HOSTILE.values(), ids=HOSTILE)
def test_what_cant_be_used_is_kept_in_its_field_with_what_would_be_accepted(
    browser: Browser, engine: Engine, build: int, wrong: dict[str, str]
) -> None:
    answer = browser.post(engine_of(build), SHEET | {"version": "0", "bonnet_temperature": "81 °C"} | wrong)
    assert answer.status_code == 422
    assert "Accepted:" in answer.text or "choose one of the list" in answer.text
    assert 'value="81 °C"' in answer.text, "what was right is kept too"
    assert "<script>alert" not in answer.text
    with Session(engine) as session:
        assert engine_numbers(session, build_face(session, build)) is None


def test_missing_numbers_are_each_asked_for(browser: Browser, build: int) -> None:
    answer = browser.post(engine_of(build), {"version": "0"})
    assert answer.status_code == 422
    for label in ("Displacement", "Redline", "Boost asked for"):
        assert f"{label} is missing." in answer.text


def test_the_second_of_two_edits_is_told_and_sees_both_values(browser: Browser, build: int) -> None:
    browser.post(engine_of(build), SHEET | {"version": "0"})
    assert browser.post(engine_of(build), SHEET | {"version": "1", "boost": "1.2 bar"}).status_code == 303
    late = browser.post(engine_of(build), SHEET | {"version": "1", "boost": "18 psi"})
    assert late.status_code == 412
    assert "1.2 bar" in late.text
    assert "18 psi" in late.text
    again = browser.post(engine_of(build), SHEET | {"version": "2", "boost": "18 psi"})
    assert again.status_code == 303


def test_two_first_sheets_at_once_the_second_is_told(browser: Browser, build: int) -> None:
    assert browser.post(engine_of(build), SHEET | {"version": "0"}).status_code == 303
    assert browser.post(engine_of(build), SHEET | {"version": "0", "redline": "7000"}).status_code == 412


def test_an_edit_says_its_version(browser: Browser, build: int) -> None:
    assert browser.post(engine_of(build), SHEET).status_code == 428


def test_a_build_that_is_not_there_has_no_engine(browser: Browser) -> None:
    assert browser.get("/builds/77/engine").status_code == 404


def test_the_page_asks_the_database_few_questions(browser: Browser, engine: Engine, build: int) -> None:
    browser.post(engine_of(build), SHEET | {"version": "0"})
    with counted(engine) as statements:
        browser.get(engine_of(build))
    assert len([text for text in statements if text.startswith("SELECT")]) <= 3


def test_exhaust_heat_and_mixture_are_usual_until_typed_and_say_so_in_both_systems(
    browser: Browser, engine: Engine, build: int
) -> None:
    page = browser.follow(browser.post(engine_of(build), SHEET | {"version": "0"})).text
    assert "800 °C" in page
    assert "1472 °F" in page
    assert "0.80 for Petrol, 95 RON" in page
    exhaust = browser.get_json(engine_of(build))["answer"]["exhaust"]
    assert "temperature and mixture as is usual" in exhaust["usual"]
    assert numbers(engine, build).sheet.exhaust_temperature is None
    typed = SHEET | {"version": "1", "exhaust_temperature": "1562 °F", "mixture": "0.86"}
    browser.post(engine_of(build), typed)
    sheet = numbers(engine, build).sheet
    assert sheet.exhaust_temperature == pytest.approx(1123.15)
    assert sheet.mixture == pytest.approx(0.86)
    answer = browser.get_json(engine_of(build))["answer"]
    assert answer["exhaust"]["usual"] == ""
    # By hand: the fuel burnt is the air over lambda times 14.6.
    share = 1.0 + 1.0 / (0.86 * 14.6)
    assert answer["exhaust"]["flow"]["si"] == pytest.approx(answer["peak_flow"]["si"] * share, rel=1e-6)


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("exhaust_temperature", "80 °C", "from 300 °C to 1100 °C"),
        ("exhaust_temperature", "2000 °C", "from 300 °C to 1100 °C"),
        ("mixture", "11.7", "not air over fuel"),
        ("mixture", "rich", "lambda, such as 0.82"),
    ],
)
def test_an_absurd_exhaust_is_refused_with_what_would_do(
    browser: Browser, engine: Engine, build: int, field: str, typed: str, told: str
) -> None:
    refused = browser.post(engine_of(build), SHEET | {"version": "0", field: typed})
    assert refused.status_code == 422
    assert told in refused.text
    assert typed in refused.text
    with Session(engine) as session:
        assert engine_numbers(session, build_face(session, build)) is None
