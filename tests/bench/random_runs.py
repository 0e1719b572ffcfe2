"""Plausible runs of random builds, their sizes near enough to the limits that many checks are in question."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from server.core.checks.case import Case
from server.core.measure.estimate import Estimate
from server.core.tube.run import JointKind, JointPlan, PiecePlan, Place, PortPlan
from tests.core.checks.hot_runs import downpipe_case
from tests.core.checks.runs import MM, charge_case, engine, intake_case

_ACROSS = ("bore", "outside_diameter", "original_bore")
_DOUBTS_ACROSS = (0.05, 0.06, 0.12, 0.3, 0.5, 1.2)
"""Of calipers, a bore gauge, a rule, a string and a thumb [mm]."""
_DOUBTS_ALONG = (0.3, 0.6, 1.0, 3.0)
"""Of tapes and of a guess [mm]."""
_SCATTER = {Place.INTAKE: 0.85, Place.CHARGE_PIPE: 0.90, Place.COOLER_PIPE: 0.95, Place.DOWNPIPE: 0.80}
"""About this much of the sound run's diameter brings its gas near the limits of speed and loss."""


def random_build(rng: np.random.Generator) -> tuple[Case, ...]:
    """Intake, charge pipe, cooler pipe and downpipe of one build, each with sizes and doubts of its own."""
    cooler = charge_case(place=Place.COOLER_PIPE)
    sound = (
        intake_case(),
        charge_case(),
        replace(cooler, engine=engine(Place.COOLER_PIPE)),
        downpipe_case(),
    )
    return tuple(_varied(case, rng) for case in sound)


def _varied(case: Case, rng: np.random.Generator) -> Case:
    """The same run of another size, nothing in it quite as it should be."""
    plan = case.plan
    scale = _SCATTER[plan.place] * float(rng.uniform(0.92, 1.16))
    return replace(
        case,
        plan=replace(
            plan,
            start=_port(plan.start, rng, scale),
            end=_port(plan.end, rng, scale),
            pieces=tuple(_piece(piece, rng, scale) for piece in plan.pieces),
            joints=tuple(_joint(joint, rng, scale) for joint in plan.joints),
        ),
        engine=engine(
            plan.place,
            efficiency_doubt=float(rng.uniform(0.02, 0.06)),
            boost_doubt=float(rng.uniform(1e3, 8e3)),
            bonnet_temperature=float(rng.uniform(340.0, 380.0)),
            meter_range=float(rng.uniform(0.19, 0.26)),
        ),
        original_meter_bore=None
        if case.original_meter_bore is None
        else Estimate(80.0 * MM * scale + float(rng.normal(0.0, 0.3)) * MM, 0.1 * MM),
    )


def _port(port: PortPlan | None, rng: np.random.Generator, scale: float) -> PortPlan | None:
    return None if port is None else replace(port, sizes=_sizes(port.sizes, rng, scale))


def _piece(piece: PiecePlan, rng: np.random.Generator, scale: float) -> PiecePlan:
    changed = replace(piece, sizes=_sizes(piece.sizes, rng, scale))
    if not piece.is_hose:
        return changed
    return replace(
        changed,
        rated_pressure=float(rng.uniform(1.3e5, 2.0e5)),
        rated_temperature=float(rng.uniform(390.0, 460.0)),
    )


def _joint(joint: JointPlan, rng: np.random.Generator, scale: float) -> JointPlan:
    if joint.kind is not JointKind.HOSE_AND_CLAMP:
        return joint
    sizes = {name: Estimate(size.value * scale, size.doubt) for name, size in joint.sizes.items()}
    sizes["overlap"] = Estimate(float(rng.normal(28.5, 2.0)) * MM, float(rng.choice(_DOUBTS_ALONG)) * MM)
    if "holds" in joint.sizes:
        sizes["holds"] = Estimate(float(rng.normal(620.0, 90.0)), float(rng.uniform(20.0, 80.0)))
    return replace(joint, sizes=sizes)


def _sizes(sizes: Mapping[str, Estimate], rng: np.random.Generator, scale: float) -> dict[str, Estimate]:
    found = {name: _size(name, size, rng, scale) for name, size in sorted(sizes.items())}
    if "outside_diameter" in found and rng.random() < 0.5:
        found["bead_height"] = Estimate(float(rng.normal(1.7, 0.25)) * MM, float(rng.uniform(0.05, 0.3)) * MM)
    return found


def _size(name: str, size: Estimate, rng: np.random.Generator, scale: float) -> Estimate:
    if name.startswith(_ACROSS):
        value = size.value * scale + float(rng.normal(0.0, 0.25)) * MM
        return Estimate(value, float(rng.choice(_DOUBTS_ACROSS)) * MM)
    if name == "wall":
        return Estimate(size.value * float(rng.uniform(0.9, 1.2)), float(rng.uniform(0.03, 0.2)) * MM)
    if name == "travel":
        return Estimate(float(rng.uniform(2.0, 12.0)) * MM, 1.0 * MM)
    if name == "bend_angle":
        return Estimate(size.value, float(rng.uniform(0.005, 0.04)))
    return Estimate(size.value * float(rng.uniform(0.7, 1.3)), float(rng.choice(_DOUBTS_ALONG)) * MM)
