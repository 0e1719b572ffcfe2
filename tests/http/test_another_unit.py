"""A size that looks like another unit comes back with a question; a choice answers it, scripts or not."""

import re
from html import unescape

import httpx
import pytest

from tests.asking import Browser
from tests.http.intake_build import make_build, stored

COUPLER = {"kind": "coupler", "wall": "5", "length": "76"}


@pytest.fixture
def design(browser: Browser) -> str:
    """An empty design of an intake."""
    build = make_build(browser)
    subsystem = stored(browser.post(f"/builds/{build}/subsystems", {"kind": "intake"}))
    number = stored(browser.post(f"/builds/{build}/subsystems/{subsystem}/designs", {"name": "First"}))
    return f"/builds/{build}/designs/{number}"


def answers(refused: httpx.Response, field: str) -> dict[str, str]:
    """What a browser would send for each answer offered beside a field, by its words."""
    assert refused.status_code == 422, refused.text
    assert f'name="{field}"' in refused.text
    radio = re.compile(r'<input type="radio"[^>]*name="meant\.([^"]+)" value="([^"]*)"[^>]*> ([^<]+)</label>')
    return {
        unescape(words): unescape(value)
        for name, value, words in radio.findall(refused.text)
        if name == field
    }


def piece(browser: Browser, design: str, **fields: str) -> httpx.Response:
    return browser.post(f"{design}/pieces", COUPLER | fields)


def bore_of(browser: Browser, answer: httpx.Response) -> str:
    """The bore that stands in the editor of a new piece."""
    page = browser.get_json(answer.headers["location"].split("#")[0])
    return str(next(size["text"] for size in page["editor"]["sizes"] if size["name"] == "bore"))


def test_three_in_a_field_of_millimetres_is_asked_about(browser: Browser, design: str) -> None:
    refused = piece(browser, design, bore="3", name="My coupler")
    assert "3 mm is small for a bore. Did you mean 3 in (76.2 mm) or 3 cm (30 mm)?" in unescape(refused.text)
    assert 'value="My coupler"' in refused.text, "what was typed stays"
    assert 'name="bore" type="text" value="3"' in refused.text
    offered = answers(refused, "bore")
    assert list(offered) == ["3 in (76.2 mm)", "3 cm (30 mm)", "3 mm, as typed"]
    assert not browser.get_json(design)["pieces"], "nothing was stored"


@pytest.mark.parametrize(
    ("words", "stands"), [("3 in (76.2 mm)", "3 in"), ("3 cm (30 mm)", "3 cm"), ("3 mm, as typed", "3 mm")]
)
def test_either_answer_is_taken(browser: Browser, design: str, words: str, stands: str) -> None:
    meant = answers(piece(browser, design, bore="3"), "bore")[words]
    answer = piece(browser, design, bore="3", **{"meant.bore": meant})
    assert answer.status_code == 303, answer.text
    assert bore_of(browser, answer) == stands


def test_an_answer_is_about_what_was_typed_and_nothing_else(browser: Browser, design: str) -> None:
    meant = answers(piece(browser, design, bore="3"), "bore")["3 in (76.2 mm)"]
    answer = piece(browser, design, bore="80", **{"meant.bore": meant})
    assert bore_of(browser, answer) == "80", "typed over after the question"
    assert piece(browser, design, bore="4", **{"meant.bore": meant}).status_code == 422


def test_a_script_answers_by_writing_the_unit(browser: Browser, design: str) -> None:
    headers = {"accept": "application/json"}
    refused = browser.post(f"{design}/pieces", COUPLER | {"bore": "3"}, headers=headers)
    assert refused.status_code == 422
    assert "Did you mean 3 in" in refused.text
    assert piece(browser, design, bore="3 mm").status_code == 303


def test_several_fields_are_asked_about_at_once(browser: Browser, design: str) -> None:
    refused = piece(browser, design, bore="3", wall="15")
    both = {"meant.bore": answers(refused, "bore")["3 in (76.2 mm)"]}
    both["meant.wall"] = answers(refused, "wall")["1.5 mm (0.0591 in)"]
    assert piece(browser, design, bore="3", wall="15", **both).status_code == 303


def test_an_answer_that_makes_no_sense_is_refused_like_any_other_text(browser: Browser, design: str) -> None:
    for meant in ("3|<script>", "3|900 m", "3|", "|3 in", "3"):
        refused = piece(browser, design, bore="3", **{"meant.bore": meant})
        assert refused.status_code == 422, meant
        assert "<script>" not in refused.text.replace("<script src", "")


