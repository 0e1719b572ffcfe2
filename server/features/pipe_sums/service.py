"""The sums on pipes: each the same pure function that the designs use, asked by a script or by a person."""

from collections.abc import Mapping
from math import degrees, radians

import numpy as np

from server.core.tube.cutting.mitre import fault, mitred_bend, notes, ordinates, unequal, wrap
from server.core.tube.cutting.offset import rolling_offset
from server.core.tube.route import problem as route_problem
from server.core.tube.route.search import find_routes
from server.core.tube.space.bend_table import BendRow, BendTable, NoPipe, corners_of, table_of
from server.core.tube.space.fix import Fix, Tape, fixes
from server.core.tube.space.keep_outs import Box, Capsule, Floats, KeepOut, ball
from server.core.tube.space.vectors import Vector, unit, vector
from server.core.tube.splice import problem as splice_problem
from server.core.tube.splice import solve
from server.core.tube.splice.piece import Piece
from server.core.tube.splice.piece import fault as pipe_fault
from server.errors import BadInput, FieldError
from server.features.bench import service as bench
from server.features.pipe_sums import forms, page

MM = 1e-3
SQUARE = 1e-3
"""How far from square the edges of a box may be typed [-]."""
_OVERLAP = "A straight is under nothing: two arcs overlap. Move the corners, or take a smaller radius."


def mitre(asked: forms.MitreIn) -> page.MitreOut:
    """A mitred bend and its template; a reason where the saw or the radius can't make it."""
    outside, radius = asked.outside_diameter_mm * MM, asked.centreline_radius_mm * MM
    bend = radians(asked.bend_deg)
    why = fault(outside, bend, asked.cuts, radius)
    if why is None and asked.other_outside_diameter_mm is not None:
        why = unequal(outside, asked.other_outside_diameter_mm * MM)
    if why is not None:
        return page.MitreOut(reason=why)
    made = mitred_bend(outside, bend, asked.cuts, radius)
    return page.MitreOut(
        saw_angle_deg=degrees(made.saw_angle),
        wrap_mm=wrap(outside, asked.paper_mm * MM) / MM,
        stock_mm=sum(piece.centre for piece in made.segments) / MM,
        segments=tuple(
            page.SegmentOut(throat_mm=piece.throat / MM, centre_mm=piece.centre / MM, back_mm=piece.back / MM)
            for piece in made.segments
        ),
        ordinates_mm=tuple(y / MM for y in ordinates(outside, made.saw_angle, asked.ordinates)),
        notes=notes(made),
    )


def offset(asked: forms.OffsetIn) -> page.OffsetOut:
    """The way between two parallel lines; a reason where they are one."""
    if asked.rise_mm == 0.0 and asked.offset_mm == 0.0:
        return page.OffsetOut(reason="The lines are the same: no offset is needed.")
    found = rolling_offset(asked.rise_mm * MM, asked.offset_mm * MM, radians(asked.fitting_deg))
    return page.OffsetOut(
        true_offset_mm=found.true_offset / MM,
        travel_mm=found.travel / MM,
        advance_mm=found.advance / MM,
        roll_deg=degrees(found.roll),
    )


def bend_table(asked: forms.BendTableIn) -> page.BendTableOut:
    """A bent pipe in the other form. Raises BadInput where neither form, or both, are given whole."""
    if asked.vertices_mm is None and asked.rows:
        return _corners(asked)
    if asked.vertices_mm is None:
        raise _refused("vertices_mm", "Neither corners nor bends are given.", "corners with radii, or rows")
    if asked.rows:
        raise _refused("rows", "Corners are given too.", "corners with radii, or rows, not both")
    radii = asked.radii_mm or []
    inner = len(asked.vertices_mm) - 2
    if len(radii) != inner:
        raise _refused("radii_mm", f"{len(radii)} radii for {inner} inner corners.", f"{inner} radii")
    try:
        table = table_of([vector(one) * MM for one in asked.vertices_mm], [radius * MM for radius in radii])
    except NoPipe as why:
        raise _refused(f"vertices_mm[{why.at}]", str(why), "corners apart from each other") from None
    return page.BendTableOut(
        developed_mm=table.developed / MM,
        rows=tuple(_row(row) for row in table.rows),
        last_straight_mm=table.last_straight / MM,
        notes=_overlaps(table),
    )


def _row(row: BendRow) -> page.BendRowOut:
    return page.BendRowOut(
        straight_mm=row.straight / MM,
        rotation_deg=degrees(row.rotation),
        angle_deg=degrees(row.angle),
        radius_mm=row.radius / MM,
    )


