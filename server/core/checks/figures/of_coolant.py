"""Figures of coolant lines and heater hoses: the hose, its bend, what it stands, and where air goes."""

from server.core.checks.figures.asked import YES_NO, Figure
from server.core.tube.run import Place
from server.core.units import Kind

KEYS = {Place.COOLANT: "coolant", Place.HEATER: "heater"}
"""First part of the keys of a place's figures: the same are asked of both, each on its own sheet."""


def _hose(place: Place) -> tuple[Figure, ...]:
    first = KEYS[place]
    return (
        Figure(
            f"{first}.shape",
            "how the hose gets its shape",
            choices=(
                ("moulded", "moulded: an S, an L, or a cut of one"),
                ("bent", "a straight hose, bent"),
                ("hard", "hard line with short straight hoses"),
            ),
        ),
        Figure(f"{first}.bore", "bore of the hose", Kind.length, "mm", 0.003, 0.08, doubt=0.01, sort="bore"),
        Figure(
            f"{first}.radius",
            "radius of its tightest bend, to the inside",
            Kind.length,
            "mm",
            0.005,
            2.0,
            doubt=0.05,
            hint="a round tin that just fits into the bend has twice this across",
            sort="bend_radius",
        ),
        Figure(
            f"{first}.rated_pressure",
            "working pressure of the hose, hot",
            Kind.pressure,
            "bar",
            0.2e5,
            50e5,
            hint="as printed on it or on its data sheet: 3 bar; a hose that is drawn may have its own",
            sort="hose_pressure",
        ),
        Figure(
            f"{first}.rated_temperature",
            "temperature that the hose is rated for",
            Kind.temperature,
            "degC",
            313.15,
            573.15,
            hint="125 °C is usual for EPDM",
            sort="hose_temperature",
        ),
        Figure(
            f"{first}.cap",
            "pressure of the system's cap",
            Kind.pressure,
            "bar",
            0.1e5,
            3e5,
            doubt=0.05,
            hint="stamped on it: 1.1 bar",
        ),
        Figure(
            f"{first}.bleed",
            "a bleed point stands at the highest spot, or the line rises to the tank all the way",
            choices=YES_NO,
        ),
    )


COOLANT = _hose(Place.COOLANT)
HEATER = _hose(Place.HEATER)
