"""Spares by the newsvendor rule: worked examples, and the least expected cost by counting every case."""

import pytest
from scipy.stats import binom, norm

from server.core.buying.spares import (
    advised,
    by_readings,
    chance_enough,
    critical_ratio,
    least_enough,
    usual_chance,
)
from tests.reference_values import Check, load

NEWS = {check.id: check for check in load("buying") if check.id.startswith("NEWS")}


@pytest.mark.parametrize("check", [one for one in NEWS.values() if "RATIO" in one.id], ids=str)
def test_the_critical_ratio_is_that_of_the_example(check: Check) -> None:
    assert check.allows(critical_ratio(check.inputs["too_few"], check.inputs["too_many"]))


def test_the_order_is_that_of_the_example() -> None:
    check = NEWS["NEWS-COUNT-203"]
    demand = norm(check.inputs["mean"], check.inputs["deviation"])
    ratio = critical_ratio(check.inputs["too_few"], check.inputs["too_many"])
    assert check.allows(least_enough(lambda many: float(demand.cdf(many)), ratio, most=2000))


@pytest.mark.parametrize(("pieces", "chance"), [(1, 0.25), (4, 0.1), (12, 0.05), (20, 0.5)])
def test_the_chance_of_enough_is_the_binomial_one(pieces: int, chance: float) -> None:
    """scipy.stats.binom."""
    for spares in range(pieces + 2):
        assert chance_enough(spares, pieces, chance) == pytest.approx(binom.cdf(spares, pieces, chance))


@pytest.mark.parametrize("pieces", [1, 3, 8])
@pytest.mark.parametrize("chance", [0.02, 0.1, 0.3])
@pytest.mark.parametrize("price", [50, 600, 9000])
@pytest.mark.parametrize("back", [True, False])
def test_no_other_number_costs_less_as_a_rule(pieces: int, chance: float, price: int, back: bool) -> None:
    found = advised(
        pieces, chance, "", price_minor=price, days=10, week_minor=1400, postage_minor=490, takes_back=back
    )
    demand = binom(pieces, chance)

    def expected(spares: int) -> float:
        costs = (
            found.wait_minor * max(n - spares, 0) + found.lost_minor * max(spares - n, 0)
            for n in range(pieces + 1)
        )
        return sum(float(demand.pmf(n)) * cost for n, cost in enumerate(costs))

    assert expected(found.count) <= min(expected(n) for n in range(pieces + 1)) + 1e-9


def test_a_gasket_is_had_twice_where_a_week_is_worth_more_than_it() -> None:
    """By hand: 14 days at 2000 a week and 490 postage against 600: 4490 / 5090 = 0.88 > 0.75, so one."""
    chance, why = usual_chance("gasket", "Turbine gasket")
    found = advised(
        1, chance, why, price_minor=600, days=14, week_minor=2000, postage_minor=490, takes_back=False
    )
    assert (found.count, found.wait_minor, found.lost_minor) == (1, 4490, 600)
    cheap_wait = advised(
        1, chance, why, price_minor=6000, days=3, week_minor=200, postage_minor=0, takes_back=False
    )
    assert cheap_wait.count == 0


def test_what_is_usual_goes_by_the_kind_and_then_by_the_name() -> None:
    assert usual_chance("", "Copper washers, 14 mm")[0] == 0.2
    assert usual_chance("clamp", "T-bolt clamp for a hose")[0] == 0.04
    assert usual_chance("", "Fuel pump") == (0.0, "")


def test_readings_take_the_place_of_what_is_usual_of_a_size() -> None:
    usual = usual_chance("coupler", "Silicone coupler 63.5 mm")
    assert by_readings(usual, 0.0) == (
        0.0,
        "by the readings of what it fits, its size is wrong in 0 % of cases",
    )
    chance, why = by_readings(usual, 0.43)
    assert (chance, why) == (0.43, "by the readings of what it fits, its size is wrong in 43 % of cases")


def test_a_spoilt_cut_stands_beside_a_wrong_size() -> None:
    usual = usual_chance("hose", "EPDM hose 16 mm")
    chance, why = by_readings(usual, 0.43)
    assert chance == pytest.approx(1 - 0.9 * 0.57)
    assert why.startswith("a cut may be spoilt; and by the readings")
    assert by_readings(usual, 0.0) == usual
