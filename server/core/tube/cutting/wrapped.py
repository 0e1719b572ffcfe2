"""The wrap-round template of a slanted cut: the strip that goes once round a pipe, its edge the saw's line.

The strip starts at the throat, the short side of the piece that it lies on, and goes round to it again. It
is laid on with its print outside and its straight edge square to the pipe; from that edge towards the cut,
angles count clockwise.
"""

from dataclasses import dataclass
from math import cos, degrees, pi, tan

from server.core.tube.cutting.mitre import MitredBend, ordinates, wrap
from server.core.tube.cutting.pattern import Layer, Line, Note, Pattern, degree, mm, plain

BASE = 0.024
"""Least height of the strip, at the throat: enough to hold it square [m]; common practice, no source."""
TAB = 0.010
"""What goes under the strip's start to be glued [m]; common practice, no source."""
STEPS = 360
"""Points of the edge; on a tube of 200 mm cut at 60° the straight between two leaves it by under 0.01 mm."""
MOST_LINES = 48
"""More ordinates than this are not ruled: they would stand too near each other."""
LONG_QUARTER = 0.042
"""A quarter of the way round in which a few words have room [m]."""
ROOM_FOR_FIGURE = 0.004
"""Least distance of two ordinates whose heights are written [m]."""


@dataclass(frozen=True, slots=True)
class Slant:
    """A slanted cut and what it is made on.

    outside: outside diameter of the pipe [m]. saw: angle from a square cut [rad]. paper: thickness of what is
    wrapped round [m]. wall: of the pipe [m], None where not said. steps: ordinates to rule [-]. mark: where
    the throat stands, from 12 o'clock, clockwise as one looks towards the cut [rad], None where not said.
    """

    outside: float
    saw: float
    paper: float = 0.0
    wall: float | None = None
    steps: int = 16
    mark: float | None = None


def wrapped(slant: Slant, title: str, told: tuple[str, ...] = ()) -> Pattern:
    """The template of a slanted cut. told: what is to be said of this cut beside how a template is used.

    Source: `ordinates` and `wrap` of the mitre; geometry.
    """
    around = wrap(slant.outside, slant.paper)
    edge = _edge(slant, around)
    lines = (
        Line(Layer.CUT, ((0.0, 0.0), (around, 0.0), *reversed(edge)), closed=True),
        Line(
            Layer.MARK,
            ((around, 0.0), (around + TAB, 0.002), (around + TAB, BASE - 0.002), (around, BASE)),
            dashed=True,
        ),
        Line(Layer.MARK, ((0.0, BASE), (around, BASE)), dashed=True),
        _middle(slant, around),
        *_quarters(slant, around),
        *_ruled(slant, around),
    )
    return Pattern(
        title, (*_told(slant, around), *told), lines, (), (*_names(slant, around), *_figures(slant))
    )


def height(slant: Slant, angle: float) -> float:
    """Height of the cut over the strip's straight edge [m], at an angle from the throat [rad]. Geometry."""
    return BASE + 0.5 * slant.outside * tan(slant.saw) * (1.0 - cos(angle))


def _edge(slant: Slant, around: float) -> tuple[tuple[float, float], ...]:
    return tuple((around * k / STEPS, height(slant, 2.0 * pi * k / STEPS)) for k in range(STEPS + 1))


def _middle(slant: Slant, around: float) -> Line:
    """The level at which the cut crosses the pipe's centre line."""
    y = height(slant, 0.5 * pi)
    return Line(Layer.MARK, ((around / 4, y), (around * 3 / 4, y)), dashed=True)


def _quarters(slant: Slant, around: float) -> list[Line]:
    """Lines along the pipe at each quarter, and at 12 o'clock where that is known."""
    found = [
        Line(Layer.MARK, ((around * k / 4, 0.0), (around * k / 4, height(slant, 0.5 * pi * k))))
        for k in (1, 2, 3)
    ]
    if slant.mark is not None:
        angle = -slant.mark % (2.0 * pi)
        x = around * angle / (2.0 * pi)
        found.append(Line(Layer.MARK, ((x, 0.0), (x, height(slant, angle)))))
    return found


