"""A bought pipe is made shorter: what is left, where side ports end up, what is in the way."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from server.core.tube.shorten import (
    OVERLAP,
    RIM,
    ROOM,
    Halves,
    Join,
    Pipe,
    SidePort,
    bead_advice,
    shorten,
    where_instead,
    why_not,
)
from server.core.units import System

MM = 0.001
lengths = st.floats(0.05, 1.5)
joins = st.sampled_from(list(Join))


@st.composite
def pipes(draw: st.DrawFn) -> Pipe:
    leg = draw(lengths)
    arc, leg_out = draw(st.one_of(st.just((0.0, 0.0)), st.tuples(st.floats(0.02, 0.4), lengths)))
    total = leg + arc + leg_out
    places = draw(st.lists(st.tuples(st.floats(0.0, 1.0), st.floats(0.004, 0.03)), max_size=4))
    ports = tuple(SidePort(k, f"port {k}", share * total, bore) for k, (share, bore) in enumerate(places))
    return Pipe(leg, arc, leg_out, ports)


@st.composite
def cuts(draw: st.DrawFn) -> tuple[Pipe, float, float, Join, Halves]:
    """A pipe, a cut that is possible on it, and its halves; without side ports if need be."""
    pipe, join = draw(pipes()), draw(joins)
    taken = draw(st.floats(0.005, 0.2))
    asked = shorten(pipe, draw(st.floats(0.0, pipe.length)), taken, join)
    if asked.halves is None and not asked.first_cuts:
        pipe = Pipe(pipe.length + taken + 2.0 * ROOM[join])
        asked = shorten(pipe, pipe.length, taken, join)
    low, high = draw(st.sampled_from(asked.first_cuts or ((ROOM[join], ROOM[join]),)))
    cut = low + draw(st.floats(0.0, 1.0)) * (high - low)
    halves = shorten(pipe, cut, taken, join).halves
    assume(halves is not None)
    assert halves is not None
    return pipe, cut, taken, join, halves


@given(made=cuts())
def test_the_halves_and_what_came_out_are_as_long_as_the_whole(
    made: tuple[Pipe, float, float, Join, Halves],
) -> None:
    pipe, cut, taken, _, halves = made
    assert halves.first.length == pytest.approx(cut)
    assert halves.first.length + taken + halves.second.length == pytest.approx(pipe.length)
    out_of_bend = max(0.0, min(cut + taken, pipe.leg + pipe.arc) - max(cut, pipe.leg))
    assert halves.first.arc + halves.second.arc == pytest.approx(pipe.arc - out_of_bend)


@given(made=cuts())
def test_every_side_port_stays_as_far_from_its_own_end_of_the_pipe(
    made: tuple[Pipe, float, float, Join, Halves],
) -> None:
    pipe, _, _, join, halves = made
    kept = {port.id: port for port in pipe.side_ports}
    assert {p.id for p in (*halves.first.side_ports, *halves.second.side_ports)} == set(kept)
    for port in halves.first.side_ports:
        assert port.at == kept[port.id].at
        assert port.at + port.bore / 2.0 + RIM <= halves.first.length - ROOM[join] + 1e-6
    for port in halves.second.side_ports:
        from_outlet = halves.second.length - port.at
        assert from_outlet == pytest.approx(pipe.length - kept[port.id].at, abs=1e-9)
        assert port.at - port.bore / 2.0 - RIM >= ROOM[join] - 1e-6


@given(pipe=pipes(), cut=st.floats(0.0, 3.0), taken=st.floats(0.005, 1.0), join=joins)
def test_every_place_that_is_offered_instead_can_be_cut(
    pipe: Pipe, cut: float, taken: float, join: Join
) -> None:
    answer = shorten(pipe, cut, taken, join)
    for low, high in answer.first_cuts:
        for place in (low, (low + high) / 2.0, high):
            assert shorten(pipe, place, taken, join).halves is not None
    if answer.halves is None and not answer.first_cuts:
        assert answer.most < taken
        assert all(shorten(pipe, k * pipe.length / 60, taken, join).halves is None for k in range(61))


def test_a_side_port_in_what_comes_out_is_in_the_way_and_a_clear_place_is_named() -> None:
    pipe = Pipe(0.5, side_ports=(SidePort(1, "Gauge", 0.25, 0.010),))
    answer = shorten(pipe, 0.2, 0.1, Join.WELD)
    assert answer.halves is None
    assert why_not(answer, Join.WELD, System.metric).startswith("Gauge stands there")
    assert where_instead(answer, System.metric) == (
        "a first cut at 10 mm to 130 mm or 270 mm to 390 mm from the inlet face"
    )


def test_a_side_port_within_the_overlap_of_a_coupler_is_in_the_way_though_a_weld_would_do() -> None:
    pipe = Pipe(0.5, side_ports=(SidePort(1, "Gauge", 0.17, 0.010),))
    assert shorten(pipe, 0.2, 0.1, Join.WELD).halves is not None
    answer = shorten(pipe, 0.2, 0.1, Join.COUPLER)
    assert [one.name for one in answer.in_the_way] == ["Gauge"]


def test_a_coupler_takes_a_leg_and_a_weld_may_cut_the_bend_square() -> None:
    """20 mm of leg and 30 mm of arc come out: a straight of 180 mm and a bend of 120 mm of arc are left."""
    elbow = Pipe(0.2, 0.15, 0.3)
    assert shorten(elbow, 0.18, 0.05, Join.COUPLER).in_the_way[0].what == "bend"
    halves = shorten(elbow, 0.18, 0.05, Join.WELD).halves
    assert halves is not None
    assert (halves.first.leg, halves.first.arc) == (0.18, 0.0)
    assert (halves.second.leg, halves.second.leg_out) == pytest.approx((0.0, 0.3))
    assert halves.second.arc == pytest.approx(0.12)
    halves = shorten(elbow, 0.45, 0.1, Join.WELD).halves
    assert halves is not None
    assert (halves.first.leg, halves.first.arc) == pytest.approx((0.2, 0.15))
    assert halves.first.leg_out == pytest.approx(0.1)
    assert halves.second.leg == pytest.approx(0.1)
    assert halves.second.arc == 0.0


def test_more_than_fits_says_how_much_can_come_out() -> None:
    answer = shorten(Pipe(0.2), 0.05, 0.3, Join.COUPLER)
    assert answer.most == pytest.approx(0.2 - 2 * OVERLAP)
    assert "at most 136 mm" in where_instead(answer, System.metric)
    assert "no room" in where_instead(shorten(Pipe(0.06), 0.01, 0.02, Join.COUPLER), System.metric)


def test_a_short_end_for_the_bead_roller_is_told_as_advice() -> None:
    assert "common practice, no source" in bead_advice(0.040, System.metric)
    assert bead_advice(0.060, System.metric) == ""


@pytest.mark.parametrize("taken", [0.0, -0.1, float("nan")])
def test_what_comes_out_has_to_be_a_length(taken: float) -> None:
    with pytest.raises(ValueError, match="length"):
        shorten(Pipe(0.5), 0.2, taken, Join.WELD)
