"""The rules of the oil feed; sums are worked again by hand, limits are common practice, no source."""

from math import pi, sqrt

import pytest

from server.core.checks.case import Case
from server.core.checks.oil_feed import HOT_OIL
from server.core.checks.register import rule
from server.core.checks.rule import RuleClass, Verdict
from server.core.phrase import say
from server.core.tube.run import Place
from server.core.units import System
from tests.core.checks.fitted import Changes, check_of, cured, fitted_case, item_of

MM = 1e-3
USUAL: dict[str, float | str] = {
    "oil.bearing": "ball",
    "oil.drawing": "yes",
    "oil.restrictor": "yes",
    "oil.restrictor_asked": 1.0 * MM,
    "oil.restrictor_bore": 1.0 * MM,
    "oil.feed_bore": 4.0 * MM,
    "oil.pressure": 4e5,
}


def feed(changes: Changes | None = None) -> Case:
    """A ball bearing with the restrictor of 1 mm that its drawing asks for, fed through 4 mm at 4 bar."""
    return fitted_case(Place.OIL_FEED, USUAL, changes or {})


@pytest.mark.parametrize(
    ("drawing", "fitted", "verdict", "told"),
    [
        ("yes", "yes", Verdict.GO, "the maker's drawing gives 1 mm."),
        ("yes", "no", Verdict.NO_GO, "floods the seals"),
        ("no", "no", Verdict.GO, "None is fitted."),
        ("no", "yes", Verdict.NO_GO, "starves the bearing"),
        ("not known", "yes", Verdict.NOT_MEASURED, "Find the maker's drawing and look."),
        (None, "no", Verdict.NOT_MEASURED, "Find the maker's drawing and look."),
        ("yes", None, Verdict.NOT_MEASURED, "Say: a restrictor is fitted in the feed?"),
    ],
)
def test_only_the_maker_s_drawing_says_whether_a_restrictor_belongs_there(
    drawing: str | None, fitted: str | None, verdict: Verdict, told: str
) -> None:
    found = check_of(feed({"oil.drawing": drawing, "oil.restrictor": fitted}), "oil-restrictor")
    assert found.verdict is verdict
    assert told in say(found.phrase, System.metric)


def test_what_to_do_about_a_needless_and_a_missing_one_is_said() -> None:
    needless = check_of(feed({"oil.drawing": "no"}), "oil-restrictor").cure
    missing = check_of(feed({"oil.restrictor": "no"}), "oil-restrictor").cure
    assert needless is not None
    assert missing is not None
    assert say(needless.phrase, System.metric) == "Take the restrictor out before the engine turns."
    assert "Fit the restrictor" in say(missing.phrase, System.metric)


@pytest.mark.parametrize(("bearing", "usually"), [("ball", "often takes"), ("journal", "usually takes none")])
def test_without_the_drawing_the_bearing_tells_only_what_is_usual(bearing: str, usually: str) -> None:
    found = check_of(feed({"oil.bearing": bearing, "oil.drawing": None}), "oil-restrictor")
    assert found.verdict is Verdict.NOT_MEASURED
    assert usually in say(found.phrase, System.metric)


@pytest.mark.parametrize(
    ("bore", "item", "words"), [(0.7, "narrow", "starves the bearing"), (1.4, "wide", "floods the seals")]
)
def test_a_restrictor_of_another_bore_than_drawn_is_no_go_and_its_cure_is_the_drawn_one(
    bore: float, item: str, words: str
) -> None:
    case = feed({"oil.restrictor_bore": bore * MM})
    found = check_of(case, "oil-restrictor")
    assert found.verdict is Verdict.NO_GO
    assert found.finding is not None
    assert found.finding.item == item
    assert words in say(found.phrase, System.metric)
    assert cured(case, "oil-restrictor") == pytest.approx(1.0 * MM)


def test_the_bore_by_the_drawing_is_asked_for_where_one_is_fitted() -> None:
    found = check_of(feed({"oil.restrictor_asked": None}), "oil-restrictor")
    assert say(found.phrase, System.metric) == "Type the bore of the restrictor by the maker's drawing."


def test_the_flow_through_the_restrictor_is_the_orifice_equation() -> None:
    """1 mm at 4 bar, 820 kg/m3: 0.611 x 0.785 mm2 x 31.2 m/s = 15.0 cm3/s, 899 cc/min, by hand."""
    by_hand = pi / (pi + 2.0) * 0.25 * pi * (1.0 * MM) ** 2 * sqrt(2.0 * 4e5 / HOT_OIL.density)
    assert by_hand * 6e7 == pytest.approx(899.0, abs=1.0)
    found = item_of(check_of(feed(), "oil-feed"), "restrictor")
    assert found.value == pytest.approx(by_hand, rel=1e-9)
    assert found.limit == pytest.approx(400e-6 / 60.0)


def test_too_fine_a_restrictor_is_cured_by_a_drill_s_bore_that_was_tried() -> None:
    """400 of 899 cc/min asks for the root of 0.445, 0.667 mm; 5 % on it and the next 0.05 mm: 0.75 mm."""
    assert cured(feed({"oil.restrictor_bore": 0.6 * MM}), "oil-feed") == pytest.approx(0.75 * MM)


@pytest.mark.parametrize(
    ("bearing", "bore", "verdict"),
    [
        ("ball", 3.3, Verdict.GO),
        ("ball", 2.5, Verdict.NO_GO),
        ("journal", 5.0, Verdict.GO),
        ("journal", 3.3, Verdict.NO_GO),
        (None, 3.3, Verdict.NO_GO),
    ],
)
def test_a_journal_bearing_and_one_that_is_not_known_want_the_wider_feed(
    bearing: str | None, bore: float, verdict: Verdict
) -> None:
    case = feed({"oil.bearing": bearing, "oil.feed_bore": bore * MM, "oil.restrictor": "no"})
    assert check_of(case, "oil-feed").verdict is verdict
    if verdict is Verdict.NO_GO:
        assert cured(case, "oil-feed") > bore * MM


def test_without_a_restrictor_the_feed_s_bore_alone_is_looked_at() -> None:
    found = check_of(feed({"oil.restrictor": "no", "oil.pressure": None}), "oil-feed")
    assert [one.item for one in found.items] == ["feed bore"]


def test_nobody_may_concede_either() -> None:
    for code in ("oil-restrictor", "oil-feed"):
        assert rule(code).rule_class is RuleClass.INJURY
        caution = rule(code).caution
        assert caution is not None
        assert "maker's drawing, local codes and licensed practice come first" in caution.text
