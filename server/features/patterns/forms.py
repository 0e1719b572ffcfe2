"""What the sums on cuts and flanges ask for, and in which form a pattern is handed out."""

from server.core.units import Kind
from server.features.bench.forms import Asked, number, whole


class FlangeIn(Asked):
    """A flange's drilling pattern."""

    holes: int = whole("Holes", 4, least=1, most=36)
    circle_mm: float = number(
        "Bolt circle", Kind.length, "mm", 110.0, least=1.0, most=2000.0,
        description="Bolt circle, diameter through the middles of the holes [mm]",
    )  # fmt: skip
    hole_mm: float = number(
        "Diameter of a hole", Kind.length, "mm", 10.5, least=0.5, most=200.0,
        description="Diameter of a hole, the bolt's and its clearance [mm]",
    )  # fmt: skip
    bore_mm: float = number("Bore", Kind.length, "mm", 76.1, least=0.0, most=2000.0)
    outside_mm: float = number("Outside diameter", Kind.length, "mm", 140.0, least=1.0, most=2000.0)
    first_deg: float = number(
        "First hole", Kind.angle, "°", 45.0, least=-360.0, most=360.0, default=0.0,
        description="First hole, clockwise from 12 o'clock as one looks along the flow [°]",
    )  # fmt: skip


class CompoundIn(Asked):
    """A joint that turns a pipe sideways and up at once."""

    left_deg: float = number(
        "To the left", Kind.angle, "°", 30.0, least=-170.0, most=170.0,
        description="To the left as one looks along the flow, right with a minus [°]",
    )  # fmt: skip
    up_deg: float = number(
        "Up",
        Kind.angle,
        "°",
        20.0,
        least=-89.9,
        most=89.9,
        description="Up from level, down with a minus [°]",
    )
    outside_diameter_mm: float = number(
        "Outside diameter", Kind.length, "mm", 63.5, least=0.1, most=100_000.0
    )
    paper_mm: float = number(
        "Thickness of the paper", Kind.length, "mm", 0.1, least=0.0, most=5.0, default=0.1
    )
    wall_mm: float | None = number(
        "Wall", Kind.length, "mm", 1.6, least=0.1, most=100.0, default=None,
        description="Wall, printed on the template [mm]",
    )  # fmt: skip
