"""What each sum on pipes asks for.

The names and units of the fields are fixed: scripts of other people call them.
"""

from typing import Annotated, Any, Literal

from pydantic import Field

from server.core.units import Kind
from server.features.bench.forms import (
    Asked,
    Direction,
    Point,
    direction,
    directions,
    group,
    lengths,
    number,
    point,
    points,
    rows,
    whole,
    yes_or_no,
)

MOST_ORDINATES = 360


def _length(title: str, example: float, *, least: float = 0.1, description: str = "") -> Any:
    return number(title, Kind.length, "mm", example, least=least, most=100_000.0, description=description)


class MitreIn(Asked):
    """A mitred bend and its template."""

    outside_diameter_mm: float = _length("Outside diameter", 63.5)
    bend_deg: float = number("Turn of the bend", Kind.angle, "°", 90.0, least=0.1, most=179.9)
    cuts: int = whole("Welded joints", 3, least=1, most=60, description="Welded joints, 1 is a single mitre")
    centreline_radius_mm: float = _length("Radius of the centre line", 95.0)
    ordinates: int = whole(
        "Ordinates", 16, least=4, most=MOST_ORDINATES, description="Ordinates, equal steps round the pipe"
    )
    paper_mm: float = number(
        "Thickness of the paper", Kind.length, "mm", 0.1, least=0.0, most=5.0, default=0.0
    )
    wall_mm: float | None = number(
        "Wall", Kind.length, "mm", 1.6, least=0.1, most=100.0, default=None,
        description="Wall, printed on the template [mm]",
    )  # fmt: skip
    other_outside_diameter_mm: float | None = number(
        "The other pipe's outside diameter", Kind.length, "mm", 63.5, least=0.1, most=100_000.0, default=None,
        description="The other pipe's outside diameter, where it is another [mm]",
    )  # fmt: skip
    mark_deg: float | None = number(
        "Throat from 12 o'clock", Kind.angle, "°", 90.0, least=-360.0, most=360.0, default=None,
        description="Throat from 12 o'clock, clockwise as one looks towards the cut; marks the template [°]",
    )  # fmt: skip


class OffsetIn(Asked):
    """A rolling offset through two equal fittings."""

    rise_mm: float = number("Rise", Kind.length, "mm", 120.0, least=-100_000.0, most=100_000.0)
    offset_mm: float = number(
        "Offset", Kind.length, "mm", 160.0, least=-100_000.0, most=100_000.0, description="Sideways [mm]"
    )
    fitting_deg: float = number("Turn of each fitting", Kind.angle, "°", 45.0, least=0.1, most=90.0)


class BendRowIn(Asked):
    """One bend and the straight before it."""

    straight_mm: float = number("Straight before", Kind.length, "mm", 120.0, least=0.0, most=100_000.0)
    rotation_deg: float = number("Rotation", Kind.angle, "°", 0.0, least=-360.0, most=360.0)
    angle_deg: float = number("Bend", Kind.angle, "°", 90.0, least=0.001, most=179.9)
    radius_mm: float = _length("Radius", 95.0)


Radius = Annotated[float, Field(gt=0.0, le=100_000.0, allow_inf_nan=False)]


class BendTableIn(Asked):
    """A bent pipe, by its corners and radii or by its table; one of the two."""

    vertices_mm: list[Point] | None = points("Corners", least=2, default=None)
    radii_mm: list[Radius] | None = lengths(
        "Radii", least=0, default=None, description="Radius of the bend at each inner corner [mm]"
    )
    rows: list[BendRowIn] = rows("Bends", "{straight_mm, rotation_deg, angle_deg, radius_mm}", least=0)
    last_straight_mm: float | None = number(
        "Straight after the last bend", Kind.length, "mm", 150.0, least=0.0, most=100_000.0, default=None
    )


class TapeIn(Asked):
    """One tape."""

    point_mm: Point = point("Hooked at")
    distance_mm: float = _length("Distance", 405.0)
    doubt_mm: float = number(
        "Doubt", Kind.length, "mm", 1.0, least=0.0, most=1000.0, description="One standard uncertainty [mm]"
    )


class TrilaterationIn(Asked):
    """Three tapes from three known points to one."""

    tapes: list[TapeIn] = rows("Tapes", "{point_mm, distance_mm, doubt_mm}", least=3, most=3)


MOST_KINDS = 12
MOST_KEEP_OUTS = 20


class PoseIn(Asked):
    """An end of a route."""

    point_mm: Point = point("Place")
    direction: Direction = direction("Direction of flow")


