"""The loss of a run, put together by hand from named methods in `fluids`, and worked examples of books."""

from dataclasses import replace
from math import atan, degrees, pi, radians, sin

import pytest
from fluids.fittings import bend_miter, bend_rounded, contraction_conical, diffuser_conical, diffuser_sharp
from fluids.friction import friction_factor
from hypothesis import given
from hypothesis import strategies as st

from server.core.air import fanno, gas
from server.core.air.march import Element, March, march

FLOW, PRESSURE, TEMPERATURE = 0.01, 101_325.0, 293.15
"""So slow that air is as good as incompressible: 3.5 m/s in 55 mm, Mach 0.01."""


def _dynamic(bore: float) -> float:
    """ρ v² / 2 in a bore [Pa]."""
    density = gas.density(PRESSURE, TEMPERATURE)
    return 0.5 * density * (FLOW / (density * 0.25 * pi * bore**2)) ** 2


def _friction(element: Element, bore: float) -> float:
    reynolds = 4.0 * FLOW / (pi * bore * gas.viscosity(TEMPERATURE))
    return float(friction_factor(Re=reynolds, eD=element.roughness / bore))


def _square_step(first: float, second: float) -> float:
    """Crane TP-410 down, Borda and Carnot up, on the smaller bore's speed."""
    if second < first:
        return float(contraction_conical(Di1=first, Di2=second, fd=0.0, angle=180.0, method="Crane"))
    return float(diffuser_sharp(Di1=first, Di2=second))


def _cone(element: Element, friction: float) -> float:
    """Crane TP-410, and wall friction added up along a thousand slices of the cone."""
    first, second = element.bore_in, element.bore_out
    small, slices = min(first, second), 1000
    assert element.half_angle is not None
    angle = 2.0 * degrees(element.half_angle)
    method = contraction_conical if second < first else diffuser_conical
    shape = method(Di1=first, Di2=second, fd=friction, angle=angle, method="Crane")
    along = 0.5 * abs(first - second) / sin(element.half_angle) / slices
    bores = [first + (second - first) * (at + 0.5) / slices for at in range(slices)]
    return float(shape) + sum(friction * along / bore * (small / bore) ** 4 for bore in bores)


def _by_hand(run: list[Element]) -> float:
    """Every piece's K by its method, each on the speed in its smaller bore [Pa]."""
    total, before = 0.0, run[0].bore_in
    for element in run:
        bore = min(element.bore_in, element.bore_out)
        friction = _friction(element, bore)
        if element.bore_in != before:
            total += _square_step(before, element.bore_in) * _dynamic(min(before, element.bore_in))
        k = 0.0 if element.kind == "cone" else friction * element.length / bore
        if element.kind == "cone":
            k += _cone(element, friction)
        elif element.bore_in != element.bore_out:
            k += _square_step(element.bore_in, element.bore_out)
        angle = degrees(element.bend_angle)
        if element.kind == "bend":
            k += bend_rounded(Di=bore, angle=angle, rc=element.bend_radius, fd=friction, method="Rennels")
        if element.kind == "mitre":
            joints = element.mitre_joints
            k += joints * bend_miter(angle=angle / joints, Di=bore, method="Rennels")
        for turn, radius in element.turns:
            if radius:
                k += bend_rounded(Di=bore, angle=degrees(turn), rc=radius, fd=friction, method="Rennels")
            else:
                k += bend_miter(angle=degrees(turn), Di=bore, method="Rennels")
        total += k * _dynamic(bore)
        before = element.bore_out
    return total


_bores = st.floats(0.048, 0.075)


@st.composite
def _runs(draw: st.DrawFn) -> list[Element]:
    run = []
    for number in range(draw(st.integers(2, 7))):
        name, bore, angle = f"piece {number}", draw(_bores), draw(st.floats(0.2, pi))
        kind = draw(st.sampled_from(["straight", "bend", "mitre", "step", "cone"]))
        piece = Element(name, "straight", bore, bore, length=draw(st.floats(0.05, 1.0)))
        if kind == "bend":
            radius = bore * draw(st.floats(1.0, 3.0))
            piece = replace(piece, kind="bend", bend_angle=angle, bend_radius=radius)
        elif kind == "mitre":
            piece = replace(piece, kind="mitre", bend_angle=angle, mitre_joints=draw(st.integers(2, 3)))
        elif kind == "step":
            piece = replace(piece, kind="step", bore_out=draw(_bores))
        elif kind == "cone":
            after = bore * draw(st.sampled_from([0.8, 0.9, 1.1, 1.25]))
            half_angle = draw(st.floats(0.1, 0.9))
            piece = Element(name, "cone", bore, after, half_angle=half_angle)
        run.append(piece)
    return run


@given(_runs())
def test_a_run_loses_what_its_pieces_lose_by_their_named_methods(run: list[Element]) -> None:
    """Within 0.1 %. Rennels & Hudson (2012), Crane TP-410, Borda-Carnot and Colebrook through `fluids`."""
    found = march(run, FLOW, PRESSURE, TEMPERATURE)
    assert found.loss is not None
    assert found.loss == pytest.approx(_by_hand(run), rel=1e-3)


