"""A flange's drilling pattern: holes on a circle, the bore, the rim, as one looks along the flow at it."""

from dataclasses import dataclass
from math import cos, degrees, pi, sin

from server.core.tube.cutting.pattern import Flat, Layer, Line, Note, Pattern, Ring, degree, mm

LEAST_LAND = 0.003
"""Metal to leave between a hole and bore, rim or next hole [m]; common practice, no source."""
CROSS = 0.003
"""How far a centre's cross reaches beyond its hole [m]."""


@dataclass(frozen=True, slots=True)
class BoltCircle:
    """A drilling pattern.

    holes: how many [-]. circle: diameter of the circle through their middles [m]. hole: their diameter [m].
    bore, outside: of the flange [m]. first: of the first hole, clockwise from 12 o'clock as one looks along
    the flow [rad].
    """

    holes: int
    circle: float
    hole: float
    bore: float
    outside: float
    first: float = 0.0

    @property
    def pitch(self) -> float:
        """From the middle of a hole to the middle of the next, straight across [m]: d sin(π / n)."""
        return self.circle * sin(pi / self.holes)

    @property
    def centres(self) -> tuple[Flat, ...]:
        """Middles of the holes, right and up of the flange's middle as seen [m], clockwise from the first."""
        return tuple(self._at(self.first + 2.0 * pi * k / self.holes) for k in range(self.holes))

    def _at(self, angle: float) -> Flat:
        return 0.5 * self.circle * sin(angle), 0.5 * self.circle * cos(angle)

    @property
    def lands(self) -> dict[str, float]:
        """Metal left between a hole and what is beside it [m], below zero where they run into each other."""
        found = {
            "the bore": 0.5 * (self.circle - self.hole - self.bore),
            "the rim": 0.5 * (self.outside - self.circle - self.hole),
        }
        return found | ({"the next hole": self.pitch - self.hole} if self.holes > 1 else {})


def fault(flange: BoltCircle) -> str | None:
    """Why it can't be drilled; None where it can."""
    for what, land in flange.lands.items():
        if land <= 0.0:
            return f"The holes run into {what} by {mm(-land)}."
    return None


def notes(flange: BoltCircle) -> tuple[str, ...]:
    """What to know before drilling it."""
    thin = [f"{mm(land)} to {what}" for what, land in flange.lands.items() if 0.0 < land < LEAST_LAND]
    return (f"Little metal is left: {' and '.join(thin)}.",) if thin else ()


def drilling(flange: BoltCircle, title: str) -> Pattern:
    """The pattern to centre-punch through, at full size. Source: geometry."""
    half = 0.5 * flange.outside
    rings = [
        Ring(Layer.CUT, (0.0, 0.0), half),
        Ring(Layer.MARK, (0.0, 0.0), 0.5 * flange.circle, dashed=True),
    ]
    rings += [Ring(Layer.CUT, (0.0, 0.0), 0.5 * flange.bore)] if flange.bore else []
    rings += [Ring(Layer.CUT, centre, 0.5 * flange.hole) for centre in flange.centres]
    reach = half + CROSS
    lines = [
        Line(Layer.MARK, ((-reach, 0.0), (reach, 0.0)), dashed=True),
        Line(Layer.MARK, ((0.0, -reach), (0.0, reach)), dashed=True),
        *(line for centre in flange.centres for line in _cross(centre, 0.5 * flange.hole + CROSS)),
    ]
    out = 1.0 + (flange.hole + 2.0 * CROSS) / flange.circle
    numbers = [
        Note(str(k), (x * out, y * out - 0.001), 0.003, "middle")
        for k, (x, y) in enumerate(flange.centres, 1)
    ]
    top = Note("12 o'clock", (0.0015, half + 0.0005), 0.0032)
    return Pattern(title, _told(flange), tuple(lines), tuple(rings), (*numbers, top))


def _cross(centre: Flat, reach: float) -> tuple[Line, Line]:
    x, y = centre
    return (
        Line(Layer.MARK, ((x - reach, y), (x + reach, y))),
        Line(Layer.MARK, ((x, y - reach), (x, y + reach))),
    )


def _told(flange: BoltCircle) -> tuple[str, ...]:
    holes = f"{flange.holes} holes of {mm(flange.hole)} on a circle of {mm(flange.circle)}"
    first = degree(degrees(flange.first))
    told = [
        f"{holes}, bore {mm(flange.bore)}, outside {mm(flange.outside)}; hole 1 is {first} from 12 o'clock.",
        "Seen as one looks along the flow at the flange; from the other side it is a mirror image. Stick it "
        "on, punch every cross, drill small first.",
    ]
    if flange.holes > 1:
        told.append(
            f"From one hole's middle to the next {mm(flange.pitch)}: try the punch marks with dividers."
        )
    return tuple(told)
