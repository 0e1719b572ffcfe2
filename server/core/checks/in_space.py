"""What stands near a run by where it lies in the car: keep-outs as neighbours, beside the measured ones."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot

from server.core.checks.case import HOT_PLACES
from server.core.checks.keep_clear import Room, kept_clear, rooms
from server.core.checks.near import NATURES
from server.core.measure.estimate import Estimate
from server.core.tube.centreline import lay_out
from server.core.tube.run import NeighbourPlan, RunPlan, Stood, Warmth, What
from server.core.tube.space.in_car import Lies, in_car, lies
from server.core.tube.space.poses import PortPose
from server.core.tube.space.solids import Solid

NEAR = 0.120
"""What stands further off a run than this is no neighbour of it [m]; common practice, no source."""
NEAR_HOT = 0.400
"""The same of what is hot, beside a run that carries no exhaust itself [m]; common practice, no source."""
STEP = 0.008
"""How far apart the centre line is looked at [m]."""


@dataclass(frozen=True, slots=True)
class InCar:
    """A run laid out from the pose of its start: how it lies, and what stands near."""

    lies: Lies
    near: tuple[NeighbourPlan, ...]


def seen_in_car(plan: RunPlan, start: PortPose, end: PortPose, solids: Sequence[Solid]) -> InCar:
    """Where a run of one piece or more lies in the car, and which keep-outs are its neighbours.

    A run that does not end at its port has none: it would be told of gaps that are not there. What is
    measured beside the run goes before the same reckoned. A neighbour of a keep-out has its number, below
    zero. Source: geometry; doubt of keep-out and of the ports' places together, JCGM 100:2008, 5.1.2.
    """
    line = lay_out(plan)
    off = InCar(lies(line, start, end), ())
    if not off.lies.closes:
        return off
    doubt = max(float(one.place.doubt.max()) for one in (start, end))
    measured = {_same(one) for one in plan.neighbours}
    bare = [kept_clear(solid, frozenset(), {}) for solid in solids]
    near = [
        _neighbour(room, doubt)
        for room in rooms(in_car(line, start, STEP), bare)
        if room.left + room.kept.shape.gap < _near(plan, room.kept.solid)
    ]
    return replace(off, near=tuple(one for one in near if _same(one) not in measured))


def _near(plan: RunPlan, solid: Solid) -> float:
    warms = NATURES[solid.what].hot is not None and plan.place not in HOT_PLACES
    return NEAR_HOT if warms else NEAR


def _same(near: NeighbourPlan) -> tuple[What, str]:
    """By which a measured neighbour is known to be a keep-out: what it is; its name where that is vague."""
    return near.what, near.name if near.what is What.OTHER else ""


def _neighbour(room: Room, doubt: float) -> NeighbourPlan:
    """`moves` is counted from ride height, so that the place is taken to be that."""
    solid = room.kept.solid
    clear = max(room.left + room.kept.shape.gap, 0.0)
    sizes = {"gap": Estimate(clear, hypot(solid.doubt, doubt)), "asked": Estimate(solid.gap)}
    if "moves" in solid.numbers:
        sizes["moves"] = solid.numbers["moves"]
    return NeighbourPlan(
        id=-solid.id,
        what=solid.what,
        name=solid.name,
        piece_id=room.piece_id,
        frame=solid.frame,
        stood=Stood.AT_RIDE_HEIGHT,
        warmth=Warmth.COLD,
        sizes=sizes,
    )
