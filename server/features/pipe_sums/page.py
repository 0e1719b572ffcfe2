"""What each sum on pipes answers, and what its page says about it."""

from pydantic import BaseModel, ConfigDict, Field

from server.core.units import Kind
from server.features.bench.page import Answer, Sum, each, figure, table, word
from server.web.view import Caution

_MM = (Kind.length, "mm")
_DEG = (Kind.angle, "°")
_POINT = (("Forward", *_MM), ("Left", *_MM), ("Up", *_MM))


class Item(BaseModel):
    """One row of an answer."""

    model_config = ConfigDict(frozen=True)


class SegmentOut(Item):
    """One piece of a mitred bend: inside, middle and outside of the turn [mm]."""

    throat_mm: float
    centre_mm: float
    back_mm: float


class MitreOut(Answer):
    """A mitred bend: how the saw stands, the pieces, the template."""

    saw_angle_deg: float | None = figure(
        "Saw angle", Kind.angle, "°", "From a square cut, bend / (2 × cuts) [°]", big=True
    )
    wrap_mm: float | None = figure("Once round, on paper", Kind.length, "mm", "π (D + paper) [mm]")
    stock_mm: float | None = figure(
        "Pipe that it takes", Kind.length, "mm",
        "Along the middle, every other piece turned half round, without the saw's kerfs [mm]",
    )  # fmt: skip
    segments: tuple[SegmentOut, ...] = table(
        "Pieces", (("Throat", *_MM), ("Centre", *_MM), ("Back", *_MM)), "Pieces in order, ends are halves"
    )
    ordinates_mm: tuple[float, ...] = table(
        "Template", (("Height from the throat", *_MM),), "Equal steps round, the last not repeated [mm]"
    )


class OffsetOut(Answer):
    """A rolling offset."""

    true_offset_mm: float | None = figure("True offset", Kind.length, "mm", big=True)
    travel_mm: float | None = figure("Travel", Kind.length, "mm", "Corner to corner [mm]", big=True)
    advance_mm: float | None = figure("Advance", Kind.length, "mm", "Along the lines [mm]")
    roll_deg: float | None = figure("Roll", Kind.angle, "°", "Of the plane, up from level [°]")


class BendRowOut(Item):
    """One bend and the straight before it."""

    straight_mm: float
    rotation_deg: float
    angle_deg: float
    radius_mm: float


class BendTableOut(Answer):
    """A bent pipe in the other form."""

    developed_mm: float | None = figure(
        "Developed length", Kind.length, "mm", "Along the centre line, arcs included [mm]", big=True
    )
    rows: tuple[BendRowOut, ...] = table(
        "Bends", (("Straight before", *_MM), ("Rotation", *_DEG), ("Bend", *_DEG), ("Radius", *_MM))
    )
    last_straight_mm: float | None = figure("Straight after the last bend", Kind.length, "mm")
    vertices_mm: tuple[tuple[float, float, float], ...] = table("Corners", _POINT, "Both ends included [mm]")
    radii_mm: tuple[float, ...] = table("Radii", (("Radius", *_MM),), "At each inner corner [mm]")


class PlaceOut(Item):
    """One place that the tapes leave [mm], with one standard uncertainty along each axis [mm]."""

    point_mm: tuple[float, float, float]
    doubt_mm: tuple[float, float, float]


class TrilaterationOut(Answer):
    """The two places that three tapes leave."""

    points: tuple[PlaceOut, ...] = table("Places", (*_POINT, *(("±", *_MM) for _ in _POINT)))
    short_mm: float | None = figure("The tapes miss each other by", Kind.length, "mm")


class RouteBendOut(Item):
    """One bend of a route."""

    radius_mm: float
    angle_deg: float
    rotation_deg: float


class RouteOut(Item):
    """One route; straights run from tangent point to tangent point, one more than there are bends."""

    length_mm: float | None = figure(
        "Length", Kind.length, "mm", "Along the centre line, arcs included [mm]", big=True
    )
    straights_mm: tuple[float, ...] = table(
        "Straights", (("Length", *_MM),), "In order, between tangent points [mm]"
    )
    bends: tuple[RouteBendOut, ...] = table(
        "Bends", (("Radius", *_MM), ("Bend", *_DEG), ("Rotation", *_DEG)), "In order"
    )
    vertices_mm: tuple[tuple[float, float, float], ...] = table("Corners", _POINT, "Both ends included [mm]")
    closure_mm: float | None = figure(
        "Off at the end", Kind.length, "mm", "Rebuilt from bends and straights alone [mm]"
    )
    closure_deg: float | None = figure("Off in direction", Kind.angle, "°")


