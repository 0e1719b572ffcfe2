"""What a map encloses: places, margins, the efficiency between the points, and its contours."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from server.core.air.compressor_map import CompressorMap, MapPoint
from server.core.air.map_contours import contour_levels, contours
from server.core.air.map_shape import (
    CHOKE_DEFINITION,
    SURGE_DEFINITION,
    MapShape,
    Place,
    choke_margin,
    edge_flows,
    efficiency_at,
    place,
    read_between,
    shape,
    speed_lines,
    surge_flow,
    surge_margin,
)
from server.core.measure.many import many
from tests.core.air.invented_map import invented_map

BLOCK = shape(
    CompressorMap(
        (
            MapPoint(0.10, 1.5, 0.60, 90e3),
            MapPoint(0.20, 1.5, 0.70, 90e3),
            MapPoint(0.20, 2.5, 0.70, 150e3),
            MapPoint(0.40, 2.5, 0.80, 150e3),
        )
    )
)
"""A map small enough to do by hand: a slanted four-sided field."""

scattered = st.lists(
    st.builds(MapPoint, st.floats(0.02, 0.5), st.floats(1.0, 4.0), st.floats(0.4, 0.82)),
    min_size=4,
    max_size=25,
    unique_by=(lambda at: round(at.flow, 3), lambda at: round(at.ratio, 2)),
)
lined = st.lists(st.floats(0.3, 1.0), min_size=2, max_size=6, unique_by=lambda at: round(at, 1)).map(
    lambda speeds: invented_map(tuple(speeds))
)


def _shape(points: list[MapPoint]) -> MapShape:
    try:
        return shape(CompressorMap(tuple(points)))
    except ValueError:
        assume(False)
        raise


def _without_speeds(of: CompressorMap) -> CompressorMap:
    return replace(of, points=tuple(replace(point, speed=None) for point in of.points))


def test_a_map_done_by_hand_at_half_its_height() -> None:
    """At ratio 2.0 the left edge stands at 0.15 and the right one at 0.30 kg/s: halves of the sides."""
    assert surge_flow(BLOCK, 2.0) == pytest.approx(0.15)
    assert edge_flows(BLOCK, 2.0) == pytest.approx((0.15, 0.30))
    assert surge_margin(BLOCK, 0.20, 2.0) == pytest.approx((0.20 - 0.15) / 0.15)
    assert choke_margin(BLOCK, 0.20, 2.0) == pytest.approx((0.30 - 0.20) / 0.30)
    assert efficiency_at(BLOCK, 0.15, 2.0) == pytest.approx(0.65)
    assert efficiency_at(BLOCK, 0.30, 2.0) == pytest.approx(0.75)
    assert "same pressure ratio" in SURGE_DEFINITION
    assert "no source" in CHOKE_DEFINITION


@pytest.mark.parametrize(
    ("flow", "ratio", "where"),
    [
        (0.20, 2.0, Place.inside),
        (0.15, 2.0, Place.inside),
        (0.14, 2.0, Place.surge_side),
        (0.31, 2.0, Place.choke_side),
        (0.30, 2.6, Place.above),
        (0.15, 1.4, Place.below),
    ],
)
def test_outside_is_an_answer_with_a_side_and_no_efficiency(flow: float, ratio: float, where: Place) -> None:
    assert place(BLOCK, flow, ratio) is where
    assert (efficiency_at(BLOCK, flow, ratio) is None) == (where is not Place.inside)


def test_margins_turn_negative_beyond_their_line_and_end_with_the_map() -> None:
    assert surge_margin(BLOCK, 0.12, 2.0) == pytest.approx(-0.2)
    assert choke_margin(BLOCK, 0.36, 2.0) == pytest.approx(-0.2)
    assert surge_margin(BLOCK, 0.2, 3.0) is None
    assert choke_margin(BLOCK, 0.2, 1.2) is None


def test_many_ratios_at_once_have_the_margins_that_each_has_by_itself() -> None:
    """Ratios of the map's own corners, of its flat top and foot, between them, and above and below it."""
    flows, ratios = [0.12, 0.20, 0.36, 0.25, 0.30, 0.2, 0.2], [2.0, 1.5, 2.25, 2.5, 1.75, 3.0, 1.2]
    for margin in (surge_margin, choke_margin):
        alone = [margin(BLOCK, flow, ratio) for flow, ratio in zip(flows, ratios, strict=True)]
        assert alone[-2:] == [None, None]
        together = margin(BLOCK, many(np.array(flows)), many(np.array(ratios)))
        assert together is not None
        np.testing.assert_allclose(together, [np.nan if one is None else one for one in alone], rtol=1e-12)
        assert margin(BLOCK, 0.2, many(np.array([3.0, 1.2]))) is None


