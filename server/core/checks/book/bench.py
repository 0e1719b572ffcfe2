"""Runs on the bench: small cases for the examples, made from few words, sizes in [mm].

Doubts are those of a caliper for sizes and of a tape for lengths. Every car here is invented.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from server.core.air.demand import EnginePoint, EngineSheet
from server.core.checks.case import Case, EngineCase, engine_case
from server.core.checks.facts import Facts
from server.core.checks.figures import Figures, Table, figure
from server.core.measure.estimate import Estimate
from server.core.tube.run import (
    BungPlan,
    Clamp,
    EndForm,
    Fixing,
    JointKind,
    JointPlan,
    PieceKind,
    PiecePlan,
    Place,
    PortPlan,
    RunPlan,
)
from server.core.units import to_si

MM = 1e-3
BAR = 1e5
CALIPER = 0.05 * MM
TAPE = 0.5 * MM

STAINLESS = "304 stainless"


def sizes(**values: float) -> dict[str, Estimate]:
    """Sizes in millimetres, angles in degrees."""
    found = {}
    for name, value in values.items():
        doubt = TAPE if "length" in name or name == "overlap" else CALIPER
        turned = name == "bend_angle"
        found[name] = Estimate(to_si(value, "degree") if turned else value * MM, doubt)
    return found


def port(number: int, name: str, **values: float) -> PortPlan:
    """A beaded metal spigot; sizes in millimetres."""
    return PortPlan(number, name, EndForm.BEAD, material="aluminium", sizes=sizes(**values))


def piece(number: int, kind: PieceKind, material: str = "aluminium", **values: float) -> PiecePlan:
    """A piece with beads at its ends, a hose with cuffs; sizes in millimetres."""
    name = kind.value[:1].upper() + kind.value[1:]
    plan = PiecePlan(number, number, kind, name, material, sizes(**values), EndForm.BEAD, EndForm.BEAD)
    return replace(plan, inlet_end=EndForm.CUFF, outlet_end=EndForm.CUFF) if plan.is_hose else plan


def tube(number: int, outside: float, length: float = 200.0) -> PiecePlan:
    """A tube of 1.5 wall; sizes in millimetres."""
    return piece(number, PieceKind.TUBE, outside_diameter=outside, wall=1.5, length=length)


def hose(number: int, bore: float, length: float = 76.0, material: str = "lined silicone") -> PiecePlan:
    """A straight coupler, 4.5 wall, reinforced, rated 3 bar at 150 °C; sizes in millimetres."""
    plan = piece(number, PieceKind.COUPLER, material, bore=bore, wall=4.5, length=length)
    return replace(plan, rated_pressure=3.0 * BAR, rated_temperature=to_si(150.0, "degC"), reinforced=True)


def drilled(number: int, name: str, at: float, bore: float, port_id: int | None = None) -> BungPlan:
    """A welded bung; place and bore in millimetres."""
    return BungPlan(number, name, port_id, Fixing.WELDED, at * MM, bore * MM)


def clamped(number: int, least: float = 60.0, most: float = 80.0, overlap: float = 30.0) -> JointPlan:
    """A hose joint with a T-bolt clamp; its range and the overlap in millimetres."""
    found = sizes(clamp_least=least, clamp_most=most, overlap=overlap)
    return JointPlan(number, JointKind.HOSE_AND_CLAMP, Clamp.T_BOLT, found)


def weld(number: int, filler: str = "308L") -> JointPlan:
    """A welded joint."""
    return JointPlan(number, JointKind.WELD, filler=filler)


def run(
    place: Place,
    pieces: Sequence[PiecePlan],
    joints: Sequence[JointPlan],
    start: PortPlan,
    end: PortPlan,
) -> RunPlan:
    """A run between two ports."""
    return RunPlan(place, start, end, tuple(pieces), tuple(joints))


def engine(place: Place) -> EngineCase:
    """The engine at its peak: an invented 2.1 litre four at 240 m, 0.9 bar steady and 1.3 bar at most."""
    points = (EnginePoint(3000.0, 0.88, 0.5 * BAR), EnginePoint(6600.0, 0.90, 0.9 * BAR))
    sheet = EngineSheet(
        2.1e-3, 6600.0, points, 240.0, to_si(25.0, "degC"), 0.72, 0.7, 1500.0, 1500.0, "petrol-95", 1.3 * BAR
    )
    found = engine_case(
        sheet,
        place,
        efficiency_doubt=0.03,
        boost_doubt=3000.0,
        bonnet_temperature=to_si(90.0, "degC"),
        meter_range=0.30,
    )
    assert found is not None  # the sheet above has no faults
    return found


def case(plan: RunPlan) -> Case:
    """A run on the bench with the engine that it belongs to."""
    return Case(plan, engine(plan.place))


def facts(one: Case) -> Facts:
    """What a case reads at its best estimates."""
    return Facts.at_best(one)


def fitted(
    place: Place,
    numbers: Mapping[str, float],
    said: Mapping[str, str] | None = None,
    tables: Mapping[str, Table] | None = None,
) -> Case:
    """What is fitted in a subsystem, by the keys of its figures [SI], each as sure as is usual for it."""
    known = {key: Estimate(value, figure(key).doubt * value) for key, value in numbers.items()}
    plan = RunPlan(place, None, None, (), (JointPlan(0, JointKind.HOSE_AND_CLAMP),))
    return Case(plan, engine(place), figures=Figures(known, said or {}, tables or {}))


def fuel_supply() -> Case:
    """Four injectors of 550 cc/min at 3 bar, a pump, a line of 8 mm; the regulator follows boost."""
    numbers = {
        "fuel.injectors": 4.0,
        "fuel.injector_flow": to_si(550.0, "cm**3/min"),
        "fuel.rated_pressure": 3.0 * BAR,
        "fuel.dead_time": 0.9e-3,
        "fuel.base_pressure": 3.0 * BAR,
        "fuel.line_bore": 8.0 * MM,
    }
    rows = ((3.0, 255.0), (4.0, 220.0), (5.0, 170.0))
    table = tuple((pressure * BAR, to_si(flow, "L/hour")) for pressure, flow in rows)
    return fitted(Place.FUEL, numbers, {"fuel.referenced": "yes"}, {"fuel.pump": table})


def turbocharger() -> Case:
    """The engine on an invented map: three speeds of the wheel, three points each."""
    rows = (
        *((0.050, 1.60, 0.66, 90e3), (0.105, 1.55, 0.74, 90e3), (0.160, 1.32, 0.66, 90e3)),
        *((0.090, 2.15, 0.66, 120e3), (0.165, 2.05, 0.76, 120e3), (0.235, 1.70, 0.67, 120e3)),
        *((0.140, 2.90, 0.65, 150e3), (0.230, 2.75, 0.74, 150e3), (0.300, 2.25, 0.66, 150e3)),
    )
    return fitted(Place.TURBO, {}, {}, {"turbo.map": rows})


def charge(*pieces: PiecePlan, joints: Sequence[JointPlan] = ()) -> Case:
    """A charge pipe of these pieces between two spigots of 60 mm, held by hose and clamp unless said."""
    start = port(1, "Compressor outlet", outside_diameter=60.0, wall=1.5, length=40.0)
    end = port(2, "Cooler inlet", outside_diameter=60.0, wall=1.5, length=40.0)
    held = joints or [clamped(50 + place) for place in range(len(pieces) + 1)]
    return case(run(Place.CHARGE_PIPE, pieces, held, start, end))


def intake(*pieces: PiecePlan, joints: Sequence[JointPlan] = ()) -> Case:
    """An intake of these pieces between two spigots of 84 mm, held by hose and clamp unless said."""
    start = port(1, "Air box outlet", outside_diameter=84.0, wall=2.0, length=40.0)
    end = port(2, "Compressor inlet", outside_diameter=84.0, wall=2.0, length=40.0)
    held = joints or [clamped(50 + place, 85.0, 105.0) for place in range(len(pieces) + 1)]
    return case(run(Place.INTAKE, pieces, held, start, end))


def hot(one: PiecePlan) -> PiecePlan:
    """The same piece of stainless steel with ends to weld."""
    return replace(one, material=STAINLESS, inlet_end=EndForm.WELD, outlet_end=EndForm.WELD)


def flex(number: int, bore: float = 73.2) -> PiecePlan:
    """A lined metal flex that may be pushed together by 25 mm, held after it; sizes in millimetres."""
    plan = hot(piece(number, PieceKind.FLEX, bore=bore, length=150.0, travel=25.0))
    return replace(plan, liner="downstream", supported=True)


def downpipe(*pieces: PiecePlan, joints: Sequence[JointPlan] = ()) -> Case:
    """A downpipe from the engine's turbine to the body's exhaust, 76.2 mm, flanged unless said."""
    start = replace(
        port(1, "Turbine outlet", outside_diameter=76.2, wall=1.5, length=20.0),
        medium="exhaust gas",
        frame="engine",
        material="cast iron",
    )
    end = replace(
        port(2, "Old exhaust", outside_diameter=76.2, wall=1.5, length=40.0),
        medium="exhaust gas",
        frame="body",
        material="steel",
    )
    inside = [weld(50 + place) for place in range(1, len(pieces))]
    held = joints or (JointPlan(50, JointKind.V_BAND), *inside, JointPlan(80, JointKind.FLANGE))
    return case(run(Place.DOWNPIPE, pieces, held, start, end))
