"""Many runs marched at once are the runs marched one by one."""

from collections.abc import Mapping
from dataclasses import replace
from math import pi

import numpy as np
import pytest
from numpy.typing import NDArray

from server.core.air import gas, losses
from server.core.air.back_pressure import back_march
from server.core.air.exhaust import exhaust_gas
from server.core.air.gas import Gas
from server.core.air.many_march import back_march_many, march_many
from server.core.air.march import Element, ElementKind, march

DRAWS = 40
TURNS = ((), ((0.7, 0.095), (0.4, 0.0)), (), ((0.3, 0.0),), (), (), ())
"""Further bends and mitres of each of seven pieces: angle [rad] and radius [m]."""
Floats = NDArray[np.float64]
Drawn = tuple[ElementKind, Floats, Floats, Mapping[str, Floats], bool]


def drawn_run(rng: np.random.Generator) -> list[Drawn]:
    """A run of seven pieces, every size of it another one in each draw."""
    bore, found = rng.uniform(0.048, 0.056, DRAWS), list[Drawn]()
    for number in range(7):
        kind = ("straight", "bend", "cone", "fitting")[int(rng.integers(0, 4))]
        after, more = bore, dict[str, Floats]()
        if kind == "straight":
            more = {"length": rng.uniform(0.05, 0.6, DRAWS)}
        elif kind == "bend":
            more = {
                "length": rng.uniform(0.05, 0.2, DRAWS),
                "bend_angle": rng.uniform(0.2, 1.7, DRAWS),
                "bend_radius": rng.uniform(0.06, 0.1, DRAWS),
                "bend_factor": rng.uniform(0.7, 1.3, DRAWS),
            }
        elif kind == "cone":
            after = bore * rng.uniform(0.9, 1.15, DRAWS)
            more = {"half_angle": np.arctan(0.5 * abs(bore - after) / rng.uniform(0.03, 0.1, DRAWS))}
        else:
            bore = after = bore * rng.uniform(0.97, 1.05, DRAWS)
            more = {"step_factor": rng.uniform(0.7, 1.3, DRAWS)}
        found.append((kind, bore, after, more, number % 3 == 0))  # type: ignore[arg-type]
        bore = after
    return found


def together(run: list[Drawn]) -> list[Element]:
    return [
        Element(str(at), kind, first, after, flush=flush, turns=TURNS[at], **more)  # type: ignore[arg-type]
        for at, (kind, first, after, more, flush) in enumerate(run)
    ]


def alone(run: list[Drawn], draw: int) -> list[Element]:
    return [
        Element(
            str(at),
            kind,
            float(first[draw]),
            float(after[draw]),
            flush=flush,
            turns=TURNS[at],
            **{name: float(some[draw]) for name, some in more.items()},  # type: ignore[arg-type]
        )
        for at, (kind, first, after, more, flush) in enumerate(run)
    ]


def eleven_times(run: list[Drawn]) -> list[Drawn]:
    """Each draw of a run eleven times: more than are taken through all pieces at once."""
    return [
        (
            kind,
            np.tile(first, 11),
            np.tile(after, 11),
            {name: np.tile(some, 11) for name, some in more.items()},
            flush,
        )
        for kind, first, after, more, flush in run
    ]


@pytest.mark.parametrize("seed", range(6))
def test_cold_runs_marched_at_once_lose_what_each_loses_alone(seed: int) -> None:
    """Against `march`, choking runs among them."""
    rng = np.random.default_rng(seed)
    run, flow = drawn_run(rng), rng.uniform(0.1, 0.7, DRAWS)
    pressure, temperature = rng.uniform(1.5e5, 2.1e5, DRAWS), rng.uniform(300.0, 420.0, DRAWS)

    found = march_many(together(run), flow, pressure, temperature, gas.AIR)

    for draw in range(DRAWS):
        pieces = alone(run, draw)
        area = 0.25 * pi * pieces[0].bore_in ** 2
        inlet = gas.stream_from_stagnation(flow[draw], area, pressure[draw], temperature[draw])
        single = (
            None if inlet is None else march(pieces, flow[draw], inlet.pressure, inlet.temperature, False)
        )
        if single is None or single.loss is None:
            assert not found.passes[draw]
            continue
        assert found.loss[draw] == pytest.approx(single.loss, rel=1e-9)
        for many, one in zip(found.stations, single.stations, strict=True):
            assert many.fastest_mach[draw] == pytest.approx(one.fastest_mach, rel=1e-9)
            assert many.fastest_speed[draw] == pytest.approx(one.fastest_speed, rel=1e-9)
            assert many.loss[draw] == pytest.approx(one.loss, rel=1e-7, abs=1e-6)


