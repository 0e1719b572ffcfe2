"""The small marks on a run's drawing: spigots and ports, beads, clamps, plates, side ports."""

import math
from dataclasses import dataclass

from server.core.tube.centreline import ORIGIN, BungPlace, Centreline, Pose, ahead
from server.core.tube.outline import Cut, Sheet, circle, cut, number, polygon, spot
from server.core.tube.placing import Capsule, ring
from server.core.tube.run import Clamp, EndForm, JointKind, JointPlan, PieceKind, PiecePlan, PortPlan, RunPlan
from server.core.tube.view import Flat

STUB = 16.0
"""How much of a port is drawn beyond what a hose covers [sheet units]."""
BUNG_LENGTH = 0.022
"""How far a side port is drawn to stand out of its piece [m]; common practice, no source."""
SEEN_ASIDE = 0.5
"""Least picture of a unit direction [-] for a side port to be drawn from the side and not end on."""


@dataclass(frozen=True, slots=True)
class Tip:
    """One side of a joint at the end of what goes inside.

    pose: at the end of the spigot; forward: 1 where the spigot comes with the flow, -1 against it; outside:
    of the spigot [m]; hose_outside: of what covers it, 0 where nothing does [m]; overlap [m].
    """

    pose: Pose
    forward: float
    outside: float
    hose_outside: float
    overlap: float
    beaded: bool


def tip(plan: RunPlan, line: Centreline, index: int) -> Tip:
    """The spigot at a joint: the side that is not a hose."""
    before = line.pieces[index - 1] if index > 0 else None
    after = line.pieces[index] if index < len(line.pieces) else None
    if after is not None and (before is None or before.piece.is_hose):
        if before is None:
            return _port_tip(
                plan.start, ORIGIN, 1.0, after.sizes.fit_in, after.sizes.outside_in, after.overlap_in
            )
        beaded = after.piece.inlet_end in {EndForm.BEAD, EndForm.BARB}
        return Tip(
            after.start, -1.0, after.sizes.outside_in, before.sizes.outside_out, before.overlap_out, beaded
        )
    assert before is not None, "a joint has a piece on one side at least"
    if after is None:
        sizes = before.sizes
        return _port_tip(plan.end, line.end, -1.0, sizes.fit_out, sizes.outside_out, before.overlap_out)
    beaded = before.piece.outlet_end in {EndForm.BEAD, EndForm.BARB}
    return Tip(before.end, 1.0, before.sizes.outside_out, after.sizes.outside_in, before.overlap_out, beaded)


def name_spots(sheet: Sheet, end: Tip, length: float) -> list[Flat]:
    """Where a port's name may stand, best first: beside the stub, above or below it; length: of the name
    [units].
    """
    at = cut(sheet, end.pose, end.outside / 2.0)
    middle = at.point(-end.forward * (end.overlap * sheet.scale + STUB / 2.0), 0.0)
    level, upright = abs(at.flow[0]), abs(at.flow[1])
    aside = at.radius * upright + STUB / 2.0 * level + length / 2.0 + 6.0
    above = at.radius * level + STUB / 2.0 * upright + 12.0
    shifts = [(0.0, 1.0), (30.0, 1.0), (-30.0, 1.0), (0.0, -1.0), (30.0, -1.0), (-30.0, -1.0)]
    up_down = [(shift, sign * (above + more)) for more in (0.0, 10.0, 22.0, 40.0) for shift, sign in shifts]
    beside = [(sign * aside, 0.0) for sign in (1.0, -1.0)]
    order = up_down[:6] + beside + up_down[6:] if level > upright else beside + up_down
    return [(middle[0] + x, middle[1] + y) for x, y in order]


def flow_arrow(sheet: Sheet, end: Tip) -> tuple[str, Capsule]:
    """An arrowhead before the start port that shows which way it flows, and the room it takes."""
    at = cut(sheet, end.pose, 0.0)
    tail = -(end.overlap * sheet.scale + STUB + 18.0)
    arrow = [at.point(tail + f, a) for f, a in ((0.0, 4.5), (11.0, 0.0), (0.0, -4.5))]
    return polygon(arrow), Capsule(at.point(tail, 0.0), at.point(tail + 8.0, 0.0), 4.0)


def port_stub(sheet: Sheet, end: Tip) -> tuple[str, Capsule]:
    """A port's end as a thick stub, what a hose covers included, and the room it takes."""
    length = end.overlap * sheet.scale + STUB
    at = cut(sheet, end.pose, end.outside / 2.0)
    back = -end.forward * length
    corners = [at.point(f, a * at.radius) for f, a in ((0.0, 1.0), (back, 1.0), (back, -1.0), (0.0, -1.0))]
    half, middle = STUB / 2.0, -end.forward * (length - STUB / 2.0)
    aside = max(0.0, at.radius - half)
    return polygon(corners), Capsule(at.point(middle, aside), at.point(middle, -aside), half)


def tip_line(sheet: Sheet, end: Tip) -> str:
    """The hidden end of a spigot inside its hose."""
    at = cut(sheet, end.pose, end.outside / 2.0)
    return polygon([at.point(0.0, at.radius), at.point(0.0, -at.radius)], closed=False)


def bead(sheet: Sheet, end: Tip) -> str:
    """A bead as a small swelling on both walls, a quarter of the overlap behind the end."""
    at, behind = _behind(sheet, end, 0.22)
    half, text = 2.4, ""
    for side in (1.0, -1.0):
        first, last = at.point(behind - half, side * at.radius), at.point(behind + half, side * at.radius)
        text += f"M{spot(first)}A{number(half)} {number(half)} 0 0 {side > 0:d} {spot(last)}"
    return text


