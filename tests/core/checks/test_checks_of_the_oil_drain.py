"""The rules of the oil drain; sums are worked again by hand, limits are common practice, no source."""

from dataclasses import replace
from math import asin, degrees, pi, radians, sqrt

import pytest

from server.core.air.oil import GRADES, least_drain
from server.core.checks.case import Case
from server.core.checks.facts import Facts
from server.core.checks.oil_drain import oil_of
from server.core.checks.register import rule
from server.core.checks.rule import RuleClass, Verdict
from server.core.phrase import say
from server.core.tube.run import Place
from server.core.tube.space.in_car import Lies, Miss
from server.core.units import System
from tests.core.checks.fitted import Changes, check_of, cured, fitted_case, item_of

MM = 1e-3
L_MIN = 1e-3 / 60.0
USUAL: dict[str, float | str] = {
    "drain.bore": 19.0 * MM,
    "drain.fall": 180.0 * MM,
    "drain.length": 300.0 * MM,
    "drain.downhill": "yes",
    "drain.above": "yes",
    "drain.flow": 1.2 * L_MIN,
    "drain.froth": 1.5,
    "drain.grade": "40",
}


def drain(changes: Changes | None = None) -> Case:
    """A drain of 19 mm that falls 180 mm along 300 mm, for 1.2 l/min of hot W-40."""
    return fitted_case(Place.OIL_DRAIN, USUAL, changes or {})


def test_a_wide_drain_that_falls_into_the_sump_s_air_is_go() -> None:
    for code in ("drain-downhill", "drain-entry", "drain-bore"):
        assert check_of(drain(), code).verdict is Verdict.GO


def test_a_sag_is_no_go_however_far_the_drain_falls() -> None:
    found = check_of(drain({"drain.downhill": "no"}), "drain-downhill")
    assert found.verdict is Verdict.NO_GO
    assert found.cure is not None
    assert say(found.cure.phrase, System.metric) == (
        "Lay the drain again, without a sag, a rise or a level bit."
    )


@pytest.mark.parametrize(
    ("flattest", "word"), [(8.0, Verdict.GO), (0.0, Verdict.NO_GO), (-3.0, Verdict.NO_GO)]
)
def test_a_drain_that_is_drawn_falls_at_its_flattest_bit_too(flattest: float, word: Verdict) -> None:
    lies = Lies(Miss(0.004, 0.02), radians(flattest), as_drawn=True)
    assert check_of(replace(drain(), lies=lies), "drain-downhill").verdict is word


def test_the_slope_is_that_of_a_right_triangle_and_a_flat_drain_is_cured_by_its_fall() -> None:
    """180 along 300: sine 0.6, the 3-4-5 triangle, 36.87 degrees; 10 degrees is 52.1 mm of fall along 300."""
    slope = item_of(check_of(drain(), "drain-downhill"), "slope")
    assert slope.value == pytest.approx(asin(0.6))
    assert slope.value is not None
    assert degrees(slope.value) == pytest.approx(36.87, abs=0.01)
    flat = drain({"drain.fall": 30.0 * MM})
    assert check_of(flat, "drain-downhill").verdict is Verdict.NO_GO
    assert 52.1 * MM < cured(flat, "drain-downhill") <= 54.0 * MM


def test_a_drain_that_falls_by_more_than_its_length_was_measured_wrongly() -> None:
    found = check_of(drain({"drain.fall": 320.0 * MM}), "drain-downhill")
    assert found.verdict is Verdict.NOT_MEASURED
    assert "measure both again" in say(found.phrase, System.metric)


def test_a_drain_straight_down_is_as_steep_as_can_be() -> None:
    upright = drain({"drain.fall": 300.0 * MM})
    assert check_of(upright, "drain-downhill").verdict is Verdict.GO
    assert check_of(upright, "drain-bore").verdict is Verdict.GO


def test_a_drain_under_the_oil_is_no_go_and_told_where_to_enter() -> None:
    found = check_of(drain({"drain.above": "no"}), "drain-entry")
    assert found.verdict is Verdict.NO_GO
    assert "backs up" in say(found.phrase, System.metric)
    assert found.cure is not None
    assert "above the highest oil level" in say(found.cure.phrase, System.metric)


def test_the_self_venting_flow_is_the_area_times_its_speed() -> None:
    """19 mm: 283.5 mm2 x 0.3 x root(9.80665 x 0.019) = 36.7 cm3/s of froth, 1.47 l/min of oil, by hand."""
    found = item_of(check_of(drain(), "drain-bore"), "venting")
    by_hand = 0.25 * pi * 0.019**2 * 0.3 * sqrt(9.80665 * 0.019) / 1.5
    assert by_hand / L_MIN == pytest.approx(1.469, abs=0.002)
    assert found.value == pytest.approx(by_hand, rel=1e-9)
    assert found.limit == pytest.approx(1.2 * L_MIN)


def test_the_oil_that_runs_down_half_full_is_hagen_and_poiseuille_s() -> None:
    """W-50 at 21.9 mm2/s, froth 1.5 times as thin by mass: v = g sin(a) D2 / 32 nu, laminar at 12 mm."""
    thick = drain({"drain.grade": "50", "drain.bore": 12.0 * MM})
    speed = 9.80665 * 0.6 * 0.012**2 / (32.0 * 1.5 * GRADES[50][1])
    assert speed * 0.012 / (1.5 * GRADES[50][1]) < 2040.0
    found = item_of(check_of(thick, "drain-bore"), "running down")
    assert found.value == pytest.approx(0.5 * 0.25 * pi * 0.012**2 * speed / 1.5, rel=1e-9)


def test_a_narrow_drain_is_cured_by_the_bore_that_still_lets_air_up() -> None:
    narrow = drain({"drain.bore": 10.0 * MM})
    assert check_of(narrow, "drain-bore").verdict is Verdict.NO_GO
    least = least_drain(1.2 * L_MIN, asin(0.6), oil_of(Facts.at_best(narrow)), 1.5)
    assert least.bore is not None
    assert least.bore < cured(narrow, "drain-bore") < least.bore + 1.5 * MM


def test_a_level_drain_takes_nothing() -> None:
    level = check_of(drain({"drain.fall": 0.0}), "drain-bore")
    assert level.verdict is Verdict.NO_GO
    assert item_of(level, "venting").value == 0.0


def test_what_is_missing_is_asked_for() -> None:
    told = {
        "drain.downhill": ("drain-downhill", "Say: the drain runs downhill all the way?"),
        "drain.above": ("drain-entry", "Say: the drain enters above the oil level?"),
        "drain.grade": ("drain-bore", "Say: the oil's grade when hot?"),
        "drain.froth": ("drain-bore", "Type the volume of the froth over that of its oil."),
    }
    for key, (code, words) in told.items():
        assert say(check_of(drain({key: None}), code).phrase, System.metric) == words


@pytest.mark.parametrize("code", ["drain-downhill", "drain-entry", "drain-bore"])
def test_nobody_may_concede_a_drain(code: str) -> None:
    assert rule(code).rule_class is RuleClass.INJURY
    caution = rule(code).caution
    assert caution is not None
    assert "local codes and licensed practice come first" in caution.text
