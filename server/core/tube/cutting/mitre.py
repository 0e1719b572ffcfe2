"""Mitred bends: a pipe cut at a slant, turned half round and joined again, once or several times.

A bend of `cuts` joints has two halves at its ends and whole segments between. Each joint turns the pipe by
its share of the bend and lies in the plane that halves the turn, so the saw stands at half the share, counted
from a square cut. The centre line is the polygon round the arc: each whole segment touches it in its middle.
Both tubes of a joint have one outside diameter: the two slanted faces are then the same ellipse.
"""

from dataclasses import dataclass
from math import cos, pi, tan

from server.core.units import Kind, System, show

MOST_BEND = pi
"""A pipe turned back on itself [rad]; a joint that turns this far has no slant left to cut."""

STEEPEST_SAW = pi / 3.0
"""Saw angle from square beyond which no saw cuts a tube [rad]; common practice, no source."""

LEAST_THROAT = 0.010
"""Throat of a segment that the torch still gets round in [m]; common practice, no source."""


MOST_STEP = 0.0005
"""Step all round that two pipes may have at a mitre [m]; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Segment:
    """Lengths of one piece of a mitred bend, inside, along the middle and outside of the turn [m]."""

    throat: float
    centre: float
    back: float


@dataclass(frozen=True, slots=True)
class MitredBend:
    """A mitred bend. saw_angle: from square [rad]. segments: in order, the first and the last are halves."""

    saw_angle: float
    segments: tuple[Segment, ...]


def saw_angle(bend: float, cuts: int) -> float:
    """Angle of the saw from a square cut [rad].

    bend: turn of the whole bend [rad]. cuts: joints [-]. Source: pipe fitters' rule, bend / (2 cuts).

    >>> from math import degrees, radians
    >>> round(degrees(saw_angle(radians(90.0), 4)), 6)
    11.25
    """
    return bend / (2.0 * cuts)


def mitred_bend(outside: float, bend: float, cuts: int, radius: float) -> MitredBend:
    """The pieces of a mitred bend.

    outside: outside diameter [m]. bend: [rad]. cuts: joints [-]. radius: of the centre line's arc [m].
    Source: geometry; half a whole segment is R tan α at the centre line, and R ∓ D/2 inside and outside.
    The caller has asked `fault` first.
    """
    saw = saw_angle(bend, cuts)
    half = Segment(*(r * tan(saw) for r in (radius - 0.5 * outside, radius, radius + 0.5 * outside)))
    whole = Segment(2.0 * half.throat, 2.0 * half.centre, 2.0 * half.back)
    return MitredBend(saw, (half, *[whole] * (cuts - 1), half))


def fault(outside: float, bend: float, cuts: int, radius: float) -> str | None:
    """Why there is no such bend, and what would help; None where there is. Units as `mitred_bend`."""
    if saw_angle(bend, cuts) > STEEPEST_SAW:
        least = 1
        while saw_angle(bend, least) > STEEPEST_SAW:
            least += 1
        return f"The saw would stand over 60° from square. Use {least} cuts or more."
    if radius <= 0.5 * outside:
        half = show(0.5 * outside, Kind.length, System.metric).text
        return (
            "The inside of the bend has no length left: the pieces would cut into each other. "
            f"Use a radius over half the outside diameter, {half}."
        )
    return None


def unequal(outside: float, other: float) -> str | None:
    """Why two pipes can't be mitred together by their outside diameters [m]; None where they can.

    Source: geometry; the step that a weld bridges is common practice, no source.
    """
    if abs(outside - other) <= 2.0 * MOST_STEP:
        return None
    sizes = sorted((outside, other))
    smaller, larger = (show(size, Kind.length, System.metric).text for size in sizes)
    return (
        f"A mitre joins pipes of one outside diameter: cut at one angle, {smaller} and {larger} show two "
        "ellipses that don't meet. Bring one to the other's size first, with a reducer or a swaged end."
    )


def notes(bend: MitredBend) -> tuple[str, ...]:
    """What to know before cutting it."""
    told = []
    if bend.segments[0].throat < LEAST_THROAT:
        told.append(
            "An end has under 10 mm on the inside: leave it longer by a straight, which changes nothing else."
        )
    whole = bend.segments[1:-1]
    if whole and whole[0].throat < LEAST_THROAT:
        told.append(
            "A segment has under 10 mm on the inside: hard to hold in the vice and to weld round. Fewer cuts "
            "or a larger radius give more."
        )
    return tuple(told)


def ordinates(outside: float, saw: float, count: int) -> tuple[float, ...]:
    """Heights of the slanted cut over the throat, at equal steps round the pipe from the throat [m].

    outside: outside diameter [m]. saw: angle from square [rad]. count: steps, the last not repeated [-].
    Source: a plane through a cylinder, unrolled: (D / 2) tan α (1 − cos φ); sheet-metal workers' manuals.

    >>> from math import radians
    >>> [round(y, 5) for y in ordinates(0.0762, radians(45.0), 4)]
    [0.0, 0.0381, 0.0762, 0.0381]
    """
    return tuple(0.5 * outside * tan(saw) * (1.0 - cos(2.0 * pi * k / count)) for k in range(count))


def wrap(outside: float, paper: float) -> float:
    """Length of paper that goes once round a pipe [m].

    outside: outside diameter [m]. paper: its thickness [m]. Source: geometry; the middle of the paper lies
    half its thickness outside the pipe, so the way round is π (D + paper).
    """
    return pi * (outside + paper)