def _ruled(slant: Slant, around: float) -> list[Line]:
    """Ordinates over the throat's level, those at a quarter left out: they are drawn already."""
    if slant.steps > MOST_LINES:
        return []
    heights = ordinates(slant.outside, slant.saw, slant.steps)
    return [
        Line(
            Layer.MARK, ((around * k / slant.steps, BASE), (around * k / slant.steps, BASE + y)), dashed=True
        )
        for k, y in enumerate(heights)
        if 4 * k % slant.steps
    ]


def _names(slant: Slant, around: float) -> list[Note]:
    quarter = around / 4
    found = [
        Note(text, (quarter * k + 0.001, 0.002), 0.0025)
        for k, text in enumerate(("throat", "90°", "back 180°", "270°"))
    ]
    found += [Note("throat", (around - 0.001, 0.002), 0.0025, "end")] if quarter > 0.024 else []
    found.append(Note("glue", (around + 0.0075, 0.006), 0.0025, upright=False))
    if quarter > LONG_QUARTER:
        found.append(Note("this edge square, print outside", (quarter * 1.5, 0.006), 0.0025, "middle"))
    if slant.mark is not None:
        x = around * (-slant.mark % (2.0 * pi)) / (2.0 * pi)
        beside, anchor = (x + 0.001, "start") if x < 0.7 * around else (x - 0.001, "end")
        found.append(Note("12 o'clock", (beside, 0.010), 0.003, anchor))
    return found


def _figures(slant: Slant) -> list[Note]:
    """The height of each ordinate over the throat, written along it [mm]."""
    around = wrap(slant.outside, slant.paper)
    if not _has_figures(slant):
        return []
    heights = ordinates(slant.outside, slant.saw, slant.steps)
    return [
        Note(plain(y * 1e3, 1), (around * k / slant.steps - 0.0007, BASE - 0.0095), 0.0024, upright=False)
        for k, y in enumerate(heights)
        if k
    ]


def _has_figures(slant: Slant) -> bool:
    return slant.steps <= MOST_LINES and wrap(slant.outside, slant.paper) / slant.steps >= ROOM_FOR_FIGURE


def _told(slant: Slant, around: float) -> tuple[str, ...]:
    across = f"Pipe {mm(slant.outside)} outside"
    wall = "" if slant.wall is None else f", wall {mm(slant.wall)}"
    paper = (
        f"paper {plain(slant.paper * 1e3, 2)} mm thick: once round is {mm(around)}, "
        f"{mm(around - pi * slant.outside)} of that for the paper."
        if slant.paper
        else f"once round is {mm(around)}, nothing added for the paper's thickness."
    )
    saw = degree(degrees(slant.saw))
    told = [
        f"{across}{wall}; saw {saw} from square; {paper}",
        "Cut the outline out. Wrap it round with its print outside and the straight edge square to the pipe; "
        "the throat line meets itself. From the straight edge towards the cut, the angles run clockwise.",
    ]
    if _has_figures(slant):
        told.append("Small figures are heights over the dashed line at the throat [mm].")
    if slant.wall is not None:
        told.append(
            "The line is for the outside of the wall: hold the blade flat in the cut, not towards the middle."
        )
    if slant.mark is not None:
        towards, other = (degree(round(degrees(angle) % 360.0, 2)) for angle in (slant.mark, -slant.mark))
        told.append(
            f"Throat at {towards} from 12 o'clock, clockwise as one looks from the straight edge towards the "
            f"cut, with the flow at an outlet; at an inlet, where the flow leaves the cut, that is {other} "
            "along the flow."
        )
    return tuple(told)


def lobster_back(bend: MitredBend) -> tuple[str, ...]:
    """How the pieces of a mitred bend are marked along one pipe with one template. Source: geometry."""
    end, whole = bend.segments[0], bend.segments[1]
    ends = f"Ends: throat {mm(end.throat)}, middle {mm(end.centre)}, back {mm(end.back)}."
    if len(bend.segments) == 2:
        return (f"{ends} Turn one half round and join.",)
    return (
        f"{ends} Pieces between: {mm(whole.throat)}, {mm(whole.centre)}, {mm(whole.back)}.",
        f"Marks along the middle: the first cut {mm(end.centre)} from the pipe's square end, each next "
        f"{mm(whole.centre)} on and the saw's kerf; the upper dashed line of the template lies on the mark. "
        "For each next cut turn the template half round the pipe: throat where the back was.",
    )
