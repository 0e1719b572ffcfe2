"""What a run is checked against: its plan, the engine at its peak, changed limits and what was conceded."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cached_property

from server.core.air.demand import (
    DemandPoint,
    EnginePoint,
    EngineSheet,
    demand_curve,
    peak,
    sheet_faults,
    sheet_speeds,
    walk_at,
)
from server.core.air.exhaust import (
    LEAST_MIXTURE,
    MOST_MIXTURE,
    USUAL_TEMPERATURE,
    exhaust_flow,
    exhaust_gas,
)
from server.core.air.fuels import FUELS
from server.core.air.gas import AIR, Gas
from server.core.air.spread import bend_doubt, step_doubt
from server.core.checks.figures import OWNER, Figures
from server.core.measure.estimate import Estimate
from server.core.measure.many import greatest, least
from server.core.tube.run import PiecePlan, Place, PortPlan, RunPlan, variable, variables
from server.core.tube.space.in_car import Lies

_SPEED_STEP = 250.0
"""Between the engine speeds at which the peak is looked for, [1/min]."""

BUNG_PLACE_DOUBT = 0.001
BUNG_BORE_DOUBT = 0.0001
"""Standard uncertainties of a bung's marked place and drilled bore, [m]; common practice, no source."""

COMPRESSOR_EFFICIENCY_DOUBT = 0.02
"""Standard uncertainty of a compressor efficiency read off a map, [-]; common practice, no source."""

BONNET_DOUBT = 10.0
"""Standard uncertainty of the air temperature around the hoses, [K]; common practice, no source."""

EXHAUST_DOUBT = 30.0
USUAL_EXHAUST_DOUBT = 60.0
"""Standard uncertainties of an exhaust temperature that was typed, and of the usual one, [K]; common
practice, no source."""

MIXTURE_DOUBT = 0.02
USUAL_MIXTURE_DOUBT = 0.04
"""Standard uncertainties of a mixture that was typed, and of the fuel's usual one, lambda [-]; common
practice, no source."""

USUAL_EXHAUST = Estimate(USUAL_TEMPERATURE, USUAL_EXHAUST_DOUBT)
"""Exhaust temperature where nobody typed one, [K]."""

EXACT_MIXTURE = Estimate(1.0, USUAL_MIXTURE_DOUBT)
"""Mixture of a case that was not made from an engine sheet, lambda [-]."""

HOT_PLACES = frozenset({Place.DOWNPIPE, Place.EXHAUST})
"""Where the run carries exhaust."""

BURNING_PLACES = HOT_PLACES | {Place.FUEL, Place.WASTEGATE}
"""Where the mixture counts that the engine burns."""


MARCHED_PLACES = HOT_PLACES | {Place.INTAKE, Place.CHARGE_PIPE, Place.COOLER_PIPE}
"""Where a run is marched, so that loss coefficients count."""

BENDS, STEPS = "method.bends", "method.steps"
"""Factors on the loss coefficients of bends, and of steps and cones: 1, as sure as their authorities agree.
Nobody can measure them. `flow` takes them as powers of e."""


class MeterPlace(StrEnum):
    """Where the air meter stands; the value is the label."""

    BEFORE_COMPRESSOR = "before compressor"
    AFTER_COMPRESSOR = "after compressor"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class EngineState:
    """The air, or the exhaust, that a run gets at the peak.

    flow: [kg/s]. pressure: stagnation, absolute, at the run's inlet, of a hot run the air outside instead,
    [Pa]. temperature: stagnation, at the run's inlet, [K]. ambient_pressure: [Pa]. boost: steady, gauge, at
    the peak, [Pa]. highest_boost: the highest gauge pressure there is, at any speed, [Pa]. hottest:
    stagnation temperature at the run's inlet at the speed at which it is hottest, [K]. bonnet_temperature:
    around the hoses, [K]. filter_loss: before the run in an intake, [Pa]. demand: the whole walk at this
    speed. gas: what flows. mixture: lambda that is burnt, of `BURNING_PLACES` alone, [-].
    """

    flow: float
    pressure: float
    temperature: float
    ambient_pressure: float
    boost: float
    highest_boost: float
    hottest: float
    bonnet_temperature: float
    filter_loss: float
    demand: DemandPoint
    gas: Gas = AIR
    mixture: float = 1.0


