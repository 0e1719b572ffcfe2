"""A run marched: conserved quantities, limits that are known, and what happens when it chokes."""

from math import pi, radians
from time import perf_counter

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy import float64
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from server.core.air import fanno, gas, losses
from server.core.air.march import Element, element_faults, greatest_flow, march
from server.core.air.tube_sum import Bend, tube_loss

bores = st.floats(0.045, 0.110)
lengths = st.floats(0.01, 1.5)
flows = st.floats(0.02, 0.25)
pressures = st.floats(95e3, 300e3)
temperatures = st.floats(255.0, 420.0)


@st.composite
def runs(draw: st.DrawFn) -> list[Element]:
    """A run of two to eight pieces whose bores need not match."""
    return [_piece(draw, number) for number in range(draw(st.integers(2, 8)))]


def _piece(draw: st.DrawFn, number: int) -> Element:
    kind = draw(st.sampled_from(["straight", "bend", "mitre", "step", "cone"]))
    bore = draw(bores)
    name = f"piece {number}"
    angle = draw(st.floats(0.1, pi))
    if kind == "bend":
        return Element(
            name, "bend", bore, bore, bend_angle=angle, bend_radius=draw(st.floats(1.0, 4.0)) * bore
        )
    if kind == "mitre":
        return Element(name, "mitre", bore, bore, length=0.1, bend_angle=0.5 * angle, mitre_joints=2)
    if kind == "step":
        return Element(name, "step", bore, draw(bores))
    if kind == "cone":
        return Element(name, "cone", bore, draw(bores), length=0.08, half_angle=draw(st.floats(0.05, 1.2)))
    return Element(name, "straight", bore, bore, length=draw(lengths))


def _straight(bore: float, length: float, name: str = "straight") -> Element:
    return Element(name, "straight", bore, bore, length=length)


@given(runs(), flows, pressures, temperatures)
def test_mass_and_total_enthalpy_are_conserved_at_every_station(
    run: list[Element], flow: float, pressure: float, temperature: float
) -> None:
    """Continuity and the energy balance of adiabatic flow."""
    result = march(run, flow, pressure, temperature)
    total = temperature * gas.temperature_ratio(result.inlet.mach)
    for element, station in zip(run, result.stations, strict=False):
        for bore, p, t, v in (
            (element.bore_in, station.pressure_in, station.temperature_in, station.speed_in),
            (element.bore_out, station.pressure_out, station.temperature_out, station.speed_out),
        ):
            assert gas.density(p, t) * v * pi * bore**2 / 4.0 == pytest.approx(flow, rel=1e-9)
            enthalpy_ratio = 1.0 + 0.5 * (gas.GAMMA - 1.0) * (v / gas.sound_speed(t)) ** 2
            assert t * enthalpy_ratio == pytest.approx(total, rel=1e-9)


@given(runs(), flows, pressures, temperatures)
def test_no_piece_gives_pressure_and_the_losses_add_up(
    run: list[Element], flow: float, pressure: float, temperature: float
) -> None:
    result = march(run, flow, pressure, temperature)
    assert all(station.loss >= -1e-6 for station in result.stations)
    if result.loss is not None:
        assert sum(station.loss for station in result.stations) == pytest.approx(result.loss, abs=1e-6)
        assert result.fastest_mach == max(station.fastest_mach for station in result.stations)


@given(runs(), flows, st.floats(1.01, 1.5))
def test_more_flow_loses_more(run: list[Element], flow: float, more: float) -> None:
    """A tail of tube follows the drawn pieces, as steps from a bore to the same bore lose nothing at all."""
    tailed = [*run, _straight(0.070, 0.2, "tail")]
    little, much = (march(tailed, each, 200e3, 330.0) for each in (flow, more * flow))
    if little.loss is None:
        assert much.choked
    elif much.loss is not None:
        assert much.loss > little.loss


