"""From the plan of a run to its centre line in space: straights and arcs with a pose at each end.

Axes are the run's own, right-handed with z up (the sense of ISO 8855): the start port's face is the origin
and the flow leaves it along +x. A first bend with no roll turns towards +y. `roll` turns a bend's plane from
the one before, right-handed about the direction of flow. 12 o'clock is +z at the start and is carried along
the run: a bend turns it with the tube, a roll does not.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from server.core.tube.nominal import Nominal, joint_overlap, known_fit, nominal
from server.core.tube.run import BungPlan, PiecePlan, RunPlan

Triple = tuple[float, float, float]
"""A point [m] or a direction [-] in the run's axes; `space.vectors.Vector` is the same as an array."""


class Pose(NamedTuple):
    """Where the centre line is and how it stands there.

    point [m]; direction: of flow; up: 12 o'clock; axis: what a bend without roll would turn about. The last
    three are unit vectors; direction stands square to the other two.
    """

    point: Triple
    direction: Triple
    up: Triple
    axis: Triple


ORIGIN = Pose((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, 1.0))
"""Where a run starts."""


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight stretch: poses at its ends, station of its start along the run [m], length [m]."""

    start: Pose
    end: Pose
    station: float
    length: float

    def pose_at(self, distance: float) -> Pose:
        """The pose so far from the start [m]."""
        return ahead(self.start, distance)


@dataclass(frozen=True, slots=True)
class Arc:
    """A bent stretch: poses at its ends, station of its start [m], length [m], radius [m], angle [rad],
    centre [m]. One without a radius is a mitre: a corner, of no length.
    """

    start: Pose
    end: Pose
    station: float
    length: float
    radius: float
    angle: float
    centre: Triple

    def pose_at(self, distance: float) -> Pose:
        """The pose so far from the start along the arc [m]; of a mitre that before it."""
        return self.start if self.is_mitre else turned(self.start, distance / self.radius, self.radius)

    @property
    def is_mitre(self) -> bool:
        """Sawn and welded: a corner without a radius."""
        return self.radius == 0.0

    @property
    def corner(self) -> Triple:
        """Where the two tangents meet [m]; geometry: R tan(θ / 2) ahead of the start, for less than 180°."""
        return ahead(self.start, self.radius * math.tan(self.angle / 2.0)).point


@dataclass(frozen=True, slots=True)
class BungPlace:
    """A side port on the centre line: station along the run [m], point [m], outward direction, and whether it
    was typed beyond the piece's end, and so stands at the end.
    """

    bung: BungPlan
    piece_number: int
    station: float
    point: Triple
    outward: Triple
    flow: Triple
    beyond: bool


@dataclass(frozen=True, slots=True)
class PieceLine:
    """One piece along the run: its stretches, poses at its faces, station of its inlet face [m], nominal
    sizes.

    overlap_in, overlap_out: how far it shares its ends with its neighbours [m].
    """

    piece: PiecePlan
    sizes: Nominal
    stretches: tuple[Straight | Arc, ...]
    start: Pose
    end: Pose
    station: float
    overlap_in: float
    overlap_out: float
    assumed: tuple[str, ...]
    mitre_in: Arc | None = None
    """The mitre that it begins with, which the piece before it ends in."""

    @property
    def length(self) -> float:
        """Face to face along the centre line [m]."""
        return self.sizes.length

    @property
    def mitre_out(self) -> Arc | None:
        """The mitre that it ends in, if it does."""
        before_last = self.stretches[-2] if len(self.stretches) > 1 else None
        ends = isinstance(before_last, Arc) and before_last.is_mitre and self.stretches[-1].length == 0.0
        return before_last if ends and isinstance(before_last, Arc) else None

    @property
    def arcs(self) -> tuple[Arc, ...]:
        """Its bends and mitres in flow direction."""
        return tuple(part for part in self.stretches if isinstance(part, Arc))

    def pose_at(self, distance: float) -> Pose:
        """The pose so far from the inlet face [m], going on straight beyond either end."""
        left = distance
        for stretch in self.stretches[:-1]:
            if left <= stretch.length:
                return stretch.pose_at(left)
            left -= stretch.length
        last = self.stretches[-1]
        if left <= last.length:
            return last.pose_at(left)
        return ahead(last.end, left - last.length)


@dataclass(frozen=True, slots=True)
class Centreline:
    """A run in space: its pieces, the length from port face to port face [m], the pose at its end, its side
    ports.

    What two pieces share at an overlap counts once, so the length is that of the air's way.
    """

    pieces: tuple[PieceLine, ...]
    length: float
    end: Pose
    bungs: tuple[BungPlace, ...]

    @property
    def assumed(self) -> tuple[tuple[int, tuple[str, ...]], ...]:
        """Number of each piece with stand-ins, and the names of those sizes."""
        return tuple((line.piece.number, line.assumed) for line in self.pieces if line.assumed)

    @property
    def corners(self) -> tuple[Triple, ...]:
        """Start, each bend's corner, end [m]; what a bend table is turned into."""
        arcs = [arc for line in self.pieces for arc in line.arcs]
        return (ORIGIN.point, *(arc.corner for arc in arcs), self.end.point)