@dataclass(frozen=True, slots=True)
class EngineCase:
    """The engine as a run is checked against it.

    efficiency: factor on the sheet's volumetric efficiency, 1 with its doubt, [-]. boost: added to the
    sheet's boost and highest boost, 0 with its doubt, [Pa]. compressor_efficiency: [-].
    bonnet_temperature: [K]. meter_range: greatest flow the air meter reads, [kg/s], None where not typed.
    at_peak: the demand at the peak. hotter: by how much the run's air is hotter at its hottest speed, [K].
    exhaust_temperature: at the turbine's outlet, [K]. mixture: lambda, [-], for hot runs alone.
    """

    sheet: EngineSheet
    place: Place
    at_peak: DemandPoint
    efficiency: Estimate
    boost: Estimate
    compressor_efficiency: Estimate
    bonnet_temperature: Estimate
    meter_range: float | None = None
    meter_place: MeterPlace = MeterPlace.BEFORE_COMPRESSOR
    hotter: float = 0.0
    exhaust_temperature: Estimate = USUAL_EXHAUST
    mixture: Estimate = EXACT_MIXTURE

    @property
    def usual_temperature(self) -> bool:
        """Nobody typed the exhaust's temperature: the usual one stands in."""
        return self.sheet.exhaust_temperature is None

    def variables(self) -> dict[str, Estimate]:
        """The engine's doubtful values by variable name."""
        found = {
            "engine.efficiency": self.efficiency,
            "engine.boost": self.boost,
            "engine.compressor_efficiency": self.compressor_efficiency,
            "engine.bonnet_temperature": self.bonnet_temperature,
            "engine.exhaust_temperature": self.exhaust_temperature,
        }
        if self.place in BURNING_PLACES:
            found["engine.mixture"] = self.mixture
        return found

    def state(self, values: Mapping[str, float]) -> EngineState:
        """The engine walked again at the peak's speed with these values; source: `air.demand`."""
        point = EnginePoint(
            self.at_peak.rpm,
            self.at_peak.volumetric_efficiency * values["engine.efficiency"],
            self.at_peak.boost + values["engine.boost"],
        )
        efficiency = least(greatest(values["engine.compressor_efficiency"], 0.01), 1.0)
        demand = walk_at(self.sheet, point).demand(efficiency)
        pressure, temperature = _at_inlet(self.place, demand)
        flow, gas, mixture = demand.flow, AIR, 1.0
        if self.place in BURNING_PLACES:
            mixture = least(greatest(values["engine.mixture"], LEAST_MIXTURE), MOST_MIXTURE)
        if self.place in HOT_PLACES:
            temperature = values["engine.exhaust_temperature"]
            flow = exhaust_flow(demand.flow, FUELS[self.sheet.fuel], mixture)
            gas = exhaust_gas(self.sheet.fuel, mixture, temperature)
        return EngineState(
            flow=flow,
            pressure=pressure,
            temperature=temperature,
            ambient_pressure=demand.ambient_pressure,
            boost=demand.boost,
            highest_boost=_most_boost(self.sheet) + values["engine.boost"],
            hottest=temperature + self.hotter,
            bonnet_temperature=values["engine.bonnet_temperature"],
            filter_loss=self.sheet.intake_loss,
            demand=demand,
            gas=gas,
            mixture=mixture,
        )


def _most_boost(sheet: EngineSheet) -> float:
    """The highest gauge pressure there is [Pa]: over-boost, or a steady boost that was typed above it."""
    return max(sheet.overboost, *(point.boost for point in sheet.points))


def _at_inlet(place: Place, demand: DemandPoint) -> tuple[float, float]:
    """Stagnation pressure [Pa] and temperature [K] at a run's inlet."""
    if place is Place.INTAKE:
        return demand.compressor_inlet_pressure, demand.compressor_inlet_temperature
    if place in HOT_PLACES:
        return demand.ambient_pressure, USUAL_TEMPERATURE
    if place is Place.CHARGE_PIPE:
        return demand.compressor_outlet_pressure, demand.compressor_outlet_temperature
    return demand.manifold_pressure, demand.manifold_temperature


def engine_case(
    sheet: EngineSheet,
    place: Place,
    *,
    efficiency_doubt: float,
    boost_doubt: float,
    bonnet_temperature: float,
    bonnet_doubt: float = BONNET_DOUBT,
    compressor_efficiency_doubt: float = COMPRESSOR_EFFICIENCY_DOUBT,
    meter_range: float | None = None,
    meter_place: MeterPlace = MeterPlace.BEFORE_COMPRESSOR,
) -> EngineCase | None:
    """The engine at its peak as the checks need it, or None where the sheet gives no demand curve.

    efficiency_doubt: relative, [-]. boost_doubt: [Pa]. bonnet_temperature, bonnet_doubt: [K].
    compressor_efficiency_doubt: [-]. meter_range: [kg/s]. Doubts are standard uncertainties. A run starts
    at: intake, the air outside less what stands before the run; charge pipe, the compressor outlet; cooler
    pipe, the cooler's outlet; downpipe and exhaust, the turbine's outlet, no heat counted as lost on the way.
    Source: `air.demand`, `air.exhaust`.
    """
    if sheet_faults(sheet):
        return None
    curve = demand_curve(sheet, sheet_speeds(sheet, _SPEED_STEP))
    at_peak = peak(curve)
    if at_peak is None:
        return None
    hottest = max(_at_inlet(place, point)[1] for point in curve)
    return EngineCase(
        sheet,
        place,
        at_peak,
        Estimate(1.0, efficiency_doubt),
        Estimate(0.0, boost_doubt),
        Estimate(sheet.compressor_efficiency, compressor_efficiency_doubt),
        Estimate(bonnet_temperature, bonnet_doubt),
        meter_range,
        meter_place,
        hottest - _at_inlet(place, at_peak)[1],
        _exhaust_temperature(sheet),
        _mixture(sheet),
    )


