"""Figures of the charge air cooler: its pressure drop as its maker, or a test, has it."""

from server.core.checks.figures.asked import Figure
from server.core.units import Kind

COOLER = (
    Figure(
        "cooler.drop",
        "pressure drop of the cooler, by its maker or a test",
        Kind.pressure,
        "kPa",
        100.0,
        60e3,
        doubt=0.1,
        hint="core and end tanks together: 7 kPa, 1 psi",
    ),
    Figure(
        "cooler.flow",
        "air flow of that figure",
        Kind.mass_flow,
        "kg/s",
        0.005,
        5.0,
        doubt=0.03,
        hint="0.25 kg/s, 33 lb/min",
    ),
    Figure(
        "cooler.boost",
        "boost at the cooler's inlet then",
        Kind.pressure,
        "bar",
        0.0,
        5e5,
        doubt=0.02,
        hint="over the air outside: 1 bar; 0 where it was tried on a flow bench",
    ),
    Figure(
        "cooler.temperature",
        "air temperature at the cooler's inlet then",
        Kind.temperature,
        "degC",
        253.15,
        573.15,
        hint="120 °C, 25 °C on a flow bench",
    ),
)