@pytest.mark.parametrize("seed", range(3))
def test_few_draws_of_a_calm_run_go_as_they_do_among_many(seed: int) -> None:
    """Few are taken through all pieces at once, many through one after another."""
    rng = np.random.default_rng(seed)
    run, flow = drawn_run(rng), rng.uniform(0.02, 0.12, DRAWS)
    pressure, temperature = rng.uniform(1.5e5, 2.1e5, DRAWS), rng.uniform(300.0, 420.0, DRAWS)
    among = eleven_times(run)
    conditions = [np.tile(one, 11) for one in (flow, pressure, temperature)]

    few = march_many(together(run), flow, pressure, temperature, gas.AIR)
    many = march_many(together(among), conditions[0], conditions[1], conditions[2], gas.AIR)

    assert few.passes.all()
    assert few.fastest_machs == pytest.approx(many.fastest_machs[:, :DRAWS], rel=1e-11)
    assert few.fastest_speeds == pytest.approx(many.fastest_speeds[:, :DRAWS], rel=1e-11)
    assert few.losses == pytest.approx(many.losses[:, :DRAWS], rel=1e-9, abs=1e-8)
    assert few.loss == pytest.approx(many.loss[:DRAWS], rel=1e-10)
    assert few.outlet_pressure == pytest.approx(many.outlet_pressure[:DRAWS], rel=1e-12)


@pytest.mark.parametrize(
    ("at", "size", "low", "high"),
    [
        (0, "length", 0.1, 0.5),
        (1, "bend_factor", 0.7, 1.3),
        (2, "half_angle", 0.05, 0.3),
        (2, "step_factor", 0.7, 1.3),
        (3, "bend_factor", 0.7, 1.3),
        (3, "bore_in", 0.044, 0.056),
    ],
)
def test_one_size_in_doubt_moves_the_run_as_it_does_alone(
    at: int, size: str, low: float, high: float
) -> None:
    """The other sizes are one number for all draws; the last piece bends without an arc of its own."""
    run = [
        Element("1", "straight", 0.05, 0.05, length=0.4),
        Element("2", "bend", 0.05, 0.05, length=0.1, bend_angle=1.2, bend_radius=0.08),
        Element("3", "cone", 0.05, 0.06, half_angle=0.1),
        Element("4", "straight", 0.05, 0.05, length=0.2, turns=((0.7, 0.09), (0.3, 0.0))),
    ]

    def with_size(value: Floats | float) -> list[Element]:
        return [*run[:at], replace(run[at], **{size: value}), *run[at + 1 :]]  # type: ignore[arg-type]

    drawn = np.linspace(low, high, 9)
    found = march_many(with_size(drawn), 0.15, 1.8e5, 350.0, gas.AIR)

    for draw, value in enumerate(drawn.tolist()):
        single = with_size(value)
        inlet = gas.stream_from_stagnation(0.15, 0.25 * pi * single[0].bore_in ** 2, 1.8e5, 350.0)
        assert inlet is not None
        loss = march(single, 0.15, inlet.pressure, inlet.temperature, False).loss
        assert found.loss[draw] == pytest.approx(loss, rel=1e-8)


def test_a_draw_that_cannot_be_does_not_pass() -> None:
    pipe = [Element("1", "straight", 0.05, 0.05, length=0.3)]
    flow, pressure = np.array([0.1, -0.1, 0.1]), np.array([1.5e5, 1.5e5, -1.5e5])
    assert march_many(pipe, flow, pressure, 300.0, gas.AIR).passes.tolist() == [True, False, False]