class RoutesOut(Answer):
    """Routes, fewest bends first, then the shortest."""

    routes: tuple[RouteOut, ...] = each("Route", "Fewest bends first, then the shortest")


class JointOut(Item):
    """One weld: saw angle from square, roll of the throat from 12 o'clock looking along the flow [°]."""

    saw_angle_deg: float
    mark_deg: float


class PieCutOut(Item):
    """One pie piece: lengths [mm], roll from the throat of its first cut to that of its second [°]."""

    centre_mm: float
    throat_mm: float
    roll_deg: float


class SpliceOut(Item):
    """One way to join; the flow runs from the fixed flange to the turning one."""

    cut_fixed_mm: float | None = figure(
        "Cut the pipe that stays at", Kind.length, "mm",
        "Along its centre line, from its flange to the middle of the cut [mm]", big=True,
    )  # fmt: skip
    cut_turning_mm: float | None = figure(
        "Cut the pipe that turns at", Kind.length, "mm",
        "Along its centre line, from its flange to the middle of the cut [mm]", big=True,
    )  # fmt: skip
    clocking: int | None = word(
        "Bolt holes on", "Steps of one hole from where it stands; null where it is free"
    )
    rotation_deg: float | None = figure(
        "Turn its flange by", Kind.angle, "°", "Right-handed about the flange's outward axis [°]"
    )
    joints: tuple[JointOut, ...] = table(
        "Welds", (("Saw from square", *_DEG), ("Throat from 12 o'clock", *_DEG)),
        "In the order of the flow; the roll is right-handed looking along it",
    )  # fmt: skip
    pie_cuts: tuple[PieCutOut, ...] = table(
        "Pie pieces", (("Centre", *_MM), ("Throat", *_MM), ("Roll to the second throat", *_DEG))
    )
    turning_mark_deg: float | None = figure(
        "Last throat on the turning pipe", Kind.angle, "°",
        "Roll from that pipe's own 12 o'clock, painted before it is turned, looking along the flow [°]",
    )  # fmt: skip
    axis_gap_mm: float | None = figure("Pull the centre lines together by", Kind.length, "mm")
    waste_mm: float | None = figure(
        "Waste", Kind.length, "mm", "What is cut off both pipes, less the pie pieces [mm]"
    )
    vertices_mm: tuple[tuple[float, float, float], ...] = table(
        "Corners of the joined pipe", _POINT, "From the fixed flange to the turning one [mm]"
    )
    radii_mm: tuple[float, ...] = Field(default=(), description="At its inner corners, 0 at a weld [mm]")
    closure_mm: float | None = figure(
        "Off at the flange", Kind.length, "mm", "Walked from its cuts alone, after the pull [mm]"
    )
    closure_deg: float | None = figure("Off in direction", Kind.angle, "°", "Bolt holes included [°]")


class MissOut(Item):
    """A limit that would have to give way: what it needs and how far that is over, in its own unit."""

    limit: str
    needs: float
    over: float


class SplicesOut(Answer):
    """Ways to join, fewest welds first; or what would have to give way."""

    splices: tuple[SpliceOut, ...] = each("Way", "Fewest welds first, then the cheapest")
    misses: tuple[MissOut, ...] = Field(
        default=(), description="Each limit alone, all others held; together where no single one is enough"
    )


CUTTING = Caution(
    "WARNING",
    "A mitre saw throws short pieces and pipe that can turn: clamp both sides, eyes and ears covered, no "
    "gloves at the blade. Cut the segments off the long pipe while the vice can still hold it. The saw "
    "maker's instructions, local codes and licensed practice come first.",
)

ROUTING = Caution(
    "CAUTION",
    "What moves, and what is hot, needs more room than it takes up at rest: the gap is yours to choose. Hold "
    "the finished route against the car before anything is cut.",
)

