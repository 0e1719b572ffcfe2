"""How hot a hot pipe makes a strip of something beside it: a floor, a hose, a loom, a brake line.

A long pipe stands before a long flat strip that is parallel to it and centred on it. Both are grey and send
heat out evenly in all directions; everything else around is far away, black and as warm as the air. The back
of the strip is taken as insulated unless said, which is on the safe side. Air that the pipe warms first is
counted where the caller says what goes across the gap.
"""

from dataclasses import dataclass
from math import pi

from scipy.constants import Stefan_Boltzmann, g

from server.core.air.gas import density, viscosity
from server.core.air.heat_balance import behind_a_sheet, face
from server.core.air.surface import PRANDTL, air_conductivity
from server.core.measure.many import atan, cube, fourth, greatest, plain
from server.core.sources import Source, source


@dataclass(frozen=True, slots=True)
class Finish:
    """What a surface looks like, and its total emissivity, [-]."""

    name: str
    emissivity: float
    source: Source


FINISHES = (
    Finish("oxidised steel", 0.80, source("emissivity")),
    Finish("rusty steel", 0.69, source("emissivity")),
    Finish("new rolled sheet steel", 0.56, source("emissivity")),
    Finish("oxidised aluminium", 0.15, source("emissivity")),
    Finish("polished aluminium", 0.05, source("emissivity")),
    Finish("rubber, paint, plastic, any colour", 0.90, source("practice")),
)
"""A used exhaust pipe is oxidised steel, never a polished one."""

BRIGHT = 0.05
"""Emissivity of a bright shield where none is typed, [-]: polished aluminium. Source: emissivity tables."""


_LEAST_GAP = 0.001
"""A gap is taken no smaller for the air in it, [m]."""

_SEA_LEVEL = 101_325.0

VIEW_METHOD = "Cylinder and parallel rectangle, Incropera & DeWitt, table 13.1"
"""The one method for the view factor, in words for a page."""