@given(bores, lengths, lengths, flows)
def test_more_length_loses_more(bore: float, length: float, more: float, flow: float) -> None:
    short = march([_straight(bore, length)], flow, 200e3, 330.0).loss
    long = march([_straight(bore, length + more)], flow, 200e3, 330.0).loss
    assert short is not None
    assert long is not None
    assert long > short


@given(bores, lengths, st.floats(0.05, 0.95), flows, pressures)
def test_a_straight_cut_in_two_loses_the_same(
    bore: float, length: float, share: float, flow: float, pressure: float
) -> None:
    """The friction factor follows the temperature along the tube, hence not to the last digit."""
    whole = march([_straight(bore, length)], flow, pressure, 330.0).loss
    halves = [_straight(bore, share * length, "one"), _straight(bore, (1.0 - share) * length, "two")]
    cut = march(halves, flow, pressure, 330.0).loss
    if whole is None or cut is None:
        assert whole is None
        assert cut is None
    else:
        assert cut == pytest.approx(whole, rel=5e-4)


@given(bores, lengths, st.floats(0.002, 0.01))
def test_slow_flow_is_darcy_weisbach(bore: float, length: float, flow: float) -> None:
    """Darcy-Weisbach, incompressible: f L/D rho V^2/2. The two part by about Mach number squared."""
    result = march([_straight(bore, length)], flow, 101_325.0, 300.0)
    (station,) = result.stations
    darcy = (
        station.friction_factor * length / bore * 0.5 * gas.density(101_325.0, 300.0) * station.speed_in**2
    )
    assert result.loss == pytest.approx(darcy, rel=2.0 * station.mach_in**2 + 1e-5)


@pytest.mark.parametrize("flow", [0.05, 0.3, 0.45])
def test_fast_flow_follows_the_equation_of_motion_step_by_step(flow: float) -> None:
    """Momentum, energy and continuity of one-dimensional flow integrated along the tube by scipy."""
    bore, length, pressure, temperature = 0.05, 2.0, 200e3, 330.0
    (station,) = march([_straight(bore, length)], flow, pressure, temperature).stations
    flux = flow / (pi * bore**2 / 4.0)
    total = temperature * gas.temperature_ratio(station.mach_in)
    heat = gas.GAMMA * gas.GAS_CONSTANT / (gas.GAMMA - 1.0)

    def speed_slope(_: float, speed: NDArray[float64]) -> list[float]:
        v = float(speed[0])
        t = total - v**2 / (2.0 * heat)
        # Continuity and energy: p = flux R t / v, dp/dx = -flux R (t / v^2 + 1 / cp) dv/dx.
        # Momentum: dp/dx = -flux (dv/dx + f v / 2D).
        pressure_by_speed = gas.GAS_CONSTANT * (t / v**2 + 1.0 / heat)
        return [station.friction_factor * v / (2.0 * bore) / (pressure_by_speed - 1.0)]

    answer = solve_ivp(speed_slope, (0.0, length), [station.speed_in], rtol=1e-10, atol=1e-10)
    speed = float(answer.y[0][-1])
    last = total - speed**2 / (2.0 * heat)
    assert station.speed_out == pytest.approx(speed, rel=1e-7)
    assert station.temperature_out == pytest.approx(last, rel=1e-7)
    assert station.pressure_out == pytest.approx(flux * gas.GAS_CONSTANT * last / speed, rel=1e-7)


@pytest.mark.parametrize(("bore_in", "bore_out"), [(0.060, 0.076), (0.076, 0.060)])
def test_a_slow_step_loses_its_coefficient_on_the_smaller_bores_speed(
    bore_in: float, bore_out: float
) -> None:
    """Definition of the loss coefficient; Borda-Carnot up, Crane down."""
    flow = 0.01
    result = march([Element("step", "step", bore_in, bore_out)], flow, 101_325.0, 300.0)
    speed = flow / (gas.density(101_325.0, 300.0) * pi * min(bore_in, bore_out) ** 2 / 4.0)
    dynamic = 0.5 * gas.density(101_325.0, 300.0) * speed**2
    assert result.loss == pytest.approx(losses.step(bore_in, bore_out).value * dynamic, rel=2e-3)