def clamp(sheet: Sheet, end: Tip) -> tuple[str, Capsule]:
    """A clamp's band round the hose behind the bead, with its screw, and the room the screw takes."""
    at, behind = _behind(sheet, end, 0.66)
    half = max(2.0, min(0.006 * sheet.scale, 0.16 * end.overlap * sheet.scale))
    edge = at.radius + 1.6
    band = [at.point(behind + f, a) for f, a in ((-half, edge), (half, edge), (half, -edge), (-half, -edge))]
    screw = [
        at.point(behind + f, edge + a)
        for f, a in ((-half - 1.2, 0.0), (-half - 1.2, 4.2), (half + 1.2, 4.2), (half + 1.2, 0.0))
    ]
    return polygon(band) + polygon(screw), Capsule(
        at.point(behind, edge), at.point(behind, edge + 2.0), half + 1.0
    )


def plate(sheet: Sheet, end: Tip, kind: JointKind) -> str:
    """A flange pair or V-band as a thin plate across the joint."""
    at = cut(sheet, end.pose, end.outside / 2.0)
    half, edge = (2.6, at.radius + 8.0) if kind is JointKind.FLANGE else (3.4, at.radius + 4.5)
    return polygon([at.point(f, a) for f, a in ((-half, edge), (half, edge), (half, -edge), (-half, -edge))])


def has_clamp(joint: JointPlan, end: Tip) -> bool:
    """Whether a clamp is named and there is an overlap to draw it on."""
    return joint.clamp is not Clamp.NONE and end.overlap > 0.0


@dataclass(frozen=True, slots=True)
class BungMark:
    """A side port on the sheet: its path, the room it takes, where its letter may go, whether it is out of
    sight.
    """

    d: str
    room: Capsule
    letter_spots: tuple[Flat, ...]
    hidden: bool


def bung_mark(sheet: Sheet, place: BungPlace, outside: float) -> BungMark:
    """A side port: a stub on the wall, or a circle where it points at the eye or away. outside: [m]."""
    x, y = sheet.at(place.point)
    dx, dy = sheet.along(place.outward)
    seen = math.hypot(dx, dy)
    radius = outside / 2.0 * sheet.scale
    half = max(2.5, place.bung.bore * sheet.scale / 2.0)
    if seen < SEEN_ASIDE:
        centre = (x + dx * radius, y + dy * radius)
        at = cut(sheet, Pose(place.point, place.flow, place.outward, place.outward), outside / 2.0)
        reaches = [at.radius + 11.0 + more for more in (0.0, 8.0, 16.0, 26.0)]
        spots = tuple(
            at.point(f, side * reach) for reach in reaches for f in (0.0, 14.0, -14.0) for side in (1.0, -1.0)
        )
        hidden = sheet.view.lean(place.outward) < 0.0
        near = tuple(ring(centre, (0.0, -1.0), half + 4.0))
        return BungMark(circle(centre, half), Capsule(centre, centre, half), spots + near, hidden)
    foot = Cut((x + dx * (radius - 0.5), y + dy * (radius - 0.5)), (dx / seen, dy / seen), half, 0.0)
    length = max(9.0, BUNG_LENGTH * sheet.scale * seen)
    walls = [foot.point(f, a) for f, a in ((0.0, half), (length, half), (length, -half), (0.0, -half))]
    mouth = foot.point(length, 0.0)
    spots = tuple(
        foot.point(length + more, aside)
        for more, aside in ((10.0, 0.0), (-2.0, half + 10.0), (-2.0, -half - 10.0), (18.0, 0.0), (28.0, 0.0))
    )
    near = tuple(ring(mouth, foot.flow, half + 4.0))
    return BungMark(polygon(walls), Capsule(foot.centre, mouth, half), spots + near, False)


def ribs(sheet: Sheet, pose: Pose, length: float, outside: float, kind: PieceKind) -> str:
    """The thin lines that tell a flex, a filter or an air meter from plain tube; pose: at its inlet; sizes
    [m].
    """
    if kind is PieceKind.METER:
        one, two = (cut(sheet, ahead(pose, length * part), outside / 2.0) for part in (0.25, 0.75))
        return "".join(
            polygon([one.point(0.0, side * one.radius), two.point(0.0, -side * two.radius)], closed=False)
            for side in (1.0, -1.0)
        )
    count = max(3, min(9, round(length * sheet.scale / 7.0)))
    text = ""
    for index in range(1, count):
        at = cut(sheet, ahead(pose, length * index / count), outside / 2.0)
        text += polygon([at.point(0.0, at.radius), at.point(0.0, -at.radius)], closed=False)
    return text


def ribbed(piece: PiecePlan) -> bool:
    """Whether a piece is told from plain tube by thin lines."""
    return piece.kind in {PieceKind.FLEX, PieceKind.FILTER, PieceKind.METER}


def _port_tip(
    port: PortPlan | None, pose: Pose, forward: float, fit: float, hose_outside: float, overlap: float
) -> Tip:
    outside = port.sizes.get("outside_diameter") if port is not None else None
    beaded = port is not None and port.end_form in {EndForm.BEAD, EndForm.BARB}
    return Tip(pose, forward, fit if outside is None else outside.value, hose_outside, overlap, beaded)


def _behind(sheet: Sheet, end: Tip, part: float) -> tuple[Cut, float]:
    """The hose's section at a spigot's end, and so far behind that end [sheet units along the flow]."""
    radius = max(end.outside, end.hose_outside) / 2.0
    return cut(sheet, end.pose, radius), -end.forward * end.overlap * part * sheet.scale
