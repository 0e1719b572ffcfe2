"""How far the authorities on loss coefficients lie apart: the same fitting by each method, and the one used.

A loss coefficient K is the loss of stagnation pressure over the dynamic pressure of the smaller bore. The
methods of others come through `fluids.fittings`; the one used comes from `air.losses`, as the march takes it.
"""

from dataclasses import dataclass
from functools import cache
from math import pi

from fluids.fittings import bend_miter, bend_rounded, contraction_sharp, diffuser_sharp

from server.core.air import losses
from server.core.measure.estimate import rectangular

BORE = 0.060
"""Bore of the tube that is compared in, [m]."""

REYNOLDS = 2e5
"""Reynolds number that is compared at, [-]: of a charge pipe at the peak, about."""

ROUGHNESS = losses.DRAWN_TUBE_ROUGHNESS
BEND_RATIO = 1.5
"""Centre-line radius of the bend over its bore, [-]."""

STEP_UP = (0.0508, 0.0762)
STEP_DOWN = (0.0635, 0.0508)
"""Bores before and after a square step, [m]."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """What one authority has for a fitting. coefficient: [-]. used: the checks take this one.

    counts: made for a fitting such as is built here, so that it counts in the doubt of the one used.
    """

    authority: str
    made_for: str
    coefficient: float
    used: bool = False
    counts: bool = True


@dataclass(frozen=True, slots=True)
class Spread:
    """One fitting, by each authority, the lowest first."""

    title: str
    fitting: str
    opinions: tuple[Opinion, ...]

    @property
    def used(self) -> float:
        """The coefficient that the checks take [-]."""
        return next(one.coefficient for one in self.opinions if one.used)

    @property
    def lowest(self) -> float:
        """The lowest over the one used: a ratio [-]."""
        return self.opinions[0].coefficient / self.used

    @property
    def highest(self) -> float:
        """The highest over the one used: a ratio [-]."""
        return self.opinions[-1].coefficient / self.used

    @property
    def doubt(self) -> float:
        """Standard uncertainty of the coefficient used, over it: a ratio [-].

        Half the range of the authorities that count, any value in it as likely as another.
        Source: JCGM 100:2008, 4.3.7, half width / sqrt(3).
        """
        counted = [one.coefficient for one in self.opinions if one.counts]
        return rectangular(0.5 * (max(counted) - min(counted)) / self.used)


@cache
def spreads() -> tuple[Spread, ...]:
    """Each fitting that a run is made of, by every method at hand. Source: the authorities named in it."""
    return (_smooth_bend(), _mitre(), _step_down(), _step_up())


@cache
def bend_doubt() -> float:
    """Standard uncertainty of a bend's loss coefficient, over it [-]. Source: the authorities' spread."""
    return _smooth_bend().doubt


@cache
def step_doubt() -> float:
    """The same of steps and cones [-]: the wider of the spreads of a step down and a step up.

    Of cones no second method is at hand; they are taken to be no surer than steps.
    """
    return max(_step_down().doubt, _step_up().doubt)


def _spread(title: str, fitting: str, *opinions: Opinion) -> Spread:
    return Spread(title, fitting, tuple(sorted(opinions, key=lambda one: one.coefficient)))


def _smooth_bend() -> Spread:
    def by(method: str) -> float:
        found = bend_rounded(
            Di=BORE, angle=90.0, rc=BEND_RATIO * BORE, Re=REYNOLDS, roughness=ROUGHNESS, method=method
        )
        return float(found)

    crane = bend_rounded(Di=BORE, angle=90.0, bend_diameters=BEND_RATIO, method="Crane")
    friction = losses.friction(REYNOLDS, ROUGHNESS / BORE).factor
    used = losses.smooth_bend(BORE, 0.5 * pi, BEND_RATIO * BORE, friction)
    return _spread(
        "Smooth bend",
        "90°, centre-line radius 1.5 bores, friction of the arc included",
        Opinion("Rennels & Hudson, Pipe Flow (2012)", "smooth bends", used.value, used=True),
        Opinion("Itō, J. Basic Eng. 82 (1960) 131", "smooth bends", by("Ito")),
        Opinion(
            "Miller, Internal Flow Systems (1990)",
            "smooth bends, a long way of tube after them",
            by("Miller"),
        ),
        Opinion("Crane TP-410, pipe bends", "commercial steel pipe", float(crane)),
        Opinion("Swamee & Sharma, Water Supply Pipe Networks (2008)", "water mains", by("Swamee")),
        Opinion("Crane TP-410, standard elbows", "threaded fittings", by("Crane standard"), counts=False),
    )


def _mitre() -> Spread:
    def by(method: str) -> float:
        found = bend_miter(
            angle=90.0, Di=STEP_UP[0], Re=REYNOLDS, roughness=losses.STEEL_TUBE_ROUGHNESS, method=method
        )
        return float(found)

    return _spread(
        "One mitre",
        "90° in one cut, 50.8 mm, a wall as rough as commercial steel",
        Opinion(
            "Rennels & Hudson, Pipe Flow (2012)", "mitred bends", losses.mitre(0.5 * pi).value, used=True
        ),
        Opinion("Crane TP-410, mitre bends", "commercial steel pipe", by("Crane")),
        Opinion("Miller, Internal Flow Systems (1990)", "mitred bends", by("Miller")),
        Opinion("Blevins, Applied Fluid Dynamics Handbook (1984)", "mitred bends", by("Blevins")),
    )


def _step_down() -> Spread:
    def by(method: str) -> float:
        friction = losses.friction(REYNOLDS, ROUGHNESS / STEP_DOWN[1]).factor
        return float(
            contraction_sharp(Di1=STEP_DOWN[0], Di2=STEP_DOWN[1], fd=friction, Re=REYNOLDS, method=method)
        )

    return _spread(
        "Square step down",
        "63.5 mm to 50.8 mm, on the speed after it",
        Opinion("Crane TP-410", "sharp edges", losses.sudden_contraction(*STEP_DOWN).value, used=True),
        Opinion("Rennels & Hudson, Pipe Flow (2012)", "sharp edges", by("Rennels")),
        Opinion("Hooper, Chem. Eng. (1988)", "sharp edges", by("Hooper")),
    )


def _step_up() -> Spread:
    friction = losses.friction(REYNOLDS, ROUGHNESS / STEP_UP[0]).factor
    hooper = diffuser_sharp(Di1=STEP_UP[0], Di2=STEP_UP[1], fd=friction, Re=REYNOLDS, method="Hooper")
    return _spread(
        "Square step up",
        "50.8 mm to 76.2 mm, on the speed before it",
        Opinion(
            "Borda and Carnot, momentum",
            "any jet that spreads",
            losses.sudden_expansion(*STEP_UP).value,
            used=True,
        ),
        Opinion("Hooper, Chem. Eng. (1988)", "sharp edges", float(hooper)),
    )
