"""Runs that the tests of the centre line and the drawing share; sizes in millimetres and degrees for
reading.
"""

import math

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

ANGLES = {"bend_angle"}


def sizes(**typed: float) -> dict[str, Estimate]:
    """Sizes typed in mm and degrees as estimates in SI."""
    return {
        name: Estimate(math.radians(value) if name in ANGLES else value / 1000.0, 0.0)
        for name, value in typed.items()
    }


def port(number: int, name: str, **typed: float) -> PortPlan:
    return PortPlan(number, name, EndForm.BEAD, sizes=sizes(**typed))


def tube(number: int, bungs: tuple[BungPlan, ...] = (), **typed: float) -> PiecePlan:
    return PiecePlan(
        number, number, PieceKind.TUBE, "tube", "aluminium", sizes(**typed),
        EndForm.BEAD, EndForm.BEAD, bungs=bungs,
    )  # fmt: skip


def bend(number: int, roll: float = 0.0, **typed: float) -> PiecePlan:
    return PiecePlan(
        number, number, PieceKind.BEND, "bend", "aluminium", sizes(**typed),
        EndForm.BEAD, EndForm.BEAD, math.radians(roll),
    )  # fmt: skip


def coupler(number: int, **typed: float) -> PiecePlan:
    return PiecePlan(number, number, PieceKind.COUPLER, "coupler", "silicone", sizes(**typed))


def hose_elbow(number: int, roll: float = 0.0, **typed: float) -> PiecePlan:
    return PiecePlan(
        number, number, PieceKind.HOSE_ELBOW, "hose elbow", "silicone", sizes(**typed),
        EndForm.CUFF, EndForm.CUFF, math.radians(roll),
    )  # fmt: skip


def reducer(number: int, material: str = "silicone", **typed: float) -> PiecePlan:
    return PiecePlan(number, number, PieceKind.REDUCER, "reducer", material, sizes(**typed))


def bung(number: int, name: str, at: float, bore: float, hour: float) -> BungPlan:
    """A welded side port; at and bore in mm, clock by the hour."""
    return BungPlan(number, name, None, Fixing.WELDED, at / 1000.0, bore / 1000.0, math.radians(30.0 * hour))


def clamped(number: int, overlap: float | None = 30.0) -> JointPlan:
    given = {} if overlap is None else sizes(overlap=overlap)
    return JointPlan(number, JointKind.HOSE_AND_CLAMP, Clamp.T_BOLT, given)


def welded(number: int) -> JointPlan:
    return JointPlan(number, JointKind.WELD)


def run(
    pieces: tuple[PiecePlan, ...],
    joints: tuple[JointPlan, ...] = (),
    start: PortPlan | None = None,
    end: PortPlan | None = None,
    place: Place = Place.CHARGE_PIPE,
) -> RunPlan:
    """A run of these pieces, welded throughout where no joints are given."""
    return RunPlan(place, start, end, pieces, joints or tuple(welded(n) for n in range(len(pieces) + 1)))


OUTLET = port(101, "compressor outlet", outside_diameter=60.0, wall=3.0)
COOLER = port(102, "cooler inlet", outside_diameter=63.5, wall=1.5)
THROTTLE = port(103, "throttle body", outside_diameter=70.0, wall=3.0)

EMPTY = run((), (clamped(0),), OUTLET, COOLER)
SINGLE = run(
    (tube(1, (bung(1, "boost signal", 60.0, 6.0, 12.0),), outside_diameter=60.0, wall=1.5, length=150.0),)
)
THREE = run(
    (
        coupler(1, bore=60.0, wall=4.5, length=76.0),
        tube(2, outside_diameter=60.0, wall=1.5, length=240.0),
        coupler(3, bore=60.0, wall=4.5, length=76.0),
    ),
    tuple(clamped(n) for n in range(4)),
    OUTLET,
    port(102, "cooler inlet", outside_diameter=60.0, wall=1.5),
)
SEVEN = run(
    (
        coupler(1, bore=60.0, wall=4.5, length=76.0),
        bend(
            2, outside_diameter=60.0, wall=1.5,
            length=60.0, length_out=60.0, bend_angle=90.0, bend_radius=90.0,
        ),
        coupler(3, bore=60.0, wall=4.5, length=76.0),
        tube(
            4,
            (bung(1, "boost signal", 90.0, 6.0, 9.0), bung(2, "bypass valve", 170.0, 25.0, 12.0)),
            outside_diameter=60.0, wall=1.5, length=260.0,
        ),
        hose_elbow(
            5, 180.0, bore=60.0, wall=4.5,
            length=45.0, length_out=45.0, bend_angle=90.0, bend_radius=76.0,
        ),
        tube(6, outside_diameter=60.0, wall=1.5, length=120.0),
        reducer(7, bore=60.0, bore_out=70.0, wall=4.5, length=76.0),
    ),
    tuple(clamped(n) for n in range(8)),
    OUTLET,
    THROTTLE,
)  # fmt: skip
SOLID = run(
    (
        bend(
            1, 0.0, outside_diameter=76.0, wall=1.5, length=100.0,
            length_out=40.0, bend_angle=90.0, bend_radius=114.0,
        ),
        bend(
            2, 60.0, outside_diameter=76.0, wall=1.5, length=80.0,
            length_out=20.0, bend_angle=45.0, bend_radius=114.0,
        ),
        bend(
            3, -45.0, outside_diameter=76.0, wall=1.5, length=90.0,
            length_out=150.0, bend_angle=30.0, bend_radius=114.0,
        ),
    ),
    (),
    OUTLET,
    THROTTLE,
)  # fmt: skip
HALF_TYPED = run(
    (coupler(1), bend(2), coupler(3), tube(4, outside_diameter=63.5), reducer(5)),
    tuple(clamped(n, None) for n in range(6)),
    OUTLET,
    THROTTLE,
)
EXAMPLES: tuple[tuple[str, RunPlan, dict[int, str]], ...] = (
    ("nothing yet", EMPTY, {}),
    ("one tube", SINGLE, {1: "tight"}),
    ("three pieces", THREE, {1: "go", 2: "no-go"}),
    ("seven pieces", SEVEN, {5: "no-go", 7: "not measured", 3: "tight"}),
    ("three bends in space", SOLID, {}),
    ("half typed", HALF_TYPED, {}),
)
