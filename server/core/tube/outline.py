"""A run's outlines on the sheet: lines and true arcs, written as the `d` of an SVG path.

A tube's outline in any square view is the curve at one radius on either side of the centre line's picture,
because a ball that runs along the tube is seen as a disc. A face that leans is seen as an ellipse.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from server.core.tube.centreline import Arc, PieceLine, Pose, Straight, Triple, ahead, dot
from server.core.tube.view import Flat, Poses, View, steps_of

END_ON = 0.02
"""A direction whose picture is shorter than this [-] is seen end on."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A view put on the sheet: `scale` [sheet units per metre], x to the right, y down, `shift` [sheet
    units].
    """

    view: View
    scale: float
    shift: Flat = (0.0, 0.0)

    def at(self, point: Triple) -> Flat:
        """A point of the run [m] on the sheet [units]."""
        x, y = self.view.flat(point)
        return x * self.scale + self.shift[0], -y * self.scale + self.shift[1]

    def along(self, direction: Triple) -> Flat:
        """A unit direction's picture, shorter the more it leans."""
        x, y = self.view.flat(direction)
        return x, -y


class Cut(NamedTuple):
    """A square section of a tube as seen: its centre, the unit direction of flow, the radius [sheet units],
    and the face's breadth along the flow over its width across it [-].
    """

    centre: Flat
    flow: Flat
    radius: float
    lean: float

    def point(self, forward: float, aside: float) -> Flat:
        """A point so far along the flow and to the left of it [sheet units]."""
        (x, y), (dx, dy) = self.centre, self.flow
        return x + dx * forward + dy * aside, y + dy * forward - dx * aside


class _Stroke(NamedTuple):
    """One step of a path: to a point, straight, or (radius given) along an arc, clockwise or not on the
    sheet, or (bow given) along a parabola whose end tangents meet there.
    """

    to: Flat
    radius: float = 0.0
    large: bool = False
    clockwise: bool = False
    bow: Flat | None = None


def number(value: float) -> str:
    """A sheet unit rounded to a tenth, as short as it goes.

    >>> number(-0.04), number(12.0), number(3.26)
    ('0', '12', '3.3')
    """
    return f"{value:z.1f}".removesuffix(".0")


def spot(point: Flat) -> str:
    """A point as path text."""
    return f"{number(point[0])} {number(point[1])}"


def polygon(points: Sequence[Flat], closed: bool = True) -> str:
    """A path through points [sheet units]: the first as it is, then steps from each rounded point to the
    next.
    """
    tenths = [(round(x * 10.0), round(y * 10.0)) for x, y in points]
    text = "M" + spot((tenths[0][0] / 10.0, tenths[0][1] / 10.0))
    for (x, y), (to_x, to_y) in pairwise(tenths):
        text += _step((to_x - x) / 10.0, (to_y - y) / 10.0)
    return text + ("Z" if closed else "")


def _step(across: float, down: float) -> str:
    if down == 0.0:
        return f"h{number(across)}"
    if across == 0.0:
        return f"v{number(down)}"
    return f"l{number(across)} {number(down)}"


def circle(centre: Flat, radius: float) -> str:
    """A circle as a path [sheet units]."""
    r, x, y = number(radius), number(centre[0] - radius), number(centre[1])
    width = number(2.0 * radius)
    return f"M{x} {y}a{r} {r} 0 1 0 {width} 0a{r} {r} 0 1 0-{width} 0Z"


def cut(sheet: Sheet, pose: Pose, radius: float, flow: Flat = (1.0, 0.0)) -> Cut:
    """The section of a tube at a pose; radius [m]; flow: the direction to use where the tube is seen end
    on.
    """
    x, y = sheet.along(pose.direction)
    length = math.hypot(x, y)
    seen = flow if length < END_ON else (x / length, y / length)
    return Cut(sheet.at(pose.point), seen, radius * sheet.scale, math.sqrt(max(0.0, 1.0 - length * length)))


def sections(sheet: Sheet, along: Poses) -> list[Cut]:
    """The sections along a piece, by the poses there (`poses_along`), from its inlet face to its outlet's.

    One seen end on has the flow of the nearest before it, or else of the first that is not.
    """
    pictures = (sheet.along(pose.direction) for pose, _ in along)
    flow = next((_unit(seen) for seen in pictures if math.hypot(*seen) >= END_ON), (1.0, 0.0))
    found = []
    for pose, radius in along:
        found.append(cut(sheet, pose, radius, flow))
        flow = found[-1].flow
    return found


