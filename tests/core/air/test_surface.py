"""The skin of a hot pipe: between gas and air, cooler under a wrap, cooler in wind."""

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from server.core.air.surface import (
    LAMINAR_NUSSELT,
    Layer,
    Surface,
    hot_pipe,
    inside_film,
    inside_nusselt,
    layer_resistance,
    skin_loss,
    still_film,
)
from server.core.measure.many import many

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
    assert skin((300.0, 0.1, 0.06, 0.8, 300.0)).temperature == pytest.approx(300.0, rel=1e-12)


@pytest.mark.parametrize("wrap", [0.0, 2.0 * MM])
def test_skins_in_many_draws_are_those_of_a_plain_search(wrap: float) -> None:
    """From gas that is hardly warmer than the air to gas as hot as it comes, a bright pipe and a dull one."""
    gases, layers = [301.0, 400.0, 700.0, 1000.0, 1300.0], [Layer(wrap, 0.15)]
    for emissivity in (0.05, 0.8):
        together = hot_pipe(many(np.array(gases)), 0.05, 0.06, 0.063, emissivity, 300.0, layers=layers)
        for gas, found in zip(gases, np.asarray(together.temperature), strict=True):
            alone = hot_pipe(gas, 0.05, 0.06, 0.063, emissivity, 300.0, layers=layers)
            assert found == pytest.approx(alone.temperature, rel=1e-9)
            assert alone.temperature == pytest.approx(searched(gas, emissivity, layers[0]), rel=1e-8)


def searched(gas: float, emissivity: float, layer: Layer) -> float:
    """The skin of the same pipe in still air, by Brent's method [K]."""
    outside = 0.063 + 2.0 * layer.thickness
    resistance = 1.0 / (pi * 0.06 * inside_film(0.05, 0.06, gas)) + layer_resistance(0.063, layer)

    def left_over(surface: float) -> float:
        film = still_film(outside, surface, 300.0)
        return (gas - surface) / resistance - skin_loss(outside, surface, 300.0, emissivity, film)

    return float(brentq(left_over, 300.0, gas, xtol=1e-12, rtol=1e-14))
