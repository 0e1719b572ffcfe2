"""The rules of coolant lines and heater hoses; limits are common practice, no source."""

import pytest

from server.core.checks.case import Case
from server.core.checks.figures import FIGURES
from server.core.checks.register import figure_rules_for, rule
from server.core.checks.rule import Verdict
from server.core.phrase import say
from server.core.tube.run import Place
from server.core.units import System
from tests.core.checks.fitted import Changes, check_of, cured, fitted_case, item_of

BAR = 1e5
HOT = 273.15
USUAL: dict[str, float | str] = {
    "shape": "bent",
    "bore": 0.016,
    "radius": 0.120,
    "rated_pressure": 3.0 * BAR,
    "rated_temperature": HOT + 125.0,
    "cap": 1.1 * BAR,
    "bleed": "yes",
}
PLACES = {Place.COOLANT: "coolant", Place.HEATER: "heater"}


def hose(changes: Changes | None = None, place: Place = Place.HEATER) -> Case:
    """A hose of 16 mm bent to 120 mm, rated 3 bar at 125 °C, under a cap of 1.1 bar, with a bleed point."""
    first = PLACES[place]
    usual = {f"{first}.{name}": value for name, value in USUAL.items()}
    return fitted_case(place, usual, {f"{first}.{name}": value for name, value in (changes or {}).items()})


@pytest.mark.parametrize("place", PLACES)
def test_coolant_and_heater_hoses_answer_the_same_rules_each_from_its_own_sheet(place: Place) -> None:
    assert [one.code for one in figure_rules_for(place)] == ["hose-kink", "coolant-rating", "trapped-air"]
    for one in figure_rules_for(place):
        assert check_of(hose({}, place), one.code).verdict is Verdict.GO
    assert {figure.key.partition(".")[0] for figure in FIGURES[place]} == {PLACES[place]}


@pytest.mark.parametrize(
    ("radius", "verdict"), [(0.110, Verdict.GO), (0.085, Verdict.TIGHT), (0.060, Verdict.NO_GO)]
)
def test_a_hose_bent_by_hand_wants_six_bores(radius: float, verdict: Verdict) -> None:
    """6 x 16 mm = 96 mm to the inside; under pressure four fifths of it, 76.8 mm, which is tight."""
    found = check_of(hose({"radius": radius}), "hose-kink")
    assert found.verdict is verdict
    assert item_of(found, "bend").limit == pytest.approx(0.096)
    if verdict is not Verdict.GO:
        assert 0.096 <= cured(hose({"radius": radius}), "hose-kink") <= 0.099


@pytest.mark.parametrize("shape", ["moulded", "hard"])
def test_what_keeps_its_shape_has_no_bend_to_measure(shape: str) -> None:
    found = check_of(hose({"shape": shape, "bore": None, "radius": None}), "hose-kink")
    assert found.verdict is Verdict.GO
    assert "keeps its shape" in say(found.phrase, System.metric)


def test_the_rating_covers_the_cap_and_the_pump_on_top_of_it() -> None:
    """1.1 bar of cap and 0.5 of pump: 1.6 bar."""
    found = item_of(check_of(hose(), "coolant-rating"), "pressure")
    assert found.value == pytest.approx(3.0 * BAR)
    assert found.limit == pytest.approx(1.6 * BAR)
    weak = hose({"rated_pressure": 1.4 * BAR})
    assert check_of(weak, "coolant-rating").verdict is Verdict.NO_GO
    assert 1.6 * BAR <= cured(weak, "coolant-rating") < 1.7 * BAR


def test_a_hose_rated_cooler_than_the_coolant_is_no_go_and_its_cure_is_a_temperature() -> None:
    cool = hose({"rated_temperature": HOT + 100.0})
    found = check_of(cool, "coolant-rating")
    assert found.verdict is Verdict.NO_GO
    assert say(found.phrase, System.metric) == "The hose is rated for 100 °C; coolant reaches 120 °C."
    assert HOT + 120.0 <= cured(cool, "coolant-rating") < HOT + 125.0


def test_a_hose_that_falls_short_in_both_is_replaced_as_no_one_number_cures_it() -> None:
    found = check_of(hose({"rated_pressure": 0.8 * BAR, "rated_temperature": HOT + 100.0}), "coolant-rating")
    assert found.cure is not None
    assert say(found.cure.phrase, System.metric) == "Take a hose that is rated for it."


def test_a_rating_that_is_not_known_leaves_the_other_its_answer() -> None:
    found = check_of(hose({"rated_temperature": None}), "coolant-rating")
    assert found.verdict is Verdict.NOT_MEASURED
    assert [one.item for one in found.items] == ["pressure"]
    assert say(found.missing[0].phrase, System.metric) == "Type the temperature that the hose is rated for."


def test_air_that_stays_is_told_with_what_lets_it_out() -> None:
    found = check_of(hose({"bleed": "no"}), "trapped-air")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert "bleed point at the highest spot" in say(found.cure.phrase, System.metric)


def test_every_rule_says_to_leave_a_hot_cap_shut_and_how_to_bleed() -> None:
    for code in ("hose-kink", "coolant-rating", "trapped-air"):
        caution = rule(code).caution
        assert caution is not None
        for words in ("Never open a hot cap", "heater on full", "again when cold", "licensed practice"):
            assert words in caution.text
