"""Where an engine works on a compressor's map over its speeds, with the map's own efficiency fed back."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scipy.optimize import brentq

from server.core.air.compressor_map import CompressorMap, InletState, corrected_flow
from server.core.air.demand import DemandPoint, EngineSheet, Walk, walks
from server.core.air.map_shape import (
    MapShape,
    Place,
    choke_margin,
    edge_flows,
    place,
    read_between,
    shape,
    surge_margin,
)

_SETTLED = 1e-9
"""Efficiency under which two rounds count as one, [-]."""

_ROUNDS = 40
"""More than any map has needed: the bracket halves at worst."""


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """The engine on the map at one engine speed.

    demand: the air from outside to manifold, worked out with the map's efficiency. flow: corrected, [kg/s].
    place: on the map. efficiency: isentropic, [-], None outside the map. surge_margin, choke_margin: [-],
    None where the map has no such ratio; below zero outside. converged: whether efficiency and flow agree.
    rounds: how many it took. notes: what a reader must know. used: the efficiency it was worked out with.
    """

    demand: DemandPoint
    flow: float
    place: Place
    efficiency: float | None
    surge_margin: float | None
    choke_margin: float | None
    converged: bool
    rounds: int
    notes: tuple[str, ...]
    used: float


def operating_line(
    sheet: EngineSheet, rpms: Sequence[float], of: CompressorMap
) -> tuple[OperatingPoint, ...]:
    """An engine's line on a compressor's map.

    sheet: the engine; its intake loss lowers the inlet pressure and so raises both pressure ratio and
    corrected flow. rpms: engine speeds, [1/min]. Returns one point for each, in the same order.
    Flow depends on the manifold's temperature, that on the efficiency, and that on the flow: the efficiency
    is sought at which they agree. Where the engine asks for a flow beyond the map's edge, the edge's
    efficiency stands in for the temperature, and above or below the map the sheet's; `place` and `notes` say
    so and `efficiency` is None.
    Errors: ValueError for a sheet with `sheet_faults` or a map whose points enclose nothing.
    Source: `demand_curve`, `corrected_flow` and `efficiency_at`; bracketed root (Brent, through scipy).
    """
    on = shape(of)
    return tuple(_operating_point(walk, on) for walk in walks(sheet, rpms))


def moved_line(
    sheet: EngineSheet, of: CompressorMap, line: Sequence[OperatingPoint]
) -> tuple[OperatingPoint, ...]:
    """Flow, ratio and margins of a line moved a little by other boost or volumetric efficiency.

    sheet: with the other values. line: as `operating_line` gave it for the sheet before; each point keeps its
    efficiency and the rest that was said of it. Seeking the efficiency again would change the flow by far
    less than the move does, and take most of the time. Errors and source: as `operating_line`.
    """
    on = shape(of)
    moved = walks(sheet, [point.demand.rpm for point in line])
    return tuple(_moved(walk, on, point) for walk, point in zip(moved, line, strict=True))


def _moved(walk: Walk, on: MapShape, point: OperatingPoint) -> OperatingPoint:
    demand = walk.demand(point.used)
    flow, ratio = _flow(demand, on), demand.pressure_ratio
    surge, edge = surge_margin(on, flow, ratio), choke_margin(on, flow, ratio)
    return replace(point, demand=demand, flow=flow, surge_margin=surge, choke_margin=edge)


def _operating_point(walk: Walk, on: MapShape) -> OperatingPoint:
    efficiency, converged, rounds = _settled(walk, on)
    demand = walk.demand(efficiency)
    flow, ratio = _flow(demand, on), demand.pressure_ratio
    where = place(on, flow, ratio)
    notes = list(demand.notes)
    if where is not Place.inside:
        whose = (
            "the engine sheet's efficiency" if edge_flows(on, ratio) is None else "the efficiency at its edge"
        )
        notes.append(f"Outside the map: {whose} stands in for the temperature.")
    if not converged:
        notes.append("Flow and efficiency did not come to agree: take this point as a rough one.")
    return OperatingPoint(
        demand=demand,
        flow=flow,
        place=where,
        efficiency=efficiency if where is Place.inside else None,
        surge_margin=surge_margin(on, flow, ratio),
        choke_margin=choke_margin(on, flow, ratio),
        converged=converged,
        rounds=rounds,
        notes=tuple(notes),
        used=efficiency,
    )


def _settled(walk: Walk, on: MapShape) -> tuple[float, bool, int]:
    """(efficiency at which flow and efficiency agree, whether they do, rounds)."""
    values = [point.efficiency for point in on.of.points]
    lowest, highest = min(values), max(values)
    # Pressure ratio does not depend on efficiency, so one round tells what the map has at it.
    ratio = walk.demand(highest).pressure_ratio
    edges, otherwise = edge_flows(on, ratio), walk.sheet.compressor_efficiency
    if edges is None:
        return otherwise, True, 0
    left, right = edges

    def apart(efficiency: float) -> float:
        flow = _flow(walk.demand(efficiency), on)
        found = read_between(on, min(max(flow, left), right), ratio)
        return (otherwise if found is None else found) - efficiency

    # What the map gives lies between its least and greatest: the two ends bracket the answer.
    if apart(lowest) <= 0.0:
        return lowest, True, 1
    if apart(highest) >= 0.0:
        return highest, True, 1
    root, report = brentq(
        apart, lowest, highest, xtol=_SETTLED, maxiter=_ROUNDS, full_output=True, disp=False
    )
    return float(root), bool(report.converged), int(report.function_calls)


def _flow(at: DemandPoint, on: MapShape) -> float:
    inlet = InletState(at.compressor_inlet_pressure, at.compressor_inlet_temperature)
    return corrected_flow(at.flow, inlet, on.of.reference)
