"""Oil feed and drain."""

from math import pi, radians, sin

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from server.core.air.hydraulics import Liquid, area
from server.core.air.losses import friction
from server.core.air.oil import (
    GRAVITY,
    Bearing,
    Drawing,
    Restrictor,
    drain_flow,
    feed_flow,
    full_flow,
    least_drain,
    oil_viscosity,
    restrictor,
    usual_drains,
)

HOT = Liquid(835.0, 0.0085)
COLD = Liquid(880.0, 0.5)
SLOPE = radians(30.0)

oils = st.builds(Liquid, density=st.floats(780.0, 900.0), viscosity=st.floats(0.003, 1.0))
oil_flows = st.floats(1e-6, 1e-4)
slopes = st.floats(0.02, 0.5 * pi)
froths = st.floats(1.0, 4.0)


@pytest.mark.parametrize("bearing", list(Bearing))
@pytest.mark.parametrize(
    ("drawing", "answer"),
    [
        (Drawing.asks, Restrictor.fit),
        (Drawing.none, Restrictor.leave_out),
        (Drawing.not_seen, Restrictor.ask),
    ],
)
def test_the_makers_drawing_settles_the_restrictor_whatever_the_bearing(
    bearing: Bearing, drawing: Drawing, answer: Restrictor
) -> None:
    assert restrictor(bearing, drawing).answer is answer


def test_without_a_drawing_each_bearing_is_told_what_is_usual() -> None:
    reasons = {bearing: restrictor(bearing, Drawing.not_seen).reason for bearing in Bearing}
    assert "often" in reasons[Bearing.ball]
    assert "usually takes none" in reasons[Bearing.journal]
    assert "Neither" in reasons[Bearing.not_known]


def test_a_restrictor_passes_more_through_a_larger_hole_and_under_more_pressure() -> None:
    small, large = (feed_flow(bore, 300e3, HOT).flow for bore in (1.0e-3, 1.4e-3))
    assert large == pytest.approx(1.96 * small)
    assert feed_flow(1.0e-3, 1200e3, HOT).flow == pytest.approx(2.0 * small)


def test_thick_cold_oil_is_said_not_to_follow_the_orifice() -> None:
    assert feed_flow(1.0e-3, 300e3, HOT).notes == ()
    assert "thick" in feed_flow(1.0e-3, 300e3, COLD).notes[0]


def test_an_oil_has_the_viscosities_of_its_data_sheet_at_their_temperatures() -> None:
    cold, hot = (313.15, 90e-6), (373.15, 14e-6)
    assert oil_viscosity(313.15, cold, hot) == pytest.approx(90e-6)
    assert oil_viscosity(373.15, cold, hot) == pytest.approx(14e-6)


@given(st.floats(255.0, 420.0), st.floats(1.0, 20.0))
def test_hotter_oil_is_thinner(temperature: float, hotter: float) -> None:
    cold, hot = (313.15, 90e-6), (373.15, 14e-6)
    assert oil_viscosity(temperature + hotter, cold, hot) < oil_viscosity(temperature, cold, hot)


@given(oil_flows, slopes, oils, froths)
def test_the_least_drain_passes_the_flow_asked(flow: float, slope: float, oil: Liquid, froth: float) -> None:
    bore = least_drain(flow, slope, oil, froth).bore
    assume(bore is not None)
    assert bore is not None
    found = drain_flow(bore, slope, oil, froth)
    assert found is not None
    assert found.oil == pytest.approx(flow, rel=1e-6)


@given(oil_flows, st.floats(1.01, 3.0), slopes, oils)
def test_more_oil_or_froth_asks_for_a_wider_drain_and_a_flatter_run_for_no_narrower(
    flow: float, more: float, slope: float, oil: Liquid
) -> None:
    base = least_drain(flow, slope, oil, 1.0).bore
    assume(base is not None)
    assert base is not None
    more_oil = least_drain(more * flow, slope, oil, 1.0).bore
    flatter = least_drain(flow, slope / more, oil, 1.0).bore
    frothy = least_drain(flow, slope, oil, more).bore
    assert more_oil is None or more_oil > base
    assert frothy is None or frothy > base
    assert flatter is None or flatter >= base * (1.0 - 1e-9)


