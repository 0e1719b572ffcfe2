"""Power observed first, the corrected figure marked as one, and what may be typed to correct it."""

from math import exp, hypot, sqrt
from typing import Any
from urllib.parse import urlencode

import pytest

from tests.asking import Browser
from tests.http.intake_build import fill_engine_sheet, make_build

DEMO = "/builds/1/power"


def asked(browser: Browser, **typed: str) -> Any:
    return browser.get_json(f"{DEMO}?{urlencode(typed)}")


def test_the_peak_is_the_engine_sheets_with_its_doubt(demo: Browser) -> None:
    """JCGM 100:2008, 5.1.6: the flow's relative doubt, 5 % of consumption and 5 % of mixture, as squares."""
    sheet = demo.get_json("/builds/1/engine")["answer"]
    observed = demo.get_json(DEMO)["observed"]
    assert observed["peak"]["si"] == pytest.approx(sheet["power"]["si"], rel=1e-9)
    assert observed["peak_rpm"] == sheet["peak_rpm"]
    flow = sheet["peak_flow"]["doubt"] / sheet["peak_flow"]["si"]
    assert observed["peak"]["doubt"] / observed["peak"]["si"] == pytest.approx(
        hypot(flow, 0.05, 0.05), rel=0.01
    )


def test_observed_stands_before_corrected_and_corrected_is_marked_and_disputed(demo: Browser) -> None:
    page = demo.get(DEMO).text
    places = [
        page.index(words) for words in ("Power, observed", "Corrected <span>SAE J1349", "Disputed here.")
    ]
    assert places == sorted(places)
    assert "On an engine whose boost is controlled this correction is disputed" in page
    assert "the formula of 1990, from memory" in page


def test_the_corrected_figure_is_that_of_the_standard(demo: Browser) -> None:
    """SAE J1349: 1.18 (99 kPa / dry) √(T / 298 K) - 0.18, dry air after Magnus (WMO-No. 8, annex 4.B)."""
    found = asked(demo, measured="200 kW", temperature="25 °C", pressure="98.0 kPa", humidity="40 %")
    dry = 98.0e3 - 0.40 * 611.2 * exp(17.62 * 25.0 / (243.12 + 25.0))
    factor = 1.18 * (99e3 / dry) * sqrt(298.15 / 298.0) - 0.18
    corrected = found["corrected"]
    assert corrected["observed_name"] == "Measured"
    assert corrected["observed"]["si"] == pytest.approx(200e3)
    assert corrected["corrected"]["si"] == pytest.approx(200e3 * factor, rel=1e-6)
    assert corrected["between"] == ""
    assert corrected["humidity"] == "40 %"


def test_what_is_left_empty_is_the_engine_sheets_and_said_to_be(demo: Browser) -> None:
    """U.S. Standard Atmosphere, 1976: 98.47 kPa at the demo's 240 m."""
    corrected = demo.get_json(DEMO)["corrected"]
    air = {name: amount["si"] for name, amount in corrected["air"]}
    assert air["Air pressure"] == pytest.approx(98_475.0, rel=1e-4)
    assert air["Air temperature"] == pytest.approx(298.15)
    assert corrected["humidity"] == "50 %"
    assert corrected["between"].startswith("In air from dry to saturated it would be ")
    assert corrected["observed_name"] == "Observed, an estimate"


def test_a_factor_outside_the_standards_range_is_not_one_to_quote(demo: Browser) -> None:
    found = asked(demo, pressure="80 kPa")
    assert found["corrected"]["in_range"] is False
    page = demo.get(f"{DEMO}?pressure=80+kPa").text
    assert "not one to quote" in page


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("humidity", "140 %", "out of range"),
        ("humidity", "damp", "Humidity then"),
        ("pressure", "0 kPa", "out of range"),
        ("pressure", "1 bar g", "absolute, not gauge"),
        ("temperature", "90 °C", "out of range"),
        ("measured", "-5 kW", "out of range"),
        ("measured", "203", "Power that was measured"),
    ],
)
def test_what_can_not_be_used_is_said_beside_its_field_and_stays(
    demo: Browser, field: str, text: str, said: str
) -> None:
    answer = demo.get(f"{DEMO}?{urlencode({field: text})}")
    assert answer.status_code == 422
    problem = answer.text.partition(f'id="f-{field}-problem">')[2].partition("</p>")[0]
    assert said in problem
    assert "Accepted:" in problem
    assert f'value="{text}"' in answer.text
    assert "Power, observed" in answer.text, "the observed power needs nothing that was typed"
    assert "Corrected, SAE J1349" not in answer.text


def test_the_drawing_has_a_title_a_description_and_a_band(demo: Browser) -> None:
    plot = demo.get_json(DEMO)["observed"]["plot"]
    assert len(plot["band"].split()) == 2 * len(plot["thick"].split())
    page = demo.get(DEMO).text
    assert 'aria-labelledby="power-title" aria-describedby="power-desc"' in page
    assert '<title id="power-title">Observed power and torque: ' in page
    assert "torque up to " in page.partition('<desc id="power-desc">')[2].partition("</desc>")[0]


def test_the_table_has_whole_speeds_both_ends_and_the_peak(demo: Browser) -> None:
    rows = demo.get_json(DEMO)["observed"]["rows"]
    assert [row["rpm"] for row in rows] == ["1980", "3000", "4000", "5000", "5980", "6600"]
    assert [row["is_peak"] for row in rows].index(True) == 4


def test_without_an_engine_sheet_the_page_says_what_to_do(browser: Browser) -> None:
    build = make_build(browser)
    page = browser.get(f"/builds/{build}/power")
    assert page.status_code == 200
    assert "Fill in the engine sheet first" in page.text
    fill_engine_sheet(browser, build)
    assert "Power, observed" in browser.get(f"/builds/{build}/power").text


def test_an_engine_without_boost_is_not_called_disputed(browser: Browser) -> None:
    build = make_build(browser)
    sheet = {"version": "0", "displacement": "2 l", "redline": "6500", "boost": "0 bar", "fuel": "petrol-95"}
    assert browser.post(f"/builds/{build}/engine", sheet).status_code == 303
    assert "Disputed here." not in browser.get(f"/builds/{build}/power").text


def test_it_is_one_tap_from_the_engine_sheet(demo: Browser) -> None:
    assert f'href="{DEMO}"' in demo.get("/builds/1/engine").text