def _unit(direction: Flat) -> Flat:
    length = math.hypot(*direction)
    return direction[0] / length, direction[1] / length


def outline(sheet: Sheet, line: PieceLine, cuts: Sequence[Cut]) -> str:
    """The closed outline of a piece: one wall with the flow, the face, the other wall back, the face.

    cuts: its `sections`.
    """
    seen = _seen(sheet, line, cuts)
    left, right = _wall(sheet, line, seen, 1.0), _wall(sheet, line, seen, -1.0)
    text = "M" + spot(left[0].to) + _strokes(left)
    text += f"L{spot(right[-1].to)}" if line.mitre_out else _face(cuts[-1], right[-1].to)
    text += _strokes(_reversed(right))
    return text + ("" if line.mitre_in else _face(cuts[0], left[0].to, closing=True)) + "Z"


def centre_path(sheet: Sheet, lines: Sequence[PieceLine], before: float, after: float) -> str:
    """The centre line of a run as one path that covers no stretch twice; before, after: how far it goes on
    [m].
    """
    first, last = lines[0], lines[-1]
    text = "M" + spot(sheet.at(first.pose_at(first.overlap_in - before).point))
    for line in lines:
        start = line.overlap_in if line is first else 0.0
        text += _strokes(_centre(sheet, clip(line, start, line.length - line.overlap_out)))
    end = last.pose_at(last.length - last.overlap_out)
    return text + "L" + spot(sheet.at(ahead(end, after).point))


def clip(line: PieceLine, start: float, end: float) -> list[Straight | Arc]:
    """The stretches of a piece between two distances from its inlet face [m]."""
    kept: list[Straight | Arc] = []
    for stretch in line.stretches:
        offset = stretch.station - line.station
        low, high = max(0.0, start - offset), min(stretch.length, end - offset)
        if high <= low:
            continue
        if low == 0.0 and high == stretch.length:
            kept.append(stretch)
            continue
        first, last, length = stretch.pose_at(low), stretch.pose_at(high), high - low
        station = stretch.station + low
        if isinstance(stretch, Arc):
            angle = length / stretch.radius
            kept.append(replace(stretch, start=first, end=last, station=station, length=length, angle=angle))
        else:
            kept.append(Straight(first, last, station, length))
    return kept


def _centre(sheet: Sheet, stretches: Sequence[Straight | Arc]) -> list[_Stroke]:
    strokes = [_Stroke((0.0, 0.0))]
    for stretch in stretches:
        if isinstance(stretch, Straight):
            strokes.append(_Stroke(sheet.at(stretch.end.point)))
        elif sheet.view.plane(stretch):
            strokes.append(
                _true_arc(sheet, stretch, sheet.at(stretch.end.point), stretch.radius * sheet.scale)
            )
        else:
            count = steps_of(stretch)
            poses = (stretch.pose_at(stretch.length * step / count) for step in range(count + 1))
            steps = [cut(sheet, pose, 0.0) for pose in poses]
            strokes += [_Stroke(b.centre, bow=_meeting(a, b, a.centre, b.centre)) for a, b in pairwise(steps)]
    return strokes


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch as seen: an arc that is seen as one, or none, and the sections along it."""

    arc: Arc | None
    cuts: Sequence[Cut]


def _seen(sheet: Sheet, line: PieceLine, cuts: Sequence[Cut]) -> list[_Stretch]:
    """The stretches of a piece, by its sections."""
    whole = line.sizes.outside_out == line.sizes.outside_in
    found: list[_Stretch] = []
    first = 0
    for stretch in line.stretches:
        here = cuts[first : first + steps_of(stretch) + 1]
        first += len(here)
        if isinstance(stretch, Arc) and stretch.is_mitre:
            found.append(_Stretch(stretch, _mitre_cuts(sheet, stretch, line.sizes.outside_out)))
        elif stretch.length > 0.0 or not found:
            arc = stretch if isinstance(stretch, Arc) and whole and sheet.view.plane(stretch) else None
            found.append(_Stretch(arc, here))
    return found


def _mitre_cuts(sheet: Sheet, mitre: Arc, outside: float) -> tuple[Cut, Cut]:
    """The square sections on both sides of a mitre's middle; outside [m]."""
    before, after = (cut(sheet, pose, outside / 2.0) for pose in (mitre.start, mitre.end))
    return before, after


