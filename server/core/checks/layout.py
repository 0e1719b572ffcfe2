"""How a run hangs together: which ends meet at which joint, and which of them is the hose.

Sizes play no part.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from server.core.tube.run import EndForm, JointKind, JointPlan, PiecePlan, PortPlan, RunPlan


class End(NamedTuple):
    """One side of a joint: a port, or a piece's inlet or outlet."""

    owner: PortPlan | PiecePlan
    at_outlet: bool

    @property
    def form(self) -> EndForm:
        if isinstance(self.owner, PortPlan):
            return self.owner.end_form
        return self.owner.outlet_end if self.at_outlet else self.owner.inlet_end

    @property
    def is_hose(self) -> bool:
        """Slides over a spigot. A port that ends in a cuff is the end of a hose that stays on the car."""
        if isinstance(self.owner, PortPlan):
            return self.owner.end_form is EndForm.CUFF
        return self.owner.is_hose

    @property
    def label(self) -> str:
        """For a sentence: the port's name, or the piece's name and number."""
        return self.owner.name if isinstance(self.owner, PortPlan) else piece_label(self.owner)

    @property
    def short(self) -> str:
        return self.owner.name if isinstance(self.owner, PortPlan) else f"piece {self.owner.number}"

    @property
    def owner_kind(self) -> str:
        """The first part of its variables' names."""
        return "port" if isinstance(self.owner, PortPlan) else "piece"


@dataclass(frozen=True)
class Joint:
    """A joint with its two sides in flow direction; a side is None where no port is chosen.

    Its key and its words are made once: every rule of joints asks for them.
    """

    number: int
    plan: JointPlan
    before: End | None
    after: End | None

    @cached_property
    def item(self) -> str:
        return f"joint.{self.plan.id}"

    @cached_property
    def label(self) -> str:
        """For a sentence: "joint 2 (piece 1 to piece 2)"."""
        sides = [side.short if side is not None else "no port yet" for side in (self.before, self.after)]
        return f"joint {self.number} ({sides[0]} to {sides[1]})"


@dataclass(frozen=True, slots=True)
class HoseJoint:
    """A hose over a spigot, held by a clamp."""

    joint: Joint
    hose: End
    spigot: End


@dataclass(frozen=True, slots=True)
class Layout:
    """A run's joints in flow direction, and those of them that are a hose over a spigot.

    positions: index of each piece by its id. clamped: numbers of the joints that are a hose over a spigot.
    """

    plan: RunPlan
    joints: tuple[Joint, ...]
    hose_joints: tuple[HoseJoint, ...]
    positions: Mapping[int, int]
    clamped: frozenset[int]

    def joint_before(self, piece: PiecePlan) -> Joint:
        return self.joints[self.positions[piece.id]]

    def joint_after(self, piece: PiecePlan) -> Joint:
        return self.joints[self.positions[piece.id] + 1]

    def clamped_joints(self, piece: PiecePlan) -> tuple[Joint, ...]:
        """The joints of a piece that are a hose over a spigot."""
        both = (self.joint_before(piece), self.joint_after(piece))
        return tuple(joint for joint in both if joint.number in self.clamped)


def piece_label(piece: PiecePlan) -> str:
    """A piece for a sentence: its name and its number."""
    return f"{piece.name or piece.kind.value} ({piece.number})"


def lay_out(plan: RunPlan) -> Layout:
    """The layout of a run. Raises ValueError where the joints are not one more than the pieces."""
    if len(plan.joints) != len(plan.pieces) + 1:
        raise ValueError("a run has one joint more than it has pieces")
    outlets = [_port_end(plan.start, True), *(End(piece, True) for piece in plan.pieces)]
    inlets = [*(End(piece, False) for piece in plan.pieces), _port_end(plan.end, False)]
    joints = tuple(
        Joint(index + 1, joint, before, after)
        for index, (joint, before, after) in enumerate(zip(plan.joints, outlets, inlets, strict=True))
    )
    candidates = (_as_hose_joint(joint) for joint in joints)
    hose_joints = tuple(joint for joint in candidates if joint is not None)
    positions = {piece.id: index for index, piece in enumerate(plan.pieces)}
    return Layout(plan, joints, hose_joints, positions, frozenset(hose.joint.number for hose in hose_joints))


def _port_end(port: PortPlan | None, at_outlet: bool) -> End | None:
    return None if port is None else End(port, at_outlet)


def _as_hose_joint(joint: Joint) -> HoseJoint | None:
    before, after = joint.before, joint.after
    if joint.plan.kind is not JointKind.HOSE_AND_CLAMP or before is None or after is None:
        return None
    if before.is_hose and not after.is_hose:
        return HoseJoint(joint, before, after)
    if after.is_hose and not before.is_hose:
        return HoseJoint(joint, after, before)
    return None