HIGHEST_BRIGHT = 0.2
"""Emissivity up to which a sheet counts as bright, [-]. Source: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Neighbour:
    """What comes of a strip beside a hot pipe; fluxes are per area of the strip's face, [W/m2].

    temperature: of the strip, [K]. view: view factor from strip to pipe, [-]. exchange: grey factor with the
    pipe, of the shield where there is one, [-]. shield_temperature: [K], None without a shield. faces: what
    radiates to the strip, pipe or shield, [K]. to_it, to_rest: grey factors of the strip with that and with
    surroundings, [-]. across, film: heat through the air from the pipe to the strip itself, and from the
    strip, its back included, to the air, [W/(m2 K)]. ambient: air and surroundings, [K].
    """

    temperature: float
    view: float
    exchange: float
    shield_temperature: float | None
    faces: float
    to_it: float
    to_rest: float
    across: float
    film: float
    ambient: float

    @property
    def flux(self) -> float:
        """Radiation that reaches it from the pipe, or from the shield, less what it sends back there."""
        return net_flux(self.faces, self.temperature, self.to_it)

    @property
    def warmed(self) -> float:
        """What comes through the air between, to the strip itself."""
        return self.across * (self.faces - self.temperature)

    @property
    def convected(self) -> float:
        """What leaves it to the air, from face and back."""
        return self.film * (self.temperature - self.ambient)

    @property
    def reradiated(self) -> float:
        """What leaves it to everything around, from face and back."""
        return net_flux(self.temperature, self.ambient, self.to_rest)

    @property
    def closure(self) -> float:
        """What comes less what leaves: nothing, but for rounding."""
        return self.flux + self.warmed - self.convected - self.reradiated


def view_of_pipe(diameter: float, gap: float, width: float) -> float:
    """View factor from a flat strip to a long pipe parallel to it and centred on it, [-].

    diameter: of the pipe. gap: clear, from the pipe's skin to the strip. width: of the strip. All [m].
    Source: Incropera & DeWitt, table 13.1, cylinder and parallel rectangle: r / (s1 - s2) times
    (atan(s1 / L) - atan(s2 / L)), here with s1 = -s2 = width / 2 and L from the axis to the strip.

    >>> round(view_of_pipe(0.1, 0.05, 0.2), 4)
    0.3927
    """
    return diameter / width * atan(0.5 * width / (0.5 * diameter + gap))


def view_of_ball(diameter: float, gap: float) -> float:
    """View factor from a small spot to a ball that it faces squarely, [-].

    diameter: of the ball. gap: clear, from its skin to the spot. Both [m]. Source: J. R. Howell's catalogue,
    element to sphere with the normal through its centre: (r / distance to the centre)^2.

    >>> view_of_ball(0.1, 0.05)
    0.25
    """
    radius = 0.5 * diameter
    return (radius / (radius + gap)) ** 2


def grey_factors(
    emissivity: float, other_emissivity: float, view: float, view_back: float
) -> tuple[float, float]:
    """Grey exchange factors of a surface with another and with black surroundings, per its own area, [-].

    emissivity: of the surface; other_emissivity: of what it faces. view: from it to the other, view_back:
    from the other to it; neither sees itself. Every reflection between the two is counted.
    Source: net-radiation method of a grey diffuse enclosure (Hottel), worked out for two surfaces. With both
    views 1 it is that of two large plates, 1 / (1 / e1 + 1 / e2 - 1).
    """
    reflected, other_reflected = 1.0 - emissivity, 1.0 - other_emissivity
    again = 1.0 - reflected * other_reflected * view * view_back
    with_other = emissivity * other_emissivity * view / again
    with_rest = emissivity * (1.0 - view + other_reflected * view * (1.0 - view_back)) / again
    return with_other, with_rest


def plate_factor(emissivity: float, other_emissivity: float) -> float:
    """Grey exchange factor of two large parallel plates, [-]. Source: `grey_factors` with both views 1."""
    return grey_factors(emissivity, other_emissivity, 1.0, 1.0)[0]


def net_flux(hot: float, cold: float, exchange: float) -> float:
    """Net radiation between two surfaces, [W/m2].

    hot, cold: [K]. exchange: grey factor per the area that is asked about, [-]. Source: Stefan and Boltzmann.
    """
    return exchange * Stefan_Boltzmann * (fourth(hot) - fourth(cold))


def across_the_gap(hot: float, cold: float, gap: float) -> float:
    """Heat-transfer coefficient of still air between a hot face below and a cold one above, [W/(m2 K)].

    hot, cold: [K]. gap: [m], under a millimetre as a millimetre. The worst way to stand: beside or below a
    pipe less comes across. Source: conduction, and from where it convects Globe and Dropkin, Nu = 0.069
    Ra^(1/3) Pr^0.074, Ra from 3e5; between the two whichever is more.
    """
    mean, wide = 0.5 * (hot + cold), greatest(gap, _LEAST_GAP)
    kinematic = viscosity(mean) / density(_SEA_LEVEL, mean)
    rayleigh = g * abs(hot - cold) / mean * cube(wide) * PRANDTL / kinematic**2
    nusselt = greatest(1.0, 0.069 * rayleigh ** (1.0 / 3.0) * PRANDTL**0.074)
    film: float = nusselt * air_conductivity(mean) / wide
    return film


def neighbour(
    hot: float,
    hot_emissivity: float,
    hot_diameter: float,
    gap: float,
    neighbour_emissivity: float,
    neighbour_width: float,
    ambient: float,
    film: float,
    shield_emissivity: float | None = None,
    *,
    across: float = 0.0,
    behind: float = 0.0,
    ball: bool = False,
) -> Neighbour:
    """The strip's temperature from its balance: radiation in, convection and radiation out.

    hot: skin of the pipe; ambient: air and surroundings, [K]. hot_diameter, gap, neighbour_width: [m].
    film: heat-transfer coefficient to the air, [W/(m2 K)]. Emissivities above 0, at most 1. A shield is a
    sheet as wide as the strip and close before it, both sides alike, the film on its hot side alone counted;
    it hides pipe and surroundings from the strip, and the air reaches the strip behind it. across: heat
    through the air between, of the part of the face that sees the pipe, [W/(m2 K)], as `across_the_gap`.
    behind: area of the back that gives heat off over that of the face, [-]: none where the back is insulated,
    π − 1 of a thin round line. ball: what is hot is as long as it is wide; the strip's nearest spot is told.
    Source: the balance; factors as in `view_of_pipe`, `view_of_ball` and `grey_factors`.
    """
    # Nothing here asks which way a draw goes.
    hot, hot_diameter, gap, neighbour_width = map(plain, (hot, hot_diameter, gap, neighbour_width))
    ambient, film, across = map(plain, (ambient, film, across))
    view = view_of_ball(hot_diameter, gap) if ball else view_of_pipe(hot_diameter, gap, neighbour_width)
    view_back = 0.0 if ball else view * neighbour_width / (pi * hot_diameter)
    facing = neighbour_emissivity if shield_emissivity is None else shield_emissivity
    to_hot, to_rest = grey_factors(facing, hot_emissivity, view, view_back)
    back, films, warming = behind * neighbour_emissivity, (1.0 + behind) * film, across * view
    if shield_emissivity is None:
        rest = to_rest + back
        found = face([(to_hot, hot), (rest, ambient)], [(warming, hot), (films, ambient)]).temperature()
        return Neighbour(found, view, to_hot, None, hot, to_hot, rest, warming, films, ambient)
    before = face([(to_hot, hot), (to_rest, ambient)], [(warming, hot), (film, ambient)])
    plates = plate_factor(shield_emissivity, neighbour_emissivity)
    found, shield = behind_a_sheet(before, face([(back, ambient)], [(films, ambient)]), plates)
    return Neighbour(found, view, to_hot, shield, shield, plates, back, 0.0, films, ambient)


def neighbour_notes(gap: float, diameter: float, shield_emissivity: float | None) -> tuple[str, ...]:
    """What to know about a strip beside a pipe. gap, diameter: [m]. Source: what the formulas leave out."""
    notes = [
        "Heat through brackets, warm air that rises off the pipe and exhaust leaks come on top.",
        "On the safe side the back is taken as insulated: what gives heat off behind too stays cooler.",
    ]
    if gap <= 0.0:
        notes.append("It touches: heat that passes by touch is not counted, and makes it hotter.")
    elif gap < 0.1 * diameter:
        notes.append(
            "The gap is under a tenth of the pipe: both faces are taken as evenly lit, which is rough here."
        )
    if shield_emissivity is not None:
        notes.append("A shield is bright while it is clean, and works only with air on both its sides.")
        if shield_emissivity > HIGHEST_BRIGHT:
            notes.append("A shield of this emissivity is not bright: it does little more than stand between.")
    return tuple(notes)
