"""Compressor map, corrected power, fuels and cooler against the world: `tests/reference/turbo.toml`."""

import tomllib
from collections import Counter
from collections.abc import Callable
from math import sqrt

import pytest

from server.core.air import compressor, corrected_power, fuels, intercooler, map_shape
from server.core.air.compressor_map import CompressorMap, InletState, MapPoint, corrected_flow
from server.core.air.intercooler import RatedDrop
from server.core.air.map_shape import MapShape, Place, place, shape
from tests.reference_values import FOLDER, Check, load

CHECKS = load("turbo")
OPEN_MAP = tomllib.loads((FOLDER / "turbo.toml").read_text(encoding="utf-8"))["ncp01"]


def _open_map(left_out: float | None = None) -> MapShape:
    """The published map, without one of its speed lines where one is named."""
    return shape(
        CompressorMap(
            tuple(
                MapPoint(flow, ratio, efficiency, speed)
                for speed, *rows in zip(
                    OPEN_MAP["speed"],
                    OPEN_MAP["flow"],
                    OPEN_MAP["ratio"],
                    OPEN_MAP["efficiency"],
                    strict=True,
                )
                if speed != left_out
                for flow, ratio, efficiency in zip(*rows, strict=True)
            )
        )
    )


def _efficiency(left_out: float, flow: float, ratio: float) -> float:
    return map_shape.efficiency_at(_open_map(left_out), flow, ratio) or 0.0


def _surge(left_out: float, ratio: float) -> float:
    return map_shape.surge_flow(_open_map(left_out), ratio) or 0.0


def _edge(left_out: float, ratio: float) -> float:
    edges = map_shape.edge_flows(_open_map(left_out), ratio)
    return edges[1] if edges else 0.0


def _older_factor(pressure: float, temperature: float, humidity: float) -> float:
    """The older standard's factor, which holds the dry pressure and nothing else of ours."""
    dry = corrected_power.dry_pressure(pressure, temperature, humidity)
    return 101_325.0 / dry * sqrt(temperature / 288.71)


def _drop(drop: float, rated_flow: float, rated_density: float, flow: float, density: float) -> float:
    return intercooler.pressure_drop(RatedDrop(drop, rated_flow, rated_density), flow, density)


SUBJECTS: dict[str, Callable[..., float]] = {
    "compressor_map.corrected_flow": lambda flow, pressure, temperature: corrected_flow(
        flow, InletState(pressure, temperature)
    ),
    "compressor.compress temperature": lambda **given: compressor.compress(**given).outlet_temperature,
    "map_shape.efficiency_at": _efficiency,
    "map_shape.surge_flow": _surge,
    "map_shape.edge_flows": _edge,
    "corrected_power.correction_factor": corrected_power.correction_factor,
    "corrected_power.dry_pressure older factor": _older_factor,
    "corrected_power.vapour_pressure": corrected_power.vapour_pressure,
    "fuels.FUELS heating_value": lambda code: fuels.FUELS[code].heating_value,
    "fuels.FUELS stoichiometric_ratio": lambda code: fuels.FUELS[code].stoichiometric_ratio,
    "intercooler.pressure_drop": _drop,
}


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_a_value_agrees_with_its_source(check: Check) -> None:
    ours = SUBJECTS[check.subject.removeprefix("core.air.")](**check.inputs)
    assert check.allows(ours), f"{check.quantity}: {check.source} has {check.expected}, ours is {ours}"


def test_the_values_come_from_many_sources_and_lean_on_no_single_formula() -> None:
    assert len({(check.source, check.quantity) for check in CHECKS}) >= 30
    assert max(Counter(check.subject for check in CHECKS).values()) <= 5


def test_every_point_of_a_published_map_lies_on_it_and_has_its_own_efficiency() -> None:
    """NASA compressor map ncp01."""
    on = _open_map()
    for point in on.of.points:
        assert place(on, point.flow, point.ratio) is Place.inside
        assert map_shape.efficiency_at(on, point.flow, point.ratio) == pytest.approx(
            point.efficiency, abs=1e-6
        )


def test_triangles_blind_to_speed_would_miss_a_published_line_by_far() -> None:
    """The same line of ncp01, read once along strips between speed lines and once over bare points."""
    row = OPEN_MAP["speed"].index(0.6)
    flow, ratio, published = (OPEN_MAP[name][row][4] for name in ("flow", "ratio", "efficiency"))
    strips = _open_map(0.6)
    bare = shape(CompressorMap(tuple(MapPoint(at.flow, at.ratio, at.efficiency) for at in strips.of.points)))
    along, blind = (map_shape.efficiency_at(on, flow, ratio) for on in (strips, bare))
    assert along == pytest.approx(published, abs=0.01)
    assert blind is not None
    assert abs(blind - published) > 0.05


def test_ninety_five_and_ninety_eight_differ_in_octane_and_not_in_heat() -> None:
    """Common practice, no source: octane says how much boost the fuel stands, not how much heat it holds."""
    assert fuels.PETROL_95.heating_value == fuels.PETROL_98.heating_value
    assert fuels.PETROL_98.boost_lambda >= fuels.PETROL_95.boost_lambda
    assert all(fuel.source and 0.7 <= fuel.boost_lambda <= 0.9 for fuel in fuels.FUELS.values())
