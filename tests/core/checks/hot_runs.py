"""A downpipe to check: turbine to the kept half of the old pipe, flange, two bends and a flex, passing."""

from dataclasses import replace
from math import radians

from server.core.checks.case import Case
from server.core.measure.estimate import Estimate
from server.core.tube.run import (
    EndForm,
    JointKind,
    JointPlan,
    PieceKind,
    PiecePlan,
    Place,
    RunPlan,
)
from tests.core.checks.runs import MM, bend, bung, engine, port, sizes, tube

STAINLESS = "304 stainless"


def hot(piece: PiecePlan) -> PiecePlan:
    """The same piece of stainless steel with ends to weld."""
    return replace(piece, material=STAINLESS, inlet_end=EndForm.WELD, outlet_end=EndForm.WELD)


def flange(number: int, bore: float) -> PiecePlan:
    """A V-band flange, 20 mm thick."""
    return PiecePlan(
        number,
        number,
        PieceKind.FLANGE,
        "V-band flange",
        STAINLESS,
        sizes(bore=bore, length=20.0),
        EndForm.V_BAND,
        EndForm.WELD,
    )


def flex(number: int, bore: float) -> PiecePlan:
    """A lined flex, 150 mm long, that may be pushed together by 25 mm, held after it."""
    return PiecePlan(
        number,
        number,
        PieceKind.FLEX,
        "Flex",
        STAINLESS,
        sizes(bore=bore, length=150.0) | {"travel": Estimate(25.0 * MM, 1.0 * MM)},
        EndForm.WELD,
        EndForm.WELD,
        liner="downstream",
        supported=True,
    )


def weld(number: int, filler: str = "308L") -> JointPlan:
    return JointPlan(number, JointKind.WELD, filler=filler)


def downpipe_run() -> RunPlan:
    """76.2 mm outside throughout, an oxygen sensor's boss at 11 o'clock."""
    boss = replace(bung(31, None, 150.0, 18.0), name="Oxygen sensor", clock=radians(-30.0))
    pieces = (
        flange(1, 73.2),
        hot(bend(2, 76.2, 60.0)),
        hot(tube(3, 76.2, 320.0, (boss,))),
        flex(4, 73.2),
        hot(bend(5, 76.2, 45.0)),
    )
    joints = (
        JointPlan(70, JointKind.V_BAND),
        *(weld(70 + index) for index in range(1, 5)),
        JointPlan(75, JointKind.FLANGE),
    )
    start = port(17, "Turbine outlet", 76.2, medium="exhaust gas", frame="engine", material="cast iron")
    end = port(18, "Old front pipe", 76.2, medium="exhaust gas", frame="body", material="steel")
    return RunPlan(Place.DOWNPIPE, start, end, pieces, joints, looked_round=True)


def downpipe_case(**changes: object) -> Case:
    """The downpipe as it stands, with changes to its plan."""
    return Case(replace(downpipe_run(), **changes), engine(Place.DOWNPIPE))  # type: ignore[arg-type]
