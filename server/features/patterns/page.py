"""What the sums on cuts and flanges answer, and what their pages say about it."""

from server.core.units import Kind
from server.features.bench.page import Answer, Sum, figure, table
from server.features.pipe_sums.page import CUTTING
from server.web.view import Caution

_MM = (Kind.length, "mm")


class FlangeOut(Answer):
    """A flange's drilling pattern."""

    pitch_mm: float | None = figure(
        "From hole to hole", Kind.length, "mm", "Middle to middle, straight across [mm]", big=True
    )
    holes_mm: tuple[tuple[float, float], ...] = table(
        "Holes",
        (("Right", *_MM), ("Up", *_MM)),
        "Middles as one looks along the flow, from the flange's middle, clockwise [mm]",
    )


class CompoundOut(Answer):
    """A compound cut."""

    turn_deg: float | None = figure("Turn in all", Kind.angle, "°")
    saw_angle_deg: float | None = figure(
        "Saw angle", Kind.angle, "°", "From a square cut, half the turn [°]", big=True
    )
    mark_deg: float | None = figure(
        "Throat from 12 o'clock", Kind.angle, "°", "Clockwise along the flow [°]", big=True
    )
    cut_back_mm: float | None = figure("Throat shorter than back by", Kind.length, "mm", "D tan α [mm]")


DRILLING = Caution(
    "WARNING",
    "A drill that breaks through snatches the plate out of a hand: clamp it, start small, eyes covered, no "
    "gloves at the chuck. The machine maker's instructions, local codes and licensed practice come first.",
)

SUMS = (
    Sum(
        "flange",
        "Flange drilling pattern",
        "Holes on a circle round a bore: where each stands, and a pattern to centre-punch through.",
        (
            "From hole to hole: d sin(π / n) on a circle of diameter d with n holes",
            "Right d / 2 · sin φ, up d / 2 · cos φ; φ clockwise from 12 o'clock along the flow",
        ),
        ("geometry",),
        (
            ("holes", "4"),
            ("circle_mm", "110 mm"),
            ("hole_mm", "10.5 mm"),
            ("bore_mm", "76.1 mm"),
            ("outside_mm", "140 mm"),
            ("first_deg", "45°"),
        ),
        DRILLING,
        printed="Print the drilling pattern",
    ),
    Sum(
        "compound-cut",
        "Compound cut",
        "One mitre that turns a pipe sideways and up at once: saw angle, and where the throat stands.",
        (
            "cos θ = cos a · cos b for a to the side and b up; the saw stands at θ / 2 from square",
            "Throat from 12 o'clock: atan2(− cos b sin a, sin b), clockwise along the flow",
        ),
        ("geometry",),
        (
            ("left_deg", "30°"),
            ("up_deg", "20°"),
            ("outside_diameter_mm", "63.5 mm"),
            ("paper_mm", "0.1 mm"),
            ("wall_mm", "1.6 mm"),
        ),
        CUTTING,
        printed="Print the template",
    ),
)
"""Every sum on cuts and flanges in words, in the order of the list."""
