"""The air an engine asks for, and the engine sheet walked from outside to manifold over the speed range."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import NamedTuple

from server.core.air import atmosphere, compressor, gas, intercooler
from server.core.air.fuels import FUELS


@dataclass(frozen=True, slots=True)
class AirDemand:
    """Air that an engine takes in.

    flow_kg_s: mass flow, [kg/s]. flow_m3_s: volume flow at the manifold's state, [m3/s].
    """

    flow_kg_s: float
    flow_m3_s: float


@dataclass(frozen=True, slots=True)
class EnginePoint:
    """The engine at one speed.

    rpm: [1/min]. volumetric_efficiency: on the manifold's density, [-].
    boost: manifold pressure above the air outside, gauge, [Pa].
    """

    rpm: float
    volumetric_efficiency: float
    boost: float


@dataclass(frozen=True, slots=True)
class EngineSheet:
    """The engine's numbers, four-stroke.

    displacement: [m3]. redline: [1/min]. points: at one speed or more. elevation: of the garage, [m].
    ambient_temperature: [K]. compressor_efficiency: isentropic, [-].
    intercooler_effectiveness: [-], 0 for none. intercooler_loss: compressor outlet to manifold, [Pa].
    intake_loss: outside to compressor inlet, [Pa]. fuel: a code of `fuels.FUELS`.
    overboost: highest boost there is, gauge, [Pa].
    exhaust_temperature: of the gas at the turbine's outlet at the peak, [K]; mixture: lambda at the peak,
    [-]; each None where nobody typed it, so that the usual one stands in.
    Both losses are those at full flow. They are used unscaled, so that below the peak they err on the
    safe side.
    """

    displacement: float
    redline: float
    points: tuple[EnginePoint, ...]
    elevation: float
    ambient_temperature: float
    compressor_efficiency: float
    intercooler_effectiveness: float
    intercooler_loss: float
    intake_loss: float
    fuel: str
    overboost: float
    exhaust_temperature: float | None = None
    mixture: float | None = None


class DemandPoint(NamedTuple):
    """The air at one engine speed, from outside to manifold.

    rpm: [1/min]. flow: [kg/s]. flow_at_manifold: [m3/s]. Pressures: absolute, [Pa]. Temperatures: [K].
    compressor_power: given to the air, [W]. beyond_points: the speed lies outside the sheet's points, so that
    the nearest point's efficiency and boost stand in. notes: what a reader must know.
    """

    rpm: float
    flow: float
    flow_at_manifold: float
    volumetric_efficiency: float
    boost: float
    ambient_pressure: float
    ambient_temperature: float
    compressor_inlet_pressure: float
    compressor_inlet_temperature: float
    pressure_ratio: float
    compressor_outlet_pressure: float
    compressor_outlet_temperature: float
    compressor_power: float
    manifold_pressure: float
    manifold_temperature: float
    beyond_points: bool
    notes: tuple[str, ...]


def air_demand(
    displacement: float,
    rpm: float,
    volumetric_efficiency: float,
    manifold_pressure: float,
    manifold_temperature: float,
) -> AirDemand:
    """Air that a four-stroke engine takes in.

    displacement: [m3]. rpm: [1/min]. volumetric_efficiency: on the manifold's density, [-].
    manifold_pressure: absolute, [Pa]. manifold_temperature: [K].
    Errors: ValueError where one of them is not above zero.
    Source: definition of volumetric efficiency, m = eta rho V N / 2
    (Heywood, Internal Combustion Engine Fundamentals, section 2.10).
    """
    given = (displacement, rpm, volumetric_efficiency, manifold_pressure, manifold_temperature)
    if not all(value > 0.0 for value in given):
        raise ValueError("Displacement, speed, efficiency, pressure and temperature are above zero.")
    volume = volumetric_efficiency * displacement * rpm / 120.0
    return AirDemand(volume * gas.density(manifold_pressure, manifold_temperature), volume)


def sheet_faults(sheet: EngineSheet) -> tuple[str, ...]:
    """Why a sheet gives no demand curve, in words; empty where it does. Source: definitions."""
    faults = []
    numbers = (sheet.displacement, sheet.redline, sheet.ambient_temperature)
    if not all(isfinite(value) and value > 0.0 for value in numbers):
        faults.append("Displacement, redline and outside temperature must be above zero.")
    if not sheet.points:
        faults.append("The sheet needs volumetric efficiency and boost at one engine speed or more.")
    speeds = [point.rpm for point in sheet.points]
    if len(set(speeds)) != len(speeds):
        faults.append("Two points have the same engine speed.")
    if any(point.rpm <= 0.0 or point.volumetric_efficiency <= 0.0 for point in sheet.points):
        faults.append("Engine speed and volumetric efficiency must be above zero at every point.")
    if not 0.0 < sheet.compressor_efficiency <= 1.0:
        faults.append("Compressor efficiency lies above 0 and not above 1.")
    if not 0.0 <= sheet.intercooler_effectiveness <= 1.0:
        faults.append("Intercooler effectiveness lies between 0 and 1.")
    if sheet.intercooler_loss < 0.0 or sheet.intake_loss < 0.0:
        faults.append("A loss can't be below zero.")
    if sheet.fuel not in FUELS:
        faults.append(f"The fuel must be one of {', '.join(FUELS)}.")
    elevation_fault = atmosphere.elevation_fault(sheet.elevation)
    if elevation_fault is not None:
        faults.append(elevation_fault)
        return tuple(faults)
    ambient_pressure = atmosphere.standard(sheet.elevation).pressure
    if sheet.intake_loss >= ambient_pressure:
        faults.append("The intake loss is as large as the pressure outside.")
    if any(point.boost <= -ambient_pressure for point in sheet.points):
        faults.append("A boost below zero pressure: boost is gauge, above the air outside.")
    return tuple(faults)


@dataclass(frozen=True, slots=True)
class Walk:
    """The way of the air at one engine speed, but for how well the compressor does.

    at: the engine there. beyond_points: as `DemandPoint`.
    """

    sheet: EngineSheet
    ambient: gas.AirState
    at: EnginePoint
    beyond_points: bool

    def demand(self, efficiency: float) -> DemandPoint:
        """The air with a compressor of this isentropic efficiency, [-].

        Errors: ValueError for one outside (0, 1]. Source: as `demand_curve`.
        """
        sheet, ambient, at = self.sheet, self.ambient, self.at
        manifold_pressure = ambient.pressure + at.boost
        ratio = compressor.pressure_ratio(
            manifold_pressure, sheet.intercooler_loss, ambient.pressure, sheet.intake_loss
        )
        # Temperature does not depend on flow here, so the flow can follow it; the power follows the flow.
        per_flow = compressor.compress(ambient.temperature, ratio, efficiency, 1.0)
        manifold_temperature = intercooler.cooled_temperature(
            per_flow.outlet_temperature, ambient.temperature, sheet.intercooler_effectiveness
        )
        demand = air_demand(
            sheet.displacement, at.rpm, at.volumetric_efficiency, manifold_pressure, manifold_temperature
        )
        notes = per_flow.notes
        if self.beyond_points:
            outside = "Outside the sheet's points: the nearest point's efficiency and boost stand in."
            notes = (*notes, outside)
        return DemandPoint(
            rpm=at.rpm,
            flow=demand.flow_kg_s,
            flow_at_manifold=demand.flow_m3_s,
            volumetric_efficiency=at.volumetric_efficiency,
            boost=at.boost,
            ambient_pressure=ambient.pressure,
            ambient_temperature=ambient.temperature,
            compressor_inlet_pressure=ambient.pressure - sheet.intake_loss,
            compressor_inlet_temperature=ambient.temperature,
            pressure_ratio=ratio,
            compressor_outlet_pressure=manifold_pressure + sheet.intercooler_loss,
            compressor_outlet_temperature=per_flow.outlet_temperature,
            compressor_power=demand.flow_kg_s * per_flow.power,
            manifold_pressure=manifold_pressure,
            manifold_temperature=manifold_temperature,
            beyond_points=self.beyond_points,
            notes=notes,
        )


def walks(sheet: EngineSheet, rpms: Sequence[float]) -> tuple[Walk, ...]:
    """The air's way at each engine speed asked for, in the same order. rpms: [1/min], each above zero.

    Between the sheet's points efficiency and boost are interpolated linearly; outside them the nearest
    point's stand in and `beyond_points` says so.
    Errors: ValueError for a sheet with `sheet_faults`. Source: as `demand_curve`.
    """
    faults = sheet_faults(sheet)
    if faults:
        raise ValueError(" ".join(faults))
    ambient = atmosphere.outside(sheet.elevation, sheet.ambient_temperature)
    points = sorted(sheet.points, key=lambda point: point.rpm)
    return tuple(
        Walk(sheet, ambient, _point_at(points, rpm), not points[0].rpm <= rpm <= points[-1].rpm)
        for rpm in rpms
    )


def walk_at(sheet: EngineSheet, at: EnginePoint) -> Walk:
    """The air's way with the engine at a point, whatever the sheet's own points say.

    sheet: one without `sheet_faults`. Errors: none here, ValueError from `Walk.demand` for a point with a
    number that is not above zero. Source: as `demand_curve`.
    """
    return Walk(sheet, atmosphere.outside(sheet.elevation, sheet.ambient_temperature), at, False)


def demand_curve(sheet: EngineSheet, rpms: Sequence[float]) -> tuple[DemandPoint, ...]:
    """Air demand over the engine speeds asked for.

    sheet: the engine. rpms: [1/min], each above zero. Returns one point for each, in the same order, as
    `walks` finds it. Errors: ValueError for a sheet with `sheet_faults`.
    Source: `atmosphere`, `compressor`, `intercooler` and `air_demand`, one after another along the air's way.
    """
    return tuple(walk.demand(sheet.compressor_efficiency) for walk in walks(sheet, rpms))


def sheet_speeds(sheet: EngineSheet, step: float) -> tuple[float, ...]:
    """Engine speeds worth plotting: steps from the lowest point to the redline, points and ends included.

    step: [1/min], above zero. Returns [1/min], rising. Errors: ValueError for a step that is not above zero.
    Source: definition.
    """
    if step <= 0.0:
        raise ValueError("The step is above zero.")
    if not sheet.points:
        return ()
    lowest = min(point.rpm for point in sheet.points)
    if lowest >= sheet.redline:
        return (sheet.redline,)
    count = int((sheet.redline - lowest) / step)
    grid = {lowest + number * step for number in range(count + 1)}
    points = {point.rpm for point in sheet.points if point.rpm <= sheet.redline}
    return tuple(sorted(grid | points | {sheet.redline}))


def peak(curve: Sequence[DemandPoint]) -> DemandPoint | None:
    """The point of greatest mass flow, or None where the curve is empty. Source: definition."""
    return max(curve, key=lambda point: point.flow, default=None)


def _point_at(points: Sequence[EnginePoint], rpm: float) -> EnginePoint:
    """The engine at a speed: interpolated linearly, the nearest point's values outside them."""
    if rpm <= points[0].rpm:
        return EnginePoint(rpm, points[0].volumetric_efficiency, points[0].boost)
    for lower, upper in pairwise(points):
        if rpm <= upper.rpm:
            share = (rpm - lower.rpm) / (upper.rpm - lower.rpm)
            efficiency = lower.volumetric_efficiency + share * (
                upper.volumetric_efficiency - lower.volumetric_efficiency
            )
            return EnginePoint(rpm, efficiency, lower.boost + share * (upper.boost - lower.boost))
    return EnginePoint(rpm, points[-1].volumetric_efficiency, points[-1].boost)
