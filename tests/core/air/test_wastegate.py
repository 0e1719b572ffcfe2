"""What opens a wastegate, at which boost, and how large it has to be."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air import gas
from server.core.air.exhaust import exhaust_gas
from server.core.air.gas import Gas
from server.core.air.wastegate import (
    USUAL_COEFFICIENT,
    Gate,
    boost_to_open,
    boost_to_open_at_ratio,
    bypass_of_share,
    bypass_of_swallow,
    control_range,
    forces,
    gate_bore,
    gate_faults,
    gate_flow,
    poppet_area,
    spring_for,
    turbine_swallow,
)

POPPET = Gate(valve_area=1.1e-3, diaphragm_area=2.8e-3, preload=200.0, rate=10e3)
FLAP = Gate(valve_area=0.6e-3, diaphragm_area=1.2e-3, preload=150.0, rate=8e3, arms=0.6)
EXHAUST = exhaust_gas("petrol-95", 0.8, 1173.15)

gates = st.builds(
    Gate,
    valve_area=st.floats(2e-4, 3e-3),
    diaphragm_area=st.floats(5e-4, 6e-3),
    preload=st.floats(20.0, 900.0),
    rate=st.floats(0.0, 4e4),
    arms=st.floats(0.3, 1.5),
)
pressures = st.floats(0.0, 3e5)
lifts = st.floats(0.0, 0.012)


@given(gates, pressures, st.floats(0.0, 3e4), lifts)
def test_forces_cancel_where_the_gate_opens(gate: Gate, exhaust: float, behind: float, lift: float) -> None:
    opening = boost_to_open(gate, exhaust, behind, lift)
    found = forces(gate, opening.boost or opening.by_hand - opening.taken_off, exhaust, behind, lift)
    assert found.net == pytest.approx(0.0, abs=1e-9 * (abs(found.spring) + abs(found.exhaust)))


@given(gates, st.floats(0.2, 3.0), st.floats(0.0, 3e4), lifts)
def test_a_ratio_and_the_pressure_it_stands_for_give_the_same_boost(
    gate: Gate, ratio: float, behind: float, lift: float
) -> None:
    by_ratio = boost_to_open_at_ratio(gate, ratio, behind, lift)
    assert by_ratio.boost is not None
    by_pressure = boost_to_open(gate, ratio * by_ratio.boost, behind, lift)
    assert by_pressure.boost == pytest.approx(by_ratio.boost, rel=1e-6)


@given(gates, st.floats(1e4, 2e5), st.floats(0.0, 3e5), st.floats(0.0, 1.0))
def test_the_spring_found_cracks_at_the_boost_asked(
    gate: Gate, boost: float, exhaust: float, part: float
) -> None:
    need = spring_for(gate, boost, exhaust, part * exhaust)
    fitted = replace(gate, preload=need.preload)
    opening = boost_to_open(fitted, exhaust, part * exhaust)
    assert opening.boost == pytest.approx(boost, rel=1e-6)
    assert opening.by_hand == pytest.approx(need.by_hand)
    assert need.by_hand >= boost * (1.0 - 1e-12)


def test_a_hand_pump_reads_more_than_the_running_engine_cracks_at() -> None:
    opening = boost_to_open(POPPET, exhaust=80e3)
    assert opening.by_hand == pytest.approx(200.0 / 2.8e-3)
    assert opening.boost == pytest.approx((200.0 - 1.1e-3 * 80e3) / 2.8e-3)
    assert opening.taken_off == pytest.approx(1.1e-3 * 80e3 / 2.8e-3)


def test_back_pressure_behind_the_gate_takes_off_the_exhausts_push() -> None:
    freely, behind = (boost_to_open(POPPET, 80e3, pressure).boost for pressure in (0.0, 20e3))
    assert freely is not None
    assert behind is not None
    assert behind > freely


def test_a_flaps_lever_shares_the_exhausts_push_and_lengthens_the_rods_way() -> None:
    found = forces(FLAP, signal=50e3, exhaust=100e3, lift=0.006)
    assert found.exhaust == pytest.approx(0.6 * 0.6e-3 * 100e3)
    assert found.spring == pytest.approx(-(150.0 + 8e3 * 0.010))


def test_an_exhaust_that_opens_the_gate_by_itself_is_said_so() -> None:
    opening = boost_to_open(POPPET, exhaust=300e3)
    assert opening.boost is None
    assert "no boost holds" in opening.notes[0]


def test_a_spring_whose_rate_is_not_known_is_given_as_a_force() -> None:
    assert spring_for(replace(POPPET, rate=0.0), 60e3, 60e3).pressed_in is None
    pressed_in = spring_for(POPPET, 60e3, 60e3).pressed_in
    assert pressed_in == pytest.approx((2.8e-3 + 1.1e-3) * 60e3 / 10e3)


@pytest.mark.parametrize(
    ("asked", "possible", "used"),
    [(40e3, False, -0.2), (75e3, True, 0.5), (100e3, True, 1.0), (150e3, False, 2.0)],
)
def test_the_boost_asked_lies_within_the_solenoids_range_or_not(
    asked: float, possible: bool, used: float
) -> None:
    found = control_range(asked, spring=50e3)
    assert found.possible is possible
    assert found.used == pytest.approx(used)
    assert found.left == pytest.approx(1.0 - used)


def test_another_reach_than_the_usual_may_be_asked_for() -> None:
    assert control_range(140e3, 50e3, reach=3.0).possible


def test_what_the_turbine_does_not_swallow_goes_past_it() -> None:
    found = bypass_of_swallow(exhaust=0.30, swallow=0.21)
    assert found.flow == pytest.approx(0.09)
    assert found.share == pytest.approx(0.3)
    assert bypass_of_share(0.30, 0.3).flow == pytest.approx(found.flow)


def test_a_turbine_that_swallows_all_leaves_nothing_for_the_gate() -> None:
    found = bypass_of_swallow(0.15, 0.20)
    assert found.flow == 0.0
    assert "nothing is left" in found.notes[0]


def test_a_turbine_swallows_more_of_denser_gas() -> None:
    """From memory: corrected flow is the flow at the map's own pressure and temperature."""
    assert turbine_swallow(0.15, 101_325.0, 288.15) == pytest.approx(0.15)
    assert turbine_swallow(0.15, 2 * 101_325.0, 4 * 288.15) == pytest.approx(0.15)


