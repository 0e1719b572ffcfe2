"""Numbers that no engine and no turbo has: each is answered beside its field, or by the check it spoils."""

import pytest

from tests.asking import Browser
from tests.http.intake_build import make_build

SHEET = {"version": "0", "displacement": "2.1 l", "redline": "6600", "boost": "1 bar", "fuel": "petrol-95"}


def beside(page: str, field: str) -> str:
    """The message that stands beside a field."""
    return page.partition(f'id="{field}-problem">')[2].partition("</p>")[0]


def says_it_can_not_be(said: str) -> bool:
    return "out of range" in said or "be negative" in said


@pytest.fixture
def turbo(demo: Browser) -> str:
    address, _, _ = demo.get("/builds/1/figures/turbo.map").headers["location"].partition("#")
    return str(address)


@pytest.mark.parametrize(
    ("field", "typed", "accepted"),
    [
        ("meter_bore", "-80 mm", "from 10 mm to 300 mm"),
        ("meter_bore", "0 mm", "from 10 mm to 300 mm"),
        ("displacement", "-2.1 l", "from 0.05 l to 20 l"),
        ("boost", "-0.3 bar", "up to 4 bar"),
        ("boost", "12 bar", "up to 4 bar"),
        ("highest_boost", "-1 bar", "up to 4 bar"),
        ("compressor_efficiency", "120 %", "from 30 % to 90 %"),
        ("cooler_effectiveness", "-10 %", "0 where there is no cooler"),
        ("cooler_loss", "-7 kPa", "up to 50 kPa"),
        ("boost_3", "-1 bar", "up to 4 bar"),
        ("efficiency_3", "-90 %", "from 20 % to 150 %"),
    ],
)
def test_an_engine_that_can_not_be_is_refused_beside_the_field(
    browser: Browser, field: str, typed: str, accepted: str
) -> None:
    build = make_build(browser)
    row = {"rpm_3": "3000"} if field.endswith("_3") else {}
    answer = browser.post(f"/builds/{build}/engine", SHEET | row | {field: typed})
    assert answer.status_code == 422
    said = beside(answer.text, f"f-{field}")
    assert says_it_can_not_be(said)
    assert accepted in said
    assert f'name="{field}" value="{typed}"' in answer.text.replace(' type="text"', "")
    assert browser.get_json(f"/builds/{build}/engine")["answer"] is None, "nothing was saved"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("0.10; 0.8; 70 %\n0.20; 2.0; 74 %\n0.30; 2.5; 70 %", "Row 1"),
        ("0.10; 1.5; 70 %\n-0.20; 2.0; 74 %\n0.30; 2.5; 70 %", "Row 2"),
        ("0.10; 1.5; 70 %\n0.20; 2.0; 74 %", "enclose nothing"),
        ("0.10; 1.5; 70 %\n0.20; 2.0; 74 %\n0.30; 2.5; 70 %", "enclose nothing"),
    ],
    ids=["ratio under 1", "flow below zero", "two points", "points on one line"],
)
def test_a_map_that_can_not_be_is_refused_beside_the_field_and_stays(
    demo: Browser, turbo: str, rows: str, said: str
) -> None:
    answer = demo.post(turbo, {"version": "1", "turbo.map": rows})
    assert answer.status_code == 422
    assert said in beside(answer.text, "f-turbo-map")
    assert "Accepted:" in beside(answer.text, "f-turbo-map")
    assert rows.splitlines()[0] in answer.text


@pytest.mark.parametrize(
    ("field", "typed"),
    [("turbo.map_pressure", "-101 kPa"), ("turbo.map_temperature", "2000 °C")],
)
def test_a_map_is_drawn_for_air_that_can_be(demo: Browser, turbo: str, field: str, typed: str) -> None:
    answer = demo.post(turbo, {"version": "1", field: typed})
    assert answer.status_code == 422
    said = beside(answer.text, f"f-{field.replace('.', '-')}")
    assert says_it_can_not_be(said)
    assert "Accepted:" in said


def test_an_empty_map_is_not_measured_and_says_what_to_do(demo: Browser, turbo: str) -> None:
    assert demo.post(turbo, {"version": "1", "turbo.map": " \n "}).status_code == 303
    page = demo.get_json(turbo)
    assert page["verdict"]["word"] == "not measured"
    assert {line["why"] for line in page["open_checks"]} == {"Type the compressor map."}


def test_boost_above_the_map_is_a_no_go_that_says_at_which_speed(demo: Browser, turbo: str) -> None:
    version = str(demo.get_json("/builds/1/engine")["version"])
    sheet = SHEET | {"version": version, "boost": "3.5 bar", "highest_boost": "3.8 bar"}
    assert demo.post("/builds/1/engine", sheet).status_code == 303
    page = demo.get_json(turbo)
    assert page["verdict"]["word"] == "no-go"
    told = " ".join(line["why"] for line in page["open_checks"])
    assert "above the whole map, which ends at" in told
    assert " rpm; the map ends at" in demo.get_json("/builds/1/engine")["map_over"]


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("cooler.drop", "-7 kPa", "out of range"),
        ("cooler.drop", "-400", "deeper than a perfect vacuum"),
        ("cooler.flow", "-0.2 kg/s", "out of range"),
        ("cooler.boost", "-0.5 bar", "out of range"),
        ("cooler.temperature", "-400 °C", "colder than absolute zero"),
    ],
)
def test_a_cooler_that_can_not_be_is_refused_beside_the_field(
    demo: Browser, field: str, typed: str, told: str
) -> None:
    sheet, _, _ = demo.get("/builds/1/figures/cooler.drop").headers["location"].partition("#")
    answer = demo.post(sheet, {"version": "0", field: typed})
    assert answer.status_code == 422
    said = beside(answer.text, f"f-{field.replace('.', '-')}")
    assert told in said
    assert "Accepted:" in said
