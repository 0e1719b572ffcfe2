"""Runs to check, built from few words.

An intake of seven pieces and a charge pipe, both passing as they stand.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import radians

from server.core.air.demand import EnginePoint, EngineSheet
from server.core.checks.answer import Answers, Check, answer
from server.core.checks.case import Case, EngineCase, engine_case
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
    Stretch,
)

MM = 1e-3
BAR = 1e5
CALIPER = 0.05 * MM
TAPE = 0.5 * MM


def sizes(doubt: float = CALIPER, **values: float) -> dict[str, Estimate]:
    """Sizes in millimetres, except angles in radians."""
    return {
        name: Estimate(value if name == "bend_angle" else value * MM, TAPE if "length" in name else doubt)
        for name, value in values.items()
    }


def port(number: int, name: str, outside: float, wall: float = 1.5, **more: object) -> PortPlan:
    """A beaded metal spigot, 40 mm long, outside diameter and wall in millimetres."""
    plan = PortPlan(
        number,
        name,
        EndForm.BEAD,
        sizes=sizes(outside_diameter=outside, wall=wall, length=40.0),
        material="aluminium",
    )
    return replace(plan, **more)  # type: ignore[arg-type]


def side_port(number: int, name: str, bore: float, stretch: Stretch, medium: str = "air") -> PortPlan:
    """A small line that must find a place on the run, bore in millimetres."""
    return PortPlan(number, name, EndForm.BARB, stretch, medium, sizes=sizes(bore=bore))


def tube(number: int, outside: float, length: float, bungs: tuple[BungPlan, ...] = ()) -> PiecePlan:
    """A beaded aluminium tube of 1.5 wall."""
    return PiecePlan(
        number,
        number,
        PieceKind.TUBE,
        "Tube",
        "aluminium",
        sizes(outside_diameter=outside, wall=1.5, length=length),
        EndForm.BEAD,
        EndForm.BEAD,
        bungs=bungs,
    )


def bend(number: int, outside: float, degrees: float, legs: float = 60.0) -> PiecePlan:
    """A beaded aluminium bend, 1.5 wall, centre-line radius 1.5 outside diameters."""
    return PiecePlan(
        number,
        number,
        PieceKind.BEND,
        f"{degrees:.0f}° bend",
        "aluminium",
        sizes(
            outside_diameter=outside,
            wall=1.5,
            length=legs,
            length_out=legs,
            bend_angle=radians(degrees),
            bend_radius=1.5 * outside,
        ),
        EndForm.BEAD,
        EndForm.BEAD,
    )


def coupler(number: int, bore: float, length: float = 76.0, material: str = "lined silicone") -> PiecePlan:
    """A straight reinforced hose coupler, 4.5 wall, rated 3 bar at 150 °C."""
    return PiecePlan(
        number,
        number,
        PieceKind.COUPLER,
        "Coupler",
        material,
        sizes(bore=bore, wall=4.5, length=length),
        EndForm.CUFF,
        EndForm.CUFF,
        rated_pressure=3.0 * BAR,
        rated_temperature=423.15,
        reinforced=True,
    )


def reducer(number: int, bore_in: float, bore_out: float, length: float = 76.0) -> PiecePlan:
    """A silicone reducing coupler."""
    return replace(
        coupler(number, bore_in),
        kind=PieceKind.REDUCER,
        name="Reducer",
        sizes=sizes(bore=bore_in, bore_out=bore_out, wall=4.5, length=length),
    )


def meter(number: int, outside: float) -> PiecePlan:
    """An air meter housing, 2.0 wall."""
    return PiecePlan(
        number,
        number,
        PieceKind.METER,
        "Air meter",
        "plastic",
        sizes(outside_diameter=outside, wall=2.0, length=90.0),
        EndForm.BEAD,
        EndForm.BEAD,
    )


def clamped(number: int, tube_outside: float, holds: float | None = None) -> JointPlan:
    """A hose joint with a T-bolt clamp that suits the tube under a 4.5 mm hose, 30 mm overlap."""
    hose = tube_outside + 9.0
    extra = {} if holds is None else {"holds": Estimate(holds, 50.0)}
    return JointPlan(
        number,
        JointKind.HOSE_AND_CLAMP,
        Clamp.T_BOLT,
        sizes(0.0, clamp_least=hose - 4.0, clamp_most=hose + 6.0)
        | {"overlap": Estimate(30.0 * MM, TAPE)}
        | extra,
        "pull test on the bench" if holds is not None else "",
    )


def sheet() -> EngineSheet:
    """A 2.1 litre four at 240 m, 0.9 bar at the peak."""
    points = (EnginePoint(3000.0, 0.88, 0.5 * BAR), EnginePoint(6600.0, 0.90, 0.9 * BAR))
    return EngineSheet(
        2.1e-3, 6600.0, points, 240.0, 298.15, 0.72, 0.7, 6000.0, 1500.0, "petrol-95", 1.3 * BAR
    )


def engine(place: Place, **more: object) -> EngineCase:
    """The engine at its peak for a run at this place."""
    settings: dict[str, object] = {
        "efficiency_doubt": 0.03,
        "boost_doubt": 3000.0,
        "bonnet_temperature": 363.15,
        "meter_range": 0.30,
    } | more
    found = engine_case(sheet(), place, **settings)  # type: ignore[arg-type]
    assert found is not None
    return found


BREATHER = side_port(21, "Breather", 16.0, Stretch.AFTER_METER, "oil mist")
BYPASS = side_port(22, "Bypass valve return", 25.0, Stretch.AFTER_METER)


def bung(
    number: int, port_id: int | None, at: float, bore: float, fixing: Fixing = Fixing.WELDED
) -> BungPlan:
    """A bung, place and bore in millimetres."""
    return BungPlan(number, f"Bung {number}", port_id, fixing, at * MM, bore * MM)


def intake_run() -> RunPlan:
    """From the meter's old pipe to the compressor inlet in seven pieces, two side ports on the tube."""
    pieces = (
        replace(tube(1, 84.0, 220.0), kind=PieceKind.SALVAGED, name="Old pipe"),
        coupler(2, 84.0),
        meter(3, 84.0),
        coupler(4, 84.0, 160.0),
        tube(5, 84.0, 260.0, (bung(31, 21, 90.0, 16.0), bung(32, 22, 150.0, 25.0))),
        coupler(6, 84.0),
        bend(7, 84.0, 45.0),
    )
    joints = (
        JointPlan(50, JointKind.WELD, filler="4043"),
        *(clamped(50 + index, 84.0) for index in range(1, 7)),
        JointPlan(57, JointKind.WELD, filler="4043"),
    )
    start, end = port(11, "Air box outlet", 84.0), port(12, "Compressor inlet", 84.0)
    return RunPlan(Place.INTAKE, start, end, pieces, joints, (BREATHER, BYPASS))


