"""What each sum on pipes asks for.

The names and units of the fields are fixed: scripts of other people call them.
"""

from typing import Annotated, Any

from pydantic import Field

from server.core.units import Kind
from server.features.bench.forms import Asked, Point, lengths, number, point, points, rows, whole

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
        description="Throat from 12 o'clock, clockwise along the flow; marks it on the template [°]",
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
