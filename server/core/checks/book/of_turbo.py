"""Rules of the turbocharger on its map, explained."""

from server.core.air.map_shape import edge_flows, shape, surge_flow
from server.core.checks import turbo
from server.core.checks.book import bench
from server.core.checks.book.explained import Example, Explained, Told
from server.core.checks.book.signs import Sign, at_least, is_
from server.core.units import Kind

_FLOW = Sign("m", "air at the compressor, corrected to the map's inlet", Kind.mass_flow)
_SURGE = Sign("m", "the same on the surge line, at the same pressure ratio", Kind.mass_flow, below="surge")
_EDGE = Sign("m", "the same at the map's right edge", Kind.mass_flow, below="edge")
_MARGIN = Sign("x", "distance, as a share", Kind.ratio, "percent")
_LEAST = Sign("x", "distance that is asked", Kind.ratio, "percent", below="least")


def surge() -> Example:
    """An engine low down on a map."""
    case = bench.turbocharger()
    facts = bench.facts(case)
    point = turbo.line_of(facts)[1]
    line = surge_flow(shape(turbo.map_of(facts)), point.demand.pressure_ratio)
    assert line is not None  # the map has this ratio
    given = {_FLOW: point.flow, _SURGE: line, _LEAST: facts.limit("map.surge")}
    text = "A four of 2.1 litres at 4,000 rpm on an invented map."
    item = f"{point.demand.rpm:.0f}"
    return Example(text, case, given, (Told(_MARGIN, item), Told(_LEAST, item, "limit")))


def edge() -> Example:
    """The same engine at its redline."""
    case = bench.turbocharger()
    facts = bench.facts(case)
    point = turbo.line_of(facts)[-1]
    edges = edge_flows(shape(turbo.map_of(facts)), point.demand.pressure_ratio)
    assert edges is not None  # the map has this ratio
    given = {_FLOW: point.flow, _EDGE: edges[1], _LEAST: facts.limit("map.edge")}
    text = "A four of 2.1 litres at its redline of 6,600 rpm, on the same invented map."
    item = f"{point.demand.rpm:.0f}"
    return Example(text, case, given, (Told(_MARGIN, item), Told(_LEAST, item, "limit")))


_DEFINED = "Makers measure these distances in several ways; this one is taken at the same pressure ratio."
EXPLAINED = (
    Explained(
        "map-surge",
        (is_(_MARGIN, (_FLOW - _SURGE) / _SURGE), at_least(_MARGIN, _LEAST)),
        surge,
        (at_least(_MARGIN, 0.0),),
        (_DEFINED, "Flow is corrected by the root of temperature over pressure at the compressor's inlet."),
    ),
    Explained(
        "map-edge",
        (is_(_MARGIN, (_EDGE - _FLOW) / _EDGE), at_least(_MARGIN, _LEAST)),
        edge,
        (at_least(_MARGIN, 0.0),),
        (_DEFINED,),
    ),
)