def test_a_step_between_two_pieces_counts_without_being_entered() -> None:
    joined = march([_straight(0.060, 0.3), _straight(0.070, 0.3)], 0.1, 200e3, 330.0)
    spelled = march(
        [_straight(0.060, 0.3), Element("step", "step", 0.060, 0.070), _straight(0.070, 0.3)],
        0.1,
        200e3,
        330.0,
    )
    assert joined.loss == pytest.approx(spelled.loss)
    assert joined.outlet == spelled.outlet


def test_a_bend_counts_the_friction_of_its_arc_once() -> None:
    """Rennels & Hudson's coefficient includes the arc; as straight tube the arc is a small part of it."""
    bore, radius = 0.0572, 0.0858
    bend = tube_loss(bore, 0.0, 1.5e-6, [Bend(pi / 2, radius)], 0.1, 200e3, 330.0)
    arc = tube_loss(bore, radius * pi / 2, 1.5e-6, [], 0.1, 200e3, 330.0)
    assert bend.loss is not None
    assert arc.loss is not None
    assert arc.loss < 0.3 * bend.loss
    friction = losses.friction(bend.reynolds, 1.5e-6 / bore).factor
    coefficient = losses.smooth_bend(bore, pi / 2, radius, friction).value
    dynamic = 0.5 * gas.density(200e3, 330.0) * bend.speed**2
    assert bend.loss == pytest.approx(coefficient * dynamic, rel=5e-3)


def test_a_choked_run_is_a_result_with_the_greatest_flow_and_the_place() -> None:
    run = [_straight(0.060, 0.4, "wide"), _straight(0.030, 0.6, "narrow"), _straight(0.060, 0.4, "after")]
    result = march(run, 0.6, 200e3, 330.0)
    assert result.choked
    assert result.choked_at == "narrow"
    assert result.loss is None
    assert result.outlet is None
    assert result.fastest_mach == 1.0
    assert [station.name for station in result.stations] == ["wide"]
    assert result.greatest_flow is not None
    assert not march(run, result.greatest_flow, 200e3, 330.0).choked
    assert march(run, result.greatest_flow * 1.0001, 200e3, 330.0).choked


def test_the_greatest_flow_of_one_tube_is_the_one_fanno_gives() -> None:
    """Fanno flow: at the greatest flow the tube is just as long as its inlet Mach number allows."""
    bore, length = 0.030, 1.0
    most = greatest_flow([_straight(bore, length)], 200e3, 330.0)
    inlet = gas.stream_from_static(most, pi * bore**2 / 4.0, 200e3, 330.0)
    factor = losses.friction(
        losses.tube_reynolds(most, bore, 330.0), losses.DRAWN_TUBE_ROUGHNESS / bore
    ).factor
    assert fanno.length_to_sonic(inlet.mach) == pytest.approx(factor * length / bore, rel=1e-5)


def test_many_marches_may_leave_the_greatest_flow_out() -> None:
    run = [_straight(0.030, 0.6)]
    result = march(run, 0.6, 200e3, 330.0, find_greatest=False)
    assert result.choked_at == march(run, 0.6, 200e3, 330.0).choked_at
    assert result.greatest_flow is None


def test_an_inlet_faster_than_sound_is_choked_at_the_first_piece() -> None:
    result = march([_straight(0.02, 0.1, "first")], 1.0, 100e3, 300.0)
    assert result.choked_at == "first"
    assert result.stations == ()
    frictionless = pi * 0.02**2 / 4.0 * gas.density(100e3, 300.0) * gas.sound_speed(300.0)
    assert result.greatest_flow is not None
    assert result.greatest_flow < frictionless


@given(runs(), pressures, temperatures)
def test_no_run_passes_more_than_its_greatest_flow(
    run: list[Element], pressure: float, temperature: float
) -> None:
    most = greatest_flow(run, pressure, temperature)
    assert not march(run, most, pressure, temperature).choked
    assert march(run, 1.001 * most, pressure, temperature).choked


