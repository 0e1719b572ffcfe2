"""The rules of the line map can be read, each with its reasoning and its origin, on a page and as JSON."""

from html import unescape

from server.core.lines.register import RULES
from tests.asking import Browser

ADDRESS = "/handbook/lines"


def test_every_rule_stands_there_with_its_reasoning_and_its_source(bench: Browser) -> None:
    page = unescape(bench.get(ADDRESS).text)
    for rule in RULES:
        assert f'id="{rule.code}"' in page
        assert rule.because in page
        assert all(source.title in page for source in rule.sources)


def test_page_and_json_carry_the_same_rules(bench: Browser) -> None:
    told = bench.get_json(ADDRESS)
    assert [rule["code"] for rule in told["rules"]] == [rule.code for rule in RULES]


def test_the_page_says_where_each_space_stands_in_each_state(bench: Browser) -> None:
    """BST-02, US Army Ordnance tune-up lesson: vacuum at idle, deeper as the throttle shuts."""
    told = {one["state"]: one["spaces"] for one in bench.get_json(ADDRESS)["states"]}
    assert len(told) == 8
    assert "the manifold behind the throttle: vacuum" in told["idle"]
    assert "the manifold behind the throttle: deep vacuum" in told["over-run"]
    assert "the manifold behind the throttle: boost" in told["boost"]
    assert "a little suction to a little pressure" in told["idle"][1]
    assert all("open air" in space for space in told["hot soak"])


def test_a_rule_that_guards_against_injury_carries_a_caution(bench: Browser) -> None:
    rules = bench.get_json(ADDRESS)["rules"]
    assert all(rule["caution"] for rule in rules if rule["injury"])
    assert "common practice, no source" in {source for rule in rules for source in rule["sources"]}


def test_the_handbook_leads_there(bench: Browser) -> None:
    assert f'href="{ADDRESS}"' in bench.get("/handbook").text