def charge_run() -> RunPlan:
    """From the compressor outlet to the cooler in five pieces."""
    pieces = (coupler(1, 60.0), bend(2, 60.0, 90.0), coupler(3, 60.0), tube(4, 60.0, 300.0), coupler(5, 60.0))
    joints = tuple(clamped(60 + index, 60.0, 1500.0) for index in range(6))
    start, end = port(13, "Compressor outlet", 60.0), port(14, "Cooler inlet", 60.0)
    return RunPlan(Place.CHARGE_PIPE, start, end, pieces, joints)


def intake_case(**changes: object) -> Case:
    """The intake as it stands, with changes to its plan."""
    plan = replace(intake_run(), **changes)  # type: ignore[arg-type]
    return Case(plan, engine(Place.INTAKE), original_meter_bore=Estimate(80.0 * MM, CALIPER))


def charge_case(**changes: object) -> Case:
    """The charge pipe as it stands, with changes to its plan."""
    return Case(replace(charge_run(), **changes), engine(Place.CHARGE_PIPE))  # type: ignore[arg-type]


def with_piece(case: Case, number: int, **changes: object) -> Case:
    """The same case with one piece changed."""
    pieces = tuple(
        replace(piece, **changes) if piece.number == number else piece  # type: ignore[arg-type]
        for piece in case.plan.pieces
    )
    return replace(case, plan=replace(case.plan, pieces=pieces))


def with_piece_sizes(
    case: Case, number: int, changed: Mapping[str, Estimate], without: Sequence[str] = ()
) -> Case:
    """The same case with some sizes of one piece changed or left out."""
    old = next(piece.sizes for piece in case.plan.pieces if piece.number == number)
    kept = {name: size for name, size in old.items() if name not in without}
    return with_piece(case, number, sizes={**kept, **changed})


def with_joint(case: Case, index: int, **changes: object) -> Case:
    """The same case with one joint changed, counted from 0 at the start port."""
    joints = tuple(
        replace(joint, **changes) if place == index else joint  # type: ignore[arg-type]
        for place, joint in enumerate(case.plan.joints)
    )
    return replace(case, plan=replace(case.plan, joints=joints))


def check(case: Case, code: str) -> Check:
    """One check of a case by its rule's code."""
    return check_of(answer(case), code)


def check_of(answers: Answers, code: str) -> Check:
    return next(one for one in answers.checks if one.rule.code == code)
