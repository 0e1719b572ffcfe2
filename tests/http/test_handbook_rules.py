"""A page for every rule: its formula as mathematics, its signs, an example, and where a build uses it."""

import gzip
import re
from html import unescape
from typing import Any
from xml.etree import ElementTree

import pytest
from fastapi import FastAPI

from server.core.checks.book.contents import ALL, BOOK
from server.core.checks.book.marks import Tag
from server.core.checks.register import RULES
from tests.asking import Browser
from tests.bench.measure import counting

CODES = [one.code for one in RULES]
EXPLAINED = [one.code for one in ALL]
MATH = re.compile(r"<math\b.*?</math>", re.DOTALL)


def rule_json(browser: Browser, code: str) -> Any:
    return browser.get_json(f"/handbook/rules/{code}")


@pytest.mark.parametrize("code", CODES)
def test_a_rule_s_page_carries_all_that_the_list_does(bench: Browser, code: str) -> None:
    page = unescape(bench.get(f"/handbook/rules/{code}").text)
    listed = bench.get_json("/handbook")["chapters"]
    line = next(rule for chapter in listed for rule in chapter["rules"] if rule["code"] == code)
    told = rule_json(bench, code)
    assert told["title"]["sheet"] == line["title"]
    assert told["rule"] == line
    assert told["class_meaning"] in page
    assert (line["caution"] is not None) is ('class="caution"' in page)
    for limit in line["limits"]:
        assert limit["source"]["text"] in page


@pytest.mark.parametrize("code", EXPLAINED)
def test_its_formulas_are_sound_mathml_with_the_same_in_plain_signs(bench: Browser, code: str) -> None:
    page = bench.get(f"/handbook/rules/{code}").text
    found = MATH.findall(page)
    told = rule_json(bench, code)["explained"]
    assert len(found) >= len(told["lines"]) + len(told["signs"]) + len(told["example"]["steps"])
    for text in found:
        math = ElementTree.fromstring(text)
        assert math.attrib["alttext"]
        assert {element.tag for element in math.iter()} <= {"math", *(tag.value for tag in Tag)}


@pytest.mark.parametrize("code", EXPLAINED)
def test_every_sign_is_there_with_its_meaning_and_unit(bench: Browser, code: str) -> None:
    signs = rule_json(bench, code)["explained"]["signs"]
    assert [sign["meaning"] for sign in signs] == [sign.meaning for sign in BOOK[code].signs]
    assert all(sign["unit"] or not sign["given"][:1].isdigit() or " " not in sign["given"] for sign in signs)


def test_an_example_shows_its_inputs_its_steps_and_what_the_check_answers(bench: Browser) -> None:
    told = rule_json(bench, "end-force")["explained"]
    assert [(sign["sign"]["plain"], sign["given"]) for sign in told["signs"] if sign["given"]] == [
        ("p(highest)", "130 kPa"),
        ("D", "60 mm"),
        ("n", "1.5"),
        ("F(holds)", "500 N"),
    ]
    steps = [step["maths"]["plain"] for step in told["example"]["steps"]]
    assert steps[0] == "F = 130 kPa · π · (60 mm)^2 / 4 = 368 N"
    assert told["example"]["verdict"]["word"] == "tight"
    assert told["example"]["found"].startswith("368 N pushes at joint 1")


@pytest.mark.parametrize(
    "address", ["/handbook/rules/nothing", "/builds/1/handbook/nothing", "/builds/99/handbook/clamp"]
)
def test_what_is_not_there_is_not_found(demo: Browser, address: str) -> None:
    assert demo.get(address).status_code == 404


def test_a_rule_leads_to_where_each_build_uses_it(demo: Browser) -> None:
    assert 'href="/builds/1/handbook/clamp"' in demo.get("/handbook/rules/clamp").text
    assert rule_json(demo, "clamp")["uses"] == []


@pytest.mark.parametrize("code", CODES)
def test_in_a_build_it_tells_what_the_check_says_of_each_design(demo: Browser, code: str) -> None:
    told = demo.get_json(f"/builds/1/handbook/{code}")
    page = unescape(demo.get(f"/builds/1/handbook/{code}").text)
    for use in told["uses"]:
        address, place = use["href"].split("#")
        design = demo.get(address).text
        assert f'id="{place}"' in design
        assert use["design"] in page
    assert bool(told["uses"]) is ("Nothing that this rule speaks of" not in page)


def test_a_use_carries_the_verdict_of_the_design_s_own_check(demo: Browser) -> None:
    for use in demo.get_json("/builds/1/handbook/bore-held")["uses"]:
        design = demo.get_json(use["href"].split("#")[0])
        checks = [*design["open_checks"], *design["passed_checks"]]
        check = next(one for one in checks if one["code"] == "bore-held")
        assert use["verdict"]["word"] == check["verdict"]["word"]


def test_queries_are_few_and_the_same_for_every_rule(demo: Browser, demo_app: FastAPI) -> None:
    demo.get("/builds/1/handbook/clamp")
    asked = set()
    for code in ("clamp", "steps", "flap-room"):
        with counting(demo_app.state.engine) as sent:
            demo.get(f"/builds/1/handbook/{code}")
        asked.add(len(sent))
    assert len(asked) == 1
    assert max(asked) <= 4


def test_every_page_fits_a_first_visit(bench: Browser) -> None:
    for one in ALL:
        assert len(gzip.compress(bench.get(f"/handbook/rules/{one.code}").content)) < 8_000


def test_losses_are_told_with_their_spread_and_that_it_counts_as_doubt(bench: Browser) -> None:
    page = bench.get("/handbook/losses").text
    told = bench.get_json("/handbook/losses")
    bend = next(one for one in told["spreads"] if one["title"] == "Smooth bend")
    assert [one["coefficient"] for one in bend["opinions"]][:: len(bend["opinions"]) - 1] == ["0.20", "0.55"]
    assert [one["used"] for one in bend["opinions"]].count(True) == 1
    assert "counts that the authorities differ" in page
    assert "/handbook/rules/charge-loss" in page
    assert "/handbook/losses" in bench.get("/handbook/rules/charge-loss").text