def test_with_speeds_the_surge_line_joins_the_left_ends_and_without_it_is_the_left_hull() -> None:
    of = invented_map()
    by_speed, bare = shape(of), shape(_without_speeds(of))
    ends = [line.points[0] for line in speed_lines(of)]
    assert by_speed.by_speed
    assert by_speed.surge_line == tuple((end.flow, end.ratio) for end in ends)
    assert not bare.by_speed
    assert speed_lines(bare.of) == ()
    assert set(bare.surge_line) <= {(at.flow, at.ratio) for at in of.points}
    assert "No speed lines" in bare.notes[0]
    for low, high in pairwise(bare.surge_line):
        assert low[0] <= high[0], "below the leftmost point the hull only ends: it is no surge line"
        assert low[1] < high[1]
    assert bare.choke_line[0][1] == min(at.ratio for at in of.points)


def test_a_hollow_surge_line_is_kept_and_not_bridged() -> None:
    """Left of an end that stands in from its neighbours the hull would call surge the inside."""
    hollow = shape(
        CompressorMap(
            (
                MapPoint(0.05, 1.5, 0.6, 60e3),
                MapPoint(0.20, 1.4, 0.6, 60e3),
                MapPoint(0.16, 2.0, 0.7, 90e3),
                MapPoint(0.30, 1.8, 0.7, 90e3),
                MapPoint(0.18, 3.0, 0.7, 120e3),
                MapPoint(0.40, 2.5, 0.7, 120e3),
            )
        )
    )
    assert place(hollow, 0.12, 2.0) is Place.surge_side
    assert place(shape(_without_speeds(hollow.of)), 0.12, 2.0) is Place.inside


def test_a_dip_in_the_highest_speed_line_is_above_the_map_and_a_rise_in_the_lowest_below() -> None:
    dipped = shape(
        CompressorMap(
            (
                MapPoint(0.10, 1.4, 0.6, 60e3),
                MapPoint(0.20, 1.6, 0.6, 60e3),
                MapPoint(0.30, 1.4, 0.6, 60e3),
                MapPoint(0.15, 2.5, 0.7, 90e3),
                MapPoint(0.25, 2.0, 0.7, 90e3),
                MapPoint(0.35, 2.5, 0.7, 90e3),
            )
        )
    )
    assert place(dipped, 0.25, 2.3) is Place.above
    assert place(dipped, 0.20, 1.5) is Place.below


def test_under_the_lowest_speed_line_is_below_the_map_and_not_surge() -> None:
    on = shape(invented_map())
    foot, end = on.surge_line[0], on.choke_line[0]
    assert place(on, 0.5 * (foot[0] + end[0]), end[1] + 0.01) is Place.below
    assert place(on, 0.9 * foot[0], foot[1] + 0.01) is Place.surge_side


@pytest.mark.parametrize(
    "points",
    [
        (),
        (MapPoint(0.1, 1.5, 0.7), MapPoint(0.2, 1.6, 0.7)),
        tuple(MapPoint(0.1 * at, 1.0 + 0.5 * at, 0.7) for at in (1, 2, 3)),
        tuple(MapPoint(0.1 * at, 2.0, 0.7) for at in (1, 2, 3)),
    ],
)
def test_points_that_enclose_nothing_give_no_shape(points: tuple[MapPoint, ...]) -> None:
    with pytest.raises(ValueError, match="enclose nothing"):
        shape(CompressorMap(points))


@given(scattered, st.data())
def test_between_the_points_of_a_bare_map_efficiency_stays_within_theirs(
    points: list[MapPoint], data: st.DataObject
) -> None:
    on = _shape(points)
    weights = data.draw(st.lists(st.floats(0.01, 1.0), min_size=len(points), max_size=len(points)))
    total = sum(weights)
    flow = sum(weight * at.flow for weight, at in zip(weights, points, strict=True)) / total
    ratio = sum(weight * at.ratio for weight, at in zip(weights, points, strict=True)) / total
    assert place(on, flow, ratio) is Place.inside
    found = efficiency_at(on, flow, ratio)
    assert found is not None
    assert min(at.efficiency for at in points) - 1e-9 <= found <= max(at.efficiency for at in points) + 1e-9