@pytest.mark.parametrize("seed", range(4))
def test_hot_runs_marched_at_once_ask_for_the_pressure_that_each_asks_for_alone(seed: int) -> None:
    """Against `back_march`, runs that pass the flow at Mach 1 alone among them."""
    rng = np.random.default_rng(seed)
    run, flow = drawn_run(rng), rng.uniform(0.05, 0.25, DRAWS)
    mixture, temperature = rng.uniform(0.7, 1.1, DRAWS), rng.uniform(950.0, 1200.0, DRAWS)
    behind = rng.uniform(1.0e5, 1.2e5, DRAWS)
    gases = [exhaust_gas("petrol-95", m, t) for m, t in zip(mixture, temperature, strict=True)]
    mixed = Gas(np.array([one.constant for one in gases]), np.array([one.gamma for one in gases]))  # type: ignore[arg-type]

    found = back_march_many(together(run), flow, behind, temperature, mixed, 1.1e5)

    for draw in range(DRAWS):
        single = back_march(alone(run, draw), flow[draw], behind[draw], temperature[draw], gases[draw])
        assert found.sonic[draw] == single.sonic
        assert single.march.loss is not None
        # Both close in on the pressure to a few hundredths of a pascal where the flow only just passes.
        assert found.inlet_pressure[draw] == pytest.approx(single.inlet_pressure, abs=0.2)
        assert found.loss[draw] == pytest.approx(single.march.loss, rel=1e-4 if single.sonic else 1e-6)


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("many", [False, True])
def test_a_calm_hot_run_comes_within_a_hundred_millionth_of_the_pressure_behind_it(
    seed: int, many: bool
) -> None:
    """Few are taken through all pieces at once, many through one after another, either way in a few passes.

    `back_march` comes within a thousandth of a pascal itself, which is as much.
    """
    rng = np.random.default_rng(seed)
    run, flow = drawn_run(rng), rng.uniform(0.02, 0.09, DRAWS)
    temperature, behind = rng.uniform(950.0, 1200.0, DRAWS), rng.uniform(1.0e5, 1.2e5, DRAWS)
    exhaust = exhaust_gas("petrol-95", 0.9, 1100.0)
    asked = [np.tile(one, 11) if many else one for one in (flow, behind, temperature)]

    found = back_march_many(
        together(eleven_times(run) if many else run), asked[0], asked[1], asked[2], exhaust, 1.1e5
    )

    assert not found.sonic.any()
    assert found.outlet_pressure == pytest.approx(asked[1], rel=1e-8)
    for draw in range(DRAWS):
        single = back_march(alone(run, draw), flow[draw], behind[draw], temperature[draw], exhaust)
        assert found.inlet_pressure[draw] == pytest.approx(single.inlet_pressure, rel=2e-8)
        assert found.loss[draw] == pytest.approx(single.march.loss, abs=3e-3)
        for many_one, one in zip(found.stations, single.march.stations, strict=True):
            assert many_one.fastest_mach[draw] == pytest.approx(one.fastest_mach, rel=1e-7)
            assert many_one.loss[draw] == pytest.approx(one.loss, abs=3e-3)


def test_factors_of_many_tubes_and_bends_are_those_of_each_alone() -> None:
    """Against `losses`, which asks `fluids`."""
    rng = np.random.default_rng(5)
    reynolds, rough = 10.0 ** rng.uniform(2.5, 6.5, 200), 10.0 ** rng.uniform(-6.0, -2.0, 200)
    factors = losses.friction_factors(reynolds, rough)
    bore, angle = rng.uniform(0.02, 0.1, 200), rng.uniform(0.05, pi, 200)
    radius = bore * rng.uniform(0.8, 4.0, 200)
    fixed, rubbed = losses.smooth_bends(bore, angle, radius)
    bends = fixed + rubbed * factors
    for at in range(200):
        assert factors[at] == pytest.approx(losses.friction(reynolds[at], rough[at]).factor, rel=1e-9)
        single = losses.smooth_bend(bore[at], angle[at], radius[at], factors[at])
        assert bends[at] == pytest.approx(single.value, rel=1e-12)
