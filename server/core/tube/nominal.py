"""The nominal sizes that a run is drawn with: what was measured or typed, and a stand-in for what was not.

A half-typed run must still draw, so each missing size gets a plain stand-in and its name goes into `assumed`.
Nothing here is used for a verdict.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from server.core.measure.estimate import Estimate
from server.core.tube.run import JointKind, JointPlan, PieceKind, PiecePlan, PortPlan

STAND_IN_DIAMETER = 0.060
"""Outside diameter where neither the piece nor a neighbour has one [m]; common practice, no source."""
STAND_IN_WALL = 0.002
"""Wall of a metal piece of which only the bore is known [m]; common practice, no source."""
STAND_IN_HOSE_WALL = 0.005
"""Wall of a hose of which only one diameter is known [m]; common practice, no source."""
STAND_IN_PLATE = 0.010
"""Thickness of a flange [m]; common practice, no source."""
STAND_IN_RADIUS = 1.5
"""Bend radius over outside diameter; common practice, no source."""
STAND_IN_OVERLAP = 0.025
"""How far a spigot stands inside a hose [m]; common practice, no source."""

SIZE_WORDS = {
    "outside_diameter": "outside diameter",
    "outside_diameter_out": "outside diameter at the outlet",
    "wall": "wall",
    "length": "length",
    "leg_in": "leg before the arc",
    "leg_out": "leg after the arc",
    "bend_angle": "bend angle",
    "bend_radius": "bend radius",
    "overlap": "overlap with the hose",
}
"""Plain words for the names in `assumed`."""


@dataclass(frozen=True, slots=True)
class Nominal:
    """The sizes that one piece is drawn with.

    outside_in, outside_out: outside diameters at the faces [m]; fit_in, fit_out: the diameter that a
    neighbour meets, a hose's bore or a tube's outside [m]; leg_in, leg_out: straights before and after the
    arc, of a straight piece its whole length and 0 [m]; angle [rad] and radius [m]: of the arc, 0 without
    one; assumed: names of stand-ins; turned: length of what comes after the legs [m].
    """

    outside_in: float
    outside_out: float
    fit_in: float
    fit_out: float
    leg_in: float
    leg_out: float
    angle: float
    radius: float
    assumed: tuple[str, ...]
    turned: float = 0.0

    @property
    def length(self) -> float:
        """Along the centre line, face to face [m]; geometry: legs plus radius times angle."""
        return self.leg_in + self.radius * self.angle + self.leg_out + self.turned


def nominal(piece: PiecePlan, fit_before: float | None, fit_after: float | None) -> Nominal:
    """The sizes to draw a piece with.

    fit_before, fit_after: the diameter that its neighbours offer, where known [m].
    Lengths stand in as one outside diameter, a radius as 1.5 of them, an angle as 90°.
    """
    assumed: list[str] = []
    wall = _wall(piece, assumed)
    outside_in = _outside_in(piece, wall, fit_before or fit_after, assumed)
    outside_out = _outside_out(piece, wall, outside_in, fit_after, assumed)
    inset = 2.0 * wall if piece.is_hose else 0.0
    straight = STAND_IN_PLATE if piece.kind is PieceKind.FLANGE else outside_in
    leg_in = _size(piece, "length", straight, assumed, "leg_in" if piece.has_arc else "length")
    leg_out = angle = radius = 0.0
    if piece.has_arc:
        angle = _size(piece, "bend_angle", math.pi / 2.0, assumed)
        radius = _size(piece, "bend_radius", STAND_IN_RADIUS * outside_in, assumed)
        leg_out = _size(piece, "length_out", outside_in, assumed, "leg_out")
    return Nominal(
        outside_in, outside_out, outside_in - inset, outside_out - inset, leg_in, leg_out, angle, radius,
        tuple(assumed), piece.turned_length,
    )  # fmt: skip


def known_fit(owner: PiecePlan | PortPlan) -> float | None:
    """The diameter that a piece's inlet or a port offers to what joins it, if it was measured or typed
    [m].
    """
    sizes = owner.sizes
    if isinstance(owner, PiecePlan) and owner.is_hose:
        return _inside(sizes)
    return _outside(sizes, "outside_diameter", "bore") or _value(sizes, "bore")


def joint_overlap(
    joint: JointPlan, before: PiecePlan | PortPlan | None, after: PiecePlan | PortPlan | None
) -> tuple[float, bool]:
    """How far two neighbours stand in one another [m], and whether that is a stand-in.

    Only a hose and clamp joint overlaps, and only with something on both sides. Where no figure was typed, a
    stand-in is used if one of the two is a hose.
    """
    if joint.kind is not JointKind.HOSE_AND_CLAMP or before is None or after is None:
        return 0.0, False
    typed = _value(joint.sizes, "overlap")
    if typed is not None:
        return typed, False
    hoses = [side for side in (before, after) if isinstance(side, PiecePlan) and side.is_hose]
    return (STAND_IN_OVERLAP, True) if len(hoses) == 1 else (0.0, False)


def _value(sizes: Mapping[str, Estimate], name: str) -> float | None:
    estimate = sizes.get(name)
    return None if estimate is None else estimate.value


def _size(piece: PiecePlan, name: str, stand_in: float, assumed: list[str], assumed_name: str = "") -> float:
    value = _value(piece.sizes, name)
    if value is None:
        assumed.append(assumed_name or name)
        return stand_in
    return value


def _outside(sizes: Mapping[str, Estimate], outside_name: str, bore_name: str) -> float | None:
    outside = _value(sizes, outside_name)
    bore, wall = _value(sizes, bore_name), _value(sizes, "wall")
    if outside is None and bore is not None and wall is not None:
        return bore + 2.0 * wall
    return outside


def _inside(sizes: Mapping[str, Estimate]) -> float | None:
    bore = _value(sizes, "bore")
    outside, wall = _value(sizes, "outside_diameter"), _value(sizes, "wall")
    if bore is None and outside is not None and wall is not None:
        return outside - 2.0 * wall
    return bore


def _wall(piece: PiecePlan, assumed: list[str]) -> float:
    wall = _value(piece.sizes, "wall")
    if wall is not None:
        return wall
    outside, bore = _value(piece.sizes, "outside_diameter"), _value(piece.sizes, "bore")
    if outside is not None and bore is not None:
        return max(0.0, (outside - bore) / 2.0)
    if outside is None and bore is not None:
        assumed.append("wall")
    return STAND_IN_HOSE_WALL if piece.is_hose else STAND_IN_WALL


def _outside_in(piece: PiecePlan, wall: float, fit: float | None, assumed: list[str]) -> float:
    outside = _outside(piece.sizes, "outside_diameter", "bore")
    if outside is not None:
        return outside
    bore = _value(piece.sizes, "bore")
    if bore is not None:
        return bore + 2.0 * wall
    assumed.append("outside_diameter")
    return (fit or STAND_IN_DIAMETER) + (2.0 * wall if piece.is_hose else 0.0)


def _outside_out(
    piece: PiecePlan, wall: float, outside_in: float, fit_after: float | None, assumed: list[str]
) -> float:
    outside = _value(piece.sizes, "outside_diameter_out")
    if outside is not None:
        return outside
    bore = _value(piece.sizes, "bore_out")
    if bore is not None:
        return bore + 2.0 * wall
    if piece.kind is not PieceKind.REDUCER:
        return outside_in
    assumed.append("outside_diameter_out")
    return outside_in if fit_after is None else fit_after + (2.0 * wall if piece.is_hose else 0.0)