def _corners(asked: forms.BendTableIn) -> page.BendTableOut:
    """The corners of a table that starts at the origin along x, its first bend towards y."""
    if asked.last_straight_mm is None:
        raise _refused("last_straight_mm", "Missing.", "a length from 0 mm, such as 150")
    rows = tuple(
        BendRow(row.straight_mm * MM, radians(row.rotation_deg), radians(row.angle_deg), row.radius_mm * MM)
        for row in asked.rows
    )
    table = BendTable(rows, asked.last_straight_mm * MM)
    corners = corners_of(table)
    return page.BendTableOut(
        developed_mm=table.developed / MM,
        vertices_mm=tuple(_point(corner) for corner in corners),
        radii_mm=tuple(row.radius_mm for row in asked.rows),
    )


def _overlaps(table: BendTable) -> tuple[str, ...]:
    straights = (*(row.straight for row in table.rows), table.last_straight)
    return (_OVERLAP,) if min(straights) < 0.0 else ()


def trilateration(asked: forms.TrilaterationIn) -> page.TrilaterationOut:
    """The two places that three tapes leave, or why there is none."""
    found = fixes(
        [Tape(vector(one.point_mm) * MM, one.distance_mm * MM, one.doubt_mm * MM) for one in asked.tapes]
    )
    return page.TrilaterationOut(
        points=tuple(_place(one) for one in found.fixes),
        short_mm=found.short / MM if found.short else None,
        reason=found.reason or None,
        notes=found.notes,
    )


def route(asked: forms.RouteIn) -> page.RoutesOut:
    """Routes through bends that can be bought, or what stands in the way. Raises BadInput for a direction
    without length and for a keep-out that lacks what its shape has."""
    found = find_routes(
        route_problem.Asked(
            _end("start", asked.start),
            _end("end", asked.end),
            tuple(_kind(one) for one in asked.bends),
            asked.shortest_straight_mm * MM,
            asked.outside_diameter_mm * MM,
            asked.most_bends,
            tuple(_keep_out(f"keep_outs[{at}]", one) for at, one in enumerate(asked.keep_outs)),
        )
    )
    return page.RoutesOut(routes=tuple(_route(one) for one in found.found), reason=found.reason or None)


def _end(field: str, pose: forms.PoseIn) -> route_problem.End:
    return route_problem.End(vector(pose.point_mm) * MM, _direction(f"{field}.direction", pose.direction))


def _direction(field: str, parts: list[float]) -> Vector:
    try:
        return unit(vector(parts))
    except ValueError:
        raise _refused(field, "A direction needs a length.", "three numbers, not all 0: 1 0 0") from None


def _kind(bend: forms.BendKindIn) -> route_problem.BendKind:
    return route_problem.BendKind(
        bend.radius_mm * MM,
        radians(bend.angle_deg),
        bend.may_cut_down,
        bend.leg_in_mm * MM,
        bend.leg_out_mm * MM,
    )


_OF_SHAPE = {
    "ball": ("centre_mm", "radius_mm"),
    "capsule": ("from_mm", "to_mm", "radius_mm"),
    "box": ("centre_mm", "half_sizes_mm"),
}
"""What each shape of a keep-out must have."""
_ALONG_THE_CAR = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]


def _keep_out(field: str, one: forms.KeepOutIn) -> KeepOut:
    """A keep-out of the shape that it says. Raises BadInput."""
    parts = {
        name: getattr(one, name)
        for name in ("centre_mm", "radius_mm", "from_mm", "to_mm", "half_sizes_mm", "axes")
    }
    for name, value in parts.items():
        needed = name in _OF_SHAPE[one.shape]
        if needed and value is None:
            raise _refused(f"{field}.{name}", f"Missing: a {one.shape} has it.", "see the example")
        if value is not None and not needed and (name, one.shape) != ("axes", "box"):
            raise _refused(f"{field}.{name}", f"A {one.shape} has no such thing.", "nothing")
    sizes = {
        name: np.asarray(value) * MM for name, value in parts.items() if name != "axes" and value is not None
    }
    gap = one.gap_mm * MM
    if one.shape == "box":
        axes = _edges(f"{field}.axes", one.axes or _ALONG_THE_CAR)
        return Box(sizes["centre_mm"], sizes["half_sizes_mm"], axes, gap)
    radius = float(sizes["radius_mm"])
    if one.shape == "ball":
        return ball(sizes["centre_mm"], radius, gap)
    return Capsule(sizes["from_mm"], sizes["to_mm"], radius, gap)


def _edges(field: str, axes: list[list[float]]) -> Floats:
    """The edges of a box as unit rows, made quite square. Raises BadInput where they are far from it."""
    edges = np.array([_direction(field, axis) for axis in axes])
    if not np.allclose(edges @ edges.T, np.eye(3), rtol=0.0, atol=SQUARE):
        raise _refused(
            field, "The edges are not square to each other.", "three directions at 90°: 1 0 0; 0 1 0; 0 0 1"
        )
    left, _, right = np.linalg.svd(edges)
    return np.asarray(left @ right)


