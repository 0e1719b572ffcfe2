"""The pressure test agrees with the ideal gas law and with worked examples."""

import pytest

from server.core.lines import leak
from tests.reference_values import Check, load


@pytest.mark.parametrize("check", load("lines"), ids=str)
def test_a_published_leak_sum_is_met(check: Check) -> None:
    function = getattr(leak, check.subject.rsplit(".", 1)[1])
    assert check.allows(function(**check.inputs))


def test_air_that_cools_during_the_test_is_not_taken_for_a_leak() -> None:
    """SHP-202: 200 kPa absolute fell to 198.2 kPa; cooling by 2 K makes 1.3552 kPa of that, the leak
    0.4448.
    """
    test = leak.LeakTest(30_000.0, 100_000.0, 0.004, 300.0, 500.0)
    result = leak.judge(test, outside=100_000.0, first=100_000.0, last=98_200.0, before=295.15, after=293.15)
    assert result.by_cooling == pytest.approx(1355.2, abs=1.0)
    assert result.by_leak == pytest.approx(444.8, abs=1.0)
    assert result.passes


def test_the_same_fall_at_one_temperature_is_all_leak_and_too_much() -> None:
    test = leak.LeakTest(30_000.0, 100_000.0, 0.004, 300.0, 500.0)
    result = leak.judge(test, outside=100_000.0, first=100_000.0, last=98_200.0, before=293.15, after=293.15)
    assert result.by_cooling == 0.0
    assert result.by_leak == pytest.approx(1800.0)
    assert not result.passes


def test_a_test_is_never_planned_above_the_boost_intended_and_lasts_as_the_gauge_needs() -> None:
    volume = leak.volume_of((leak.Stretch(0.060, 1.2),), more=0.006)
    test = leak.plan(volume, boost=80_000.0, allowed_rate=0.05, gauge_step=1000.0)
    assert volume == pytest.approx(0.0093929, rel=1e-4)
    assert (test.start, test.pressure) == (30_000.0, 80_000.0)
    assert test.time == pytest.approx(563.6, abs=0.1)
    assert test.allowed == pytest.approx(3000.0)


def test_a_low_boost_car_begins_no_higher_than_its_boost() -> None:
    assert leak.plan(0.01, boost=20_000.0, allowed_rate=0.5, gauge_step=1000.0).start == 20_000.0


def test_a_test_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above zero"):
        leak.plan(0.0, 80_000.0, 0.05, 1000.0)