class BendKindIn(Asked):
    """A bend that can be bought."""

    radius_mm: float = _length("Radius", 95.0)
    angle_deg: float = number("Bend", Kind.angle, "°", 90.0, least=1.0, most=179.0)
    may_cut_down: bool = yes_or_no("May be cut down")
    leg_in_mm: float = number("Leg before", Kind.length, "mm", 50.0, least=0.0, most=10_000.0, default=0.0)
    leg_out_mm: float = number("Leg after", Kind.length, "mm", 50.0, least=0.0, most=10_000.0, default=0.0)


class KeepOutIn(Asked):
    """What the pipe must stay clear of: a ball, a capsule or a box; each has its own of these fields."""

    shape: Literal["ball", "capsule", "box"] = Field(
        title="Shape", json_schema_extra={"accepts": "one of: ball, capsule, box"}
    )
    gap_mm: float = number("Gap to keep", Kind.length, "mm", 15.0, least=0.0, most=10_000.0, default=0.0)
    centre_mm: Point | None = point("Centre", default=None)
    radius_mm: float | None = number(
        "Radius", Kind.length, "mm", 40.0, least=0.0, most=100_000.0, default=None,
        description="of a ball or a capsule",
    )  # fmt: skip
    from_mm: Point | None = point("From", default=None)
    to_mm: Point | None = point("To", default=None)
    half_sizes_mm: list[Radius] | None = lengths(
        "Half sizes", least=3, most=3, default=None, description="Half sizes, of a box along its three edges"
    )
    axes: list[Direction] | None = directions("Edges", default=None)


class RouteIn(Asked):
    """From one pose to another through bends that can be bought, clear of what is near."""

    start: PoseIn = Field(
        title="Start", json_schema_extra={"accepts": "an object with point_mm and direction"}
    )
    end: PoseIn = Field(title="End", json_schema_extra={"accepts": "an object with point_mm and direction"})
    bends: list[BendKindIn] = rows(
        "Bends that can be bought, each as often as you like",
        "{radius_mm, angle_deg, may_cut_down, leg_in_mm, leg_out_mm}",
        least=0, most=MOST_KINDS, shown=2,
    )  # fmt: skip
    shortest_straight_mm: float = number(
        "Shortest straight", Kind.length, "mm", 20.0, least=0.0, most=10_000.0,
        description="Shortest straight, between tangent points [mm]",
    )  # fmt: skip
    outside_diameter_mm: float = _length("Outside diameter", 63.5)
    most_bends: int = whole("Bends at the most", 3, least=0, most=3)
    keep_outs: list[KeepOutIn] = rows(
        "Keep clear of", "{shape, gap_mm, ... of the shape}", least=0, most=MOST_KEEP_OUTS, shown=1
    )


MOST_CORNERS = 12
MOST_HOLES = 24


class PipeIn(Asked):
    """A salvaged pipe from its own flange outwards."""

    vertices_mm: list[Point] = points("Corners from the flange outwards", least=2, most=MOST_CORNERS)
    radii_mm: list[Radius] | None = lengths(
        "Radii", least=0, most=MOST_CORNERS, default=None,
        description="Radii, of the bend at each inner corner [mm]",
    )  # fmt: skip


class TurningPipeIn(PipeIn):
    """A salvaged pipe on a flange that may be turned."""

    holes: int = whole(
        "Bolt holes", 6, least=0, most=MOST_HOLES, description="Bolt holes, 0 turns freely (V-band)"
    )


class SpliceIn(Asked):
    """Two salvaged pipes to be joined by welds."""

    fixed: PipeIn = group("Pipe that stays", "{vertices_mm, radii_mm}")
    turning: TurningPipeIn = group("Pipe that may be turned on its flange", "{vertices_mm, radii_mm, holes}")
    outside_diameter_mm: float = _length("Outside diameter of both", 63.5)
    most_pie_cuts: int = whole("Pie pieces at the most", 2, least=0, most=2)
    saw_limit_deg: float = number(
        "Greatest saw angle", Kind.angle, "°", 30.0, least=0.1, most=60.0,
        description="Greatest saw angle, from a square cut [°]",
    )  # fmt: skip
    shortest_throat_mm: float = number(
        "Shortest throat", Kind.length, "mm", 10.0, least=0.0, most=10_000.0,
        description="Shortest throat, of a pie piece [mm]",
    )  # fmt: skip
    axis_gap_limit_mm: float = number(
        "Greatest pull", Kind.length, "mm", 0.8, least=0.0, most=100.0,
        description="Greatest pull, of the centre lines; 1 mm or half the wall is common, the smaller [mm]",
    )  # fmt: skip
    other_outside_diameter_mm: float | None = number(
        "The turning pipe's outside diameter", Kind.length, "mm", 63.5, least=0.1, most=100_000.0,
        default=None, description="The turning pipe's outside diameter, where it is another [mm]",
    )  # fmt: skip