@given(lined, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_between_the_edges_of_a_map_with_speeds_there_is_an_efficiency_within_the_points(
    of: CompressorMap, up: float, across: float
) -> None:
    on = shape(of)
    ratios = [corner[1] for corner in on.outline]
    ratio = min(ratios) + up * (max(ratios) - min(ratios))
    edges = edge_flows(on, ratio)
    assert edges is not None
    flow = edges[0] + across * (edges[1] - edges[0])
    assume(place(on, flow, ratio) is Place.inside)
    found = efficiency_at(on, flow, ratio)
    assert found is not None
    assert min(at.efficiency for at in of.points) - 1e-9 <= found
    assert found <= max(at.efficiency for at in of.points) + 1e-9


@given(lined, st.sampled_from([True, False]))
def test_a_map_gives_its_own_points_back(of: CompressorMap, speeds: bool) -> None:
    on = shape(of if speeds else _without_speeds(of))
    for at in of.points:
        assert place(on, at.flow, at.ratio) is Place.inside
        assert read_between(on, at.flow, at.ratio) == pytest.approx(at.efficiency, abs=1e-6)


@given(lined, st.floats(0.1, 20.0), st.floats(0.01, 0.4), st.floats(1.0, 4.0))
def test_a_map_with_flows_scaled_has_the_margins_of_scaled_flows(
    of: CompressorMap, scale: float, flow: float, ratio: float
) -> None:
    larger = replace(of, points=tuple(replace(at, flow=scale * at.flow) for at in of.points))
    for margin in (surge_margin, choke_margin):
        ours, theirs = margin(shape(of), flow, ratio), margin(shape(larger), scale * flow, ratio)
        assert ours == (None if theirs is None else pytest.approx(theirs, abs=1e-9))


@settings(deadline=None)
@given(lined, st.sampled_from([True, False]), st.floats(0.01, 0.05))
def test_every_corner_of_a_contour_has_the_contours_efficiency(
    of: CompressorMap, speeds: bool, step: float
) -> None:
    on = shape(of if speeds else _without_speeds(of))
    for contour in contours(on, contour_levels(on, step)):
        for flow, ratio in contour.spots:
            assert read_between(on, flow, ratio) == pytest.approx(contour.efficiency, abs=1e-6)


@given(scattered, st.data())
def test_speed_lines_however_odd_are_read_without_a_stumble(
    points: list[MapPoint], data: st.DataObject
) -> None:
    """What was mistyped may look odd on a map; it has to be seen to be put right."""
    speeds = data.draw(
        st.lists(st.sampled_from([6e4, 9e4, 12e4]), min_size=len(points), max_size=len(points))
    )
    on = _shape([replace(at, speed=speed) for at, speed in zip(points, speeds, strict=True)])
    least, most = (pick(at.efficiency for at in points) for pick in (min, max))
    for at in points:
        assert isinstance(place(on, at.flow, at.ratio), Place)
        found = efficiency_at(on, at.flow, at.ratio)
        assert found is None or least - 1e-9 <= found <= most + 1e-9
    for contour in contours(on, contour_levels(on, 0.05)):
        assert len(contour.spots) > 1


def test_a_lone_summit_is_ringed_by_closed_contours() -> None:
    hill = shape(
        CompressorMap(
            (
                MapPoint(0.1, 1.5, 0.60),
                MapPoint(0.3, 1.5, 0.60),
                MapPoint(0.3, 2.5, 0.60),
                MapPoint(0.1, 2.5, 0.60),
                MapPoint(0.2, 2.0, 0.80),
            )
        )
    )
    (ring,) = contours(hill, [0.70])
    assert ring.closed
    assert sorted(ring.spots) == [
        pytest.approx(spot) for spot in ((0.15, 1.75), (0.15, 2.25), (0.25, 1.75), (0.25, 2.25))
    ]
    assert contours(hill, [0.80]) == ()
    assert contours(hill, [0.90]) == ()


def test_a_contour_that_leaves_the_map_is_open_and_runs_from_edge_to_edge() -> None:
    (line,) = contours(BLOCK, [0.75])
    assert not line.closed
    assert len(line.spots) >= 2
    assert contour_levels(BLOCK, 0.05) == (0.65, 0.70, 0.75)
    with pytest.raises(ValueError, match="step"):
        contour_levels(BLOCK, 0.0)