def test_a_reading_is_asked_about(browser: Browser) -> None:
    build = make_build(browser)
    port = stored(browser.post(f"/builds/{build}/ports", {"name": "Cooler outlet"}))
    where = f"/builds/{build}/ports/{port}/readings"
    reading = {"dimension": "outside_diameter", "reading": "2.5", "instrument": "digital_caliper"}
    offered = answers(browser.post(where, reading), "reading")
    assert list(offered) == ["2.5 in (63.5 mm)", "2.5 cm (25 mm)", "2.5 mm, as typed"]
    told = reading | {"meant.reading": offered["2.5 in (63.5 mm)"]}
    assert browser.post(where, told).status_code == 303
    taken = browser.get_json(f"/builds/{build}/ports/{port}")["readings"][0]
    assert taken["typed"] == "2.5 in"
    assert taken["value"]["si"] == pytest.approx(0.0635)


def test_a_reading_in_a_build_of_inches_is_asked_about_the_other_way(browser: Browser) -> None:
    answer = browser.post("/builds", {"name": "The coupe", "system": "inch"})
    build = re.findall(r"\d+", answer.headers["location"])[0]
    port = stored(browser.post(f"/builds/{build}/ports", {"name": "Cooler outlet"}))
    reading = {"dimension": "bore", "reading": "63.5", "instrument": "digital_caliper"}
    offered = answers(browser.post(f"/builds/{build}/ports/{port}/readings", reading), "reading")
    assert list(offered) == ["63.5 mm (2 1/2 in)"]


def test_a_clamp_is_asked_about(demo: Browser) -> None:
    design = "/builds/1/designs/1"
    piece = demo.get_json(design)["pieces"][0]["id"]
    joint = demo.get_json(f"{design}?piece={piece}")["editor"]["joints"][0]
    where = f"{design}/joints/{joint['id']}"
    form = {
        "kind": "hose and clamp",
        "clamp": "T-bolt",
        "clamp_least": "2.8",
        "clamp_most": "80",
        "piece": str(piece),
        "version": str(joint["version"]),
    }
    offered = answers(demo.post(where, form), "clamp_least")
    assert next(iter(offered)) == "2.8 in (71.1 mm)"
    told = form | {"meant.clamp_least": offered["2.8 in (71.1 mm)"]}
    assert demo.post(where, told).status_code == 303


def test_the_engine_sheet_is_asked_about(browser: Browser) -> None:
    where = f"/builds/{make_build(browser)}/engine"
    sheet = {
        "version": "0", "displacement": "2.1 l", "redline": "6600", "boost": "1000 bar", "fuel": "petrol-95",
        "ambient_temperature": "68", "meter_bore": "3",
    }  # fmt: skip
    refused = browser.post(where, sheet)
    assert list(answers(refused, "boost")) == ["1000 mbar (100 kPa)"]
    told = sheet | {
        "meant.boost": answers(refused, "boost")["1000 mbar (100 kPa)"],
        "meant.ambient_temperature": answers(refused, "ambient_temperature")["68 °F (20 °C)"],
        "meant.meter_bore": "3|3 in",
    }
    assert browser.post(where, told).status_code == 303
    page = browser.get_json(where)
    stands = {one["name"]: one["text"] for one in page["first"]}
    stands |= {one["name"]: one["text"] for fold in page["folds"] for one in fold["entries"]}
    assert (stands["boost"], stands["ambient_temperature"]) == ("1000 mbar", "68 °F")


def test_a_figure_of_what_is_fitted_is_asked_about(demo: Browser) -> None:
    sheet = "/builds/1/subsystems/13/figures"
    stands = {one["key"]: one["value"] for one in demo.get_json(sheet)["fields"]}
    form = stands | {"version": "1", "fuel.line_bore": "0.3", "fuel.rated_pressure": "43"}
    refused = demo.post(sheet, form)
    assert list(answers(refused, "fuel.line_bore")) == ["0.3 in (7.62 mm)", "0.3 cm (3 mm)"]
    pressures = answers(refused, "fuel.rated_pressure")
    assert "43 psi (296.5 kPa)" in pressures
    told = form | {"meant.fuel.line_bore": "0.3|0.3 in", "meant.fuel.rated_pressure": "43|43 psi"}
    assert demo.post(sheet, told).status_code == 303
    assert {one["key"]: one["value"] for one in demo.get_json(sheet)["fields"]}["fuel.line_bore"] == "0.3 in"


def test_a_thin_signal_line_is_no_question(browser: Browser) -> None:
    build = make_build(browser)
    signal = {"name": "Boost signal", "role": "side port"}
    port = stored(browser.post(f"/builds/{build}/ports", signal))
    reading = {"dimension": "bore", "reading": "4", "instrument": "digital_caliper"}
    where = f"/builds/{build}/ports/{port}/readings"
    assert browser.post(where, reading).status_code == 303
    offered = answers(browser.post(where, reading | {"reading": "0.4"}), "reading")
    assert next(iter(offered)) == "0.4 in (10.2 mm)"