SUMS = (
    Sum(
        "mitre",
        "Mitred bend and template",
        "Saw angle, pieces and wrap-round template of a bend that is cut and welded.",
        (
            "α = bend / (2 × cuts), from square",
            "Half a segment: (R ∓ D / 2) tan α inside and outside, R tan α in the middle",
            "Template: y = D / 2 · tan α · (1 − cos φ), φ from the throat; once round is π (D + paper)",
        ),
        ("mitred-bend", "development"),
        (
            ("outside_diameter_mm", "63.5 mm"),
            ("bend_deg", "90°"),
            ("cuts", "3"),
            ("centreline_radius_mm", "95 mm"),
            ("ordinates", "16"),
            ("paper_mm", "0.1 mm"),
            ("wall_mm", "1.6 mm"),
        ),
        CUTTING,
        printed="Print the template",
    ),
    Sum(
        "offset",
        "Rolling offset",
        "From one line to another that is higher and to the side, through two equal fittings.",
        ("True offset = √(rise² + offset²); travel = true offset / sin θ; advance = true offset / tan θ",),
        ("rolling-offset",),
        (("rise_mm", "120 mm"), ("offset_mm", "160 mm"), ("fitting_deg", "45°")),
    ),
    Sum(
        "bend-table",
        "Bend table",
        "Corners of a bent pipe to length, rotation and angle for the bender, and back.",
        (
            "Take-off R tan(θ / 2), arc R θ; rotation right-handed about the flow, from the bend before",
            "Type corners and radii, or rows and the last straight; you get the other.",
        ),
        ("bending", "geometry"),
        (("vertices_mm", "0 0 0; 200 0 0; 200 261 0; 144 373 97"), ("radii_mm", "95 95")),
    ),
    Sum(
        "trilateration",
        "Three tapes to a place",
        "Where a point is, by its distances from three points that you know: forward, left, up of a datum.",
        (
            "Three spheres meet in two points, one on each side of the plane of the three hooks",
            "Doubt: each tape pulls along itself; near that plane a small error moves the place far",
        ),
        ("geometry", "gum"),
        (
            ("tapes[0].point_mm", "0 0 0"),
            ("tapes[0].distance_mm", "405 mm"),
            ("tapes[0].doubt_mm", "1 mm"),
            ("tapes[1].point_mm", "800 0 0"),
            ("tapes[1].distance_mm", "555 mm"),
            ("tapes[1].doubt_mm", "1 mm"),
            ("tapes[2].point_mm", "0 600 0"),
            ("tapes[2].distance_mm", "510 mm"),
            ("tapes[2].doubt_mm", "1 mm"),
        ),
    ),
    Sum(
        "route",
        "Route through bought bends",
        "From one opening to another through bends that can be bought, clear of what is near: fewest bends, "
        "then the shortest.",
        (
            "Take-off R tan(θ / 2), arc R θ; each straight at least the shortest, or the legs beside it",
            "Flow is out of the opening at the start, and into the opening at the end.",
            "All orders of bends are tried from many starts; the best are made as short as they get. That is "
            "a search: a shorter one can't be ruled out.",
        ),
        ("bending", "geometry"),
        (
            ("start.point_mm", "0 0 0"),
            ("start.direction", "1 0 0"),
            ("end.point_mm", "450 320 150"),
            ("end.direction", "0 1 0"),
            ("bends[0].radius_mm", "95 mm"),
            ("bends[0].angle_deg", "90°"),
            ("bends[0].may_cut_down", "yes"),
            ("bends[0].leg_in_mm", "30 mm"),
            ("bends[0].leg_out_mm", "30 mm"),
            ("shortest_straight_mm", "40 mm"),
            ("outside_diameter_mm", "63.5 mm"),
            ("most_bends", "3"),
            ("keep_outs[0].shape", "ball"),
            ("keep_outs[0].gap_mm", "15 mm"),
            ("keep_outs[0].centre_mm", "300 60 0"),
            ("keep_outs[0].radius_mm", "40 mm"),
        ),
        ROUTING,
    ),
    Sum(
        "splice",
        "Splice of two salvaged pipes",
        "Where to cut two pipes, one fixed and one on a flange, so that one mitre or one or two pie pieces "
        "join them.",
        (
            "Saw angle of each weld = half its turn; a mitre needs D / 2 · tan α of straight on both sides",
            "Throat of a pie piece = centre − D / 2 · |tan α₁ + tan α₂ turned by its roll|",
            "Flow runs from the fixed flange to the turning one. 12 o'clock is up; of a flange that looks "
            "straight up or down, towards the front of the car. The line runs on along the pipe, round bends "
            "and over welds, without a twist.",
            "One weld is exact; pie pieces are a search from many starts: a cheaper one can't be ruled out.",
        ),
        ("mitred-bend", "geometry"),
        (
            ("fixed.vertices_mm", "0 0 0; 150 0 0; 420 60 90"),
            ("fixed.radii_mm", "95"),
            ("turning.vertices_mm", "640 260 60; 640 100 60; 460 -40 190"),
            ("turning.radii_mm", "95"),
            ("turning.holes", "6"),
            ("outside_diameter_mm", "63.5 mm"),
            ("most_pie_cuts", "2"),
            ("saw_limit_deg", "30°"),
            ("shortest_throat_mm", "10 mm"),
            ("axis_gap_limit_mm", "0.8 mm"),
        ),
        CUTTING,
    ),
)
"""Every sum on pipes in words, in the order of the list."""