def lay_out(plan: RunPlan) -> Centreline:
    """The centre line of a run from its nominal sizes [m, rad].

    A coupler or hose stands over the ends that it covers by its joint's overlap, so it may start before the
    origin. Sizes that are missing are stood in for and named in `assumed`. An empty plan gives an empty line.
    Source: geometry.
    """
    overlaps = _overlaps(plan)
    pose, station = ahead(ORIGIN, -overlaps[0][0]), -overlaps[0][0]
    fit = known_fit(plan.start) if plan.start is not None else None
    lines: list[PieceLine] = []
    for index, piece in enumerate(plan.pieces):
        sizes = nominal(piece, fit, _fit_after(plan, index))
        mitre = lines[-1].mitre_out if lines else None
        line = _lay_piece(piece, sizes, pose, station, overlaps[index], overlaps[index + 1], mitre)
        lines.append(line)
        fit = sizes.fit_out
        pose = ahead(line.end, -line.overlap_out)
        station += line.length - line.overlap_out
    bungs = tuple(_place(bung, line) for line in lines for bung in line.piece.bungs)
    return Centreline(tuple(lines), station if lines else 0.0, pose, bungs)


def ahead(pose: Pose, distance: float) -> Pose:
    """The pose moved straight along its direction [m]; geometry."""
    return Pose(_sum(pose.point, pose.direction, distance), pose.direction, pose.up, pose.axis)


def rolled(pose: Pose, roll: float) -> Pose:
    """The pose with its bend axis turned about the flow, right-handed [rad]; geometry."""
    return Pose(pose.point, pose.direction, pose.up, rotated(pose.axis, pose.direction, roll))


def turned(pose: Pose, angle: float, radius: float) -> Pose:
    """The pose at the end of a bend about its axis; angle [rad], radius [m]; geometry."""
    inward = cross(pose.axis, pose.direction)
    centre = _sum(pose.point, inward, radius)
    point = _sum(centre, rotated(inward, pose.axis, angle), -radius)
    return Pose(
        point, rotated(pose.direction, pose.axis, angle), rotated(pose.up, pose.axis, angle), pose.axis
    )


def rotated(vector: Triple, axis: Triple, angle: float) -> Triple:
    """A vector turned right-handed about a unit axis [rad]; Rodrigues' rotation formula, geometry."""
    cosine, sine = math.cos(angle), math.sin(angle)
    along = dot(axis, vector) * (1.0 - cosine)
    square = cross(axis, vector)
    return (
        vector[0] * cosine + square[0] * sine + axis[0] * along,
        vector[1] * cosine + square[1] * sine + axis[1] * along,
        vector[2] * cosine + square[2] * sine + axis[2] * along,
    )


def cross(a: Triple, b: Triple) -> Triple:
    """The vector product; geometry."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def dot(a: Triple, b: Triple) -> float:
    """The scalar product; geometry."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _sum(point: Triple, direction: Triple, distance: float) -> Triple:
    return (
        point[0] + direction[0] * distance,
        point[1] + direction[1] * distance,
        point[2] + direction[2] * distance,
    )


def _overlaps(plan: RunPlan) -> list[tuple[float, bool]]:
    """Overlap [m] and whether it is a stand-in, at each joint; a joint that is not there yet has none."""
    if not plan.pieces:
        return [(0.0, False)]
    sides = (plan.start, *plan.pieces, plan.end)
    found = [joint_overlap(joint, *pair) for joint, pair in zip(plan.joints, pairwise(sides), strict=False)]
    return found + [(0.0, False)] * (len(plan.pieces) + 1 - len(found))


def _fit_after(plan: RunPlan, index: int) -> float | None:
    after = plan.pieces[index + 1] if index + 1 < len(plan.pieces) else plan.end
    return None if after is None else known_fit(after)


def _lay_piece(
    piece: PiecePlan,
    sizes: Nominal,
    start: Pose,
    station: float,
    inlet: tuple[float, bool],
    outlet: tuple[float, bool],
    mitre: Arc | None,
) -> PieceLine:
    """inlet, outlet: overlap there [m], and whether it is stood in for; mitre: that it begins with."""
    stretches = _stretches(piece, sizes, start, station)
    assumed = sizes.assumed + (("overlap",) if piece.is_hose and (inlet[1] or outlet[1]) else ())
    end = stretches[-1].end
    return PieceLine(piece, sizes, stretches, start, end, station, inlet[0], outlet[0], assumed, mitre)


def _stretches(piece: PiecePlan, sizes: Nominal, start: Pose, station: float) -> tuple[Straight | Arc, ...]:
    found: list[Straight | Arc] = [Straight(start, ahead(start, sizes.leg_in), station, sizes.leg_in)]
    bent = sizes.angle > 0.0 and sizes.radius > 0.0
    if bent:
        found.append(_bend(found[-1], piece.roll, sizes.angle, sizes.radius))
    if bent or sizes.leg_out > 0.0:
        found.append(_after(found[-1], sizes.leg_out))
    for turn in piece.turns:
        found.append(_bend(found[-1], turn.roll, turn.angle, turn.radius))
        found.append(_after(found[-1], turn.straight))
    return tuple(found)


def _bend(before: Straight | Arc, roll: float, angle: float, radius: float) -> Arc:
    entry = rolled(before.end, roll)
    centre = _sum(entry.point, cross(entry.axis, entry.direction), radius)
    end = turned(entry, angle, radius)
    return Arc(entry, end, before.station + before.length, radius * angle, radius, angle, centre)


def _after(stretch: Straight | Arc, length: float) -> Straight:
    return Straight(stretch.end, ahead(stretch.end, length), stretch.station + stretch.length, length)


def _place(bung: BungPlan, line: PieceLine) -> BungPlace:
    at = min(max(bung.at, 0.0), line.length)
    pose = line.pose_at(at)
    outward = rotated(pose.up, pose.direction, bung.clock)
    return BungPlace(
        bung, line.piece.number, line.station + at, pose.point, outward, pose.direction, at != bung.at
    )
