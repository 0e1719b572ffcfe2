"""The pressure test as a bench sum: planned, and judged as the ideal gas law has it."""

import pytest

from tests.asking import Browser
from tests.asking_sums import GOOD, ask


def test_air_that_cools_is_not_taken_for_a_leak(bench: Browser) -> None:
    """SHP-202, ideal gas: 200 kPa absolute, from 295.15 to 293.15 K, comes to 198.6448 kPa."""
    found = ask(bench, "leak", {**GOOD["leak"], "last_kpa": 98.2})
    assert found["cooling_kpa"] == pytest.approx(1.3552, abs=1e-3)
    assert found["leak_kpa"] == pytest.approx(0.4448, abs=1e-3)
    assert found["passes"] is True


def test_a_test_that_is_still_to_be_made_is_planned_alone(bench: Browser) -> None:
    """Ideal gas: 0.1 g/s at 295.15 K lets 40 L fall by three steps of 5 kPa in 70.8 s."""
    found = ask(bench, "leak", GOOD["leak"])
    assert found["time_s"] == pytest.approx(3.0 * 5000.0 * 0.04 / (1e-4 * 287.05 * 295.15), rel=1e-6)
    assert found["time_s"] == pytest.approx(70.8, abs=0.1)
    assert (found["allowed_kpa"], found["start_kpa"]) == (pytest.approx(15.0), 30.0)
    assert found["passes"] is None


def test_a_leak_that_is_too_much_says_how_to_find_it(bench: Browser) -> None:
    found = ask(bench, "leak", {**GOOD["leak"], "last_kpa": 60})
    assert found["passes"] is False
    assert "soap" in found["notes"][0]


def test_a_gauge_too_coarse_for_the_leak_is_told(bench: Browser) -> None:
    found = ask(bench, "leak", {**GOOD["leak"], "volume_cc": 1_000_000})
    assert found["time_s"] == 600.0
    assert "finer" in found["notes"][0]


def test_a_leak_that_empties_the_pipes_is_no_steady_fall(bench: Browser) -> None:
    found = ask(bench, "leak", {**GOOD["leak"], "leak_kg_s": 0.01})
    assert "rough" in found["notes"][0]


def test_the_page_asks_for_a_blank_and_strapped_plugs(bench: Browser) -> None:
    page = bench.get("/sums/leak").text
    assert "plugs strapped" in page
    assert "blanked at the throttle" in page
