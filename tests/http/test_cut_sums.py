"""The cutting plan as a script asks for it, and as a person types it."""

from typing import Any
from urllib.parse import urlencode

import pytest

from tests.asking import Browser
from tests.asking_sums import GOOD, ask
from tests.reference_values import load

CUTS = {check.id: check for check in load("buying")}


def body(stock: list[dict[str, Any]], pieces: list[tuple[float, int]], kerf: float = 0) -> dict[str, Any]:
    wanted = [{"length_mm": length, "count": count} for length, count in pieces]
    return {"stock": stock, "pieces": wanted, "kerf_mm": kerf}


def test_a_published_example_is_answered_by_its_best_plan(bench: Browser) -> None:
    check = CUTS["CUT-ROLLS-13"]
    found = ask(bench, "cut-plan", body([{"length_mm": 5600}], check.inputs["pieces"]))
    assert (found["bars_used"], found["cost"], found["lower_bound"]) == (73, 73, 73)
    assert sum(len(bar["cuts_mm"]) for bar in found["bars"]) == 219
    assert sum(one["bars"] for one in found["alike"]) == 73


def test_the_cheapest_of_three_lengths_as_sold_is_found(bench: Browser) -> None:
    """Prices of the timber yard, lengths in eighths of an inch taken as millimetres."""
    check = CUTS["CUT-TIMBER-3"]
    stock = [{"length_mm": length, "price": cents / 100} for length, cents in check.inputs["stock"]]
    found = ask(bench, "cut-plan", body(stock, check.inputs["pieces"]))
    assert (found["cost"], found["lower_bound"]) == (57.84, 57.84)
    assert found["verdict"] == "2 bars, 57.84 in all: no plan costs less"


def test_n_pieces_take_n_less_one_kerfs_and_an_off_cut_one_more(bench: Browser) -> None:
    """Arithmetic: 4 × 247 + 3 × 3 = 997 of 1000 mm; 2 × 300 + 2 × 3 leaves 394 mm."""
    one = ask(bench, "cut-plan", body([{"length_mm": 1000}], [(247, 4)], kerf=3))
    assert (one["bars_used"], one["bars"][0]["offcut_mm"]) == (1, 0)
    assert ask(bench, "cut-plan", body([{"length_mm": 1000}], [(248.5, 4)], kerf=3))["bars_used"] == 2
    left = ask(bench, "cut-plan", body([{"length_mm": 1000}], [(300, 2)], kerf=3))
    assert left["bars"] == [{"stock_mm": 1000, "cuts_mm": [300, 300], "offcut_mm": 394}]


def test_off_cuts_that_cost_nothing_are_used_first(bench: Browser) -> None:
    free = {"length_mm": 640, "count": 1, "price": 0}
    found = ask(bench, "cut-plan", body([{"length_mm": 2000, "price": 24.5}, free], [(400, 1), (200, 1)], 3))
    assert (found["cost"], found["bars_used"]) == (0, 1)
    unpriced = ask(bench, "cut-plan", body([{"length_mm": 2000}, free], [(400, 1), (300, 1)], 3))
    assert (unpriced["cost"], unpriced["lower_bound"]) == (1, 1)


def test_not_enough_stock_says_what_is_short(bench: Browser) -> None:
    found = ask(bench, "cut-plan", body([{"length_mm": 1000, "count": 2}], [(600, 3)], 3))
    assert found["bars"] == []
    assert found["short"] == [{"length_mm": 600, "count": 1}]
    assert found["reason"].startswith("Not enough stock: nothing is left for 1 piece of 600 mm.")


def test_stock_shorter_than_the_piece_is_said_with_the_way_out(bench: Browser) -> None:
    found = ask(bench, "cut-plan", body([{"length_mm": 2000}], [(2400, 1), (500, 2)], 3))
    assert found["reason"] == (
        "1 piece of 2,400 mm is longer than the longest stock, 2,000 mm. "
        "Find longer stock, or make the piece of two."
    )
    assert found["short"] == [{"length_mm": 2400, "count": 1}]


def test_lengths_finer_than_a_tenth_are_rounded_and_that_is_said(bench: Browser) -> None:
    found = ask(bench, "cut-plan", body([{"length_mm": 1000}], [(247.75, 4)], 3))
    assert found["bars_used"] == 2
    assert "whole tenths" in found["notes"][0]


def test_a_person_types_lengths_in_any_unit_and_sees_how_to_cut(bench: Browser) -> None:
    typed = {
        "stock[0].length_mm": "6 ft",
        "pieces[0].length_mm": "30 in",
        "pieces[0].count": "2",
        "kerf_mm": "1/8 in",
    }
    page = bench.get(f"/sums/cut-plan?{urlencode(typed)}")
    assert page.status_code == 200
    assert "1 bar: no plan takes fewer" in page.text
    assert "2 × 762" in page.text


@pytest.mark.parametrize("kerf", [0, 3])
def test_the_example_of_the_page_is_planned(bench: Browser, kerf: float) -> None:
    found = ask(bench, "cut-plan", GOOD["cut-plan"] | {"kerf_mm": kerf})
    assert found["cost"] == found["lower_bound"] == 49
