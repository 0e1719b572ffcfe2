"""An engine's line on a compressor's map, with the map's efficiency fed back into the temperature."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.core.air.compressor_map import CompressorMap, InletState, MapPoint, corrected_flow
from server.core.air.demand import EnginePoint, EngineSheet, demand_curve
from server.core.air.map_line import OperatingPoint, operating_line
from server.core.air.map_shape import Place, choke_margin, efficiency_at, shape, surge_margin
from tests.core.air.invented_map import invented_map

SHEET = EngineSheet(
    displacement=2.1e-3,
    redline=6600.0,
    points=(
        EnginePoint(2000.0, 0.85, 20e3),
        EnginePoint(4000.0, 0.95, 100e3),
        EnginePoint(6600.0, 0.90, 100e3),
    ),
    elevation=240.0,
    ambient_temperature=293.15,
    compressor_efficiency=0.70,
    intercooler_effectiveness=0.70,
    intercooler_loss=8e3,
    intake_loss=3e3,
    fuel="petrol-95",
    overboost=130e3,
)
MAP = invented_map()


def _scaled(flow: float, ratio: float = 1.0) -> CompressorMap:
    """The map for a turbo that passes more, or works higher."""
    return replace(
        MAP,
        points=tuple(
            replace(at, flow=flow * at.flow, ratio=1.0 + ratio * (at.ratio - 1.0)) for at in MAP.points
        ),
    )


def _at(sheet: EngineSheet, rpm: float, of: CompressorMap = MAP) -> OperatingPoint:
    (point,) = operating_line(sheet, [rpm], of)
    return point


@given(st.floats(2000.0, 6600.0), st.floats(0.0, 0.9), st.floats(0.4, 0.8))
def test_where_it_settles_the_maps_efficiency_is_the_one_the_temperature_was_worked_out_with(
    rpm: float, effectiveness: float, guess: float
) -> None:
    sheet = replace(SHEET, intercooler_effectiveness=effectiveness, compressor_efficiency=guess)
    point = _at(sheet, rpm)
    assert point.converged
    assert point.place is Place.inside
    assert point.efficiency is not None
    assert point.rounds <= 15
    assert efficiency_at(shape(MAP), point.flow, point.demand.pressure_ratio) == pytest.approx(
        point.efficiency, abs=1e-6
    )
    (again,) = demand_curve(replace(sheet, compressor_efficiency=point.efficiency), [rpm])
    assert point.demand == again


def test_the_inlet_loss_raises_both_pressure_ratio_and_corrected_flow() -> None:
    """Worked by hand from the definitions: inlet at 98 475 - 3 000 Pa and 293.15 K."""
    point, lossless = _at(SHEET, 6000.0), _at(replace(SHEET, intake_loss=0.0), 6000.0)
    inlet = InletState(95_475.0, 293.15)
    assert point.flow == pytest.approx(corrected_flow(point.demand.flow, inlet), rel=1e-4)
    assert point.flow > lossless.flow
    assert point.demand.pressure_ratio == pytest.approx(206_475.0 / 95_475.0, rel=1e-4)
    assert point.demand.pressure_ratio > lossless.demand.pressure_ratio


def test_the_margins_are_those_of_the_map_at_that_point() -> None:
    on = shape(MAP)
    for point in operating_line(SHEET, [2500.0, 4000.0, 6600.0], MAP):
        ratio = point.demand.pressure_ratio
        assert point.surge_margin == surge_margin(on, point.flow, ratio)
        assert point.choke_margin == choke_margin(on, point.flow, ratio)


@pytest.mark.parametrize(
    ("of", "where", "whose"),
    [
        (_scaled(4.0), Place.surge_side, "at its edge"),
        (_scaled(0.4), Place.choke_side, "at its edge"),
        (_scaled(1.0, 0.3), Place.above, "engine sheet's"),
        (_scaled(1.0, 12.0), Place.below, "engine sheet's"),
    ],
)
def test_off_the_map_there_is_no_efficiency_and_it_is_said_what_stands_in(
    of: CompressorMap, where: Place, whose: str
) -> None:
    point = _at(SHEET, 5000.0, of)
    assert point.place is where
    assert point.efficiency is None
    assert point.converged
    assert any(whose in note for note in point.notes)
    if where is Place.surge_side:
        assert point.surge_margin is not None
        assert point.surge_margin < 0.0
    if where is Place.choke_side:
        assert point.choke_margin is not None
        assert point.choke_margin < 0.0


def test_a_map_that_is_as_good_everywhere_leaves_the_sheets_sum_as_it_is() -> None:
    flat = replace(MAP, points=tuple(replace(at, efficiency=0.70) for at in MAP.points))
    assert _at(SHEET, 5000.0, flat).demand == demand_curve(SHEET, [5000.0])[0]


def test_another_reference_state_moves_the_line_as_its_correction_says() -> None:
    warm = replace(MAP, reference=InletState(100e3, 298.0))
    point = _at(SHEET, 5000.0, warm)
    inlet = InletState(point.demand.compressor_inlet_pressure, 293.15)
    assert point.flow == pytest.approx(corrected_flow(point.demand.flow, inlet, warm.reference))


def test_no_sheet_and_no_map_give_no_line() -> None:
    with pytest.raises(ValueError, match="Displacement"):
        operating_line(replace(SHEET, displacement=0.0), [3000.0], MAP)
    with pytest.raises(ValueError, match="enclose nothing"):
        operating_line(SHEET, [3000.0], CompressorMap((MapPoint(0.1, 1.5, 0.7),)))
    assert operating_line(SHEET, [], MAP) == ()