@given(st.floats(0.01, 0.99), st.floats(0.0, 1.0))
def test_fanno_there_and_back(mach: float, share: float) -> None:
    """What a length adds to the friction is what is missing to Mach 1 afterwards."""
    number = share * fanno.length_to_sonic(mach)
    after = fanno.mach_after(mach, number)
    assert after is not None
    assert after >= mach * (1.0 - 1e-12)
    assert fanno.length_to_sonic(after) == pytest.approx(fanno.length_to_sonic(mach) - number, abs=1e-8)


@given(st.floats(0.001, 0.999))
def test_the_flow_number_gives_its_mach_number_back(mach: float) -> None:
    assert gas.subsonic_mach(gas.flow_number(mach)) == pytest.approx(mach, rel=1e-6)


def test_air_drawn_from_still_air_has_its_stagnation_state() -> None:
    area = pi * 0.076**2 / 4.0
    drawn = gas.stream_from_stagnation(0.2, area, 98_000.0, 293.15)
    assert drawn is not None
    again = gas.stream_from_static(0.2, area, drawn.pressure, drawn.temperature)
    assert again.stagnation_pressure == pytest.approx(98_000.0)
    assert again.stagnation_temperature == pytest.approx(293.15)
    assert gas.stream_from_stagnation(5.0, area, 98_000.0, 293.15) is None


def test_out_of_range_is_said_in_the_notes_with_the_pieces_name() -> None:
    tight = Element("elbow", "bend", 0.060, 0.060, bend_angle=radians(90.0), bend_radius=0.025)
    (note,) = march([tight], 0.1, 200e3, 330.0).notes
    assert note.startswith("elbow: Bend radius under half the bore")


def test_a_choked_tube_says_so() -> None:
    result = tube_loss(0.02, 1.0, 1.5e-6, [], 1.0, 200e3, 330.0)
    assert result.choked
    assert result.loss is None
    assert result.speed_out is None
    assert result.greatest_flow is not None
    assert "chokes" in result.notes[-1]


@pytest.mark.parametrize(
    ("element", "words"),
    [
        (Element("a", "straight", 0.0, 0.06), "bore"),
        (Element("a", "straight", 0.06, float("nan")), "bore"),
        (Element("a", "straight", 0.06, 0.06, length=-1.0), "length"),
        (Element("a", "straight", 0.06, 0.06, length=float("inf")), "length"),
        (Element("a", "bend", 0.06, 0.06, bend_angle=1.0), "centre-line radius"),
        (Element("a", "bend", 0.06, 0.06, bend_angle=-1.0, bend_radius=0.1), "angle"),
        (Element("a", "mitre", 0.06, 0.06, bend_angle=1.0, mitre_joints=0), "joint"),
        (Element("a", "cone", 0.06, 0.07, half_angle=0.0), "half angle"),
    ],
)
def test_a_piece_that_cannot_be_marched_is_named(element: Element, words: str) -> None:
    (fault,) = element_faults([element])
    assert words in fault
    with pytest.raises(ValueError, match="a: "):
        march([element], 0.1, 200e3, 330.0)


def test_a_run_without_pieces_or_flow_is_refused() -> None:
    with pytest.raises(ValueError, match="no pieces"):
        march([], 0.1, 200e3, 330.0)
    with pytest.raises(ValueError, match="above zero"):
        march([_straight(0.06, 0.1)], 0.0, 200e3, 330.0)


def test_a_run_of_ten_pieces_is_marched_in_about_a_millisecond_at_most() -> None:
    """It is marched about fifty times an edit. Best of many, so that a busy machine does not fail it."""
    run = [
        Element(f"p{n}", "bend", 0.06, 0.06, length=0.1, bend_angle=0.8, bend_radius=0.09) for n in range(10)
    ]
    times = []
    for _ in range(200):
        start = perf_counter()
        march(run, 0.2, 200e3, 330.0)
        times.append(perf_counter() - start)
    assert min(times) < 1.5e-3