@given(st.floats(0.005, 0.05), st.floats(1.01, 2.0), slopes, oils)
def test_a_wider_drain_passes_more_while_the_oil_runs_laminar(
    bore: float, wider: float, slope: float, oil: Liquid
) -> None:
    narrow, wide = (drain_flow(one, slope, oil, froth=1.0) for one in (bore, wider * bore))
    assert narrow is not None
    assert wide is not None
    assume(narrow.laminar is wide.laminar)
    assert wide.oil > narrow.oil


@given(st.floats(0.01, 0.1), slopes, st.floats(2e-3, 0.02), st.floats(0.0, 5e-5))
def test_the_speed_found_is_the_one_whose_friction_balances_gravity(
    bore: float, slope: float, viscosity: float, roughness: float
) -> None:
    """Put back into Darcy-Weisbach, with the friction factor of the library `fluids`."""
    found = full_flow(bore, sin(slope), Liquid(850.0, viscosity), roughness)
    assume(found.laminar or found.reynolds > 4000.0)
    factor = friction(found.reynolds, roughness / bore).factor
    lost = factor * found.speed**2 / (2.0 * GRAVITY * bore)
    assert lost == pytest.approx(sin(slope), rel=2e-3)


def test_hot_oil_of_a_street_turbo_runs_down_the_usual_hose() -> None:
    """Common practice, no source: 2 L/min of hot oil go down a 19 mm hose, and not down one of half that."""
    found = least_drain(2e-3 / 60.0, SLOPE, HOT, froth=1.0)
    assert found.bore is not None
    assert 0.5 * 0.01905 < found.bore < 0.01905
    assert usual_drains(found.bore) == ("19 mm (3/4 in) hose",)
    assert found.reason == "So that air goes up."


def test_cold_oil_asks_for_more_and_its_friction_decides() -> None:
    hot, cold = (least_drain(2e-3 / 60.0, SLOPE, oil, froth=1.0) for oil in (HOT, COLD))
    assert hot.by_friction is not None
    assert cold.by_friction is not None
    assert cold.by_friction > 2.0 * hot.by_friction
    assert cold.bore == cold.by_friction
    assert "half full" in cold.reason


@pytest.mark.parametrize("slope", [0.0, -0.1])
def test_nothing_drains_uphill(slope: float) -> None:
    assert drain_flow(0.019, slope, HOT, froth=1.0) is None
    found = least_drain(2e-5, slope, HOT, froth=1.0)
    assert found.bore is None
    assert "downhill" in found.reason


def test_what_no_bore_drains_is_said_so() -> None:
    assert least_drain(1.0, 0.001, COLD, froth=1.0).bore is None
    assert least_drain(1.0, 0.001, HOT, froth=1.0).bore is None


def test_a_steep_drain_says_that_its_oil_clings() -> None:
    steep = drain_flow(0.012, radians(80.0), HOT, froth=1.0)
    assert steep is not None
    assert any("Steeper" in note for note in steep.notes)


def test_a_drain_between_two_ways_of_flowing_says_so() -> None:
    """A full tube of 12 mm would run at a Reynolds number of about 1800, were it turbulent."""
    between = drain_flow(0.012, SLOPE, HOT, froth=1.0)
    assert between is not None
    assert not between.laminar
    assert any("uncertain" in note for note in between.notes)


def test_froth_takes_its_volume_and_its_weight_off_the_drain() -> None:
    """Laminar: half the oil for the volume, half again for the lighter froth; of air's way up, half."""
    clear, frothy = (drain_flow(0.009, SLOPE, HOT, froth) for froth in (1.0, 2.0))
    assert clear is not None
    assert frothy is not None
    assert clear.laminar
    assert frothy.by_friction == pytest.approx(clear.by_friction / 4.0)
    assert frothy.by_venting == pytest.approx(clear.by_venting / 2.0)
    assert clear.by_friction == pytest.approx(0.5 * area(0.009) * clear.speed)


def test_sums_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="own volume"):
        drain_flow(0.019, SLOPE, HOT, froth=0.5)
    with pytest.raises(ValueError, match="own volume"):
        least_drain(0.0, SLOPE, HOT, froth=1.0)
    with pytest.raises(ValueError, match="above zero"):
        full_flow(0.0, 0.5, HOT)
    with pytest.raises(ValueError, match="hotter and thinner"):
        oil_viscosity(350.0, (373.15, 14e-6), (313.15, 90e-6))
    with pytest.raises(ValueError, match="2 mm2/s"):
        oil_viscosity(350.0, (313.15, 9e-6), (373.15, 1.5e-6))
