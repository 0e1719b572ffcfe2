"""The handbook: every rule of the register can be read, with its origin, on a page and as JSON."""

import gzip
import re
from html import unescape

import pytest

from server.core.checks.register import RULES
from tests.asking import Browser


def test_every_rule_stands_there_once_under_its_anchor(bench: Browser) -> None:
    page = bench.get("/handbook").text
    for rule in RULES:
        assert len(re.findall(f'id="{rule.code}"', page)) == 1
        assert f'href="/handbook/rules/{rule.code}"' in page


def test_page_and_json_carry_the_same_rules(bench: Browser) -> None:
    page = unescape(bench.get("/handbook").text)
    told = {
        rule["code"]: rule for chapter in bench.get_json("/handbook")["chapters"] for rule in chapter["rules"]
    }
    assert set(told) == {rule.code for rule in RULES}
    for rule in told.values():
        assert rule["title"] in page
        assert rule["formula"]
        assert rule["sources"]


def test_a_limit_without_a_source_says_so(bench: Browser) -> None:
    told = bench.get_json("/handbook")
    limits = [limit for chapter in told["chapters"] for rule in chapter["rules"] for limit in rule["limits"]]
    assert limits
    assert all(limit["source"]["text"] for limit in limits)
    assert any("no source" in limit["source"]["text"] for limit in limits)
    assert all(limit["text"] for limit in limits)


@pytest.mark.parametrize(("injury", "asked"), [(True, "99 %"), (False, "95 %")])
def test_a_rule_says_what_it_asks_by_its_class(bench: Browser, injury: bool, asked: str) -> None:
    rules = [rule for chapter in bench.get_json("/handbook")["chapters"] for rule in chapter["rules"]]
    of_class = [rule for rule in rules if rule["injury"] is injury]
    assert of_class
    assert all(asked in rule["class_words"] for rule in of_class)
    assert all(("can't be conceded" in rule["class_words"]) is injury for rule in of_class)


def test_an_injury_rule_carries_its_caution_on_the_page(bench: Browser) -> None:
    rules = [rule for chapter in bench.get_json("/handbook")["chapters"] for rule in chapter["rules"]]
    assert all(rule["caution"] for rule in rules if rule["injury"])
    assert 'class="caution"' in bench.get("/handbook").text


def test_it_tells_how_a_verdict_is_made_and_leads_to_the_words(bench: Browser) -> None:
    page = bench.get("/handbook").text
    for words in ("not measured", "JCGM 100:2008", "local codes", 'href="/handbook/words"'):
        assert words in page
    assert "<dt>concession</dt>" in bench.get("/handbook/words").text


def test_it_fits_a_first_visit(bench: Browser) -> None:
    assert len(gzip.compress(bench.get("/handbook").content)) < 14_000