def _exhaust_temperature(sheet: EngineSheet) -> Estimate:
    typed = sheet.exhaust_temperature
    return USUAL_EXHAUST if typed is None else Estimate(typed, EXHAUST_DOUBT)


def _mixture(sheet: EngineSheet) -> Estimate:
    if sheet.mixture is None:
        return Estimate(FUELS[sheet.fuel].boost_lambda, USUAL_MIXTURE_DOUBT)
    return Estimate(sheet.mixture, MIXTURE_DOUBT)


@dataclass(frozen=True)
class Case:
    """A run to be checked.

    original_meter_bore: of the housing that the air meter was calibrated in, [m]. limits: changed limits
    by key, [SI]; limit_reasons: why they were changed. concessions: reason by rule code. taken_with: by
    variable, how a reading was taken ("by feel"), for advice. figures: of what is fitted and is no pipe.
    lies: how the run lies in the car, None where one of its ports has no pose.
    """

    plan: RunPlan
    engine: EngineCase | None = None
    original_meter_bore: Estimate | None = None
    limits: Mapping[str, float] = field(default_factory=dict)
    limit_reasons: Mapping[str, str] = field(default_factory=dict)
    concessions: Mapping[str, str] = field(default_factory=dict)
    taken_with: Mapping[str, str] = field(default_factory=dict)
    figures: Figures = field(default_factory=Figures)
    lies: Lies | None = None

    def variables(self) -> Mapping[str, Estimate]:
        """Every size and engine value of the case by variable name; one reading is one variable."""
        return self._variables

    @cached_property
    def _variables(self) -> Mapping[str, Estimate]:
        """Put together once: it is asked for time and again."""
        found = variables(self.plan)
        for piece in self.plan.pieces:
            for bung in piece.bungs:
                found[variable("bung", bung.id, "at")] = Estimate(bung.at, BUNG_PLACE_DOUBT)
                found[variable("bung", bung.id, "bore")] = Estimate(bung.bore, BUNG_BORE_DOUBT)
        if self.original_meter_bore is not None:
            found["meter.original_bore"] = self.original_meter_bore
        if self.engine is not None:
            found |= self.engine.variables()
            if self.plan.place in MARCHED_PLACES:
                found |= {BENDS: Estimate(1.0, bend_doubt()), STEPS: Estimate(1.0, step_doubt())}
        found |= {f"{OWNER}.{key}": number for key, number in self.figures.numbers.items()}
        return found

    def with_size(self, name: str, value: float) -> "Case":
        """The same case with one size of the run, or one figure, changed, its doubt kept.

        Name as `variables` has it, value [SI].

        Raises KeyError for a name that is no figure, nor a size of a port, piece, joint, bung or neighbour of
        this run.
        """
        owner, number, size = name.split(".")
        if owner == OWNER:
            return replace(self, figures=self.figures.with_number(f"{number}.{size}", value))
        if name not in variables(self.plan) and owner != "bung":
            raise KeyError(name)
        return replace(self, plan=_with_size(self.plan, owner, int(number), size, value))


def _with_size(plan: RunPlan, owner: str, number: int, size: str, value: float) -> RunPlan:
    if owner == "port":
        return replace(
            plan,
            start=_changed(plan.start, number, size, value),
            end=_changed(plan.end, number, size, value),
            side_ports=tuple(
                changed
                for port in plan.side_ports
                if (changed := _changed(port, number, size, value)) is not None
            ),
        )
    if owner == "joint":
        joints = tuple(
            replace(joint, sizes=_sizes(joint.sizes, size, value)) if joint.id == number else joint
            for joint in plan.joints
        )
        return replace(plan, joints=joints)
    if owner == "neighbour":
        near = tuple(
            replace(one, sizes=_sizes(one.sizes, size, value)) if one.id == number else one
            for one in plan.neighbours
        )
        return replace(plan, neighbours=near)
    if owner == "piece":
        pieces = tuple(
            replace(piece, sizes=_sizes(piece.sizes, size, value)) if piece.id == number else piece
            for piece in plan.pieces
        )
        return replace(plan, pieces=pieces)
    return replace(plan, pieces=tuple(_with_bung(piece, number, size, value) for piece in plan.pieces))


def _changed(port: PortPlan | None, number: int, size: str, value: float) -> PortPlan | None:
    if port is None or port.id != number:
        return port
    return replace(port, sizes=_sizes(port.sizes, size, value))


def _with_bung(piece: PiecePlan, number: int, size: str, value: float) -> PiecePlan:
    bungs = tuple(
        bung if bung.id != number else replace(bung, at=value) if size == "at" else replace(bung, bore=value)
        for bung in piece.bungs
    )
    return replace(piece, bungs=bungs)


def _sizes(sizes: Mapping[str, Estimate], size: str, value: float) -> dict[str, Estimate]:
    return {**sizes, size: Estimate(value, sizes[size].doubt)}