def test_a_charge_pipe_loses_what_its_pieces_lose_by_their_named_methods() -> None:
    """One run with every kind of piece, within 0.1 %; the methods as above."""
    half_angle = atan(0.5 * (0.0605 - 0.0508) / 0.076)
    run = [
        Element("tube", "straight", 0.0605, 0.0605, length=0.4),
        Element("bend", "bend", 0.0605, 0.0605, length=0.12, bend_angle=radians(90.0), bend_radius=0.0953),
        Element("reducer", "cone", 0.0605, 0.0508, half_angle=half_angle),
        Element("mitre", "mitre", 0.0508, 0.0508, length=0.15, bend_angle=radians(45.0), mitre_joints=2),
        Element("joined", "straight", 0.0508, 0.0508, 0.4, turns=((0.9, 0.0762), (radians(28.0), 0.0))),
        Element("step", "step", 0.0508, 0.0635),
        Element("tail", "straight", 0.0610, 0.0610, length=0.3),
    ]
    found = march(run, FLOW, PRESSURE, TEMPERATURE)
    assert found.loss == pytest.approx(_by_hand(run), rel=1e-3)


def _duct(bore: float, friction: float, length: float, mach: float, pressure: float, static: float) -> March:
    """Air at a Mach number into a duct whose friction factor is given."""
    total = static * gas.temperature_ratio(mach)
    inlet = gas.stream_at_mach(mach, pressure * gas.pressure_ratio(mach), total)
    flow = gas.density(pressure, static) * inlet.speed * 0.25 * pi * bore**2
    rubbed = Element("duct", "fitting", bore, bore, extra_loss_coefficient=friction * length / bore)
    return march([rubbed], flow, pressure, static, find_greatest=False)


def test_a_duct_of_27_metres_leaves_what_the_book_prints() -> None:
    """Çengel & Cimbala, Fluid Mechanics, example 12-16: 27 m of 5 cm at 0.023, Mach 0.200, 450 K, 220 kPa;
    f L*/D left at the exit 2.1133, and 0.284 kg/s at 85 m/s.
    """
    found = _duct(0.05, 0.023, 27.0, 0.2, 220e3, 450.0)
    assert fanno.length_to_sonic(found.stations[0].mach_out) == pytest.approx(2.1133, abs=5e-5)
    flow = gas.density(220e3, 450.0) * 85.0 * 0.25 * pi * 0.05**2
    assert flow == pytest.approx(0.284, abs=5e-4)


def test_a_duct_chokes_at_the_length_that_the_book_prints() -> None:
    """Çengel & Cimbala, Fluid Mechanics, 2nd ed., example 12-16: 3 cm, Mach 0.4, 300 K, 150 kPa; f L*/D
    2.3085. From memory: friction factor 0.0149, so Mach 1 after 4.65 m.
    """
    assert not _duct(0.03, 0.0149, 4.645, 0.4, 150e3, 300.0).choked
    assert _duct(0.03, 0.0149, 4.655, 0.4, 150e3, 300.0).choked
    assert fanno.length_to_sonic(0.4) == pytest.approx(2.3085, abs=5e-5)


def test_a_duct_speeds_its_air_up_over_the_length_that_the_book_prints() -> None:
    """White, Fluid Mechanics, example 9.10, from memory: 2 cm at 0.024 takes 55 m from Mach 0.1 to 0.5, and
    0.9 m more to Mach 1.
    """
    assert _duct(0.02, 0.024, 54.5, 0.1, 101_325.0, 300.0).stations[0].mach_out < 0.5
    assert _duct(0.02, 0.024, 55.5, 0.1, 101_325.0, 300.0).stations[0].mach_out > 0.5
    assert not _duct(0.02, 0.024, 0.85, 0.5, 101_325.0, 300.0).choked
    assert _duct(0.02, 0.024, 0.95, 0.5, 101_325.0, 300.0).choked


def test_a_pipe_with_two_gauges_tells_what_the_book_prints() -> None:
    """Example 11.6 of a textbook's public companion: a 20 mm pipe from a reservoir at 510 kPa and 294 K. 500
    kPa at one gauge is Mach 0.17, 4 f L*/D 21.37; 280 kPa 12 m on Mach 0.302, 5.21; so 4 f is 0.0269, and the
    pipe passes 0.109 kg/s. Its Mach numbers are read off a table to 0.01, 6 %; a pressure follows to half.
    """
    friction = (21.37 - 5.21) / 12.0 * 0.02
    found = _duct(0.02, friction, 12.0, 0.17, 500e3, 294.0 / gas.temperature_ratio(0.17)).stations[0]
    assert found.pressure_out == pytest.approx(280e3, rel=0.03)
    assert found.mach_out == pytest.approx(0.302, rel=0.03)
    flow = gas.density(found.pressure_out, found.temperature_out) * found.speed_out * 0.25 * pi * 0.02**2
    assert flow == pytest.approx(0.109, rel=0.03)
    assert fanno.length_to_sonic(0.17) == pytest.approx(21.37, rel=0.02)
    assert fanno.length_to_sonic(0.302) == pytest.approx(5.21, rel=0.02)


def test_an_air_duct_of_150_metres_loses_what_the_book_prints() -> None:
    """Çengel & Cimbala, Fluid Mechanics, example 8-4: 0.35 m³/s of air at 1 atm and 35 °C, 1.145 kg/m³, loses
    20 m of itself in 150 m of smooth duct where that is 0.267 m wide, at 6.24 m/s, Reynolds number 100 800,
    friction factor 0.0180. The bore's last figure is 0.2 % of it, and 1 % of the loss.
    """
    duct = Element("duct", "straight", 0.267, 0.267, length=150.0, roughness=0.0)
    found = march([duct], 1.145 * 0.35, PRESSURE, 308.15, find_greatest=False)
    (station,) = found.stations
    assert found.loss == pytest.approx(20.0 * 1.145 * 9.81, rel=0.01)
    assert station.speed_in == pytest.approx(6.24, rel=0.004)
    assert station.reynolds == pytest.approx(100_800, rel=0.01)
    assert station.friction_factor == pytest.approx(0.0180, abs=1e-4)