def _wall(sheet: Sheet, line: PieceLine, seen: Sequence[_Stretch], side: float) -> list[_Stroke]:
    """One wall with the flow; side: 1 to its left, -1 to its right."""
    growth = line.sizes.outside_out - line.sizes.outside_in
    strokes: list[_Stroke] = []
    if line.mitre_in is not None:
        strokes.append(_Stroke(_mitred(_mitre_cuts(sheet, line.mitre_in, line.sizes.outside_in), side)))
    for stretch in seen:
        if stretch.arc is not None and stretch.arc.is_mitre:
            strokes[-1] = _Stroke(_mitred(stretch.cuts, side))
            continue
        if stretch.arc is not None:
            end = stretch.cuts[-1]
            turn = side if _left_turn(sheet, stretch.arc) else -side
            radius = stretch.arc.radius * sheet.scale - turn * end.radius
            # A wall inside the bend's own centre has no radius left and closes to a corner.
            to = end.point(0.0, side * end.radius)
            strokes.append(_true_arc(sheet, stretch.arc, to, radius) if radius > 0.0 else _Stroke(to))
            continue
        points = [one.point(0.0, side * one.radius) for one in stretch.cuts]
        if not strokes:
            strokes.append(_Stroke(points[0]))
        for (last, start), (here, to) in pairwise(zip(stretch.cuts, points, strict=True)):
            bow = _meeting(last, here, start, to) if growth == 0.0 else None
            strokes.append(_Stroke(to, bow=bow))
    return strokes


def _mitred(cuts: Sequence[Cut], side: float) -> Flat:
    """Where the walls of two tubes meet at a mitre, by the sections before and after it; geometry."""
    before, after = cuts
    start, end = before.point(0.0, side * before.radius), after.point(0.0, side * after.radius)
    (ax, ay), (bx, by) = before.flow, after.flow
    turn = ax * by - ay * bx
    if abs(turn) < 0.02:
        return start
    along = ((end[0] - start[0]) * by - (end[1] - start[1]) * bx) / turn
    return start[0] + ax * along, start[1] + ay * along


def _meeting(first: Cut, last: Cut, start: Flat, end: Flat) -> Flat | None:
    """Where the tangents at two points meet between them; none where they are as good as parallel;
    geometry.
    """
    (ax, ay), (bx, by) = first.flow, last.flow
    turn = ax * by - ay * bx
    if abs(turn) < 0.02:
        return None
    across, down = end[0] - start[0], end[1] - start[1]
    ahead_of_start = (across * by - down * bx) / turn
    behind_end = (ax * down - ay * across) / turn
    if ahead_of_start < 0.0 or behind_end < 0.0:
        return None
    return start[0] + ax * ahead_of_start, start[1] + ay * ahead_of_start


def _left_turn(sheet: Sheet, arc: Arc) -> bool:
    """Whether an arc in the plane turns to the left as seen."""
    return dot(arc.start.axis, sheet.view.towards) > 0.0


def _true_arc(sheet: Sheet, arc: Arc, to: Flat, radius: float) -> _Stroke:
    return _Stroke(to, radius, arc.angle > math.pi, not _left_turn(sheet, arc))


def _strokes(strokes: Sequence[_Stroke]) -> str:
    """Path text of all strokes but the first, which only says where to start."""
    text, last = "", spot(strokes[0].to)
    for stroke in strokes[1:]:
        goal = spot(stroke.to)
        if goal == last:
            continue
        last = goal
        if stroke.radius > 0.0:
            radius = number(stroke.radius)
            text += f"A{radius} {radius} 0 {stroke.large:d} {stroke.clockwise:d} {goal}"
        elif stroke.bow is not None:
            text += f"Q{spot(stroke.bow)} {goal}"
        else:
            text += f"L{goal}"
    return text


def _reversed(strokes: Sequence[_Stroke]) -> list[_Stroke]:
    turned = [_Stroke(strokes[-1].to)]
    for stroke, before in zip(reversed(strokes), reversed(strokes[:-1]), strict=False):
        turned.append(_Stroke(before.to, stroke.radius, stroke.large, not stroke.clockwise, stroke.bow))
    return turned


def _face(section: Cut, to: Flat, closing: bool = False) -> str:
    """A face from wall to wall: a line, or the outer half of an ellipse where the tube leans."""
    breadth = section.radius * section.lean
    if breadth < 0.5:
        return "" if closing else f"L{spot(to)}"
    turn = math.degrees(math.atan2(section.flow[0], -section.flow[1]))
    return f"A{number(section.radius)} {number(breadth)} {number(turn)} 0 1 {spot(to)}"
