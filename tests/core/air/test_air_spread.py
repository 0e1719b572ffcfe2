"""How far the authorities on loss coefficients lie apart, against what they and their examples print."""

from math import pi

import pytest

from server.core.air import losses
from server.core.air.spread import (
    BEND_RATIO,
    BORE,
    REYNOLDS,
    ROUGHNESS,
    Spread,
    bend_doubt,
    spreads,
    step_doubt,
)

BY_TITLE = {one.title: one for one in spreads()}


def coefficient(title: str, authority: str) -> float:
    return next(one.coefficient for one in BY_TITLE[title].opinions if one.authority.startswith(authority))


@pytest.mark.parametrize("one", spreads(), ids=lambda one: one.title)
def test_opinions_rise_and_one_of_them_is_used(one: Spread) -> None:
    values = [opinion.coefficient for opinion in one.opinions]
    assert values == sorted(values)
    assert sum(opinion.used for opinion in one.opinions) == 1
    assert one.lowest <= 1.0 <= one.highest


def test_the_bend_used_is_the_one_that_the_march_takes() -> None:
    friction = losses.friction(REYNOLDS, ROUGHNESS / BORE).factor
    assert BY_TITLE["Smooth bend"].used == losses.smooth_bend(BORE, pi / 2, BEND_RATIO * BORE, friction).value


def test_the_bend_runs_from_a_fifth_to_more_than_a_half() -> None:
    """Methods of `fluids.fittings.bend_rounded` (fluids 1.3.1), as gathered from their authors."""
    values = [one.coefficient for one in BY_TITLE["Smooth bend"].opinions]
    assert values[0] == pytest.approx(0.20, abs=0.01)
    assert values[-1] == pytest.approx(0.55, abs=0.01)


def test_crane_s_pipe_bend_is_fourteen_times_its_friction_factor() -> None:
    """Crane TP-410, page A-29: K = 14 fT at r/d 1.5, with fT 0.019 for 2 in pipe and 0.018 for 2 1/2 in."""
    assert 14 * 0.018 <= coefficient("Smooth bend", "Crane TP-410, pipe bends") <= 14 * 0.019


def test_crane_s_standard_elbow_is_thirty_times_its_friction_factor() -> None:
    """Crane TP-410, page A-30, standard elbow 90 degrees: K = 30 fT; from memory."""
    assert 30 * 0.018 <= coefficient("Smooth bend", "Crane TP-410, standard") <= 30 * 0.019


@pytest.mark.parametrize(
    ("authority", "wanted"), [("Blevins", 1.10), ("Crane", 1.14), ("Rennels", 1.20), ("Miller", 1.49)]
)
def test_a_mitre_has_its_authority_s_coefficient(authority: str, wanted: float) -> None:
    """Blevins (1984), Crane TP-410, Rennels & Hudson (2012), Miller (1990), 50.8 mm, Re 2e5, 0.046 mm."""
    assert coefficient("One mitre", authority) == pytest.approx(wanted, abs=0.006)


@pytest.mark.parametrize(("authority", "wanted"), [("Crane", 0.180), ("Rennels", 0.230)])
def test_a_step_down_has_its_authority_s_coefficient(authority: str, wanted: float) -> None:
    """Crane TP-410 page A-26, 0.5 (1 - beta^2); Rennels & Hudson (2012)."""
    assert coefficient("Square step down", authority) == pytest.approx(wanted, abs=0.001)


def test_a_step_up_is_borda_and_carnot_s() -> None:
    """Borda-Carnot, K = (1 - A1/A2)^2 = (1 - 4/9)^2."""
    assert BY_TITLE["Square step up"].used == pytest.approx((1 - 4 / 9) ** 2)


def test_the_doubt_of_a_bend_is_half_the_range_of_its_authorities_over_the_root_of_three() -> None:
    """JCGM 100:2008, 4.3.7. From Itō's 0.98 to Swamee and Sharma's 1.80 times the one used; threaded elbows
    are another fitting.
    """
    bend = BY_TITLE["Smooth bend"]
    lowest, highest = coefficient("Smooth bend", "Itō"), coefficient("Smooth bend", "Swamee")
    assert bend_doubt() == pytest.approx(0.5 * (highest - lowest) / bend.used / 3.0**0.5)
    assert bend_doubt() == pytest.approx(0.24, abs=0.01)


def test_the_doubt_of_a_step_is_that_of_the_step_on_which_authorities_differ_most() -> None:
    """JCGM 100:2008, 4.3.7: a step down runs from Crane's 0.180 to Rennels and Hudson's 0.230."""
    assert step_doubt() == pytest.approx(0.5 * (0.230 - 0.180) / 0.180 / 3.0**0.5, abs=0.002)
    assert BY_TITLE["Square step up"].doubt < step_doubt()
