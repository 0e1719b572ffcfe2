"""The skin of a hot pipe: between gas and air, cooler under a wrap, cooler in wind."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.core.air.surface import (
    LAMINAR_NUSSELT,
    Layer,
    Surface,
    hot_pipe,
    inside_nusselt,
    skin_loss,
)

MM = 1e-3
PIPES = st.tuples(
    st.floats(400.0, 1300.0),
    st.floats(0.001, 0.5),
    st.floats(0.04, 0.1),
    st.floats(0.05, 1.0),
    st.floats(260.0, 340.0),
)
"""Gas [K], flow [kg/s], bore [m], emissivity, air [K]."""
Pipe = tuple[float, float, float, float, float]


def skin(pipe: Pipe, *layers: Layer, speed: float = 0.0) -> Surface:
    gas, flow, bore, emissivity, ambient = pipe
    return hot_pipe(gas, flow, bore, bore + 3.0 * MM, emissivity, ambient, speed, layers)


@given(PIPES)
@settings(deadline=None)
def test_a_skin_is_between_gas_and_air_and_passes_on_what_it_gets(pipe: Pipe) -> None:
    found = skin(pipe)
    assert pipe[4] < found.temperature < pipe[0]
    assert found.under == pytest.approx(found.temperature, abs=1e-6)
    lost = skin_loss(pipe[2] + 3.0 * MM, found.temperature, pipe[4], pipe[3], found.outside_film)
    assert lost == pytest.approx(found.loss, rel=1e-6)


@given(PIPES, st.floats(1.0, 20.0), st.floats(0.02, 0.1))
@settings(deadline=None)
def test_a_wrap_cools_what_can_be_touched_and_heats_the_metal_under_it(
    pipe: Pipe, thickness: float, conductivity: float
) -> None:
    bare, wrapped = skin(pipe), skin(pipe, Layer(thickness * MM, conductivity))
    assert wrapped.temperature < bare.temperature
    assert wrapped.under > bare.under
    assert wrapped.loss < bare.loss


@given(PIPES)
@settings(deadline=None)
def test_a_second_layer_does_more_than_one(pipe: Pipe) -> None:
    one = skin(pipe, Layer(3.0 * MM, 0.08))
    assert skin(pipe, Layer(3.0 * MM, 0.08), Layer(3.0 * MM, 0.08)).temperature < one.temperature


@given(PIPES, st.floats(0.1, 40.0))
@settings(deadline=None)
def test_wind_never_heats_a_pipe(pipe: Pipe, speed: float) -> None:
    assert skin(pipe, speed=speed).temperature <= skin(pipe).temperature + 1e-6


@given(st.floats(100.0, 1e6), st.floats(1.0, 2.0))
@settings(deadline=None)
def test_more_flow_never_carries_less_heat_to_the_wall(reynolds: float, times: float) -> None:
    assert inside_nusselt(reynolds * times) >= inside_nusselt(reynolds) * (1.0 - 1e-9)
    assert inside_nusselt(reynolds) >= LAMINAR_NUSSELT


def test_nothing_jumps_where_laminar_flow_turns_turbulent() -> None:
    for edge in (2300.0, 4000.0):
        assert inside_nusselt(edge * 1.0001) == pytest.approx(inside_nusselt(edge), rel=1e-3)


def test_gas_as_warm_as_the_air_leaves_the_pipe_as_warm() -> None:
    assert skin((300.0, 0.1, 0.06, 0.8, 300.0)).temperature == 300.0