def _route(found: route_problem.Route) -> page.RouteOut:
    table = found.table
    return page.RouteOut(
        length_mm=found.length / MM,
        straights_mm=tuple(one / MM for one in (*(row.straight for row in table.rows), table.last_straight)),
        bends=tuple(
            page.RouteBendOut(
                radius_mm=row.radius / MM, angle_deg=degrees(row.angle), rotation_deg=degrees(row.rotation)
            )
            for row in table.rows
        ),
        vertices_mm=tuple(_point(corner) for corner in found.corners),
        closure_mm=found.closure / MM,
        closure_deg=degrees(found.closure_angle),
    )


def splice(asked: forms.SpliceIn) -> page.SplicesOut:
    """Ways to join two pipes, or what would have to give way. Raises BadInput for what is no pipe."""
    outside = asked.outside_diameter_mm * MM
    if asked.other_outside_diameter_mm is not None:
        why = unequal(outside, asked.other_outside_diameter_mm * MM)
        if why is not None:
            return page.SplicesOut(reason=why)
    found = solve.splice(
        splice_problem.Problem(
            _pipe("fixed", asked.fixed),
            _pipe("turning", asked.turning),
            asked.turning.holes,
            outside,
            asked.most_pie_cuts,
            radians(asked.saw_limit_deg),
            asked.shortest_throat_mm * MM,
            asked.axis_gap_limit_mm * MM,
        )
    )
    return page.SplicesOut(
        splices=tuple(_splice(one) for one in found.splices),
        misses=tuple(_miss(one) for one in (*found.misses, *found.together)),
        reason=found.reason or None,
        notes=found.notes,
    )


def _pipe(field: str, asked: forms.PipeIn) -> Piece:
    """A pipe from its flange outwards. Raises BadInput."""
    radii, inner = asked.radii_mm or [], len(asked.vertices_mm) - 2
    if len(radii) != inner:
        raise _refused(
            f"{field}.radii_mm", f"{len(radii)} radii for {inner} inner corners.", f"{inner} radii"
        )
    piece = Piece(
        tuple(vector(one) * MM for one in asked.vertices_mm), tuple(radius * MM for radius in radii)
    )
    wrong = pipe_fault(piece)
    if wrong is not None:
        at, why = wrong
        raise _refused(f"{field}.vertices_mm[{at}]", why, "corners apart, with room for the arcs")
    return piece


def _splice(found: splice_problem.Splice) -> page.SpliceOut:
    return page.SpliceOut(
        cut_fixed_mm=found.cut_fixed / MM,
        cut_turning_mm=found.cut_turning / MM,
        clocking=found.choice.clocking,
        rotation_deg=degrees(found.choice.rotation),
        joints=tuple(
            page.JointOut(saw_angle_deg=degrees(one.saw), mark_deg=degrees(one.mark)) for one in found.joints
        ),
        pie_cuts=tuple(
            page.PieCutOut(centre_mm=one.centre / MM, throat_mm=one.throat / MM, roll_deg=degrees(one.roll))
            for one in found.pies
        ),
        turning_mark_deg=degrees(found.turning_mark),
        axis_gap_mm=found.pull / MM,
        waste_mm=found.waste / MM,
        vertices_mm=tuple(_point(corner) for corner in found.corners),
        radii_mm=tuple(radius / MM for radius in found.radii),
        closure_mm=found.closure / MM,
        closure_deg=degrees(found.closure_angle),
    )


_FIELDS = {
    splice_problem.SAW: "saw_limit_deg",
    splice_problem.THROAT: "shortest_throat_mm",
    splice_problem.GAP: "axis_gap_limit_mm",
    splice_problem.STRAIGHTS: "straights_mm",
}
"""Each limit under the name by which it is asked; straights_mm: the length that one is short."""


def _miss(one: splice_problem.Miss) -> page.MissOut:
    needs, over = (
        degrees(value) if one.limit == splice_problem.SAW else value / MM for value in (one.needs, one.over)
    )
    return page.MissOut(limit=_FIELDS[one.limit], needs=needs, over=over)


def _place(one: Fix) -> page.PlaceOut:
    return page.PlaceOut(point_mm=_point(one.point), doubt_mm=_point(one.doubt))


def _point(place: Vector) -> tuple[float, float, float]:
    x, y, z = (float(part) / MM for part in place)
    return x, y, z


def _refused(field: str, message: str, accepts: str) -> BadInput:
    return BadInput((FieldError(field, message, accepts),), {})


BENCH: Mapping[str, bench.Answering] = {
    "mitre": (forms.MitreIn, mitre),
    "offset": (forms.OffsetIn, offset),
    "bend-table": (forms.BendTableIn, bend_table),
    "trilateration": (forms.TrilaterationIn, trilateration),
    "route": (forms.RouteIn, route),
    "splice": (forms.SpliceIn, splice),
}
"""For each sum: what it is asked, and how it answers."""