@given(st.floats(1e-5, 3e-3), st.floats(1.01, 2.0), st.floats(1.05e5, 5e5), st.floats(0.5e5, 3e5))
def test_a_larger_gate_passes_more(area: float, larger: float, before: float, behind: float) -> None:
    small, large = (
        gate_flow(one, before, 1173.15, behind, USUAL_COEFFICIENT, EXHAUST) for one in (area, larger * area)
    )
    assert large.flow == pytest.approx(larger * small.flow)
    assert (small.flow > 0.0) is (before > behind)


@given(st.floats(1.0e5, 1.3e5), st.floats(1.3e5, 5e5), st.floats(1.0, 1.5))
def test_more_pressure_before_the_gate_never_passes_less(behind: float, before: float, more: float) -> None:
    low, high = (gate_flow(1e-3, one, 1173.15, behind, 1.0, EXHAUST).flow for one in (before, more * before))
    assert high >= low * (1.0 - 1e-12)


@given(st.floats(0.005, 0.2), st.floats(1.2e5, 5e5), st.floats(0.4, 1.0), st.sampled_from([gas.AIR, EXHAUST]))
def test_the_gate_found_passes_the_flow_asked(
    flow: float, before: float, coefficient: float, of: Gas
) -> None:
    bore = gate_bore(flow, before, 1173.15, 1.1e5, coefficient, of)
    assert bore is not None
    fully_open = poppet_area(bore, bore)
    assert gate_flow(fully_open, before, 1173.15, 1.1e5, coefficient, of).flow == pytest.approx(flow)


def test_a_choked_gate_is_deaf_to_what_stands_behind_it() -> None:
    first, second = (gate_flow(1e-3, 3e5, 1173.15, behind, 0.7, EXHAUST) for behind in (1.0e5, 1.4e5))
    assert first == second
    assert first.choked
    assert not gate_flow(1e-3, 3e5, 1173.15, 2.0e5, 0.7, EXHAUST).choked


def test_no_gate_is_large_enough_against_as_much_pressure_behind() -> None:
    assert gate_bore(0.05, 1.2e5, 1173.15, 1.2e5, 0.7, EXHAUST) is None
    assert gate_flow(1e-3, 1.2e5, 1173.15, 1.3e5, 0.7, EXHAUST).flow == 0.0


def test_a_poppet_is_fully_open_at_a_quarter_of_its_bore() -> None:
    """Heywood, Internal Combustion Engine Fundamentals, section 6.3, from memory."""
    assert poppet_area(0.04, 0.0099) < poppet_area(0.04, 0.01)
    assert poppet_area(0.04, 0.01) == pytest.approx(poppet_area(0.04, 0.02))


@given(st.floats(0.01, 0.08), st.floats(0.0, 0.03), st.floats(0.0, 0.01))
def test_lifting_further_never_opens_less(bore: float, lift: float, further: float) -> None:
    assert poppet_area(bore, lift + further) >= poppet_area(bore, lift)


def test_a_gate_without_areas_is_refused_in_words() -> None:
    wrong = Gate(0.0, 1e-3, -1.0, 0.0)
    assert len(gate_faults(wrong)) == 2
    with pytest.raises(ValueError, match="Areas of valve"):
        boost_to_open(wrong, 1e5)
    with pytest.raises(ValueError, match="lift"):
        boost_to_open(POPPET, 1e5, lift=-0.001)


def test_sums_of_nothing_are_refused() -> None:
    with pytest.raises(ValueError, match="not below zero"):
        boost_to_open_at_ratio(POPPET, -1.0)
    with pytest.raises(ValueError, match="above zero"):
        spring_for(POPPET, 0.0, 1e5)
    with pytest.raises(ValueError, match="reach"):
        control_range(1e5, 5e4, reach=1.0)
    with pytest.raises(ValueError, match="above zero"):
        bypass_of_swallow(0.0, 0.1)
    with pytest.raises(ValueError, match="below 1"):
        bypass_of_share(0.3, 1.0)
    with pytest.raises(ValueError, match="absolute"):
        turbine_swallow(0.1, 0.0, 300.0)
    with pytest.raises(ValueError, match="absolute"):
        gate_flow(1e-3, 2e5, 0.0, 1e5, 0.7, EXHAUST)
    with pytest.raises(ValueError, match="lift"):
        poppet_area(0.04, -0.01)
